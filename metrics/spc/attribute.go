package spc

import (
	"math"

	"chestrise/metrics/dist"
)

// tail is the probability beyond each limit: that of a normal value beyond three
// sigma.
const tail = 0.00135

// fitAttribute computes the centre of a chart of counts:
//
//	P, NP, PPrime  sum of events / sum of cases (never the mean of the proportions)
//	U, UPrime      sum of events / sum of exposure
//	C              mean count
//
// and for PPrime and UPrime the ratio sigma_z = mean |z_i - z_(i-1)| / d2(2) over
// successive baseline points, z_i = (x_i - centre)/sigma_i. A ratio of 1 is the
// plain chart; one below 1 is kept at 1, with a warning. Sources: NIST/SEMATECH
// e-Handbook 6.3.3; Laney, Quality Engineering 14 (2002) 531-537.
func fitAttribute(k Kind, base []*Point, b *Baseline) {
	events, cases := 0.0, 0.0
	for _, p := range base {
		events += p.num
		cases += p.N
	}
	if k == C {
		b.Centre = events / float64(len(base))
	} else {
		b.Centre = events / cases
		b.MeanN = cases / float64(len(base))
	}
	if k == NP {
		b.Centre = math.Min(b.Centre, 1)
	}
	if k == PPrime || k == UPrime {
		b.SigmaZ = 1
		if z, ok := sigmaZ(k, base, b.Centre); ok {
			b.SigmaZ = z
		}
	}
}

// sigmaZ is the ratio of the spread between successive points to the spread of the
// law; false where no two successive points exist or the law has no spread.
func sigmaZ(k Kind, base []*Point, centre float64) (float64, bool) {
	var ranges []float64
	for i := 1; i < len(base); i++ {
		if base[i].X != base[i-1].X+1 {
			continue
		}
		a, b := lawSigma(k, centre, base[i-1].N), lawSigma(k, centre, base[i].N)
		if a > 0 && b > 0 {
			ranges = append(ranges, math.Abs((base[i].Value-lawCentre(k, centre, base[i].N))/b-(base[i-1].Value-lawCentre(k, centre, base[i-1].N))/a))
		}
	}
	if len(ranges) == 0 {
		return 0, false
	}
	return mean(ranges) / dist.D2(2), true
}

// lawCentre is the mean of a point of n cases (or exposure n).
func lawCentre(k Kind, centre, n float64) float64 {
	if k == NP {
		return n * centre
	}
	return centre
}

// lawSigma is the standard deviation of a point of n cases under the binomial law
// (P, NP, PPrime) or the Poisson law (C, U, UPrime).
func lawSigma(k Kind, centre, n float64) float64 {
	switch k {
	case P, PPrime:
		return math.Sqrt(centre * (1 - centre) / n)
	case NP:
		return math.Sqrt(n * centre * (1 - centre))
	case C:
		return math.Sqrt(centre)
	default:
		return math.Sqrt(centre / n)
	}
}

// small says whether the expected counts are too small for three-sigma limits.
func small(k Kind, centre, n float64) bool {
	switch k {
	case P, NP, PPrime:
		return n*centre < 5 || n*(1-centre) < 5
	case C:
		return centre < 5
	default:
		return n*centre < 5
	}
}

// placeAttribute gives a point of a chart of counts its centre and limits, from its
// own denominator: three sigma (times sigma_z), or the quantiles
//
//	U = smallest k with P(X <= k) >= 0.99865, a signal above U
//	L = smallest k with P(X <= k) >= 0.00135, a signal below L
//
// of the binomial or Poisson law. A gap gets the centre only, because limits need a
// denominator. Sources: NIST/SEMATECH e-Handbook 6.3.3; Ryan & Schwertman 1997.
func placeAttribute(k Kind, p *Point, b Baseline, method LimitMethod) {
	if !p.Has {
		if k != NP {
			p.Centre = new(b.Centre)
		}
		return
	}
	n := p.N
	centre, sigma := lawCentre(k, b.Centre, n), lawSigma(k, b.Centre, n)
	prime := k == PPrime || k == UPrime
	if prime && b.SigmaZ > 1 {
		sigma *= b.SigmaZ
	}
	top := math.Inf(1)
	switch {
	case k.proportion():
		top = 1
	case k == NP:
		top = n
	}
	exact := !prime && (method == Exact || method == Auto && small(k, b.Centre, n))
	if !exact || sigma == 0 {
		p.within(centre, sigma)
		p.floor(top)
		return
	}
	p.Exact = true
	p.Centre, p.Sigma, p.Z = new(centre), new(sigma), new((p.Value-centre)/sigma)
	var lo, hi int
	switch k {
	case P, NP:
		lo, hi = dist.BinomialQuantile(tail, int(n), b.Centre), dist.BinomialQuantile(1-tail, int(n), b.Centre)
	case C:
		lo, hi = dist.PoissonQuantile(tail, b.Centre), dist.PoissonQuantile(1-tail, b.Centre)
	default:
		lo, hi = dist.PoissonQuantile(tail, n*b.Centre), dist.PoissonQuantile(1-tail, n*b.Centre)
	}
	scale := 1.0
	if k.ratio() {
		scale = n
	}
	p.LowerRaw, p.UpperRaw = new(float64(lo)/scale), new(float64(hi)/scale)
	p.Lower, p.Upper = p.LowerRaw, p.UpperRaw
	p.floor(top)
}

// smallCounts says whether sigma zones would be drawn on counts too small for them.
func (c *Chart) smallCounts() bool {
	switch c.Kind {
	case P, NP, C, U, PPrime, UPrime:
	default:
		return false
	}
	for i := range c.Points {
		p := &c.Points[i]
		if p.judged() && p.Centre != nil && small(c.Kind, c.Phases[p.Phase].Baseline.Centre, p.N) {
			return true
		}
	}
	return false
}
