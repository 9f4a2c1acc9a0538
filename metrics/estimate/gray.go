package estimate

import (
	"slices"

	"chestrise/metrics/dist"
)

// GrayTest compares the cumulative incidence of one cause between two groups with the
// others competing (rho = 0): a newborn that had another end stays in the risk set
// with the weight of those who might still be watched. With no competing end and no
// early stop it is the log-rank test.
type GrayTest struct {
	Score, Variance, ChiSquared, P float64
}

// Gray computes GrayTest. The score is that of the subdistribution rates,
//
//	sum over t_j of R_1 (dF_1/(1-F_1(t-)) - dF_0/(1-F_0(t-))),
//	R_g = n_g (1-F_g(t-))/S_g(t-),  R_1 replaced by R_1 R_2/(R_1+R_2) for two groups
//
// with F from each group and F_0 pooled by the risk sets. The variance is that of the
// jackknife, leaving out one newborn at a time, which needs no further assumption; it
// is not Gray's own formula. P is 1 where nothing varies. Source: Gray, Annals of
// Statistics 16 (1988) 1141-1154 (the score, from memory); jackknife: Efron & Stein
// 1981.
func Gray(before, after []End, cause int) (GrayTest, error) {
	groups := [][]End{before, after}
	var watched [2][]float64 // times in order
	for g, ends := range groups {
		for _, e := range ends {
			watched[g] = append(watched[g], e.At)
		}
		slices.Sort(watched[g])
	}
	score, err := grayScore(groups, watched, cause, -1, -1)
	if err != nil {
		return GrayTest{}, err
	}
	out := GrayTest{Score: score, Variance: 0, ChiSquared: 0, P: 1}
	for g := range groups {
		n := float64(len(groups[g]))
		if n < 2 {
			return out, nil
		}
		pseudo := make([]float64, len(groups[g]))
		for i := range groups[g] {
			s, err := grayScore(groups, watched, cause, g, i)
			if err != nil {
				return GrayTest{}, err
			}
			pseudo[i] = s
		}
		m, _ := Mean(pseudo)
		ss := 0.0
		for _, v := range pseudo {
			ss += (v - m) * (v - m)
		}
		out.Variance += (n - 1) / n * ss
	}
	if out.Variance > 1e-12 {
		out.ChiSquared = score * score / out.Variance
		out.P = dist.ChiSquaredTail(out.ChiSquared, 1)
	}
	return out, nil
}

// grayScore is the score with one newborn of one group left out (-1: none).
func grayScore(groups [][]End, watched [2][]float64, cause, group, skip int) (float64, error) {
	type state struct {
		rows        []endRow
		next        int
		surv, share float64
	}
	var st [2]state
	var times []float64
	for g := range st {
		ends := groups[g]
		if g == group {
			ends = slices.Delete(slices.Clone(ends), skip, skip+1)
		}
		rows, _, err := endTable(ends, cause)
		if err != nil {
			return 0, err
		}
		st[g] = state{rows: rows, next: 0, surv: 1, share: 0}
		for _, r := range rows {
			times = append(times, r.at)
		}
	}
	slices.Sort(times)
	times = slices.Compact(times)
	score := 0.0
	// atRisk counts a group's newborns still watched just before a time.
	atRisk := func(g int, t float64) float64 {
		at, _ := slices.BinarySearch(watched[g], t)
		n := float64(len(watched[g]) - at)
		if g == group && groups[g][skip].At >= t {
			n--
		}
		return n
	}
	for _, t := range times {
		var risk, rise [2]float64
		for g := range st {
			s := &st[g]
			if s.surv > 0 {
				risk[g] = atRisk(g, t) * (1 - s.share) / s.surv
			}
			if s.next < len(s.rows) && s.rows[s.next].at == t {
				r := s.rows[s.next]
				dF := s.surv * float64(r.dk) / float64(r.n)
				if 1-s.share > 1e-12 {
					rise[g] = dF / (1 - s.share)
				}
				s.share += dF
				s.surv *= 1 - float64(r.d)/float64(r.n)
				s.next++
			}
		}
		if risk[0] > 0 && risk[1] > 0 {
			score += risk[0] * risk[1] / (risk[0] + risk[1]) * (rise[1] - rise[0])
		}
	}
	return score, nil
}
