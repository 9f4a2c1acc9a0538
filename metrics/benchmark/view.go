package benchmark

import (
	"chestrise/etl/record"
	"chestrise/metrics"
	"chestrise/metrics/cell"
	"chestrise/metrics/disclosure"
	"chestrise/metrics/measure"
)

// Comparison is everything a report of a comparison shows. A renderer lays it out; it
// computes nothing.
type Comparison struct {
	Network    string
	Deployment Deployment
	Level      Level
	Agreement  string // for partners
	Reader     string // unit that sees itself named; empty: the coordinating centre, or the public
	From, To   record.Month
	At         cell.Position
	Head       string // of the ledger
	Catalogue  string // version of the definitions
	Units      []Unit
	Measures   []Measure
	Moved      []MovedLine
	MovedAll   MovedLine
	Held       int64 // newborns held back in deliveries that touch the period
	HeldHidden bool
	Reference  *Reference
	Synthetic  bool
	Notes      []string
	Rule       *PublicRule // of a public comparison
	Audit      []AuditLine // of a public comparison
}

// Unit is a unit as this reader sees it.
type Unit struct {
	Unit     string // its own code in the registry; empty where it is not named
	Label    string // name, or the code that stands for it
	Named    bool
	Own      bool // the reader's
	Coverage string
	Open     int   // months of the period that have not closed
	Held     int64 // newborns held back
	Births   int64 // of births.csv; 0: it sends none
	HasBirth bool
}

// Measure is one measure in every unit.
type Measure struct {
	Definition measure.Definition
	Title      string
	Why        string // why it is adjusted, or not
	Pooled     Figure
	Target     *Target
	Limits     []Limit // to be drawn, inner first
	Spread     Spread
	ByChance   string
	Figures    []Figure // indexed like Units
	Adjusted   *Adjusted
	Sums       *Sums
	Notes      []string
}

// Target is the line in the middle.
type Target struct {
	Value float64
	Text  string // "all units together"
}

// Limit is a pair of exact curves over numbers of cases.
type Limit struct {
	Text   string // "95 %"
	Tail   float64
	Points []CurvePoint
}

// CurvePoint is the limit at a number of cases; within 0 and 1.
type CurvePoint struct {
	Cases        int
	Lower, Upper float64
}

// Spread says whether units differ by more than chance.
type Spread struct {
	Judged  bool
	Phi     float64
	Called  bool
	Inflate float64 // limits are wider by this factor; 1: as they are
	Text    string
}

// Figure is a unit's figure, or the network's.
type Figure struct {
	Absent             string // not empty: why there is none
	Hidden             bool   // too small, or hidden to protect another
	Band               *Band  // where a hidden figure may be shown at all
	Met                int
	NotMet             int
	Unknown            int
	Undecided          int
	EligibilityUnknown int
	Excluded           int
	Exceptions         int
	Share              *float64
	Lower95, Upper95   *float64
	Lower998, Upper998 *float64
	Z                  *float64
	Place              string // in words, against the limits; empty: not judged
	Outside            bool   // the outer limits
	Completeness       *float64
	CompletenessIn     string // in words, where the number would say too much
	Bounds             *metrics.Bounds
}

// Known is the denominator.
func (f Figure) Known() int { return f.Met + f.NotMet }

// Eligible are all whom the measure asks about.
func (f Figure) Eligible() int { return f.Known() + f.Unknown + f.Undecided }

// Band is the range in which a hidden share lies.
type Band struct{ Low, High float64 }

// Adjusted is observed against expected.
type Adjusted struct {
	Against string  // whose rates
	Lines   []Ratio // indexed like Units
	Bands   []BandRate
	Notes   []string
}

// Ratio is one unit's. Ratios of two units are never set against each other.
type Ratio struct {
	Absent   string
	Observed int
	Expected float64
	Left     int // known newborns without a comparable band: in neither number
	Ratio    *float64
	Low      *float64 // exact 95 % interval
	High     *float64
	Limits   [4]*float64 // 99.8 % and 95 % below, 95 % and 99.8 % above, for a ratio of 1 at this expected number
	Place    string
	Outside  bool
}

// BandRate is a band of the rates that were used, over all units.
type BandRate struct {
	Band       string
	Met, Known int
}

// Sums follow a long series month by month.
type Sums struct {
	Odds     float64
	From, To record.Month // months whose rates are expected
	Years    float64
	Lines    []Sum // indexed like Units
}

// Sum is one unit's.
type Sum struct {
	Absent   string // such as too few events a year
	Months   []record.Month
	Values   []float64
	Limit    float64
	Signals  []int // indexes of Months
	Expected float64
	Observed int
	Text     string
}

// MovedLine counts newborns born in a unit and moved within a day.
type MovedLine struct {
	Moved   int
	Of      int
	Unknown int
	Hidden  bool
	Text    string
}

// AuditLine is what the audit found for one measure.
type AuditLine struct {
	Measure   string
	Rows      int // units with figures
	Primary   int // hidden for a small count
	Secondary int // hidden to protect others
	Linked    int // hidden because a measure of the same newborns hides them
	NoTotals  bool
	Cells     int // hidden cells audited
	Least     int // least number of further values that a hidden cell may have; -1: nothing bounds it
	Needed    int
	Bands     int // marks snapped to a band
	Protected bool
	cells     []disclosure.CellAudit
}
