package estimate

import (
	"fmt"
	"math"

	"chestrise/metrics/dist"
)

// Garwood is the exact interval of the mean of a Poisson count x: chi-squared
// quantiles chi2(a/2; 2x)/2 and chi2(1-a/2; 2x+2)/2; 0 below at x = 0. Source:
// Garwood 1936.
func Garwood(x int, level float64) (Interval, error) {
	if err := checkCounts(0, x); err != nil {
		return Interval{}, fmt.Errorf("a count of %d", x)
	}
	if err := checkLevel(level); err != nil {
		return Interval{}, err
	}
	a := (1 - level) / 2
	return Interval{dist.GammaQuantile(a, float64(x)), dist.GammaQuantile(1-a, float64(x+1))}, nil
}

// Byar is Byar's approximation to Garwood, within 0.2 % of it from a count of 10:
//
//	x (1 - 1/(9x) - z/(3 sqrt x))^3,  (x+1) (1 - 1/(9(x+1)) + z/(3 sqrt(x+1)))^3
//
// Source: Breslow & Day 1987 (from memory).
func Byar(x int, level float64) (Interval, error) {
	if x < 0 {
		return Interval{}, fmt.Errorf("a count of %d", x)
	}
	if err := checkLevel(level); err != nil {
		return Interval{}, err
	}
	z := normalWidth(level)
	cube := func(m, side float64) float64 {
		t := 1 - 1/(9*m) + side*z/(3*math.Sqrt(m))
		return m * t * t * t
	}
	lower := 0.0
	if x > 0 {
		lower = math.Max(0, cube(float64(x), -1))
	}
	return Interval{lower, cube(float64(x)+1, 1)}, nil
}

// PoissonMidP is the interval of the mean of a Poisson count x in which the observed
// count carries half its probability.
func PoissonMidP(x int, level float64) (Interval, error) {
	outer, err := Garwood(x, level)
	if err != nil {
		return Interval{}, err
	}
	a := (1 - level) / 2
	lower := 0.0
	if x > 0 {
		lower = bisect(0, float64(x), func(m float64) float64 {
			return dist.PoissonTail(x, m) + dist.PoissonPMF(x, m)/2 - a
		})
	}
	upper := bisect(0, outer.Upper*2+1, func(m float64) float64 {
		return a - dist.PoissonCDF(x-1, m) - dist.PoissonPMF(x, m)/2
	})
	return Interval{lower, upper}, nil
}

// PoissonMidPTest is the two-sided mid-P value of an observed count against an
// expected one: twice the smaller tail, each with half the probability of the count
// itself, at most 1.
func PoissonMidPTest(observed int, expected float64) (float64, error) {
	if observed < 0 || !(expected >= 0 && expected <= 1e9) {
		return 0, fmt.Errorf("observed %d against expected %v", observed, expected)
	}
	half := dist.PoissonPMF(observed, expected) / 2
	tail := math.Min(dist.PoissonCDF(observed-1, expected), dist.PoissonTail(observed, expected))
	return math.Min(1, 2*(tail+half)), nil
}
