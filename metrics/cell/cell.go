// Package cell holds the types that pass between the measures and the
// registry: the projection that asks, the rows that answer, the cells, and the
// baselines that are kept. It is a leaf: types only.
package cell

import (
	"errors"
	"strings"

	"chestrise/etl/record"
)

// ErrFrozen says that a baseline of this unit, measure, phase and basis is
// stored already.
var ErrFrozen = errors.New("baseline is frozen")

// Code says what one measure makes of one newborn.
type Code byte

// The codes. Exclusion and exception reasons are numbered from 0 in the order
// of the definition: FirstExclusion+n, FirstException+n, thirteen of each.
const (
	Outside            Code = '.' // not in the population
	EligibilityUnknown Code = '?' // the population condition cannot be told
	Unknown            Code = 'u' // in the population, the answer is not recorded
	Undecided          Code = '~' // the times as recorded allow both answers
	NotMet             Code = '0'
	Met                Code = '1'
	Valued             Code = 'v' // a value measure has its value
	Failed             Code = '!' // the database could not compute it, see Uncomputable
	FirstExclusion     Code = 'A'
	FirstException     Code = 'N'
)

// MaxReasons is how many exclusions, and how many exceptions, a measure may have.
const MaxReasons = 13

// Condition is a lexed and allow-listed SQL expression over the columns of the
// facts. Only the registry puts it into a statement. Text is safe by
// construction: metrics/measure lets nothing else through.
//
// The columns are those of record.FactSpecs by name, as the registry's view
// shows them: a code as an enumeration and a yes/no as boolean, both compared
// with the dictionary's words in quotes ('yes', 'airway-attempt'; a word that
// is not in the list is refused), every number as numeric, so that nothing
// overflows and 5/2 is 2.5; blank, not applicable and set aside are all null.
// Parameters are numeric.
type Condition struct {
	Text   string   // with parameters as :name; empty: absent
	Facts  []string // the columns it reads
	Params []string // the parameters it reads
	File   string   // where it was written, for messages
	Line   int
	Column int
}

// Projected is a measure as the projection sees it.
//
// A proportion or rare-event measure has Met (true: met or event) and Missed
// (true: not met); where Missed is absent it is "not Met". Neither true and
// neither null: undecided. Otherwise: unknown. A value measure has Low and High
// (equal expressions for an exact value), and may have End, the fact that names
// which end came first, and Open, true where the ends cannot be told apart.
type Projected struct {
	Measure    string
	Population Condition
	Exclusions []Condition
	Exceptions []Condition // apply only where the measure is not met (or, for a value, as written)
	Met        Condition
	Missed     Condition
	Presumed   Condition // true: counted, and printed as presumed
	Low        Condition
	High       Condition
	End        Condition
	Open       Condition
}

// Parameter is a number that may differ by unit and month, such as a limit
// taken from a guideline edition.
type Parameter struct {
	Name    string
	Default float64
	Changes []Change // in force from a month on, sorted by unit and month
}

// Change is a parameter's value in a unit from a month on.
type Change struct {
	Unit  string
	From  record.Month
	Value float64
}

// Projection is a set of measures to run over the facts in one pass.
type Projection struct {
	Measures   []Projected
	Parameters []Parameter
	Strata     []string // further facts to return, as text
}

// Scope says which facts: those current in generation AsOf (0: now) of the
// units (nil: all) from month to month (zero: no bound). UnitMonths, where not
// nil, restricts further.
type Scope struct {
	AsOf       record.Generation
	Units      []string
	From, To   record.Month
	UnitMonths []UnitMonth
}

// Position is a place in the registry's history: everything up to a generation and
// a loaded delivery. A delivery that changed nothing moves only the second.
type Position struct {
	Generation record.Generation
	Delivery   int64
}

// UnitMonth is a month of a unit.
type UnitMonth struct {
	Unit  string
	Month record.Month
}

// Row is one newborn seen by all measures of a projection. Slices are indexed
// like Projection.Measures and are valid only during the call they are passed to.
type Row struct {
	Key      record.Key
	Unit     string
	Month    record.Month
	Order    int32 // birth sequence; 0: not recorded
	Band     uint8 // gestation band code of record.FactGestationBand; 0: outside every band
	Codes    []Code
	Presumed []bool
	Low      []float64 // meaningful where Codes is Valued
	High     []float64
	End      []string // the end's word; empty: none
	Strata   []string // indexed like Projection.Strata; empty: not recorded
}

// Fault is a condition that the database refuses.
type Fault struct {
	Measure string
	Part    string // "population", "exclusion 2", "met"
	Where   Condition
	Rune    int // place in Condition.Text, 1-based; 0: not known
	State   string
	Message string
}

// Uncomputable is the error of a projection that ran to its end without some
// measures: their codes are Failed in every row.
type Uncomputable struct{ Faults []Fault }

// Error names the measures and what the database says.
func (u *Uncomputable) Error() string {
	var b strings.Builder
	b.WriteString("could not be computed:")
	for i, f := range u.Faults {
		if i > 0 {
			b.WriteByte(';')
		}
		b.WriteString(" " + f.Measure + ": " + f.Message)
	}
	return b.String()
}

// Judgement is one condition's truth for one newborn, for "why".
type Judgement struct {
	Part   string
	Text   string
	Answer string            // "true", "false", "not recorded", or a value
	Facts  map[string]string // the facts it read, as text; absent: not recorded
}

// Basis says from what a cell was computed; a cell whose basis differs is stale.
type Basis struct {
	Definition string // hash of the measure's definition and parameters
	Derivation int16  // version of the derivation of facts
}

// Cell is a measure's count in one unit, month and gestation band.
type Cell struct {
	Unit               string
	Month              record.Month
	Measure            string
	Band               uint8
	Outside            int32
	EligibilityUnknown int32
	Excluded           []int32 // by reason
	Exceptions         []int32 // by reason
	Unknown            int32
	Undecided          int32
	NotMet             int32
	Met                int32
	Presumed           int32
	Items              []Item // value measures: every value; rare events: every event; in birth order
	Births             int32  // rare events: births in the population, the order's length
	Basis              Basis
	Generation         record.Generation
}

// Item is one newborn's value, or one event of a rare-event measure.
type Item struct {
	Order int32 // value: birth sequence; rare event: place among the births of the month in the population, from 1
	Low   float64
	High  float64
	End   string
}

// Baseline is the stored past against which a chart judges. The window is
// declared; the numbers are computed once all its months are closed, stored,
// and never moved by a night.
type Baseline struct {
	Unit        string
	Measure     string
	Phase       record.Month // first month of the phase it belongs to
	From, To    record.Month
	Chart       string // chart type, chosen once
	Period      string // month or quarter, chosen once
	Centre      float64
	Spread      float64 // sigma of an individuals chart; 0 where the chart derives it
	Points      int
	Denominator int64
	Provisional bool
	Reason      string // why this chart and period, in words
	Basis       Basis
	Generation  record.Generation
}
