package compare

import (
	"errors"
	"fmt"
	"math"
)

// RareWatch is a Bernoulli cumulative sum over single births that watches a rare event
// for becoming more frequent. Each birth adds Weights; a signal where the sum passes H;
// after a signal it starts again at 0. The weights are whole multiples of Unit: a birth
// without the event takes one off, one with it adds Steps.
type RareWatch struct {
	P0       float64 // rate per birth when nothing is wrong
	P1       float64 // rate it is designed for, near Multiple times P0
	Weights  Weights
	Unit     float64
	Steps    int
	Levels   int     // H in units
	H        float64 // Levels * Unit
	Every    float64 // mean births to a false signal, exact
	Detect   float64 // mean births to a signal once the rate has multiplied, from 0
	Multiple float64 // how many times P0 Detect is computed for
}

// rareShare is the highest rate that counts as rare: past it the lattice of the sum is
// too coarse.
const rareShare = 0.1

// WatchRare designs the sum for a rate p0 per birth, a multiple to watch for (2: a
// doubling) and a mean number of births to a false signal (say, ten years of births).
// The limit is the smallest that gives at least that many; the mean is exact, by a
// Markov chain on the lattice of the weights. To keep the lattice exact P1 is moved to
// the nearest rate whose weights are in a whole-number ratio.
//
// Errors: a rate that is not above 0 and at most 0.1, a multiple not above 1 and at most
// 10, fewer than 10 births or more than a hundred million to a false signal. Source:
// Reynolds & Stoumbos, J. Quality Technology 31 (1999) 87-108 (from memory).
func WatchRare(p0, multiple, falseEvery float64) (RareWatch, error) {
	switch {
	case !(p0 > 1e-7 && p0 <= rareShare):
		return RareWatch{}, fmt.Errorf("a rate of %v per birth: this watch is for rates above 0 and at most %v", p0, rareShare)
	case !(multiple > 1 && multiple <= 10) || p0*multiple >= 0.9:
		return RareWatch{}, fmt.Errorf("a rate %v times %v", p0, multiple)
	case !(falseEvery >= 10 && falseEvery <= 1e8):
		return RareWatch{}, fmt.Errorf("a false signal every %v births", falseEvery)
	}
	w := RareWatch{P0: p0, P1: 0, Weights: Weights{Event: 0, NoEvent: 0}, Unit: 0, Steps: 0, Levels: 0, H: 0, Every: 0, Detect: 0, Multiple: multiple}
	if err := w.lattice(p0 * multiple); err != nil {
		return RareWatch{}, err
	}
	lo, hi := 0, 1
	for {
		n, err := w.length(p0, hi)
		if err != nil {
			return RareWatch{}, err
		}
		if n >= falseEvery {
			break
		}
		lo = hi
		if hi *= 2; hi > 100*(w.Steps+1) {
			return RareWatch{}, fmt.Errorf("no limit gives a false signal every %v births", falseEvery)
		}
	}
	for hi-lo > 1 {
		m := (lo + hi) / 2
		n, err := w.length(p0, m)
		if err != nil {
			return RareWatch{}, err
		}
		if n >= falseEvery {
			hi = m
		} else {
			lo = m
		}
	}
	w.Levels, w.H = hi, float64(hi)*w.Unit
	var err error
	if w.Every, err = w.length(p0, hi); err != nil {
		return RareWatch{}, err
	}
	w.Detect, err = w.length(p0*multiple, hi)
	return w, err
}

// lattice finds the nearest p1 at which an event weighs a whole number of non-events.
func (w *RareWatch) lattice(p1 float64) error {
	ratio := func(p float64) float64 {
		return math.Log(p/w.P0) / -(math.Log1p(-p) - math.Log1p(-w.P0))
	}
	w.Steps = int(math.Round(ratio(p1)))
	if w.Steps < 1 {
		return fmt.Errorf("a rate of %v is not rare enough for a lattice", w.P0)
	}
	// The ratio falls as p grows.
	lo, hi := w.P0*(1+1e-9), math.Min(p1*4, 0.999)
	for range 200 {
		m := lo + (hi-lo)/2
		if ratio(m) > float64(w.Steps) {
			lo = m
		} else {
			hi = m
		}
	}
	w.P1 = lo + (hi-lo)/2
	weights, err := BernoulliWeights(w.P0, w.P1)
	if err != nil {
		return err
	}
	w.Unit = -weights.NoEvent
	w.Weights = Weights{Event: float64(w.Steps) * w.Unit, NoEvent: -w.Unit}
	return nil
}

