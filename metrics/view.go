package metrics

import (
	"chestrise/etl/record"
	"chestrise/metrics/measure"
	"chestrise/metrics/spc"
)

// UnitView is everything a monthly report of one unit shows. A renderer lays it
// out; it computes nothing.
type UnitView struct {
	Unit       UnitName
	Month      record.Month   // the month asked for
	Latest     record.Month   // last closed month up to Month; 0: none has closed
	Open       []record.Month // months up to Month that have data and have not closed
	EarlyLook  bool           // Month itself is still open: the last closed month is judged
	Generation record.Generation
	Coverage   record.Coverage // what the rows of the unit's sources are; the narrowest where they differ
	CoverageIn string          // the same in words
	Sources    []Source
	Synthetic  bool
	Measures   []MeasureView // core first, then further, each in the order of the catalogue
	Changed    []Change      // page one, most important first; empty: nothing to bring to the meeting
	Headline   string        // "Nothing to bring to the meeting." or what changed, in one sentence
	ByChance   float64       // charts expected to signal this month by chance alone
	Charts     int           // charts that were judged; ByChance is of these
	ByChanceIn string        // the same in words
	Held       []Count       // newborns kept out and in no figure, by rule
	SetAside   []Count       // values set aside in the month, by rule
	Notes      []Note
	Catalogue  string // version of the definitions: hash over all of them, 12 hex digits
}

// Measure is the page of a measure; nil where the report has none.
func (v *UnitView) Measure(id string) *MeasureView {
	for i := range v.Measures {
		if v.Measures[i].Definition.ID == id {
			return &v.Measures[i]
		}
	}
	return nil
}

// UnitName is a unit's code and its printed name.
type UnitName struct{ Code, Name string }

// Source is what one source sent for the unit.
type Source struct {
	Name     string
	Coverage record.Coverage
	From, To record.Month
	Sequence int64
	Missing  bool // expected for the month and not there
}

// MeasureView is one measure's page.
type MeasureView struct {
	Definition measure.Definition
	Title      string // what was found where that is certain, what is measured otherwise
	Measured   string // what is measured, always
	Absent     string // not empty: why there is no chart ("not computable here: ..."); Chart is then empty
	Chart      spc.Chart
	Drawn      bool // Chart holds points
	Axis       Axis
	Points     []Point // indexed like Chart.Points
	Period     Period
	Baseline   Baseline
	Marks      []Mark

	Latest        Latest
	Flow          Flow // of the latest closed period
	Year          Flow // of the twelve closed months up to Latest
	Signals       []Signal
	NotJudged     string // not empty: why no verdict is given ("three of the last six months ...")
	Change        Change // against the month before
	Detectability string // how long a change of a stated size would take to show; empty: not computed
	Newborns      *Newborns
	Rolling       *Rolling
	Strata        []Stratum
	Preterm       *Split // the two years up to Latest on both sides of 32 weeks; nil: nobody of known gestation
	Restated      []Restated
	Figures       []Figure // every closed month as it is now, for the next issue's comparison
	Notes         []Note
	Beside        []measure.Beside

	chance float64 // of a signal this month while nothing changes
}

// Axis says what the chart's values are.
type Axis struct {
	Title   string // "share of newborns", "births without compressions"
	Percent bool   // values are proportions to be printed as percent
	Unit    string // printed unit of the value; empty: none
	Aim     *float64
	AimText string
}

// Period is the length of time one point covers.
type Period string

// The periods.
const (
	Monthly   Period = "month"
	Quarterly Period = "quarter"
	ByEvent   Period = "event" // one point an event (g chart)
)

// Point is what the page needs to know of a plotted point beside the chart's own.
type Point struct {
	Label              string // "2026-03", "2026 Q1", "event 7"
	From, To           record.Month
	Open               bool   // not all its months have closed
	Hollow             string // not empty: why the point is not judged
	Met                int32  // numerator
	Known              int32  // denominator of the share
	Eligible           int32  // known, unknown and undecided
	Unknown            int32
	Undecided          int32
	EligibilityUnknown int32
	Bounds             *Bounds // nil where nothing is unknown, or there is nothing to bound
	Text               string  // "9 of 14"
}

// Bounds is what the share would be had none or all of the newborns without an
// answer been met.
type Bounds struct{ Low, High float64 }

// Baseline says what the limits rest on.
type Baseline struct {
	Stored      bool
	From, To    record.Month
	Centre      float64
	HasCentre   bool
	Points      int
	Provisional bool
	Chart       string
	Reason      string // why this chart and this period
	Text        string // the whole in one sentence
}

// MarkKind says what a mark on the axis is.
type MarkKind string

// The kinds of marks. Limits run straight through an intervention; the others
// start new limits.
const (
	Intervention    MarkKind = "intervention"
	RecordedPhase   MarkKind = "phase"
	RecordingChange MarkKind = "recording"
	EditionChange   MarkKind = "edition"
)

