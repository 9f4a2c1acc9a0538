package estimate

import (
	"fmt"
	"math"

	"chestrise/metrics/dist"
)

// Table2 is a two by two table: rows are groups, columns are event and no event.
type Table2 struct{ A, B, C, D int } // A, B: first group with and without; C, D: second

func (t Table2) check() error {
	if t.A < 0 || t.B < 0 || t.C < 0 || t.D < 0 {
		return fmt.Errorf("a two by two table with a negative count: %v", t)
	}
	return nil
}

// Fisher is Fisher's exact test with the conditional odds ratio.
type Fisher struct {
	TwoSided, Greater, Less float64
	OddsRatio               float64  // conditional maximum likelihood; 0 or +Inf with an empty cell
	CI                      Interval // exact; the upper end may be +Inf
	Estimable               bool     // false where a margin is empty: no odds ratio
}

// FisherTest tests whether two groups differ. Two-sided: the sum over all tables with
// the same margins that are no more probable than the one observed (relative slack
// 1e-7). With an empty margin every P is 1. Sources: Fisher 1934; Cornfield 1956.
func FisherTest(t Table2, level float64) (Fisher, error) {
	if err := t.check(); err != nil {
		return Fisher{}, err
	}
	if err := checkLevel(level); err != nil {
		return Fisher{}, err
	}
	m, n, k := t.A+t.B, t.C+t.D, t.A+t.C
	lo, hi := max(0, k-n), min(k, m)
	f := Fisher{TwoSided: 1, Greater: 1, Less: 1, OddsRatio: 1, CI: Interval{0, math.Inf(1)}, Estimable: false}
	if lo == hi {
		return f, nil
	}
	// Logarithms of the hypergeometric weights; an odds ratio tilts them.
	logs := make([]float64, hi-lo+1)
	for i := range logs {
		logs[i] = dist.LogChoose(m, lo+i) + dist.LogChoose(n, k-lo-i)
	}
	x := t.A - lo
	tilt := func(logOdds float64) []float64 {
		p := make([]float64, len(logs))
		top := math.Inf(-1)
		for i, l := range logs {
			p[i] = l + logOdds*float64(i)
			top = math.Max(top, p[i])
		}
		sum := 0.0
		for i := range p {
			p[i] = math.Exp(p[i] - top)
			sum += p[i]
		}
		for i := range p {
			p[i] /= sum
		}
		return p
	}
	from := func(p []float64, a, b int) (s float64) {
		for _, v := range p[a:b] {
			s += v
		}
		return math.Min(s, 1)
	}
	p := tilt(0)
	f.TwoSided = 0
	for _, v := range p {
		if v <= p[x]*(1+1e-7) {
			f.TwoSided += v
		}
	}
	f.TwoSided = math.Min(f.TwoSided, 1)
	f.Greater, f.Less = from(p, x, len(p)), from(p, 0, x+1)
	f.Estimable = true
	a := (1 - level) / 2
	f.OddsRatio, f.CI = 0, Interval{0, math.Inf(1)}
	if x == len(p)-1 {
		f.OddsRatio = math.Inf(1)
	} else if x > 0 {
		f.OddsRatio = math.Exp(bisect(-700, 700, func(l float64) float64 {
			mean := 0.0
			for i, v := range tilt(l) {
				mean += float64(i) * v
			}
			return mean - float64(x)
		}))
	}
	if x > 0 {
		f.CI.Lower = math.Exp(bisect(-700, 700, func(l float64) float64 { return from(tilt(l), x, len(p)) - a }))
	}
	if x < len(p)-1 {
		f.CI.Upper = math.Exp(bisect(-700, 700, func(l float64) float64 { return a - from(tilt(l), 0, x+1) }))
	}
	return f, nil
}

// ChiSquare is a chi-squared test.
type ChiSquare struct {
	Value       float64
	DF          int
	P           float64
	MinExpected float64 // smallest expected count; under 5 the test is doubtful
}

// PearsonTest is the chi-squared test of a table of counts, rows by columns, with
// Yates' continuity correction if asked for (two by two only). Empty rows and columns
// are left out; with fewer than two of either the value is 0 and P is 1.
func PearsonTest(counts [][]int, corrected bool) (ChiSquare, error) {
	rows, cols, total := make([]float64, len(counts)), []float64{}, 0.0
	for i, r := range counts {
		if i == 0 {
			cols = make([]float64, len(r))
		}
		if len(r) != len(cols) {
			return ChiSquare{}, fmt.Errorf("row %d of the table has %d cells, the first %d", i+1, len(r), len(cols))
		}
		for j, v := range r {
			if v < 0 {
				return ChiSquare{}, fmt.Errorf("a table with a negative count in row %d", i+1)
			}
			rows[i] += float64(v)
			cols[j] += float64(v)
			total += float64(v)
		}
	}
	out := ChiSquare{Value: 0, DF: 0, P: 1, MinExpected: 0}
	nr, nc := filled(rows), filled(cols)
	if nr < 2 || nc < 2 {
		return out, nil
	}
	yates := 0.0
	if corrected && nr == 2 && nc == 2 {
		yates = 0.5
		for i, r := range counts {
			for j, v := range r {
				if e := rows[i] * cols[j] / total; e > 0 {
					yates = math.Min(yates, math.Abs(float64(v)-e))
				}
			}
		}
	}
	out.MinExpected = math.Inf(1)
	for i, r := range counts {
		for j, v := range r {
			e := rows[i] * cols[j] / total
			if e == 0 {
				continue
			}
			out.MinExpected = math.Min(out.MinExpected, e)
			d := math.Abs(float64(v)-e) - yates
			out.Value += d * d / e
		}
	}
	out.DF = (nr - 1) * (nc - 1)
	out.P = dist.ChiSquaredTail(out.Value, float64(out.DF))
	return out, nil
}

