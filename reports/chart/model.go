// Package chart holds what a chart shows (Model), works out where every line
// and every word goes (Layout), and draws the result on a Surface. The PDF and
// the SVG renderer each bring a Surface; neither decides a position.
//
// The package is a leaf: it knows numbers, words and rectangles, not measures.
package chart

// Format says how the numbers of an axis and of a table beside it are written.
type Format uint8

// The formats of the values that a delivery room charts.
const (
	Plain   Format = iota // 12.3
	Percent               // stored as a share of one, written 39 %
	Seconds               // 57 s
	Celsius               // 36.7 °C
	Births                // 470 births
	Count                 // 12
)

// Model is one control chart or run chart over ordered periods, complete: the
// renderers compute nothing. Values are finite; a missing value is Has=false
// or a nil pointer, never zero and never NaN.
type Model struct {
	ID       string // stable within a document, for links and file names
	Title    string // what was found where that is certain, else what is measured
	Subtitle string // the question in plain words; may be empty
	Alt      string // the chart in two sentences, for a reader who cannot see it
	Kind     string // the chart's name in words: "p chart", "run chart of medians"
	Y        Axis
	CentreIs string // what the centre line is: "mean", "median"
	Points   []Point
	Phases   []Phase
	Marks    []Mark  // interventions: labels on the axis, nothing restarts at them
	Target   *Target // only where an aim exists
	Signals  []Signal
	Rows     []Row    // printed under the axis, one text a point: n, known
	Notes    []string // footnotes of the chart, in order
	Terse    bool     // what shapes, whiskers and thinned rows mean is explained elsewhere
}

// Axis is the vertical axis. Min and Max are wishes (nil: from the data).
type Axis struct {
	Label    string
	Format   Format
	Min, Max *float64
}

// Point is one plotted period.
type Point struct {
	Label  string // long, unambiguous: "Mar 2026"
	Short  string // under the axis: "Mar"
	Year   string // printed once where it changes: "2026"; may be empty
	Value  float64
	Has    bool     // false: a gap
	Hollow bool     // open month or thin data: drawn hollow, not judged
	Why    string   // why hollow or why a gap; empty otherwise
	Low    *float64 // best/worst bounds when values are missing
	High   *float64
	Centre *float64 // nil: no line here
	Lower  *float64 // nil: no lower limit
	Upper  *float64
	Phase  int
	Letter string // letters of the signals that this point belongs to: "A", "AB"
}

// Phase is a stretch of points with one centre. A new one begins only where a
// person recorded it or where a definition or guideline edition changed.
type Phase struct {
	From, To    int // indices of Points, both included
	Label       string
	Provisional bool
}

// Mark is a label on the axis at a point, for example a training day.
type Mark struct {
	At   int
	Text string
}

// Target is a line drawn because somebody set an aim, and who did.
type Target struct {
	Value float64
	Text  string
}

// Signal is one special cause, named by a letter and explained in words.
type Signal struct {
	Letter string
	Points []int
	Words  string // "eight months in a row above the centre, Mar to Oct 2026"
	Sense  Sense
}

// Sense is the direction of a signal against the favourable one.
type Sense uint8

// A measure without a favourable direction has signals that are Neither.
const (
	Neither Sense = iota
	Better
	Worse
)

// Row is a line of texts under the axis, one a point.
type Row struct {
	Label string
	Texts []string
}
