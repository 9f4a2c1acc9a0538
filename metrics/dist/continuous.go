package dist

import "math"

// BetaCDF is P(X <= x) for a beta law with shapes a, b > 0 (the regularised
// incomplete beta function I_x(a, b)); a shape that is not positive gives a point
// mass at the end it stands for (a <= 0 at 0, b <= 0 at 1).
//
// Formula: continued fraction of the incomplete beta function by Lentz's method,
// with the saddle-point form of its leading factor. Source: Abramowitz & Stegun
// 26.5.8 (from memory).
func BetaCDF(x, a, b float64) float64 {
	lower, _ := betaSides(x, a, b)
	return lower
}

// BetaTail is P(X > x); see BetaCDF.
func BetaTail(x, a, b float64) float64 {
	_, upper := betaSides(x, a, b)
	return upper
}

// maxShape bounds a shape parameter: past it the laws are a step to any precision
// a limit could use.
const maxShape = 1e12

func betaSides(x, a, b float64) (lower, upper float64) {
	a, b = math.Min(a, maxShape), math.Min(b, maxShape)
	switch {
	case !(x > 0):
		return indicator(!(a > 0) && x == 0), indicator(a > 0 || x != 0)
	case x >= 1:
		return 1, 0
	case !(a > 0):
		return 1, 0
	case !(b > 0):
		return 0, 1
	}
	front := betaFront(x, a, b)
	if x < (a+1)/(a+b+2) {
		lower = math.Min(front*betaFraction(x, a, b)/a, 1)
		return lower, 1 - lower
	}
	upper = math.Min(front*betaFraction(1-x, b, a)/b, 1)
	return 1 - upper, upper
}

// betaFront is x^a (1-x)^b / B(a, b).
func betaFront(x, a, b float64) float64 {
	s := a + b
	// x^a (1-x)^b / B(a,b) = sqrt(ab/(2 pi s)) exp(err(s)-err(a)-err(b) - deviances),
	// the saddle-point form of the binomial with real-valued counts.
	e := stirlingGamma(s) - stirlingGamma(a) - stirlingGamma(b) -
		devianceTerm(a, s*x) - devianceTerm(b, s*(1-x))
	return math.Exp(e) * math.Sqrt(a*b/(2*math.Pi*s))
}

// stirlingGamma is ln Gamma(x+1) - ln(sqrt(2 pi x) (x/e)^x) for real x > 0.
func stirlingGamma(x float64) float64 { return stirlingError(x) }

func betaFraction(x, a, b float64) float64 {
	const tiny = 1e-300
	c, d := 1.0, 1-(a+b)*x/(a+1)
	if math.Abs(d) < tiny {
		d = tiny
	}
	d = 1 / d
	h := d
	for m := 1; m < 100000; m++ {
		f := float64(m)
		step := func(t float64) float64 {
			d = 1 + t*d
			if math.Abs(d) < tiny {
				d = tiny
			}
			c = 1 + t/c
			if math.Abs(c) < tiny {
				c = tiny
			}
			d = 1 / d
			return d * c
		}
		h *= step(f * (b - f) * x / ((a + 2*f - 1) * (a + 2*f)))
		g := step(-(a + f) * (a + b + f) * x / ((a + 2*f) * (a + 2*f + 1)))
		h *= g
		if math.Abs(g-1) < 1e-16 {
			break
		}
	}
	return h
}

// BetaQuantile is the x with P(X <= x) = p for a beta law with shapes a, b > 0.
func BetaQuantile(p, a, b float64) float64 {
	p = unit(p)
	switch {
	case !(a > 0):
		return 0
	case !(b > 0):
		return 1
	case p == 0:
		return 0
	case p == 1:
		return 1
	}
	return invert(p, 1, func(x float64) (float64, float64) { return betaSides(x, a, b) })
}

