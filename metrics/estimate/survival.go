package estimate

import (
	"fmt"
	"math"
	"slices"

	"chestrise/metrics/dist"
)

// Time is one observed time: until the event, or until observation ended without it.
type Time struct {
	At    float64
	Event bool
}

// Scale is the scale on which limits of a curve are made.
type Scale uint8

const (
	// Log makes limits on the logarithm of the curve, cut at 1.
	Log Scale = iota
	// LogLog makes them on log(-log), which never leaves 0 to 1.
	LogLog
)

// Step is one drop of a Kaplan-Meier curve.
type Step struct {
	At       float64
	AtRisk   int // just before At
	Events   int
	Survival float64 // from At on
	StdErr   float64 // of Survival
	Limits   Interval
	Limited  bool // false where the curve has reached 0: no limits there
}

// Curve is a Kaplan-Meier curve.
type Curve struct {
	Steps    []Step
	N        int
	Last     float64 // largest time observed
	Level    float64
	LimitsOn Scale
}

// KaplanMeier estimates the share still without the event at each time,
//
//	S = product of (1 - d/n),  Var S = S^2 sum of d/(n (n-d))  (Greenwood)
//
// with limits S exp(-/+ z se) on the log scale, or S^exp(-/+ z se/log S) on log-log.
// At the same time events come before ends of observation. No times give a curve
// without steps. Times must be finite and not negative. Source: Kaplan & Meier 1958;
// Kalbfleisch & Prentice (limits).
func KaplanMeier(times []Time, level float64, scale Scale) (Curve, error) {
	if err := checkLevel(level); err != nil {
		return Curve{}, err
	}
	s, err := sortedTimes(times)
	if err != nil {
		return Curve{}, err
	}
	c := Curve{N: len(s), Level: level, LimitsOn: scale, Steps: []Step{}}
	z := normalWidth(level)
	surv, green := 1.0, 0.0
	for i := 0; i < len(s); {
		at, d, j := s[i].At, 0, i
		for ; j < len(s) && s[j].At == at; j++ {
			if s[j].Event {
				d++
			}
		}
		n := len(s) - i
		i, c.Last = j, at
		if d == 0 {
			continue
		}
		st := Step{At: at, AtRisk: n, Events: d}
		if d == n {
			c.Steps = append(c.Steps, st)
			continue
		}
		surv *= 1 - float64(d)/float64(n)
		green += float64(d) / (float64(n) * float64(n-d))
		st.Survival, st.StdErr, st.Limited = surv, surv*math.Sqrt(green), true
		st.Limits = limitsOf(surv, math.Sqrt(green), z, scale)
		c.Steps = append(c.Steps, st)
	}
	return c, nil
}

// limitsOf makes limits from the standard error of log S.
func limitsOf(s, se, z float64, scale Scale) Interval {
	if scale == Log {
		return Interval{s * math.Exp(-z*se), math.Min(1, s*math.Exp(z*se))}
	}
	l := math.Log(s)
	e := z * se / -l
	return Interval{math.Exp(l * math.Exp(e)), math.Exp(l * math.Exp(-e))}
}

func sortedTimes(times []Time) ([]Time, error) {
	s := slices.Clone(times)
	for i, t := range s {
		if !(t.At >= 0 && t.At <= 1e100) {
			return nil, fmt.Errorf("time %d (%v) is negative or not finite", i+1, t.At)
		}
	}
	slices.SortStableFunc(s, func(a, b Time) int {
		switch {
		case a.At < b.At:
			return -1
		case a.At > b.At:
			return 1
		}
		return 0
	})
	return s, nil
}

// At gives the share still without the event at a time.
func (c Curve) At(t float64) float64 {
	s := 1.0
	for _, st := range c.Steps {
		if st.At > t {
			break
		}
		s = st.Survival
	}
	return s
}

// Quantile gives the first time at which at least a share p has had the event, with
// the limits that the limits of the curve give; each may be "not reached". Where the
// curve is exactly 1-p for a while this is the start of the stretch, not its middle.
func (c Curve) Quantile(p float64) (value, lower, upper Reach) {
	const fuzz = 1e-12
	for _, st := range c.Steps {
		if !value.Reached && st.Survival <= 1-p+fuzz {
			value = reached(st.At)
		}
		if !st.Limited {
			continue
		}
		if !lower.Reached && st.Limits.Lower <= 1-p+fuzz {
			lower = reached(st.At)
		}
		if !upper.Reached && st.Limits.Upper <= 1-p+fuzz {
			upper = reached(st.At)
		}
	}
	return value, lower, upper
}

