package estimate

import (
	"fmt"
	"math"
	"slices"

	"chestrise/metrics/dist"
)

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
	r := LogRank{Observed: make([]float64, k), Expected: make([]float64, k), ChiSquared: 0, DF: 0, P: 1}
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
