package spc

import (
	"errors"
	"fmt"
	"math"

	"chestrise/metrics/dist"
)

// nodes is how many points of quadrature turn the run-length equation into linear ones:
// four for each standard deviation of a step that the range holds, at least 40.
func nodes(spans float64) int { return int(math.Min(math.Max(40, math.Ceil(4*spans)), 600)) }

// CusumRunLength gives the average run length of a tabular cumulative sum on
// independent normal values in units of sigma whose mean has moved up by shift: k
// the reference value, h the decision limit, head start s (0 <= s <= h) on each side.
// One-sided: the upper sum alone.
//
//	L(u) = 1 + L(0) Phi(k - u - shift) + integral over 0..h of L(y) phi(y + k - u - shift) dy
//
// solved at Gauss-Legendre nodes. Two-sided, with the sides' own run lengths:
//
//	L = (L+(s) L-(0) + L+(0) L-(s) - L+(0) L-(0)) / (L+(0) + L-(0))
//
// Sources: Page 1954; Lucas & Crosier, Technometrics 24 (1982) 199-205 (both from
// memory).
func CusumRunLength(k, h, shift, headStart float64, twoSided bool) (float64, error) {
	if !(k >= 0 && k < 100) || !(h > 0 && h <= 150) || !(headStart >= 0 && headStart <= h) || !(math.Abs(shift) < 100) {
		return 0, fmt.Errorf("run length of a cumulative sum: k %v, h %v, head start %v, shift %v", k, h, headStart, shift)
	}
	zero, start, err := oneSidedCusum(k, h, shift, headStart)
	if err != nil || !twoSided {
		return start, err
	}
	lower0, lowerS, err := oneSidedCusum(k, h, -shift, headStart)
	if err != nil {
		return 0, err
	}
	return start*(lower0/(zero+lower0)) + zero*(lowerS/(zero+lower0)) - zero*(lower0/(zero+lower0)), nil
}

// oneSidedCusum gives the run length from 0 and from the head start.
func oneSidedCusum(k, h, shift, headStart float64) (zero, start float64, err error) {
	x, w := dist.GaussLegendre(nodes(h))
	n := len(x) + 1 // the last unknown is L(0)
	a := make([][]float64, n)
	b := make([]float64, n)
	at := func(i int) float64 {
		if i == n-1 {
			return 0
		}
		return h / 2 * (1 + x[i])
	}
	row := func(u float64) []float64 {
		r := make([]float64, n)
		for j := range x {
			r[j] = h / 2 * w[j] * dist.NormalPDF(at(j)+k-u-shift)
		}
		r[n-1] = dist.NormalCDF(k - u - shift)
		return r
	}
	for i := range n {
		a[i] = row(at(i))
		for j := range a[i] {
			a[i][j] = -a[i][j]
		}
		a[i][i]++
		b[i] = 1
	}
	l, err := solve(a, b)
	if err != nil {
		return 0, 0, err
	}
	start = 1
	for j, c := range row(headStart) {
		start += c * l[j]
	}
	return l[n-1], start, nil
}

// minLambda is the smallest weight whose run length is computed: under it the steps are
// too small for the quadrature.
const minLambda = 0.001

// EWMARunLength gives the average run length of a two-sided exponentially weighted
// moving average with constant limits at width sigma of the average, lambda the
// weight of the newest value, on independent normal values whose mean has moved by
// shift sigma, started at start times the limit (0: at the target):
//
//	L(z) = 1 + 1/lambda integral over -c..c of L(y) phi((y - (1-lambda) z)/lambda - shift) dy
//
// with c = width sqrt(lambda/(2-lambda)). Source: Crowder 1987; Lucas & Saccucci,
// Technometrics 32 (1990) 1-12.
func EWMARunLength(lambda, width, shift, start float64) (float64, error) {
	if !(lambda >= minLambda && lambda <= 1) || !(width > 0 && width < 100) || !(math.Abs(start) < 1) || !(math.Abs(shift) < 100) {
		return 0, fmt.Errorf("run length of an average: lambda %v, width %v, shift %v, start %v", lambda, width, shift, start)
	}
	c := width * math.Sqrt(lambda/(2-lambda))
	a, err := newAverage(lambda, c, shift)
	if err != nil {
		return 0, err
	}
	return a.from(start * c), nil
}

