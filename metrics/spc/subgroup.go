package spc

import (
	"math"

	"chestrise/metrics/dist"
)

// fitSubgroups computes the weighted grand mean, sum n_i mean_i / sum n_i, and the
// spread inside subgroups.
//
//   - XbarR: Sigma is the mean of R_i / d2(n_i), the standard deviation of a single
//     value; with equal sizes that is Rbar/d2.
//   - XbarS: Sigma is on the scale of a subgroup's standard deviation: the mean S with
//     equal sizes, the pooled s = sqrt(sum (n_i - 1) S_i^2 / sum (n_i - 1)) otherwise;
//     a single value in a subgroup of n has Sigma/c4(n).
//
// Subgroups of one count for the mean and say nothing of the spread. Sources:
// NIST/SEMATECH e-Handbook 6.3.2.1; Montgomery, Introduction to Statistical Quality
// Control, ch. 6 (pooled s used as is).
func fitSubgroups(k Kind, base []*Point, _ SigmaMethod, b *Baseline) {
	total, weight := 0.0, 0.0
	var spreads []float64
	within, df := 0.0, 0.0
	equal := true
	size := 0.0
	for _, p := range base {
		total += p.N * p.Value
		weight += p.N
		if p.spread == nil {
			continue
		}
		if size == 0 {
			size = p.N
		}
		equal = equal && p.N == size
		if k == XbarR {
			spreads = append(spreads, p.spread.r/dist.D2(int(p.N)))
		} else {
			spreads = append(spreads, p.spread.s)
		}
		within += (p.N - 1) * p.spread.s * p.spread.s
		df += p.N - 1
	}
	b.Centre = total / weight
	b.MeanN = weight / float64(len(base))
	switch {
	case len(spreads) == 0:
		b.Sigma = 0
	case k == XbarR || equal:
		b.Sigma = mean(spreads)
	default:
		b.Sigma = math.Sqrt(within / df)
	}
}

// valueSigma is the standard deviation of a single value in a subgroup of n.
func valueSigma(k Kind, b Baseline, n int) float64 {
	if k == XbarS {
		if n < 2 {
			// c4 needs two values; for a single one the pooled spread is used as it is.
			return b.Sigma
		}
		return b.Sigma / dist.C4(n)
	}
	return b.Sigma
}

func (c *Chart) placeSubgroup(p *Point, b Baseline) {
	if !p.Has {
		p.Centre = new(b.Centre)
		return
	}
	p.within(b.Centre, valueSigma(c.Kind, b, int(p.N))/math.Sqrt(p.N))
}

// spreadChart is the companion of an Xbar chart: ranges with centre d2(n) sigma and
// limits (d2 -/+ 3 d3) sigma, or standard deviations with centre c4(n) sigma and
// limits (c4 -/+ 3 sqrt(1 - c4^2)) sigma; a lower limit at or below 0 is none. Only
// the rule of one point beyond a limit is applied: spreads are skewed.
func (c *Chart) spreadChart() *Chart {
	kind := Range
	if c.Kind == XbarS {
		kind = Deviation
	}
	out := Chart{Kind: kind, Points: make([]Point, len(c.Points)), Phases: append([]Phase(nil), c.Phases...)}
	for i := range c.Points {
		p := &c.Points[i]
		q := &out.Points[i]
		*q = Point{Label: p.Label, X: p.X, Phase: p.Phase, N: p.N, Gap: p.spread == nil, SetAside: p.SetAside, Hollow: p.Hollow, Baseline: p.Baseline && p.spread != nil}
		if p.spread == nil {
			continue
		}
		q.Value, q.Has = p.spread.r, true
		if kind == Deviation {
			q.Value = p.spread.s
		}
		ph := c.Phases[p.Phase]
		if ph.Baseline.Points == 0 && !ph.Stored {
			continue
		}
		n := int(p.N)
		sigma := valueSigma(c.Kind, ph.Baseline, n)
		centre, width := dist.D2(n), 0.0
		if kind == Range {
			width = dist.D3(n)
		} else {
			centre = dist.C4(n)
			width = math.Sqrt(1 - centre*centre)
		}
		q.within(centre*sigma, width*sigma)
		if *q.LowerRaw < 0 {
			q.LowerRaw = new(float64(0))
			q.Lower = nil
		}
		q.floor(math.Inf(1))
	}
	out.Rules, _, _ = choose(RuleSet{}, kind, false)
	out.judge()
	out.eachPhase(func(ph *Phase) { ph.Summary = nil })
	return &out
}
