package spc

import "fmt"

// LimitMethod says how limits are computed from the centre.
type LimitMethod uint8

const (
	// Auto uses three sigma where the expected count, and for a proportion the
	// expected count without the event, is at least 5, and quantiles of the law
	// elsewhere. G and T charts always get quantiles.
	Auto LimitMethod = iota
	// Normal uses three sigma everywhere.
	Normal
	// Exact uses the 0.00135 and 0.99865 quantiles of the binomial, Poisson, geometric
	// or exponential law everywhere. Kinds without such a law use three sigma.
	Exact
)

// String gives "auto", "normal" or "exact".
func (m LimitMethod) String() string {
	switch m {
	case Normal:
		return "normal"
	case Exact:
		return "exact"
	default:
		return "auto"
	}
}

// LimitsNamed finds a limit method by its name.
func LimitsNamed(name string) (LimitMethod, error) {
	for _, m := range []LimitMethod{Auto, Normal, Exact} {
		if m.String() == name {
			return m, nil
		}
	}
	return Auto, fmt.Errorf("limit method %q is not known\nhint: one of auto, normal, exact", name)
}

// SigmaMethod says how the standard deviation of a single value is estimated.
type SigmaMethod uint8

const (
	// MeanMR is the mean moving range over d2(2) = 2/sqrt(pi), in full precision; the
	// default for XmR. For XbarR and XbarS the default is the chart's own spread.
	MeanMR SigmaMethod = iota
	// MedianMR is the median moving range over sqrt(2) times the normal quartile
	// 0.6745: resistant to a few outliers.
	MedianMR
	// ScreenedMR is MeanMR after dropping, once, the moving ranges above 3.5 times
	// their mean. Source: Nelson 1982, from memory.
	ScreenedMR
	// SampleSD is the sample standard deviation over c4(m); only where no shift is
	// expected, because the very shifts sought inflate it.
	SampleSD
)

var sigmaNames = []string{"mean-mr", "median-mr", "screened-mr", "sd"}

// String gives the name used on the command line.
func (m SigmaMethod) String() string {
	if int(m) < len(sigmaNames) {
		return sigmaNames[m]
	}
	return fmt.Sprintf("sigma method %d", uint8(m))
}

// SigmaNamed finds a sigma method by its name.
func SigmaNamed(name string) (SigmaMethod, error) {
	for i, s := range sigmaNames {
		if s == name {
			return SigmaMethod(i), nil
		}
	}
	return MeanMR, fmt.Errorf("sigma method %q is not known\nhint: one of mean-mr, median-mr, screened-mr, sd", name)
}

// PhaseStart begins a new phase: a person recorded it, or an edition, a definition
// or the way of recording changed. An intervention is none.
type PhaseStart struct {
	From     int       // first point of the phase
	Reason   string    // why, for the page
	Baseline *Baseline // stored centre and spread; nil: from the phase's own points
	First    int       // with no stored baseline: use the first so many rows only; 0: all
}

// Options are the choices of a chart. The zero value is the documented default.
type Options struct {
	Rules  RuleSet
	Limits LimitMethod
	Sigma  SigmaMethod

	// BaselineFirst freezes the first phase on its first so many rows; BaselineUntil
	// on the rows up to and including the one with this label. At most one of the two;
	// with neither, the baseline is every usable point of the phase.
	BaselineFirst int
	BaselineUntil string

	Phases     []PhaseStart
	Favourable Direction // of the plotted value; for G and T a longer gap is Up
	Reason     string    // why this kind and period; passed on to the chart

	// TimeUnit is the resolution of T chart times; half of it is added to times of 0.
	TimeUnit float64

	Memory Memory // EWMA and Cusum
}

// Memory holds the design of charts that remember. Zero fields take the default in
// brackets.
type Memory struct {
	Lambda float64 // EWMA: weight of the newest point (0.2)
	Width  float64 // EWMA: limits at so many sigma of the average (3)
	// Proportion says that the values are proportions with their own denominators, so
	// that the spread of each follows from the centre and its denominator (EWMA).
	Proportion bool
	Asymptote  bool    // EWMA: constant limits instead of the exact ones
	K          float64 // Cusum: reference value in sigma (0.5)
	H          float64 // Cusum: decision limit in sigma (5)
	HeadStart  float64 // Cusum: share of the decision limit to start at (0); 0.5 is usual
	Restart    bool    // Cusum: start again at 0 after a signal
}
