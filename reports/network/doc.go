// Package network builds what leaves a house: the comparison of units as a report, the
// package of figures with everything needed to work them out again, its verification,
// and the same figures as FHIR MeasureReports.
//
// A [Package] is a folder of files made from a comparison alone: whatever the
// comparison hides is nowhere in it. [Verify] makes the package anew from the registry
// as it stood and says, figure by figure, what differs.
package network

import (
	"fmt"

	"chestrise/etl/record"
	"chestrise/metrics/benchmark"
	"chestrise/reports"
	"chestrise/reports/chart"
)

// Kind is the archive's word for packages of a level.
func Kind(l benchmark.Level) string { return "network-" + string(l) }

// Period names a stretch of months: "2026-05-to-2026-10".
func Period(from, to record.Month) string { return from.String() + "-to-" + to.String() }

var english = []string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}

func monthIn(l reports.Locale, m record.Month) string {
	names := english
	if len(l.Months) == 12 {
		names = l.Months
	}
	return fmt.Sprintf("%s %d", names[m.Number()-1], m.Year())
}

func span(l reports.Locale, from, to record.Month) string {
	if from == to {
		return monthIn(l, from)
	}
	return monthIn(l, from) + " to " + monthIn(l, to)
}

func number(x float64) reports.Cell { return reports.Cell{Number: &x} }

func count(n int) reports.Cell { return number(float64(n)) }

func words(s string) reports.Cell { return reports.Cell{Text: s} }

// optional is a number, or a dash where there is none.
func optional(x *float64) reports.Cell {
	if x == nil {
		return words("–")
	}
	return number(*x)
}

// tooFew is what stands in the place of a hidden number.
const tooFew = "too few"

func percentIn(l reports.Locale, x float64) string { return l.Number(chart.Percent, x) }
