// Package dist holds the distribution functions that limits, intervals and tests
// stand on: normal, binomial, Poisson, geometric, beta, chi-squared and the
// normal-theory chart constants c4, d2 and d3.
//
// Everything here is pure arithmetic. Tails are summed or integrated from the
// small side, so that a probability of 1e-12 is as good in relative terms as one
// of a half; that is where control limits live (0.00135 in each tail).
//
// A general numerical library serves where it was measured to be good enough: the
// normal quantile (relative error 2e-16 down to 1e-300). Elsewhere it forms upper tails
// as 1 minus the lower one: P(X > 60) of a Poisson mean of 9.8 comes out as 0 for 4e-29,
// P(X > 80) of 250 at 0.1052 as 15,000 times too large. Those are written here and
// checked against R in testdata/reference/grid.
//
// Arguments outside the domain give the limiting value and never a NaN or a
// panic: a probability parameter below 0 counts as 0, above 1 as 1; a NaN counts
// as the lower end of its domain. Quantiles of an unbounded law at probability 0
// or 1 are -Inf or +Inf; every other result is finite.
package dist

import "math"

// unit clamps a probability to [0, 1]; NaN counts as 0.
func unit(p float64) float64 {
	if !(p > 0) {
		return 0
	}
	if p > 1 {
		return 1
	}
	return p
}

// nonNegative clamps a rate to [0, +Inf); NaN counts as 0.
func nonNegative(x float64) float64 {
	if !(x > 0) {
		return 0
	}
	return x
}

// fuzz is the relative slack with which "smallest k whose cumulative probability
// reaches q" is judged, so that a sum that is short of q by rounding alone does
// not push the quantile up by one.
const fuzz = 64 * 0x1p-52

// halfLogTwoPi is ln(sqrt(2 pi)).
const halfLogTwoPi = 0.918938533204672741780329736405617639861

// stirlingError is ln(n!) - ln(sqrt(2 pi n) (n/e)^n), the remainder of Stirling's
// formula, accurate to full precision for every n >= 0.
//
// Source: C. Loader, Fast and Accurate Computation of Binomial Probabilities
// (2000), from memory: asymptotic series for large n, lgamma for small n.
func stirlingError(n float64) float64 {
	if n <= 0 {
		return 0
	}
	if n < 16 {
		lg, _ := math.Lgamma(n + 1)
		return lg - (n+0.5)*math.Log(n) + n - halfLogTwoPi
	}
	s := n * n
	return (1.0/12 - (1.0/360-(1.0/1260-(1.0/1680-(1.0/1188-691.0/360360/s)/s)/s)/s)/s) / n
}

// devianceTerm is x ln(x/m) + m - x without cancellation for x near m.
//
// Source: Loader (2000), from memory.
func devianceTerm(x, m float64) float64 {
	if x == 0 {
		return m
	}
	if math.Abs(x-m) < 0.1*(x+m) {
		v := (x - m) / (x + m)
		s := (x - m) * v
		if math.Abs(s) < math.SmallestNonzeroFloat64 {
			return s
		}
		ej := 2 * x * v
		v *= v
		for j := 1; j < 1000; j++ {
			ej *= v
			next := s + ej/float64(2*j+1)
			if next == s {
				return next
			}
			s = next
		}
		return s
	}
	return x*math.Log(x/m) + m - x
}

// LogChoose is ln C(n, k), the logarithm of the number of ways to choose k of n.
// It is -Inf where there is no way (k < 0, k > n).
func LogChoose(n, k int) float64 {
	if k < 0 || k > n {
		return math.Inf(-1)
	}
	if k == 0 || k == n {
		return 0
	}
	a, b, c := float64(n), float64(k), float64(n-k)
	// ln n! - ln k! - ln (n-k)! by Stirling with its remainder: no loss for large n.
	return stirlingError(a) - stirlingError(b) - stirlingError(c) +
		b*math.Log(a/b) + c*math.Log(a/c) + 0.5*math.Log(a/(b*c)) - halfLogTwoPi
}
