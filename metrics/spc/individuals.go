package spc

import (
	"math"

	"chestrise/metrics/dist"
)

// fitIndividuals computes the mean of the baseline and the standard deviation of a
// single value by the chosen method (see SigmaMethod). Moving ranges run over
// successive rows of the baseline and never bridge a gap. With fewer than two
// successive values sigma is 0: no limits.
//
// Sources: NIST/SEMATECH e-Handbook 6.3.2.2; Nelson 1982, Wheeler (from memory).
func fitIndividuals(base []*Point, method SigmaMethod, b *Baseline) {
	x := valuesOf(base)
	b.Centre = mean(x)
	b.Sigma = sigmaOf(x, movingRanges(base), method)
}

func sigmaOf(x, mr []float64, method SigmaMethod) float64 {
	if method == SampleSD {
		if len(x) < 2 {
			return 0
		}
		return stdDev(x) / dist.C4(len(x))
	}
	if len(mr) == 0 {
		return 0
	}
	switch method {
	case MedianMR:
		return median(mr) / (math.Sqrt2 * dist.NormalQuantile(0.75))
	case ScreenedMR:
		bar := mean(mr)
		var kept []float64
		for _, r := range mr {
			if r <= 3.5*bar {
				kept = append(kept, r)
			}
		}
		return mean(kept) / dist.D2(2)
	default:
		return mean(mr) / dist.D2(2)
	}
}

// movingRanges are the distances between successive rows among the points given.
func movingRanges(base []*Point) []float64 {
	var out []float64
	for i := 1; i < len(base); i++ {
		if base[i].X == base[i-1].X+1 {
			out = append(out, math.Abs(base[i].Value-base[i-1].Value))
		}
	}
	return out
}

// movingRangeChart is the companion of an XmR chart: centre d2 sigma, upper limit
// (d2 + 3 d3) sigma, no lower limit. Successive moving ranges share a value, so only
// the rule of one point beyond the limit is applied. Source: Nelson 1982, from
// memory; NIST/SEMATECH e-Handbook 6.3.2.2.
func (c *Chart) movingRangeChart() *Chart {
	d2, d3 := dist.D2(2), dist.D3(2)
	mr := Chart{Kind: MovingRange, Points: make([]Point, len(c.Points)), Phases: append([]Phase(nil), c.Phases...)}
	for i := range c.Points {
		p := &c.Points[i]
		q := &mr.Points[i]
		*q = Point{Label: p.Label, X: p.X, Phase: p.Phase, Gap: true}
		ph := c.Phases[p.Phase]
		if i > ph.From && p.judged() && c.Points[i-1].judged() {
			v := math.Abs(p.Value - c.Points[i-1].Value)
			p.MovingRange = new(v)
			q.Value, q.Has, q.Gap = v, true, false
			q.Baseline = p.Baseline && c.Points[i-1].Baseline
		}
		if ph.Baseline.Points > 0 || ph.Stored {
			sigma := ph.Baseline.Sigma
			q.Centre, q.Sigma = new(d2*sigma), new(d3*sigma)
			q.LowerRaw, q.UpperRaw = new(math.Max(0, (d2-3*d3)*sigma)), new((d2+3*d3)*sigma)
			if sigma > 0 {
				q.Upper = q.UpperRaw
				if q.Has {
					q.Z = new((q.Value - *q.Centre) / *q.Sigma)
				}
			}
		}
	}
	mr.Rules, _, _ = choose(RuleSet{}, MovingRange, false)
	mr.judge()
	mr.eachPhase(func(ph *Phase) {
		ph.Summary = nil
		ph.Summary.add("mean_moving_range", d2*ph.Baseline.Sigma)
		ph.Summary.add("moving_range_upper", (d2+3*d3)*ph.Baseline.Sigma)
	})
	return &mr
}

// companion adds the spread chart or the lower side that belongs to the kind.
func (c *Chart) companion(o Options) {
	switch c.Kind {
	case XmR:
		c.Companion = c.movingRangeChart()
	case XbarR, XbarS:
		c.Companion = c.spreadChart()
	case Cusum:
		c.Companion = c.lowerCusum(o)
	default: // the kinds that stand alone, and the companions themselves
	}
}

func (c *Chart) eachPhase(f func(*Phase)) {
	for i := range c.Phases {
		f(&c.Phases[i])
	}
	c.Summary = c.Phases[len(c.Phases)-1].Summary
}
