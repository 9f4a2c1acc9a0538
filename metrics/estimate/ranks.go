package estimate

import (
	"fmt"
	"math"
	"slices"

	"chestrise/metrics/dist"
)

// MannWhitney compares two independent samples by ranks.
type MannWhitney struct {
	W                float64 // pairs with x > y, ties counted a half
	Exact            bool    // P values by enumeration; false: normal approximation
	P                float64 // two-sided
	PGreater         float64 // x tends to be larger
	Shift            float64 // Hodges-Lehmann: median of all x - y
	ShiftCI          Interval
	ShiftHasInterval bool
}

// exactPairs is the number of pairs up to which the law of W is enumerated.
const exactPairs = 10000

// RankTest compares x with y: exact without ties and up to 10,000 pairs, otherwise by
// the normal approximation with correction for ties and, if corrected, for continuity.
// The Hodges-Lehmann interval is exact in the same cases, with at least the level
// asked for. An empty sample is an error. Sources: Mann & Whitney 1947; Hodges &
// Lehmann 1963.
func RankTest(x, y []float64, level float64, corrected bool) (MannWhitney, error) {
	if err := checkLevel(level); err != nil {
		return MannWhitney{}, err
	}
	if err := checkNumbers(append(slices.Clone(x), y...)); err != nil {
		return MannWhitney{}, err
	}
	if len(x) == 0 || len(y) == 0 {
		return MannWhitney{}, fmt.Errorf("rank test: %d and %d values", len(x), len(y))
	}
	var r MannWhitney
	diffs := make([]float64, 0, len(x)*len(y))
	for _, a := range x {
		for _, b := range y {
			diffs = append(diffs, a-b)
			switch {
			case a > b:
				r.W++
			case a == b:
				r.W += 0.5
			}
		}
	}
	slices.Sort(diffs)
	r.Shift, _ = Median(diffs)
	ties := tieSum(x, y)
	r.Exact = ties == 0 && len(diffs) <= exactPairs
	if r.Exact {
		r.exact(len(x), len(y), diffs, level)
		return r, nil
	}
	m, n := float64(len(x)), float64(len(y))
	v := m * n / 12 * (m + n + 1 - ties/((m+n)*(m+n-1)))
	if v <= 0 {
		r.P, r.PGreater = 1, 1
		return r, nil
	}
	d := r.W - m*n/2
	shift := func(c float64) float64 {
		if !corrected {
			return 0
		}
		return c
	}
	two := d
	if d != 0 {
		two = d - shift(math.Copysign(0.5, d))
	}
	r.P = math.Min(1, 2*dist.NormalTail(math.Abs(two)/math.Sqrt(v)))
	r.PGreater = dist.NormalTail((d - shift(0.5)) / math.Sqrt(v))
	k := int(math.Floor(m*n/2 - normalWidth(level)*math.Sqrt(v)))
	if k >= 1 && k <= len(diffs) {
		r.ShiftCI, r.ShiftHasInterval = Interval{diffs[k-1], diffs[len(diffs)-k]}, true
	}
	return r, nil
}

// tieSum is the sum of t^3 - t over groups of equal values.
func tieSum(x, y []float64) float64 {
	all := slices.Sorted(slices.Values(append(slices.Clone(x), y...)))
	sum := 0.0
	for i := 0; i < len(all); {
		j := i + 1
		for j < len(all) && all[j] == all[i] {
			j++
		}
		t := float64(j - i)
		sum += t*t*t - t
		i = j
	}
	return sum
}

func (r *MannWhitney) exact(m, n int, diffs []float64, level float64) {
	law := rankLaw(m, n)
	below, above := 0.0, 0.0 // P(W <= w), P(W >= w)
	w := int(r.W)
	for k, p := range law {
		if k <= w {
			below += p
		}
		if k >= w {
			above += p
		}
	}
	r.PGreater = math.Min(1, above)
	r.P = math.Min(1, 2*math.Min(below, above))
	cum, q := 0.0, 0
	for k, p := range law {
		if cum += p; cum >= (1-level)/2*(1-1e-12) {
			q = k
			break
		}
	}
	q = max(q, 1)
	r.ShiftCI, r.ShiftHasInterval = Interval{diffs[q-1], diffs[len(diffs)-q]}, true
}

// rankLaw is the law of W for m and n values without ties, by its recursion
//
//	p(w; m, n) = m/(m+n) p(w-n; m-1, n) + n/(m+n) p(w; m, n-1)
//
// in which everything is positive, so the tails keep their digits.
func rankLaw(m, n int) []float64 {
	law := make([][]float64, m+1) // law[i] for i against j values
	for i := range law {
		law[i] = []float64{1}
	}
	for j := 1; j <= n; j++ {
		next := make([][]float64, m+1)
		next[0] = []float64{1}
		for i := 1; i <= m; i++ {
			p := make([]float64, i*j+1)
			a, b := float64(i)/float64(i+j), float64(j)/float64(i+j)
			for w, v := range next[i-1] {
				p[w+j] += a * v
			}
			for w, v := range law[i] {
				p[w] += b * v
			}
			next[i] = p
		}
		law = next
	}
	return law[m]
}
