package estimate

import (
	"math"
	"slices"
)

// Mean is the arithmetic mean, by two passes; false for no values. Values must be
// finite; see Describe.
func Mean(x []float64) (float64, bool) {
	if len(x) == 0 || checkNumbers(x) != nil {
		return 0, false
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
	return m + rest/n, true
}

// SD is the sample standard deviation with divisor n-1, by two passes with the
// correction term, because one pass over sums of squares cancels; false for fewer
// than two values.
func SD(x []float64) (float64, bool) {
	m, ok := Mean(x)
	if !ok || len(x) < 2 {
		return 0, false
	}
	ss, rest := 0.0, 0.0
	for _, v := range x {
		ss += (v - m) * (v - m)
		rest += v - m
	}
	return math.Sqrt(math.Max(0, ss-rest*rest/float64(len(x))) / float64(len(x)-1)), true
}

// Lag1 is the lag-1 autocorrelation sum (x_t - m)(x_(t+1) - m) / sum (x_t - m)^2;
// false for fewer than two values or values that do not vary. Source: NIST StRD.
func Lag1(x []float64) (float64, bool) {
	m, ok := Mean(x)
	if !ok || len(x) < 2 {
		return 0, false
	}
	above, below := 0.0, 0.0
	for i, v := range x {
		below += (v - m) * (v - m)
		if i > 0 {
			above += (x[i-1] - m) * (v - m)
		}
	}
	if below == 0 {
		return 0, false
	}
	return above / below, true
}

// TrimmedMean leaves out floor(n trim) values at each end; false for no values, or a
// trim outside 0 to under a half.
func TrimmedMean(x []float64, trim float64) (float64, bool) {
	s, k, ok := trimmed(x, trim)
	if !ok {
		return 0, false
	}
	return Mean(s[k : len(s)-k])
}

// WinsorisedMean replaces floor(n trim) values at each end by the nearest one kept.
func WinsorisedMean(x []float64, trim float64) (float64, bool) {
	s, k, ok := trimmed(x, trim)
	if !ok {
		return 0, false
	}
	for i := range k {
		s[i], s[len(s)-1-i] = s[k], s[len(s)-1-k]
	}
	return Mean(s)
}

func trimmed(x []float64, trim float64) (sorted []float64, k int, ok bool) {
	if len(x) == 0 || checkNumbers(x) != nil || !(trim >= 0 && trim < 0.5) {
		return nil, 0, false
	}
	s := slices.Clone(x)
	slices.Sort(s)
	return s, int(float64(len(s)) * trim), true
}

// MAD is the median absolute deviation from the median; times 1.4826 it estimates the
// standard deviation of a normal law. False for no values.
func MAD(x []float64) (float64, bool) {
	m, ok := Median(x)
	if !ok {
		return 0, false
	}
	d := make([]float64, len(x))
	for i, v := range x {
		d[i] = math.Abs(v - m)
	}
	return Median(d)
}
