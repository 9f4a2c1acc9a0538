package estimate

import (
	"math"

	"chestrise/metrics/dist"
)

// Wilson is the score interval of a proportion of x events among n cases:
//
//	(p + z^2/2n -/+ z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n)
//
// exactly 0 below at x = 0 and exactly 1 above at x = n; [0, 1] for n = 0. Sources:
// Wilson 1927; Newcombe, Statistics in Medicine 17 (1998) 857-872, method 3.
func Wilson(x, n int, level float64) (Interval, error) {
	if err := checkCounts(x, n); err != nil {
		return Interval{}, err
	}
	if err := checkLevel(level); err != nil {
		return Interval{}, err
	}
	if n == 0 {
		return Interval{0, 1}, nil
	}
	m, z := float64(n), normalWidth(level)
	p := float64(x) / m
	mid, half := p+z*z/(2*m), z*math.Sqrt(p*(1-p)/m+z*z/(4*m*m))
	return clamp(x, n, (mid-half)/(1+z*z/m), (mid+half)/(1+z*z/m)), nil
}

// WilsonCorrected is the score interval with continuity correction. Source: Newcombe
// 1998, method 4.
func WilsonCorrected(x, n int, level float64) (Interval, error) {
	if err := checkCounts(x, n); err != nil {
		return Interval{}, err
	}
	if err := checkLevel(level); err != nil {
		return Interval{}, err
	}
	if n == 0 {
		return Interval{0, 1}, nil
	}
	m, z := float64(n), normalWidth(level)
	p := float64(x) / m
	root := func(s float64) float64 {
		return math.Sqrt(math.Max(0, z*z-s*2-1/m+4*p*(m*(1-p)+s)))
	}
	lower := (2*m*p + z*z - 1 - z*root(1)) / (2 * (m + z*z))
	upper := (2*m*p + z*z + 1 + z*root(-1)) / (2 * (m + z*z))
	return clamp(x, n, lower, upper), nil
}

// ClopperPearson is the exact interval of a proportion, by quantiles of the beta law:
// lower Beta(a/2; x, n-x+1), upper Beta(1-a/2; x+1, n-x). [0, 1] for n = 0. Source:
// Clopper & Pearson 1934.
func ClopperPearson(x, n int, level float64) (Interval, error) {
	if err := checkCounts(x, n); err != nil {
		return Interval{}, err
	}
	if err := checkLevel(level); err != nil {
		return Interval{}, err
	}
	if n == 0 {
		return Interval{0, 1}, nil
	}
	a := (1 - level) / 2
	lower := dist.BetaQuantile(a, float64(x), float64(n-x+1))
	// The upper end by symmetry, so that a tiny tail keeps its digits.
	upper := 1 - dist.BetaQuantile(a, float64(n-x), float64(x+1))
	return clamp(x, n, lower, upper), nil
}

// MidP is the exact interval in which the observed count carries half its
// probability; shorter than ClopperPearson, its coverage is right on average. Source:
// Newcombe 1998, method 6.
func MidP(x, n int, level float64) (Interval, error) {
	if err := checkCounts(x, n); err != nil {
		return Interval{}, err
	}
	if err := checkLevel(level); err != nil {
		return Interval{}, err
	}
	if n == 0 {
		return Interval{0, 1}, nil
	}
	a := (1 - level) / 2
	lower, upper := 0.0, 1.0
	if x > 0 {
		lower = bisect(0, 1, func(p float64) float64 {
			return dist.BinomialTail(x, n, p) + dist.BinomialPMF(x, n, p)/2 - a
		})
	}
	if x < n {
		upper = bisect(0, 1, func(p float64) float64 {
			return a - dist.BinomialCDF(x-1, n, p) - dist.BinomialPMF(x, n, p)/2
		})
	}
	return clamp(x, n, lower, upper), nil
}

func clamp(x, n int, lower, upper float64) Interval {
	if x == 0 {
		lower = 0
	}
	if x == n {
		upper = 1
	}
	return Interval{math.Max(0, lower), math.Min(1, upper)}
}

// Difference is a difference of two proportions with its interval.
type Difference struct {
	Value float64
	Interval
}

// Newcombe is the interval of the difference p1 - p2 of two independent proportions,
// put together from their Wilson intervals:
//
//	d - sqrt((p1-l1)^2 + (u2-p2)^2),  d + sqrt((u1-p1)^2 + (p2-l2)^2)
//
// A side without cases gives [-1, 1] and the value 0. Source: Newcombe, Statistics in
// Medicine 17 (1998) 873-890, method 10.
func Newcombe(x1, n1, x2, n2 int, level float64) (Difference, error) {
	one, err := Wilson(x1, n1, level)
	if err != nil {
		return Difference{}, err
	}
	two, err := Wilson(x2, n2, level)
	if err != nil {
		return Difference{}, err
	}
	if n1 == 0 || n2 == 0 {
		return Difference{0, Interval{-1, 1}}, nil
	}
	p1, p2 := float64(x1)/float64(n1), float64(x2)/float64(n2)
	d := p1 - p2
	return Difference{d, Interval{
		math.Max(-1, d-math.Hypot(p1-one.Lower, two.Upper-p2)),
		math.Min(1, d+math.Hypot(one.Upper-p1, p2-two.Lower)),
	}}, nil
}

// NoEventsBound is the upper bound of the rate after n cases without an event that
// still leaves the chance 1 - level of seeing none: 1 - (1-level)^(1/n), near 3/n for
// 0.95 (the rule of three). 1 for n = 0.
func NoEventsBound(n int, level float64) (float64, error) {
	if err := checkCounts(0, n); err != nil {
		return 0, err
	}
	if err := checkLevel(level); err != nil {
		return 0, err
	}
	if n == 0 {
		return 1, nil
	}
	return -math.Expm1(math.Log1p(-level) / float64(n)), nil
}

// binomialAtLeast is the chance of x events or more among n cases.
func binomialAtLeast(x, n int, p float64) float64 { return dist.BinomialTail(x-1, n, p) }
