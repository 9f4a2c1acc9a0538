package spc

import (
	"math"

	"chestrise/metrics/dist"
)

// summarise fills the summary of every phase; the chart's own is that of the last.
func (c *Chart) summarise(o Options) {
	c.eachPhase(func(ph *Phase) { ph.Summary = c.summary(*ph, o) })
}

func (c *Chart) summary(ph Phase, o Options) Summary {
	if c.Kind == Run {
		return runSummary(c.Points, ph)
	}
	var s Summary
	b := ph.Baseline
	if b.Points == 0 && !ph.Stored {
		s.none("centre")
		s.add("baseline_points", 0)
		return s
	}
	base := c.baseline(ph)
	switch c.Kind {
	case P, NP, PPrime, C, U, UPrime:
		s.add("mean", b.Centre)
		events, n := 0.0, 0.0
		for _, p := range base {
			events += p.num
			n += p.N
		}
		if !ph.Stored {
			s.add("events", events)
			if c.Kind != C {
				s.add("n", n)
			}
		}
		switch z, ok := sigmaZ(c.Kind, base, b.Centre); {
		case c.Kind == PPrime || c.Kind == UPrime:
			if b.SigmaZ > 0 {
				s.add("sigma_z", b.SigmaZ)
			} else {
				s.add("sigma_z", 1)
			}
		case ok:
			s.add("sigma_z", z)
		default:
			s.none("sigma_z")
		}
	case XmR:
		s.add("mean", b.Centre)
		c.spreadOfSingles(&s, ph, base)
	case XbarR, XbarS:
		s.add("grand_mean", b.Centre)
		c.spreadOfSubgroups(&s, ph, base)
	case G:
		s.add("mean_gap", b.Centre)
		s.add("median_gap", float64(dist.GeometricQuantile(0.5, 1/(b.Centre+1))))
		s.add("p", 1/(b.Centre+1))
		if ph.Stored {
			break
		}
		if m := float64(b.Points); m > 1 {
			s.add("p_unbiased", (m-1)/m/(b.Centre+1))
		}
	case T:
		s.add("mean_time", b.Centre)
		s.add("median_time", b.Centre*math.Ln2)
	case EWMA:
		s.add("target", b.Centre)
		s.add("sigma", b.Sigma)
		s.add("lambda", o.Memory.Lambda)
		s.add("width", o.Memory.Width)
	case Cusum:
		s = cusumSummary(c.Points, ph, o.Memory)
	default: // a run chart has returned above; a companion has no summary of its own
	}
	s.add("baseline_points", float64(b.Points))
	return s
}

func (c *Chart) spreadOfSingles(s *Summary, ph Phase, base []*Point) {
	b := ph.Baseline
	if mr := movingRanges(base); !ph.Stored && len(mr) > 0 {
		s.add("mean_moving_range", mean(mr))
		s.add("median_moving_range", median(mr))
	} else if ph.Stored {
		s.add("mean_moving_range", b.Sigma*dist.D2(2))
	} else {
		s.none("mean_moving_range")
	}
	if b.Sigma > 0 || ph.Stored || len(movingRanges(base)) > 0 {
		s.add("sigma", b.Sigma)
		s.add("moving_range_upper", (dist.D2(2)+3*dist.D3(2))*b.Sigma)
	} else {
		s.none("sigma")
		s.none("moving_range_upper")
	}
	if !ph.Stored && len(base) > 1 {
		s.add("sd", stdDev(valuesOf(base)))
	}
	if r, ok := c.serial(ph); ok {
		s.add("lag1_autocorrelation", r)
	}
}

// serial is the lag-1 autocorrelation of a phase's judged points, where none is
// missing in between.
func (c *Chart) serial(ph Phase) (float64, bool) {
	var x []float64
	for i := ph.From; i <= ph.To; i++ {
		if p := &c.Points[i]; p.judged() {
			x = append(x, p.Value)
		} else if !p.Hollow {
			return 0, false
		}
	}
	return lag1(x)
}

func (c *Chart) spreadOfSubgroups(s *Summary, ph Phase, base []*Point) {
	var r, sd []float64
	within, df := 0.0, 0.0
	size, equal := 0.0, true
	for _, p := range base {
		if p.spread == nil {
			continue
		}
		r, sd = append(r, p.spread.r), append(sd, p.spread.s)
		within += (p.N - 1) * p.spread.s * p.spread.s
		df += p.N - 1
		equal = equal && (size == 0 || p.N == size)
		size = p.N
	}
	if len(r) == 0 {
		s.none("sigma")
		return
	}
	s.add("mean_range", mean(r))
	s.add("mean_sd", mean(sd))
	s.add("pooled_sd", math.Sqrt(within/df))
	if c.Kind == XbarR || equal {
		s.add("sigma", valueSigma(c.Kind, ph.Baseline, int(size)))
	}
}
