// Package benchmark sets units beside each other: one measure, one stretch of months,
// every unit that can be compared, with what chance alone would do.
//
//  1. [Gather] counts every measure from the registry as it stood at a position, with
//     definitions that are handed in: an old package is worked out again by the code
//     that made it.
//  2. [Compare] makes a [Comparison] of it: funnel limits, observed against expected
//     from the other units, sums over months, completeness. It never ranks: units keep
//     one order, that of their codes.
//  3. [Protect] hides what is too small for a public reader, and what would give it
//     away, and proves it.
//
// A hospital that has no other units' records compares itself with a [Reference]: sums
// of others that a coordinating centre returned, dated, versioned, with its source.
package benchmark

import (
	"embed"
	"fmt"

	"chestrise/etl/record"
	"chestrise/metrics/measure"
)

//go:embed moved/*.yaml
var own embed.FS

// moved are the definitions of newborns that were born here and moved to another
// hospital within a day: what happened to them there, nobody here knows.
func moved() (measure.Definition, error) {
	c, err := measure.Load(own, "metrics/benchmark", "moved")
	if err != nil {
		return measure.Definition{}, fmt.Errorf("newborns moved: %w", err) //nolint:exhaustruct // an empty definition beside an error
	}
	return c.Measures[0], nil
}

// Level says for whom an output is made.
type Level string

// The levels. Inside a unit nothing is hidden; to a partner under an agreement
// nothing is hidden and units other than the reader's are coded; in public small
// counts are hidden, with all that would give them away.
const (
	Inside  Level = "inside"
	Partner Level = "partner"
	Public  Level = "public"
)

// Levels are the levels, in order of trust.
var Levels = []Level{Inside, Partner, Public}

// Bands are the gestation bands as the dictionary names them; a cell's band is a place
// in it from 1.
var Bands = record.FactSpecs[record.FactGestationBand].Codes

// numBands counts the bands with the place 0 of newborns outside every band.
const numBands = 8

// standardised says whether newborns of a band can be compared with others of that
// band: not where gestation is unknown or outside every band.
func standardised(band int) bool { return band != 0 && band != int(record.BandUnknown) }