// LogRank is a weighted log-rank test of two or more groups. With competing ends
// counted as ends of observation it compares the cause-specific rates, not the shares
// that have had the event: say so where it is shown, or use GrayTest.
type LogRank struct {
	Observed, Expected []float64
	ChiSquared         float64
	DF                 int
	P                  float64
}

// LogRankTest compares groups of times. rho = 0 is the log-rank test; rho = 1 weights
// each time by the pooled Kaplan-Meier curve just before it (Peto & Prentice). The
// variance is hypergeometric. A group without times, or no spread at all, is
// compared as far as it goes; with fewer than two usable groups P is 1. Sources:
// Mantel 1966, Peto & Peto 1972, Harrington & Fleming 1982 (from memory).
func LogRankTest(groups [][]Time, rho float64) (LogRank, error) {
	if len(groups) < 2 {
		return LogRank{}, fmt.Errorf("log-rank test: %d group", len(groups))
	}
	if !(rho >= 0 && rho <= 10) {
		return LogRank{}, fmt.Errorf("log-rank test: rho %v", rho)
	}
	k := len(groups)
	type entry struct {
		Time
		g int
	}
	var all []entry
	for g, ts := range groups {
		s, err := sortedTimes(ts)
		if err != nil {
			return LogRank{}, fmt.Errorf("log-rank test: group %d: %w", g+1, err)
		}
		for _, t := range s {
			all = append(all, entry{t, g})
		}
	}
	slices.SortStableFunc(all, func(a, b entry) int {
		switch {
		case a.At < b.At:
			return -1
		case a.At > b.At:
			return 1
		}
		return 0
	})
	r := LogRank{Observed: make([]float64, k), Expected: make([]float64, k), DF: 0, P: 1}
	risk := make([]float64, k)
	for _, e := range all {
		risk[e.g]++
	}
	u := make([]float64, k)
	v := make([][]float64, k)
	for g := range v {
		v[g] = make([]float64, k)
	}
	surv := 1.0
	for i := 0; i < len(all); {
		d, total, gone := make([]float64, k), 0.0, make([]float64, k)
		j := i
		for ; j < len(all) && all[j].At == all[i].At; j++ {
			gone[all[j].g]++
			if all[j].Event {
				d[all[j].g]++
				total++
			}
		}
		n := float64(len(all) - i)
		i = j
		if total > 0 {
			w := math.Pow(surv, rho)
			for g := range k {
				e := risk[g] * total / n
				r.Observed[g] += d[g] * w
				r.Expected[g] += e * w
				u[g] += w * (d[g] - e)
				if n > 1 {
					f := w * w * total * (n - total) / (n - 1) * risk[g] / n
					v[g][g] += f
					for h := range k {
						v[g][h] -= f * risk[h] / n
					}
				}
			}
			surv *= 1 - total/n
		}
		for g := range k {
			risk[g] -= gone[g]
		}
	}
	r.ChiSquared, r.DF = quadraticForm(u, v)
	if r.DF > 0 {
		r.P = dist.ChiSquaredTail(r.ChiSquared, float64(r.DF))
	}
	return r, nil
}

// quadraticForm is u' V^- u over the components that vary, with their rank, V being
// the covariance of components that sum to zero: the last varying one is left out.
func quadraticForm(u []float64, v [][]float64) (float64, int) {
	var use []int
	for g := range u {
		if v[g][g] > 1e-12 {
			use = append(use, g)
		}
	}
	if len(use) < 2 {
		return 0, 0
	}
	use = use[:len(use)-1]
	n := len(use)
	a := make([][]float64, n)
	b := make([]float64, n)
	for i, g := range use {
		a[i] = make([]float64, n)
		b[i] = u[g]
		for j, h := range use {
			a[i][j] = v[g][h]
		}
	}
	x := append([]float64(nil), b...)
	rank := 0
	for c := range n {
		p := c
		for r := c + 1; r < n; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[p][c]) {
				p = r
			}
		}
		if math.Abs(a[p][c]) < 1e-12 {
			return 0, 0
		}
		rank++
		a[c], a[p], x[c], x[p] = a[p], a[c], x[p], x[c]
		for r := range n {
			if r == c {
				continue
			}
			f := a[r][c] / a[c][c]
			for j := c; j < n; j++ {
				a[r][j] -= f * a[c][j]
			}
			x[r] -= f * x[c]
		}
	}
	q := 0.0
	for i := range n {
		q += b[i] * x[i] / a[i][i]
	}
	return math.Max(0, q), rank
}
