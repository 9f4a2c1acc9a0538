package compare

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// RiskGroup is a share of the cases with one predicted risk.
type RiskGroup struct{ Risk, Share float64 }

// chainCells is the number of cells the range 0 to h is cut into for the chain of a
// risk-adjusted sum.
const chainCells = 500

// RiskRunLength is the mean number of cases to a signal of a risk-adjusted sum with
// limit h for the odds ratio ra, when cases come at random from the mix and their true
// odds are odds times the predicted ones. It is a Markov chain over cells of the range 0
// to h in which a value between two cells is shared between them, so that its mean is
// kept; the error is about 1 % or less. Source: Steiner et al. 2000; Brook
// & Evans 1972.
func RiskRunLength(mix []RiskGroup, ra, h, odds float64) (float64, error) {
	if !(h > 0 && h < 1000) || !(odds > 0 && odds < 1e6) {
		return 0, fmt.Errorf("run length with limit %v and true odds ratio %v", h, odds)
	}
	jumps, err := jumpsOf(mix, ra, odds)
	if err != nil {
		return 0, err
	}
	return chainLength(jumps, h, chainCells)
}

// jump is one possible step of the sum, with its chance.
type jump struct{ by, p float64 }

func jumpsOf(mix []RiskGroup, ra, odds float64) ([]jump, error) {
	total := 0.0
	for _, g := range mix {
		if !(g.Share >= 0 && g.Share <= 1e12) {
			return nil, fmt.Errorf("a risk group of share %v", g.Share)
		}
		total += g.Share
	}
	if !(total > 0) {
		return nil, errors.New("a mix without cases")
	}
	var out []jump
	for _, g := range mix {
		w, err := RiskWeights(g.Risk, 1, ra)
		if err != nil {
			return nil, err
		}
		p := odds * g.Risk / (1 - g.Risk + odds*g.Risk)
		out = append(out, jump{w.Event, p * g.Share / total}, jump{w.NoEvent, (1 - p) * g.Share / total})
	}
	return out, nil
}

// chainLength is the mean number of steps from 0 until the sum, held at 0 from below,
// passes h: the solution of E_i = 1 + sum of p E over the cells a step leads to.
func chainLength(jumps []jump, h float64, cells int) (float64, error) {
	width := h / float64(cells)
	n := cells + 1 // state i stands for the value i width; beyond h is a signal
	a := make([][]float64, n)
	b := make([]float64, n)
	rises, down := false, 0 // down: the farthest a step leads below the diagonal
	for i := range n {
		a[i] = make([]float64, n)
		a[i][i], b[i] = 1, 1
	}
	for _, j := range jumps {
		if j.p == 0 {
			continue
		}
		rises = rises || j.by > 0
		at := j.by / width
		if math.Abs(at) > 1e8 {
			return 0, fmt.Errorf("a weight of %v against a limit of %v", j.by, h)
		}
		shift := math.Floor(at)
		further := at - shift
		down = max(down, -int(shift))
		for i := range n {
			if to := i + int(shift); to < n {
				a[i][max(to, 0)] -= j.p * (1 - further)
			}
			if to := i + int(shift) + 1; to < n {
				a[i][max(to, 0)] -= j.p * further
			}
		}
	}
	if !rises {
		return 0, errors.New("the sum never rises: no signal ever")
	}
	return firstOf(a, b, min(down, n-1))
}

// firstOf solves a x = b for a chain's matrix I - Q by elimination and gives x for the lowest state. No entry lies more than down below the
// diagonal. Such a matrix has non-positive entries beside a dominant diagonal, so no
// rows need be exchanged. a and b are used up.
func firstOf(a [][]float64, b []float64, down int) (float64, error) {
	n := len(b)
	for c := range n {
		pivot := a[c][c]
		if !(pivot > 1e-300) {
			return 0, errors.New("a signal is too rare to be followed")
		}
		last := n - 1
		for last > c && a[c][last] == 0 {
			last--
		}
		head := a[c][c : last+1]
		for r := c + 1; r <= min(c+down, n-1); r++ {
			f := a[r][c] / pivot
			if f == 0 {
				continue
			}
			row := a[r][c : last+1]
			for j, v := range head {
				row[j] -= f * v
			}
			b[r] -= f * b[c]
		}
	}
	for r := n - 1; r >= 0; r-- {
		row := a[r]
		for j := r + 1; j < n; j++ {
			if v := row[j]; v != 0 {
				b[r] -= v * b[j]
			}
		}
		b[r] /= row[r]
	}
	if !(b[0] >= 1 && b[0] < 1e12) {
		return 0, errors.New("a signal is too rare to be followed")
	}
	return b[0], nil
}