// Mark is a label on the axis.
type Mark struct {
	Month record.Month
	At    int // index of the first point at or after the month; -1: none
	Kind  MarkKind
	Label string
	Text  string // one sentence for the footnotes
	Break bool   // new limits start here
}

// Latest is the figure of the latest closed period.
type Latest struct {
	Label     string
	Has       bool
	Met       int32
	Known     int32
	Eligible  int32
	Value     float64 // meaningful where Has; in the chart's unit
	Centre    float64
	HasCentre bool
	Lower     *float64
	Upper     *float64
	Bounds    *Bounds
	Text      string // "Mar 2026: 9 of 14 (64%)"
	KnownText string // "14 of 15 known"
}

// Flow is how the newborns of a period come down from births to met, every loss
// named and counted.
type Flow struct {
	Label    string
	From, To record.Month
	Steps    []Step
}

// Step is one line of a flow. Losses are lines between two remaining counts.
type Step struct {
	Name  string
	Count int64
	Loss  bool   // leaves the flow here
	Kind  string // "births", "outside", "eligibility-unknown", "population", "excluded", "exception", "unknown", "undecided", "known", "presumed", "met", "not-met", "end"
}

// Signal is a special cause in words.
type Signal struct {
	Rule      spc.RuleID
	Words     string // "eight quarters in a row above the centre"
	From, To  string // labels of the first and last point of the pattern
	Direction spc.Direction
	Verdict   spc.Verdict
	New       bool   // completed by the latest closed period
	Active    bool   // the latest closed period is part of it
	Text      string // whole sentence, with direction against the favourable one
}

// ChangeKind says what became of a measure's verdict since the month before.
type ChangeKind string

// The kinds of change.
const (
	NoChange  ChangeKind = "none"
	Signalled ChangeKind = "signalled" // new this month
	Continues ChangeKind = "continues"
	Stopped   ChangeKind = "stopped"
	NotJudged ChangeKind = "not-judged"
)

// Change is one line of page one.
type Change struct {
	Measure string // id
	Title   string
	Kind    ChangeKind
	Verdict spc.Verdict
	Text    string
}

// Newborns is one mark a newborn in order of birth, for measures with a value:
// it shows everything a small unit's numbers can show.
type Newborns struct {
	Axis     Axis
	Log      bool
	Line     float64 // 0: none
	LineText string
	Marks    []Newborn
	From, To record.Month
	Median   *float64 // of the values; nil where half never reached the sign
	Text     string
}

// Newborn is one mark. It carries no key and no order number.
type Newborn struct {
	Place   int // 1-based place in the row of marks
	Month   record.Month
	Low     float64
	High    float64 // equal to Low where the value is exact
	Sign    bool    // the value was reached; false: another end came first
	End     string  // as printed; empty: the value itself
	EndCode string  // the fact's word
	Open    bool    // the interval is wider than a point
	Closed  bool    // its month has closed
}

// Rolling is the table of the last twelve months, moved on by one month a row.
type Rolling struct {
	Limits []float64 // "at or under", in the measure's unit
	Rows   []RollingRow
	Months int
	Unit   string
}

// RollingRow covers the months From to To.
type RollingRow struct {
	From, To  record.Month
	Newborns  int      // with a value or another end
	Within    []int    // by limit: certainly at or under it
	Straddle  []int    // by limit: cannot be told
	OtherEnds []Count  // ends that came first instead
	Median    *float64 // nil: not reached by half
	Text      string   // "median 52 s", "median not reached"
}

// Stratum is a small table: counts only, no rate where fewer than 20 are known.
type Stratum struct {
	Title    string
	From, To record.Month
	Rows     []StratumRow
}

// StratumRow is one line of a stratum.
type StratumRow struct {
	Name     string
	Met      int32
	Known    int32
	Eligible int32
	Excluded int32
	Rate     *float64 // nil under 20 known
}

// Split is a stratum of two: under 32 weeks, and from 32 weeks.
type Split struct{ Under, From StratumRow }

// Count is a number with its name.
type Count struct {
	Name  string
	Count int64
}

// Figure is a figure as it was issued before, handed in for comparison.
type Figure struct {
	Measure  string
	Month    record.Month
	Met      int32
	Known    int32
	Eligible int32
	Value    *float64
	Basis    string // hash of the basis it rested on
}

// Restated is a figure that is no longer what was issued.
type Restated struct {
	Month  record.Month
	Before Figure
	After  Figure
	Reason string // "late or corrected records", "the definition changed", ...
	Text   string // "Feb 2026: 9 of 14 was issued, 10 of 15 now"
}

// Note is a footnote. Notes that concern points name their labels.
type Note struct {
	Code   string
	Text   string
	Labels []string
}
