package spc

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
)

// Observation is one row to plot.
type Observation struct {
	Label     string    // month, quarter, subgroup name; shown, and used to name a baseline's end
	Num       float64   // events, or the value itself
	N         float64   // denominator or exposure; ignored by kinds without one
	Sub       []float64 // the single values of a subgroup (Xbar kinds only)
	Missing   bool      // no value: a gap
	SetAside  bool      // drawn, not used for limits, skipped by run rules
	Hollow    bool      // drawn, not judged, not used for limits
	AtLeast   bool      // the true value is this or more: a gap or time not seen from event to event
	SetReason string    // why it was set aside, for the footnote
}

// Series is what a chart is made from, in order.
type Series struct {
	Points []Observation
	// Ratio makes Run, XmR, EWMA and Cusum charts plot Num/N, with N = 0 a gap. P,
	// PPrime, U and UPrime always do so; other kinds ignore it.
	Ratio bool
}

// Values makes a series of plain values; a NaN is a gap. Labels may be nil.
func Values(labels []string, x []float64) Series {
	s := Series{Points: make([]Observation, len(x))}
	for i, v := range x {
		s.Points[i] = Observation{Label: label(labels, i), Num: v, Missing: math.IsNaN(v)}
		if math.IsNaN(v) {
			s.Points[i].Num = 0
		}
	}
	return s
}

// Ratios makes a series of numerators over denominators; a NaN in either, or a
// denominator of 0, is a gap. Labels may be nil. A denominator list shorter than
// the numerators leaves gaps.
func Ratios(labels []string, num, den []float64) Series {
	s := Series{Points: make([]Observation, len(num)), Ratio: true}
	for i, v := range num {
		d := math.NaN()
		if i < len(den) {
			d = den[i]
		}
		o := Observation{Label: label(labels, i), Num: v, N: d}
		if math.IsNaN(v) || math.IsNaN(d) {
			o.Num, o.N, o.Missing = 0, 0, true
		}
		s.Points[i] = o
	}
	return s
}

// Subgroups makes a series for Xbar kinds, one observation a subgroup; an empty
// subgroup is a gap.
func Subgroups(labels []string, groups [][]float64) Series {
	s := Series{Points: make([]Observation, len(groups))}
	for i, g := range groups {
		s.Points[i] = Observation{Label: label(labels, i), Sub: g, Missing: len(g) == 0}
	}
	return s
}

// Gaps makes the series of a g chart from the positions of the events in a
// consecutive count of cases: position 1 is the first case watched, cases is the
// number watched so far. Each value is the number of cases without the event
// between two events; the stretch before the first event and the open one after
// the last were not seen whole and are marked AtLeast. Without any event the one
// point is the open stretch.
//
// The positions must be strictly ascending and lie in 1..cases.
func Gaps(positions []int, cases int) (Series, error) {
	var s Series
	last := 0
	for i, p := range positions {
		if p <= last || p > cases {
			return Series{}, fmt.Errorf("gaps between events: position %d (event %d) is not ascending within 1 to %d", p, i+1, cases)
		}
		s.Points = append(s.Points, Observation{Label: fmt.Sprintf("event %d", i+1), Num: float64(p - last - 1), AtLeast: i == 0})
		last = p
	}
	if cases > last {
		s.Points = append(s.Points, Observation{Label: "since the last event", Num: float64(cases - last), AtLeast: true})
	}
	return s, nil
}

func label(labels []string, i int) string {
	if i < len(labels) {
		return labels[i]
	}
	return strconv.Itoa(i + 1)
}

// maxNumber bounds the numbers a chart takes: squares and sums stay finite, counts
// stay exact.
const (
	maxNumber = 1e100
	maxCount  = 1 << 53
)

// points checks a series against a kind and makes the points to be filled.
func (s Series) points(k Kind) ([]Point, error) {
	pts := make([]Point, len(s.Points))
	ratio := k.ratio() || (s.Ratio && (k == Run || k == XmR || k == EWMA || k == Cusum))
	for i, o := range s.Points {
		bad := func(format string, args ...any) error {
			return fmt.Errorf("%s chart: row %d (%s): %s", k, i+1, o.Label, fmt.Sprintf(format, args...))
		}
		p := Point{
			Label: o.Label, X: i, SetAside: o.SetAside, Hollow: o.Hollow, AtLeast: o.AtLeast,
			setReason: o.SetReason,
		}
		pts[i] = p
		if o.Missing {
			pts[i].Gap = true
			continue
		}
		if k == XbarR || k == XbarS {
			if err := pts[i].subgroup(o.Sub); err != nil {
				return nil, bad("%v", err)
			}
			continue
		}
		if !usable(o.Num) || (ratio || k == NP) && !usable(o.N) {
			return nil, bad("a number is not finite or beyond 1e100")
		}
		if k.counts() && (o.Num < 0 || o.Num != math.Trunc(o.Num) || o.Num > maxCount) {
			return nil, bad("%v is no count", o.Num)
		}
		if k == T && o.Num < 0 {
			return nil, bad("a time between events cannot be negative")
		}
		if ratio || k == NP {
			if o.N < 0 {
				return nil, bad("denominator %v is negative", o.N)
			}
			if (k.proportion() || k == NP) && (o.N != math.Trunc(o.N) || o.N > maxCount) {
				return nil, bad("denominator %v is no count", o.N)
			}
			if (k.proportion() || k == NP) && o.Num > o.N {
				return nil, bad("%v events of %v cases", o.Num, o.N)
			}
			if o.N == 0 {
				if o.Num > 0 {
					return nil, bad("%v events without a denominator", o.Num)
				}
				pts[i].Gap = true
				continue
			}
		}
		pts[i].num, pts[i].N, pts[i].Value, pts[i].Has = o.Num, o.N, o.Num, true
		if ratio {
			pts[i].Value = o.Num / o.N
			if !usable(pts[i].Value) {
				return nil, bad("%v over %v is beyond 1e100", o.Num, o.N)
			}
		} else if k != NP {
			pts[i].N = 0
		}
	}
	return pts, nil
}

func usable(x float64) bool { return math.Abs(x) <= maxNumber } // false for NaN too

func (p *Point) subgroup(x []float64) error {
	if len(x) == 0 {
		p.Gap = true
		return nil
	}
	for _, v := range x {
		if !usable(v) {
			return errors.New("a number is not finite or beyond 1e100")
		}
	}
	p.Value, p.Has, p.N = mean(x), true, float64(len(x))
	if len(x) > 1 {
		p.spread = &spread{r: slices.Max(x) - slices.Min(x), s: stdDev(x)}
	}
	return nil
}