// EWMAPairRunLength gives the average run length of two averages of the same values,
// one started at start times the upper limit and signalling above it, one mirrored:
// the fast initial response form. The two differ from a single average started at
// the target by start c (1-lambda)^t at step t, so the pair signals when that average
// leaves limits that open from c (1 - start (1-lambda)^t) to c; its density is
// followed step by step until the opening no longer matters. Source: Lucas &
// Saccucci, Technometrics 32 (1990) 1-12 (the idea); the equation is our own.
func EWMAPairRunLength(lambda, width, shift, start float64) (float64, error) {
	if !(lambda >= minLambda && lambda <= 1) || !(width > 0 && width < 100) || !(start >= 0 && start < 1) || !(math.Abs(shift) < 100) {
		return 0, fmt.Errorf("run length of an average: lambda %v, width %v, shift %v, start %v", lambda, width, shift, start)
	}
	c := width * math.Sqrt(lambda/(2-lambda))
	x, w := dist.GaussLegendre(nodes(2 * c / lambda))
	fixed, err := newAverage(lambda, c, shift)
	if err != nil {
		return 0, err
	}
	// where and mass are the points the average may be at, with their probabilities.
	where, mass := []float64{0}, []float64{1}
	total, opening := 0.0, start*c
	for opening > c*1e-7 {
		opening *= 1 - lambda
		half := c - opening
		total += sum(mass)
		next, at := make([]float64, len(x)), make([]float64, len(x))
		for j := range x {
			at[j] = half * x[j]
			for i, m := range mass {
				next[j] += m * half * w[j] / lambda * dist.NormalPDF((at[j]-(1-lambda)*where[i])/lambda-shift)
			}
		}
		where, mass = at, next
	}
	for i, m := range mass {
		total += m * fixed.from(where[i])
	}
	return total, nil
}

func sum(x []float64) (s float64) {
	for _, v := range x {
		s += v
	}
	return s
}

// average holds the solved run lengths of an average at the nodes of [-c, c].
type average struct {
	row func(z float64) []float64
	l   []float64
}

func newAverage(lambda, c, shift float64) (*average, error) {
	x, w := dist.GaussLegendre(nodes(2 * c / lambda))
	n := len(x)
	a := &average{row: func(z float64) []float64 {
		r := make([]float64, n)
		for j := range n {
			r[j] = c * w[j] / lambda * dist.NormalPDF((c*x[j]-(1-lambda)*z)/lambda-shift)
		}
		return r
	}}
	m := make([][]float64, n)
	b := make([]float64, n)
	for i := range n {
		m[i] = a.row(c * x[i])
		for j := range m[i] {
			m[i][j] = -m[i][j]
		}
		m[i][i]++
		b[i] = 1
	}
	var err error
	a.l, err = solve(m, b)
	return a, err
}

// from is the run length of an average that stands at z.
func (a *average) from(z float64) float64 {
	out := 1.0
	for j, c := range a.row(z) {
		out += c * a.l[j]
	}
	return out
}

// solve is Gaussian elimination with row pivoting; a and b are used up.
func solve(a [][]float64, b []float64) ([]float64, error) {
	n := len(b)
	for c := range n {
		p := c
		for r := c + 1; r < n; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[p][c]) {
				p = r
			}
		}
		if a[p][c] == 0 {
			return nil, errors.New("run length: a signal is too rare to be followed")
		}
		a[c], a[p], b[c], b[p] = a[p], a[c], b[p], b[c]
		for r := c + 1; r < n; r++ {
			f := a[r][c] / a[c][c]
			if f == 0 {
				continue
			}
			pivot, row := a[c][c:], a[r][c:]
			for j, v := range pivot {
				row[j] -= f * v
			}
			b[r] -= f * b[c]
		}
	}
	for r := n - 1; r >= 0; r-- {
		for j := r + 1; j < n; j++ {
			b[r] -= a[r][j] * b[j]
		}
		b[r] /= a[r][r]
		if !(math.Abs(b[r]) < 1e300) {
			return nil, errors.New("run length: a signal is too rare to be followed")
		}
	}
	return b, nil
}

// RunChartChance gives the exact probabilities that the run-chart rules signal by
// chance on n useful points, each above or below a fixed centre with probability a
// half: too few crossings, too long a run, either. All 0 for n < 2. About the median
// of the very same points the true rates differ slightly, because as many must lie
// above as below. Source: enumeration; Wentzel-Larsen & Anhoej, PLoS ONE 14 (2019)
// e0223233.
func RunChartChance(n int) (crossings, longest, either float64) {
	if n < 2 || n > 100000 {
		return 0, 0, 0
	}
	fewest, most := RunLimits(n)
	crossings = dist.BinomialCDF(fewest-1, n-1, 0.5)
	// quiet[r][c]: probability that no run has been too long, the current run is r+1,
	// and c crossings (counted up to fewest) have been made.
	quiet := make([][]float64, most)
	next := make([][]float64, most)
	for r := range quiet {
		quiet[r], next[r] = make([]float64, fewest+1), make([]float64, fewest+1)
	}
	quiet[0][0] = 1
	for i := 1; i < n; i++ {
		for r := range next {
			clear(next[r])
		}
		for r := range quiet {
			for c, p := range quiet[r] {
				if p == 0 {
					continue
				}
				next[0][min(c+1, fewest)] += p / 2
				if r+1 < most {
					next[r+1][c] += p / 2
				}
			}
		}
		quiet, next = next, quiet
	}
	short, calm := 0.0, 0.0
	for r := range quiet {
		for c, p := range quiet[r] {
			short += p
			if c == fewest {
				calm += p
			}
		}
	}
	return crossings, 1 - short, 1 - calm
}