func filled(x []float64) (n int) {
	for _, v := range x {
		if v > 0 {
			n++
		}
	}
	return n
}

// Trend is the Cochran-Armitage test for a trend of a proportion over scored groups.
type Trend struct {
	Z, ChiSquared, P float64
	Correlation      float64 // chi-squared in the form with N-1
}

// TrendTest tests a linear trend of the proportions events/cases over the scores. The
// result depends on the scores: state them. Without spread in scores or outcome Z is 0
// and P is 1. Source: Armitage 1955.
func TrendTest(events, cases []int, scores []float64) (Trend, error) {
	if len(events) != len(cases) || len(events) != len(scores) {
		return Trend{}, fmt.Errorf("trend test: %d events, %d cases, %d scores", len(events), len(cases), len(scores))
	}
	if err := checkNumbers(scores); err != nil {
		return Trend{}, fmt.Errorf("trend test: %w", err)
	}
	n, x, sum := 0.0, 0.0, 0.0
	for i := range events {
		if err := checkCounts(events[i], cases[i]); err != nil {
			return Trend{}, fmt.Errorf("trend test: group %d: %w", i+1, err)
		}
		n += float64(cases[i])
		x += float64(events[i])
		sum += float64(cases[i]) * scores[i]
	}
	out := Trend{Z: 0, ChiSquared: 0, P: 1, Correlation: 0}
	if n < 2 || x == 0 || x == n {
		return out, nil
	}
	p, mean := x/n, sum/n
	t, ss := 0.0, 0.0
	for i := range events {
		d := scores[i] - mean
		t += float64(events[i]) * d
		ss += float64(cases[i]) * d * d
	}
	if ss <= 0 {
		return out, nil
	}
	out.Z = t / math.Sqrt(p*(1-p)*ss)
	out.ChiSquared = out.Z * out.Z
	out.Correlation = out.ChiSquared * (n - 1) / n
	out.P = dist.ChiSquaredTail(out.ChiSquared, 1)
	return out, nil
}

// MantelHaenszel is a comparison of two groups over strata.
type MantelHaenszel struct {
	OddsRatio  float64
	CI         Interval
	Estimable  bool    // false where no stratum has both kinds of pairs
	ChiSquared float64 // with continuity correction
	P          float64
	Used       int // strata that contribute
}

// MantelHaenszelTest combines two by two tables over strata:
//
//	OR = sum(a d/n) / sum(b c/n)
//
// with the interval of Robins, Breslow & Greenland on the log scale, and the
// Mantel-Haenszel chi-squared with continuity correction. A stratum with an empty
// margin contributes nothing. Sources: Mantel & Haenszel 1959; Robins, Breslow &
// Greenland 1986.
func MantelHaenszelTest(strata []Table2, level float64) (MantelHaenszel, error) {
	if err := checkLevel(level); err != nil {
		return MantelHaenszel{}, err
	}
	out := MantelHaenszel{OddsRatio: 0, CI: Interval{0, math.Inf(1)}, Estimable: false, ChiSquared: 0, P: 1, Used: 0}
	var r, s, pr, cross, qs, diff, variance float64
	for i, t := range strata {
		if err := t.check(); err != nil {
			return MantelHaenszel{}, fmt.Errorf("stratum %d: %w", i+1, err)
		}
		a, b, c, d := float64(t.A), float64(t.B), float64(t.C), float64(t.D)
		n := a + b + c + d
		if n < 2 || (a+b)*(c+d)*(a+c)*(b+d) == 0 {
			continue
		}
		out.Used++
		ri, si := a*d/n, b*c/n
		p, q := (a+d)/n, (b+c)/n
		r, s = r+ri, s+si
		pr += p * ri
		cross += p*si + q*ri
		qs += q * si
		diff += a - (a+b)*(a+c)/n
		variance += (a + b) * (c + d) * (a + c) * (b + d) / (n * n * (n - 1))
	}
	if variance > 0 {
		corrected := math.Max(0, math.Abs(diff)-0.5)
		out.ChiSquared = corrected * corrected / variance
		out.P = dist.ChiSquaredTail(out.ChiSquared, 1)
	}
	if r > 0 && s > 0 {
		out.Estimable = true
		out.OddsRatio = r / s
		se := math.Sqrt(pr/(2*r*r) + cross/(2*r*s) + qs/(2*s*s))
		w := normalWidth(level) * se
		out.CI = Interval{out.OddsRatio * math.Exp(-w), out.OddsRatio * math.Exp(w)}
	}
	return out, nil
}
