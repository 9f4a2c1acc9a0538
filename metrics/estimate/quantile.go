package estimate

import (
	"fmt"
	"math"
	"slices"

	"chestrise/metrics/dist"
)

// QuantileType names one of the nine definitions of Hyndman & Fan, The American
// Statistician 50 (1996) 361-365. Type 7, h = (n-1)p + 1, is the default of most
// numeric libraries; type 6, h = (n+1)p, is that of many textbooks.
type QuantileType int

// Quantile is the p-quantile of values in any order under a definition from 1 to 9;
// false for no values. Values must be finite, p from 0 to 1.
func Quantile(x []float64, p float64, kind QuantileType) (float64, bool, error) {
	if err := checkNumbers(x); err != nil {
		return 0, false, err
	}
	if !(p >= 0 && p <= 1) {
		return 0, false, fmt.Errorf("quantile %v must lie between 0 and 1", p)
	}
	if kind < 1 || kind > 9 {
		return 0, false, fmt.Errorf("quantile definition %d is not one of 1 to 9", kind)
	}
	if len(x) == 0 {
		return 0, false, nil
	}
	s := slices.Clone(x)
	slices.Sort(s)
	n := float64(len(s))
	at := func(i float64) float64 { return s[int(math.Min(math.Max(i, 1), n))-1] }
	// A position that misses a whole number by rounding alone is taken as whole.
	const fuzz = 4 * 0x1p-52
	if kind <= 3 {
		h := n * p
		if kind == 3 {
			h -= 0.5
		}
		j := math.Floor(h + fuzz)
		whole := h-j <= fuzz
		switch {
		case kind == 1 && whole:
			return at(j), true, nil
		case kind == 2 && whole:
			return (at(j) + at(j+1)) / 2, true, nil
		case kind == 3 && whole && math.Mod(j, 2) == 0:
			return at(j), true, nil
		}
		return at(j + 1), true, nil
	}
	a, b := 0.0, 1.0
	switch kind {
	case 5:
		a, b = 0.5, 0.5
	case 6:
		a, b = 0, 0
	case 7:
		a, b = 1, 1
	case 8:
		a, b = 1.0/3, 1.0/3
	case 9:
		a, b = 3.0/8, 3.0/8
	}
	h := a + p*(n+1-a-b)
	j := math.Floor(h + fuzz)
	g := h - j
	if math.Abs(g) < fuzz {
		g = 0
	}
	if g == 0 {
		return at(j), true, nil
	}
	return (1-g)*at(j) + g*at(j+1), true, nil
}

// Median is the middle value (the mean of the two middle ones); false for none.
func Median(x []float64) (float64, bool) {
	m, ok, err := Quantile(x, 0.5, 7)
	return m, ok && err == nil
}

// MedianInterval is an interval for a median by order statistics, free of any
// assumption about the law.
type MedianInterval struct {
	Interval
	LowerRank, UpperRank int     // ranks of the two values, from 1
	Coverage             float64 // the level really reached, at least the level asked for
}

// MedianCI takes the largest rank r with P(B <= r-1) <= (1-level)/2 for B binomial(n,
// 1/2), and its mirror. False where too few values give no such rank (under 6 for
// 0.95).
func MedianCI(x []float64, level float64) (MedianInterval, bool, error) {
	if err := checkNumbers(x); err != nil {
		return MedianInterval{}, false, err
	}
	if err := checkLevel(level); err != nil {
		return MedianInterval{}, false, err
	}
	n := len(x)
	r := 0
	for dist.BinomialCDF(r, n, 0.5) <= (1-level)/2 {
		r++
	}
	if r < 1 {
		return MedianInterval{Interval: Interval{Lower: 0, Upper: 0}, LowerRank: 0, UpperRank: 0, Coverage: 0}, false, nil
	}
	s := slices.Clone(x)
	slices.Sort(s)
	return MedianInterval{
		Interval: Interval{s[r-1], s[n-r]}, LowerRank: r, UpperRank: n - r + 1,
		Coverage: 1 - 2*dist.BinomialCDF(r-1, n, 0.5),
	}, true, nil
}
