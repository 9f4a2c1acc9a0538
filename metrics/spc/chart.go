package spc

// Chart is a complete control chart or run chart: everything a page needs to draw
// it and to say what it shows.
type Chart struct {
	Kind       Kind
	Points     []Point
	Phases     []Phase  // at least one, ascending, covering every point
	Signals    []Signal // by first completing point, then rule
	Summary    Summary  // of the last phase
	Warnings   []Warning
	Rules      []Rule // the rules that were applied
	Favourable Direction
	Reason     string // why this kind and period, as handed in with the options
	Companion  *Chart // the spread chart that belongs to XmR and Xbar; the lower side of Cusum
}

// Point is one plotted point.
type Point struct {
	Label string
	X     int     // position along the axis: the row of the series, from 0
	Value float64 // meaningful only where Has
	Has   bool    // false: a gap
	N     float64 // denominator, exposure or subgroup size; 0 where the kind has none

	Centre   *float64 // nil where there was nothing to compute it from
	Lower    *float64 // nil: no lower limit
	Upper    *float64 // nil: no upper limit
	LowerRaw *float64 // as computed, before "no limit"
	UpperRaw *float64
	Sigma    *float64 // standard deviation of this point when nothing has changed
	Z        *float64 // (Value - Centre)/Sigma; nil where Sigma is 0 or unknown
	Exact    bool     // limits are quantiles of the binomial, Poisson or geometric law

	Phase    int  // index into Chart.Phases
	Baseline bool // used for centre and limits
	Gap      bool
	SetAside bool
	Hollow   bool
	AtLeast  bool // the true value is Value or more

	Signals []RuleID // rules this point completes
	Member  []RuleID // rules of whose pattern it is part

	Observed    *float64 // EWMA and Cusum: the value that went into the average or sum
	MovingRange *float64 // XmR: distance from the point before it
	Steps       int      // Cusum: points since the sum was last zero

	num       float64
	setReason string
	spread    *spread
}

// spread is what a subgroup of two or more says about its own spread.
type spread struct{ r, s float64 }

// judged says whether run rules look at the point.
func (p *Point) judged() bool { return p.Has && !p.SetAside && !p.Hollow && !p.AtLeast }

// Phase is a stretch of points with one centre and one set of limits.
type Phase struct {
	From, To    int // first and last point, inclusive
	Reason      string
	Baseline    Baseline
	Stored      bool // centre and spread were handed in, not computed here
	Windowed    bool // computed from a declared window, later points do not move it
	Provisional bool // rests on too few points for firm limits
	Summary     Summary
}

// Baseline is the centre and spread that limits follow from. It is what a caller
// stores to freeze them.
type Baseline struct {
	// Centre is the parameter, not always the line drawn: overall proportion (P, NP,
	// PPrime), mean count (C), overall rate (U, UPrime), median (Run), mean (XmR, Xbar,
	// EWMA and Cusum target), mean gap (G, whose line is the median), mean time (T).
	Centre float64
	// Sigma is the standard deviation of a single value (XmR, Xbar, EWMA, Cusum); 0 for
	// the kinds whose spread follows from the centre.
	Sigma float64
	// SigmaZ is the ratio of the spread seen to the spread of the law (PPrime, UPrime);
	// 0 stands for 1.
	SigmaZ float64
	Points int // usable points it rests on
	// MeanN is the mean denominator of those points; 0 where the kind has none.
	MeanN    float64
	From, To string // labels of its first and last point
}

// Signal is one pattern that a rule found.
type Signal struct {
	Rule      RuleID
	Words     string // "eight points in a row below the centre"
	At        []int  // points that complete the pattern, ascending
	Members   []int  // all points of the pattern, ascending
	Direction Direction
	Verdict   Verdict
	Phase     int
	Bridged   int // points inside the pattern that were passed over, not judged
}

// Stat is a named number of a summary; nil where it cannot be computed.
type Stat struct {
	Name  string
	Value *float64
}

// Summary is an ordered list of named numbers.
type Summary []Stat

// Get finds a number by name; false where it is absent or could not be computed.
func (s Summary) Get(name string) (float64, bool) {
	for _, e := range s {
		if e.Name == name && e.Value != nil {
			return *e.Value, true
		}
	}
	return 0, false
}

func (s *Summary) add(name string, v float64) { *s = append(*s, Stat{Name: name, Value: &v}) }

func (s *Summary) none(name string) { *s = append(*s, Stat{Name: name, Value: nil}) }

// Code names a kind of warning.
type Code string

// The warnings.
const (
	NoBaseline      Code = "no-baseline"
	FewPoints       Code = "few-points"
	Provisional     Code = "provisional"
	NoLowerLimit    Code = "no-lower-limit"
	NoUpperLimit    Code = "no-upper-limit"
	ExactLimits     Code = "exact-limits"
	NormalSmall     Code = "normal-limits-small-counts"
	NoEvents        Code = "no-events"
	AllEvents       Code = "all-events"
	NoVariation     Code = "no-variation"
	Overdispersed   Code = "overdispersed"
	Underdispersed  Code = "underdispersed"
	Autocorrelated  Code = "autocorrelated"
	RuleDropped     Code = "rule-dropped"
	NoRules         Code = "no-rules"
	GapsDrawn       Code = "gaps"
	HollowDrawn     Code = "hollow"
	AsideDrawn      Code = "set-aside"
	IncompleteGaps  Code = "incomplete-gaps"
	NoWorsening     Code = "single-point-cannot-worsen"
	ZeroTimes       Code = "zero-times"
	Transformed     Code = "transformed"
	SingleSubgroups Code = "single-subgroups"
)

// Warning is a caution that belongs on the page, as a footnote.
type Warning struct {
	Code   Code
	Text   string // one sentence
	Points []int  // the points it is about; nil: the whole chart
}
