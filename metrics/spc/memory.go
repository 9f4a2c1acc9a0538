package spc

import (
	"fmt"
	"math"
)

// fill puts the defaults in and checks the design.
func (m *Memory) fill() error {
	for _, f := range []struct {
		v           *float64
		standard    float64
		low, high   float64
		description string
	}{
		{&m.Lambda, 0.2, 0, 1, "weight"},
		{&m.Width, 3, 0, maxNumber, "width"},
		{&m.K, 0.5, 0, maxNumber, "reference value"},
		{&m.H, 5, 0, maxNumber, "decision limit"},
	} {
		if *f.v == 0 {
			*f.v = f.standard
		}
		if !(*f.v > f.low && *f.v <= f.high) {
			return fmt.Errorf("%s %v must lie above %v and not above %v", f.description, *f.v, f.low, f.high)
		}
	}
	if !(m.HeadStart >= 0 && m.HeadStart < 1) {
		return fmt.Errorf("head start %v must be a share of the decision limit, from 0 to under 1", m.HeadStart)
	}
	return nil
}

// placeEWMA turns the values of a phase into their exponentially weighted moving
// average:
//
//	z_i = lambda x_i + (1 - lambda) z_(i-1),  z_0 = centre
//	var_i = lambda^2 sigma_i^2 + (1 - lambda)^2 var_(i-1)
//	limits = centre -/+ width sqrt(var_i)
//
// which for a constant sigma is sigma sqrt(lambda/(2-lambda) (1-(1-lambda)^(2i))).
// With Memory.Asymptote the last factor is dropped. A gap and a point set aside
// leave the average as it is; a hollow point is averaged in for itself only. With
// Memory.Proportion sigma_i follows from each point's own denominator. Sources:
// Lucas & Saccucci, Technometrics 32 (1990) 1-12; NIST/SEMATECH e-Handbook 6.3.2.4.
func (c *Chart) placeEWMA(ph *Phase, m Memory) {
	b := ph.Baseline
	z, v := b.Centre, 0.0
	l := m.Lambda
	for i := ph.From; i <= ph.To; i++ {
		p := &c.Points[i]
		p.Centre = new(b.Centre)
		if !p.Has || p.SetAside || p.AtLeast {
			p.Gap, p.Has = true, false
			continue
		}
		x := p.Value
		s := b.Sigma
		if m.Proportion {
			s = lawSigma(P, b.Centre, p.N)
		}
		zi := l*x + (1-l)*z
		vi := l*l*s*s + (1-l)*(1-l)*v
		sd := math.Sqrt(vi)
		if m.Asymptote {
			sd = s * math.Sqrt(l/(2-l))
		}
		p.Observed, p.Value = new(x), zi
		p.Sigma = new(sd)
		p.LowerRaw, p.UpperRaw = new(b.Centre-m.Width*sd), new(b.Centre+m.Width*sd)
		if sd > 0 {
			p.Lower, p.Upper, p.Z = p.LowerRaw, p.UpperRaw, new((zi-b.Centre)/sd)
		}
		if !p.Hollow {
			z, v = zi, vi
		}
	}
}

// placeCusum turns the values of a phase into a tabular cumulative sum:
//
//	upper: C_i = max(0, C_(i-1) + x_i - centre - K)
//	lower: C_i = max(0, C_(i-1) + centre - K - x_i), plotted as -C_i
//
// with K = k sigma, a signal where C_i > H = h sigma, and C_0 the head start. Steps
// counts the points since the sum was last zero, so that the change most likely began
// after point i - Steps. The sum goes on after a signal unless Memory.Restart. Sources:
// Lucas & Crosier, Technometrics 24 (1982) 199-205; NIST/SEMATECH e-Handbook 6.3.2.3.
func (c *Chart) placeCusum(ph *Phase, m Memory, side Direction) {
	b := ph.Baseline
	k, h := m.K*b.Sigma, m.H*b.Sigma
	sum, steps := m.HeadStart*h, 0
	for i := ph.From; i <= ph.To; i++ {
		p := &c.Points[i]
		p.Centre = new(float64(0))
		if b.Sigma > 0 {
			p.limit(side, h)
		}
		if !p.Has || p.SetAside || p.AtLeast {
			p.Gap, p.Has = true, false
			continue
		}
		x := p.Value
		si := math.Max(0, sum+float64(side)*(x-b.Centre)-k)
		p.Observed, p.Value, p.Sigma = new(x), float64(side)*si, new(b.Sigma)
		if si == 0 {
			p.Value = 0 // not -0
		}
		if p.Hollow {
			continue
		}
		sum = si
		if sum > 0 {
			steps++
		} else {
			steps = 0
		}
		p.Steps = steps
		if m.Restart && b.Sigma > 0 && sum > h {
			sum, steps = 0, 0
		}
	}
}

func (p *Point) limit(side Direction, h float64) {
	if side == Up {
		p.UpperRaw, p.Upper = new(h), new(h)
	} else {
		p.LowerRaw, p.Lower = new(-h), new(-h)
	}
}

// lowerCusum is the companion of an upper cumulative sum.
func (c *Chart) lowerCusum(o Options) *Chart {
	out := Chart{Kind: CusumLower, Favourable: c.Favourable, Points: make([]Point, len(c.Points)), Phases: append([]Phase(nil), c.Phases...)}
	for i := range c.Points {
		p := &c.Points[i]
		out.Points[i] = Point{
			Label: p.Label, X: p.X, Phase: p.Phase, Baseline: p.Baseline, SetAside: p.SetAside, Hollow: p.Hollow,
			Gap: p.Observed == nil, Has: p.Observed != nil, N: p.N,
		}
		if p.Observed != nil {
			out.Points[i].Value = *p.Observed
		}
	}
	for i := range out.Phases {
		ph := &out.Phases[i]
		if ph.Baseline.Points > 0 || ph.Stored {
			out.placeCusum(ph, o.Memory, Down)
		}
	}
	out.Rules = c.Rules
	out.judge()
	out.eachPhase(func(ph *Phase) { ph.Summary = cusumSummary(out.Points, *ph, o.Memory) })
	return &out
}

func cusumSummary(pts []Point, ph Phase, m Memory) Summary {
	var s Summary
	s.add("target", ph.Baseline.Centre)
	s.add("sigma", ph.Baseline.Sigma)
	s.add("reference_value", m.K*ph.Baseline.Sigma)
	s.add("decision_limit", m.H*ph.Baseline.Sigma)
	for i := ph.From; i <= ph.To; i++ {
		if pts[i].beyondLimit() != Level {
			s.add("first_signal", float64(i+1))
			s.add("last_in_control", float64(i+1-pts[i].Steps))
			return s
		}
	}
	s.none("first_signal")
	s.none("last_in_control")
	return s
}
