package measure

import (
	"chestrise/etl/record"
	"chestrise/metrics/cell"
)

// Definition is one measure as its file defines it: what a clinician reads and
// what the registry computes, side by side.
type Definition struct {
	ID        string
	Title     string
	Question  string // in plain words
	Family    Family
	Tier      Tier
	Order     int // place within the tier; 0: first
	Version   int
	Data      Data
	Direction Direction
	Unit      string // of the value: UCUM code; empty for proportions
	UnitWords string // "seconds of ventilation"; how the unit is spoken

	Population Clause
	Exclusions []Reason
	Exceptions []Reason
	Met        Clause // proportion: met; rare event: the event
	Missed     Clause // absent: "not met"
	Presumed   Clause
	Low, High  Clause // value measures
	End, Open  Clause
	Signs      []string          // words of End that are the value itself; every other word competes with it
	Ends       map[string]string // words of End as printed

	Missing    Missing
	Coverage   Coverage
	Strata     []string // facts to show as small tables
	Chart      ChartWish
	Aim        Aim // zero: none
	Parameters []Parameter
	Limits     Limits
	Citations  []Citation
	Notes      []string
	Cautions   []string
	Beside     []Beside // measures to be read on the same page
	Examples   []Example

	File string // path of the file, for messages
	Text string // the file as it was written
	Hash string // of everything that changes a number; part of a cell's basis
}

// Clause is a condition and how it is spoken.
type Clause struct {
	Words     string
	Condition cell.Condition
}

// Present says whether the clause was written.
func (c Clause) Present() bool { return c.Condition.Text != "" }

// Reason is an exclusion or an exception.
type Reason struct {
	Reason    string // as printed beside its count
	Why       string
	Condition cell.Condition
}

// Family says what kind of question a measure asks.
type Family string

// The families.
const (
	Process     Family = "process"
	Outcome     Family = "outcome"
	Balancing   Family = "balancing"
	Descriptive Family = "descriptive"
)

// Tier says where a measure is printed.
type Tier string

// The tiers.
const (
	Core    Tier = "core"    // a page of its own
	Further Tier = "further" // the workbook only
)

// Data is the type of a measure's data.
type Data string

// The types of data.
const (
	Proportion Data = "proportion"
	Value      Data = "value"
	RareEvent  Data = "rare-event"
)

// Direction is the favourable direction of the title's quantity.
type Direction string

// The directions.
const (
	Up   Direction = "up"
	Down Direction = "down"
	None Direction = "none" // look, do not judge
)

// Missing says what an unknown newborn counts as.
type Missing struct {
	Rule  MissingRule
	Words string
}

// MissingRule is a missing-data rule.
type MissingRule string

// The rules.
const (
	// Known leaves unknown newborns out of the share, prints known of eligible,
	// and draws what the share would be had all or none of them been met.
	Known MissingRule = "known"
	// NotMet counts an unknown newborn as not met; for measures of documentation.
	CountNotMet MissingRule = "not-met"
)

// Coverage says what a source must send for the measure to mean anything.
type Coverage struct {
	Needs []record.Coverage // any of these; empty: any source will do
	Words string            // why
}

// ChartWish is what the measure asks of its chart. The chart type and the
// period length are settled once, with the baseline.
type ChartWish struct {
	Kind     string    // p, run, xmr, g
	Within   float64   // value measures on a p chart: the share with the value at or under this
	Shares   []float64 // value measures: limits of the rolling shares, in the unit
	Rolling  int       // months of the rolling table; 0: none
	Newborns bool      // also one mark a newborn, in order of birth
	Of       string    // the value measure whose newborns those are; "": this one
	Line     float64   // line on the newborns' chart; 0: none
	Words    string    // why this chart
}

// Aim is what care aims at, with where that is written. It is not a target for
// the share unless the source states one.
type Aim struct {
	Text   string
	Value  float64 // line on the chart, in the chart's unit; meaningful where Drawn
	Drawn  bool
	Source string // empty: common practice, no source
}

// Parameter is a constant of the measure, or the name of an edition's parameter.
type Parameter struct {
	Name    string
	Value   float64
	Unit    string
	Words   string
	Edition bool // taken from the guideline edition in force; Value is the default
}

// Limits says what the title promises and what the data can bear.
type Limits struct {
	Section record.Section // the measure reads blanks of this section as "not done" where it is marked
	Title   string         // title to print where a source never marks the section
	Words   string
}

// Citation is a source.
type Citation struct {
	Text string
	URL  string
}

// Beside names a measure to be read together with this one, and why.
type Beside struct {
	Measure string
	Why     string
}

// Example is a newborn given by facts, and what the measure must make of it.
type Example struct {
	Name   string
	Facts  map[string]string // column to text; a column that is not given is blank
	Expect Expect
	Why    string
	Line   int
	Column int
}

// Expect is the answer an example must give.
type Expect struct {
	Code     cell.Code
	Presumed bool
	Low      float64 // with Code Valued
	High     float64
	End      string
}
