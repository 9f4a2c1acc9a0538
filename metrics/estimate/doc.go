// Package estimate computes intervals, quantiles, survival and cumulative-incidence
// curves, and tests. Pure arithmetic over metrics/dist: no files, no clock, no
// chance.
//
// Conventions: a level is the two-sided coverage, such as 0.95. Impossible input (a
// negative count, more events than cases, a level outside 0 to 1, a number that is
// not finite) is an error; thin input is not: no cases give the interval from 0 to 1,
// no values give "not known". What a curve has not reached is said by Reached =
// false, never by a number. No result is NaN or infinite unless a documented bound is
// unbounded (the upper limit of an odds ratio or a ratio with an empty cell).
package estimate

import (
	"fmt"
	"math"

	"chestrise/metrics/dist"
)

// Interval is a range of values, both ends included.
type Interval struct{ Lower, Upper float64 }

// Reach is a value that may not have been reached.
type Reach struct {
	Value   float64
	Reached bool
}

// reached wraps a value.
func reached(v float64) Reach { return Reach{Value: v, Reached: true} }

func checkLevel(level float64) error {
	if !(level > 0 && level < 1) {
		return fmt.Errorf("level %v must lie between 0 and 1", level)
	}
	return nil
}

func checkCounts(x, n int) error {
	if x < 0 || n < 0 || x > n {
		return fmt.Errorf("%d of %d cases is impossible", x, n)
	}
	return nil
}

func checkNumbers(x []float64) error {
	for i, v := range x {
		if !(math.Abs(v) <= 1e100) {
			return fmt.Errorf("value %d is not finite or beyond 1e100", i+1)
		}
	}
	return nil
}

// normalWidth is the standard normal quantile that covers a level two-sided.
func normalWidth(level float64) float64 { return dist.NormalUpperQuantile((1 - level) / 2) }

// bisect finds where an increasing function passes 0 on [lo, hi].
func bisect(lo, hi float64, f func(float64) float64) float64 {
	for range 200 {
		m := lo + (hi-lo)/2
		if m == lo || m == hi {
			break
		}
		if f(m) < 0 {
			lo = m
		} else {
			hi = m
		}
	}
	return lo + (hi-lo)/2
}
