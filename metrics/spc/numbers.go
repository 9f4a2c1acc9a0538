package spc

import (
	"math"
	"slices"
)

// mean is the arithmetic mean by two passes; 0 for no values.
func mean(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	n := float64(len(x))
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	m := sum / n
	rest := 0.0
	for _, v := range x {
		rest += v - m
	}
	return m + rest/n
}

// sumSquares is the sum of squared deviations from the mean, with the correction
// term of the two-pass algorithm.
func sumSquares(x []float64) float64 {
	m := mean(x)
	ss, rest := 0.0, 0.0
	for _, v := range x {
		d := v - m
		ss += d * d
		rest += d
	}
	return math.Max(0, ss-rest*rest/float64(max(len(x), 1)))
}

// stdDev is the sample standard deviation with divisor n-1; 0 for fewer than two.
func stdDev(x []float64) float64 {
	if len(x) < 2 {
		return 0
	}
	return math.Sqrt(sumSquares(x) / float64(len(x)-1))
}

// median is the middle value, the mean of the two middle ones for an even number;
// 0 for no values.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	s := slices.Clone(x)
	slices.Sort(s)
	h := len(s) / 2
	if len(s)%2 == 1 {
		return s[h]
	}
	return s[h-1] + (s[h]-s[h-1])/2
}

// lag1 is the lag-1 autocorrelation, sum (x_t - m)(x_(t+1) - m) / sum (x_t - m)^2,
// with false where the values do not vary. Source: NIST StRD, univariate summary
// statistics.
func lag1(x []float64) (float64, bool) {
	m, below := mean(x), sumSquares(x)
	if len(x) < 2 || below == 0 {
		return 0, false
	}
	above := 0.0
	for i := 1; i < len(x); i++ {
		above += (x[i-1] - m) * (x[i] - m)
	}
	return above / below, true
}