// length is the mean number of births from 0 to a signal at a true rate p, when a sum
// above levels signals. With E_i the mean from i units,
//
//	E_i = 1 + (1-p) E_max(i-1,0) + p E_(i+steps),  E = 0 above levels,
//
// every E is linear in the few values E_0, E_steps, E_2steps, ...: these are solved for.
func (w *RareWatch) length(p float64, levels int) (float64, error) {
	k := w.Steps
	parts := levels/k + 1 // part q holds levels q k .. min((q+1) k - 1, levels)
	size := parts + 1     // coefficients of the part values, then the constant
	if parts > 400 || levels > 1<<24 {
		return 0, errors.New("a false signal so rare needs too high a limit")
	}
	// above holds the coefficients of part q+1 while part q is built; last those of the
	// final level of each part.
	var above [][]float64
	last := make([][]float64, parts)
	second := make([][]float64, parts) // E at the first level of the part above, by part
	for q := parts - 1; q >= 0; q-- {
		top := min((q+1)*k-1, levels)
		n := top - q*k + 1
		part := make([][]float64, n)
		buf := make([]float64, n*size)
		for i := range n {
			e := buf[i*size : (i+1)*size]
			part[i] = e
			if i == 0 {
				e[q] = 1
				continue
			}
			for j, v := range part[i-1] {
				e[j] = (1 - p) * v
			}
			e[parts]++
			if i < len(above) {
				for j, v := range above[i] {
					e[j] += p * v
				}
			}
		}
		last[q] = part[n-1]
		if len(above) > 0 {
			second[q] = above[0]
		}
		above = part
	}
	a := make([][]float64, parts)
	b := make([]float64, parts)
	for q := range parts {
		row := make([]float64, parts)
		row[q] = 1
		c := 1.0
		sub := func(f float64, e []float64) {
			for j := range parts {
				row[j] -= f * e[j]
			}
			c += f * e[parts]
		}
		if q == 0 {
			row[0] -= 1 - p
		} else {
			sub(1-p, last[q-1])
		}
		if second[q] != nil {
			sub(p, second[q])
		}
		a[q], b[q] = row, c
	}
	x, err := eliminate(a, b)
	if err != nil {
		return 0, err
	}
	return x[0], nil
}

// eliminate is Gaussian elimination with row pivoting; a and b are used up.
func eliminate(a [][]float64, b []float64) ([]float64, error) {
	n := len(b)
	for c := range n {
		p := c
		for r := c + 1; r < n; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[p][c]) {
				p = r
			}
		}
		if a[p][c] == 0 {
			return nil, errors.New("a signal is too rare to be followed")
		}
		a[c], a[p], b[c], b[p] = a[p], a[c], b[p], b[c]
		for r := c + 1; r < n; r++ {
			f := a[r][c] / a[c][c]
			for j := c; j < n; j++ {
				a[r][j] -= f * a[c][j]
			}
			b[r] -= f * b[c]
		}
	}
	for r := n - 1; r >= 0; r-- {
		for j := r + 1; j < n; j++ {
			b[r] -= a[r][j] * b[j]
		}
		b[r] /= a[r][r]
		if !finite(b[r]) {
			return nil, errors.New("a signal is too rare to be followed")
		}
	}
	return b, nil
}

// Words says what the watch costs and what it sees: "A false signal about once in
// 20,000 births; a doubling shows after about 2,300 births on average.".
func (w RareWatch) Words() string {
	times := fmt.Sprintf("a rate %.3g times as high", w.Multiple)
	if w.Multiple == 2 {
		times = "a doubling"
	}
	return fmt.Sprintf("A false signal about once in %s births; %s shows after about %s births on average.",
		thousands(w.Every), times, thousands(w.Detect))
}

// thousands writes a number of births to three figures, with commas.
func thousands(x float64) string {
	if x > 0 {
		scale := math.Pow(10, math.Max(0, math.Floor(math.Log10(x))-2))
		x = math.Round(x/scale) * scale
	}
	s := fmt.Sprintf("%.0f", x)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}