// SimulatedRiskRunLength is the same by simulation, as a check and for mixes given case
// by case: risks are drawn from the list with equal chance. Each run is cut at limit
// cases; cut says how many were. The random source is given.
func SimulatedRiskRunLength(rng *rand.Rand, risks []float64, ra, h, odds float64, runs, limit int) (mean, stdErr float64, cut int, err error) {
	if len(risks) == 0 || runs < 2 || limit < 1 || !(h > 0) || !(odds > 0 && odds < 1e6) {
		return 0, 0, 0, fmt.Errorf("simulation of %d risks, %d runs", len(risks), runs)
	}
	weights := make([]Weights, len(risks))
	for i, p := range risks {
		if weights[i], err = RiskWeights(p, 1, ra); err != nil {
			return 0, 0, 0, err
		}
	}
	sum, squares := 0.0, 0.0
	for range runs {
		c, n := 0.0, 0
		for n < limit && c <= h {
			i := rng.IntN(len(risks))
			p := odds * risks[i] / (1 - risks[i] + odds*risks[i])
			if rng.Float64() < p {
				c += weights[i].Event
			} else {
				c += weights[i].NoEvent
			}
			c = math.Max(0, c)
			n++
		}
		if c <= h {
			cut++
		}
		sum += float64(n)
		squares += float64(n) * float64(n)
	}
	m := sum / float64(runs)
	v := math.Max(0, squares/float64(runs)-m*m)
	return m, math.Sqrt(v / float64(runs)), cut, nil
}

// RiskLimit finds the limit h at which the mean number of cases to a false signal of a
// risk-adjusted sum is at least the one asked for, on the actual mix, to within one per
// cent. It depends strongly on the mix: do not carry it to another unit.
func RiskLimit(mix []RiskGroup, ra, falseEvery float64) (float64, error) {
	if !(falseEvery >= 10 && falseEvery <= 1e7) {
		return 0, fmt.Errorf("a false signal every %v cases", falseEvery)
	}
	lo, hi := 0.05, 1.0
	reach := func(h float64) (float64, error) { return RiskRunLength(mix, ra, h, 1) }
	for {
		n, err := reach(hi)
		if err != nil || n >= falseEvery {
			if err != nil && hi <= 1 {
				return 0, err
			}
			break
		}
		lo = hi
		if hi *= 1.5; hi > 50 {
			return 0, fmt.Errorf("no limit gives a false signal every %v cases", falseEvery)
		}
	}
	for hi-lo > hi*1e-3 {
		m := (lo + hi) / 2
		n, err := reach(m)
		if err != nil || n >= falseEvery {
			hi = m
		} else {
			lo = m
		}
	}
	return hi, nil
}

// Mix groups predicted risks into at most so many groups of equal size, each with its
// mean risk.
func Mix(risks []float64, groups int) ([]RiskGroup, error) {
	if groups < 1 || len(risks) == 0 {
		return nil, fmt.Errorf("%d risks in %d groups", len(risks), groups)
	}
	for i, p := range risks {
		if err := checkShare(p, "predicted risk"); err != nil {
			return nil, fmt.Errorf("case %d: %w", i+1, err)
		}
	}
	s := slices.Sorted(slices.Values(risks))
	size := (len(s) + groups - 1) / groups
	var out []RiskGroup
	for g := range slices.Chunk(s, size) {
		sum := 0.0
		for _, p := range g {
			sum += p
		}
		out = append(out, RiskGroup{Risk: sum / float64(len(g)), Share: float64(len(g))})
	}
	return out, nil
}