// GammaCDF is P(X <= x) for a gamma law of shape a > 0 and scale 1 (the
// regularised lower incomplete gamma function).
//
// Formula: power series below the mean, continued fraction above it. Source:
// Abramowitz & Stegun 6.5.29 and 6.5.31 (from memory).
func GammaCDF(x, a float64) float64 {
	lower, _ := gammaSides(x, a)
	return lower
}

// GammaTail is P(X > x); see GammaCDF.
func GammaTail(x, a float64) float64 {
	_, upper := gammaSides(x, a)
	return upper
}

func gammaSides(x, a float64) (lower, upper float64) {
	a = math.Min(a, maxShape)
	if !(a > 0) {
		return 1, 0
	}
	if !(x > 0) {
		return 0, 1
	}
	if math.IsInf(x, 1) {
		return 1, 0
	}
	// x^a e^-x / Gamma(a+1) in saddle-point form.
	front := math.Exp(-stirlingGamma(a)-devianceTerm(a, x)) / math.Sqrt(2*math.Pi*a)
	if x < a+1 {
		term, sum := 1.0, 1.0
		for n := 1; n < 1000000; n++ {
			term *= x / (a + float64(n))
			sum += term
			if term < sum*1e-17 {
				break
			}
		}
		lower = math.Min(front*sum, 1)
		return lower, 1 - lower
	}
	const tiny = 1e-300
	b := x + 1 - a
	c := 1 / tiny
	d := 1 / b
	h := d
	for i := 1; i < 1000000; i++ {
		an := -float64(i) * (float64(i) - a)
		b += 2
		d = an*d + b
		if math.Abs(d) < tiny {
			d = tiny
		}
		c = b + an/c
		if math.Abs(c) < tiny {
			c = tiny
		}
		d = 1 / d
		g := d * c
		h *= g
		if math.Abs(g-1) < 1e-16 {
			break
		}
	}
	upper = math.Min(front*a*h, 1)
	return 1 - upper, upper
}

// GammaQuantile is the x with P(X <= x) = p for a gamma law of shape a and scale
// 1; +Inf at p >= 1, 0 for a shape that is not positive.
func GammaQuantile(p, a float64) float64 {
	p = unit(p)
	switch {
	case !(a > 0) || p == 0:
		return 0
	case p == 1:
		return math.Inf(1)
	}
	hi := math.Max(1, 2*math.Min(a, maxShape))
	for GammaTail(hi, a) > (1 - p) {
		hi *= 2
	}
	return invert(p, hi, func(x float64) (float64, float64) { return gammaSides(x, a) })
}

// ChiSquaredCDF is P(X <= x) for a chi-squared law with df > 0 degrees of freedom.
func ChiSquaredCDF(x, df float64) float64 { return GammaCDF(x/2, df/2) }

// ChiSquaredTail is P(X > x) for a chi-squared law with df degrees of freedom: the
// p-value of a chi-squared statistic.
func ChiSquaredTail(x, df float64) float64 { return GammaTail(x/2, df/2) }

// ChiSquaredQuantile is the x with P(X <= x) = p for df degrees of freedom.
func ChiSquaredQuantile(p, df float64) float64 { return 2 * GammaQuantile(p, df/2) }

// invert finds the x in (0, hi] at which a continuous law reaches p, comparing on
// the smaller side. First it goes down in powers of 16, so that a root at 1e-40 is
// found to full relative precision, then it bisects.
func invert(p, hi float64, sides func(float64) (float64, float64)) float64 {
	above := func(x float64) bool { // is x past the root?
		lower, upper := sides(x)
		if p > 0.5 {
			return upper < 1-p
		}
		return lower > p
	}
	for m := hi / 16; m > 0 && above(m); m /= 16 {
		hi = m
	}
	lo := hi / 16
	for range 200 {
		m := lo + (hi-lo)/2
		if m == lo || m == hi {
			break
		}
		if above(m) {
			hi = m
		} else {
			lo = m
		}
	}
	return lo + (hi-lo)/2
}
