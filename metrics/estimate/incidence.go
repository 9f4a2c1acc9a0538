package estimate

import (
	"fmt"
	"math"
	"slices"
)

// End is one observed time with the end that came first: cause 1, 2, ... or 0 where
// observation ended before any.
type End struct {
	At    float64
	Cause int
}

// IncidenceStep is one rise of a cumulative incidence curve.
type IncidenceStep struct {
	At      float64
	AtRisk  int
	Events  int     // of the cause followed
	Share   float64 // that have had the cause's end by At
	StdErr  float64
	Limits  Interval
	Limited bool // false where the share is 0 or 1 or no spread can be computed
}

// Incidence is the cumulative incidence of one cause with the others competing.
type Incidence struct {
	Cause int
	Steps []IncidenceStep
	N     int
	Last  float64
	Level float64
}

// CumulativeIncidence estimates the share that has had the end of one cause by each
// time, the other causes competing (Aalen-Johansen):
//
//	F(t) = sum over t_j <= t of S(t_j-) d_kj / n_j
//
// S being the share without any end. Its variance is the Greenwood-type one,
//
//	sum (F(t)-F(t_j))^2 d_j/(n_j (n_j-d_j)) + sum S(t_j-)^2 d_kj (n_j-d_kj)/n_j^3
//	- 2 sum (F(t)-F(t_j)) S(t_j-) d_kj/n_j^2
//
// and the limits are made on log(-log), so they stay within 0 and 1. Counting other
// ends as if observation had merely stopped would say what might have been had they
// been abolished: it overstates. Causes must be 0 or more, the cause followed 1 or
// more. Sources: Aalen & Johansen 1978; Marubini & Valsecchi 1995, eq. 10.12 (from
// memory).
func CumulativeIncidence(ends []End, cause int, level float64) (Incidence, error) {
	if err := checkLevel(level); err != nil {
		return Incidence{}, err
	}
	table, last, err := endTable(ends, cause)
	if err != nil {
		return Incidence{}, err
	}
	out := Incidence{Cause: cause, Steps: []IncidenceStep{}, N: len(ends), Last: last, Level: level}
	z := normalWidth(level)
	// Walk forward; the variance at each rise sums over all earlier rises.
	surv, share := 1.0, 0.0
	type past struct{ surv, share, n, d, dk float64 }
	var seen []past
	for _, row := range table {
		n, d, dk := float64(row.n), float64(row.d), float64(row.dk)
		share += surv * dk / n
		seen = append(seen, past{surv, share, n, d, dk})
		surv *= 1 - d/n
		if row.dk == 0 {
			continue
		}
		v := 0.0
		for _, p := range seen {
			gap := share - p.share
			if p.n > p.d {
				v += gap * gap * p.d / (p.n * (p.n - p.d))
			}
			v += p.surv * p.surv * p.dk * (p.n - p.dk) / (p.n * p.n * p.n)
			v -= 2 * gap * p.surv * p.dk / (p.n * p.n)
		}
		st := IncidenceStep{
			At: row.at, AtRisk: row.n, Events: row.dk, Share: math.Min(share, 1), StdErr: math.Sqrt(math.Max(0, v)),
			Limits: Interval{Lower: 0, Upper: 0}, Limited: false,
		}
		if st.Share > 0 && st.Share < 1 && st.StdErr > 0 {
			l := math.Log(st.Share)
			e := z * st.StdErr / (st.Share * -l)
			st.Limits, st.Limited = Interval{math.Exp(l * math.Exp(e)), math.Exp(l * math.Exp(-e))}, true
		}
		out.Steps = append(out.Steps, st)
	}
	return out, nil
}

type endRow struct {
	at       float64
	n, d, dk int
}

// endTable counts, at every time with some end, those at risk, all ends, and the ends
// of the cause.
func endTable(ends []End, cause int) ([]endRow, float64, error) {
	if cause < 1 {
		return nil, 0, fmt.Errorf("cause %d: causes count from 1", cause)
	}
	s := slices.Clone(ends)
	for i, e := range s {
		if !(e.At >= 0 && e.At <= 1e100) || e.Cause < 0 {
			return nil, 0, fmt.Errorf("end %d: time %v, cause %d", i+1, e.At, e.Cause)
		}
	}
	slices.SortStableFunc(s, func(a, b End) int {
		switch {
		case a.At < b.At:
			return -1
		case a.At > b.At:
			return 1
		}
		return 0
	})
	var out []endRow
	last := 0.0
	for i := 0; i < len(s); {
		row := endRow{at: s[i].At, n: len(s) - i, d: 0, dk: 0}
		j := i
		for ; j < len(s) && s[j].At == s[i].At; j++ {
			if s[j].Cause > 0 {
				row.d++
			}
			if s[j].Cause == cause {
				row.dk++
			}
		}
		last = row.at
		i = j
		if row.d > 0 {
			out = append(out, row)
		}
	}
	return out, last, nil
}

// At gives the share, its standard error and its limits at a time; the share is 0
// with no limits before the first rise.
func (c Incidence) At(t float64) IncidenceStep {
	st := IncidenceStep{At: t, AtRisk: c.N, Events: 0, Share: 0, StdErr: 0, Limits: Interval{Lower: 0, Upper: 0}, Limited: false}
	for _, s := range c.Steps {
		if s.At > t {
			break
		}
		st = s
	}
	return st
}

// Quantile gives the first time at which a share p of all has had the cause's end,
// with the limits the curve's limits give; each may be "not reached".
func (c Incidence) Quantile(p float64) (value, lower, upper Reach) {
	const fuzz = 1e-12
	for _, st := range c.Steps {
		if !value.Reached && st.Share >= p-fuzz {
			value = reached(st.At)
		}
		if !st.Limited {
			continue
		}
		if !lower.Reached && st.Limits.Upper >= p-fuzz {
			lower = reached(st.At)
		}
		if !upper.Reached && st.Limits.Lower >= p-fuzz {
			upper = reached(st.At)
		}
	}
	return value, lower, upper
}

// CompareAt is the difference after - before of two cumulative incidences at one time
// with its normal interval, cut at -1 and 1.
func CompareAt(before, after Incidence, t float64) Difference {
	a, b := before.At(t), after.At(t)
	d := b.Share - a.Share
	w := normalWidth(after.Level) * math.Hypot(a.StdErr, b.StdErr)
	return Difference{d, Interval{math.Max(-1, d-w), math.Min(1, d+w)}}
}
