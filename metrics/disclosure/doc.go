// Package disclosure decides which small counts must be hidden in a published table,
// hides further cells until none of them can be worked out again, and proves it: for
// every hidden cell the range of values that agrees with everything published is
// computed exactly, and it must be wide enough.
//
// Counting hidden cells per line is not enough: row totals minus column totals can still
// give a cell away. Also hidden must be what is derived from a hidden count: rates with
// a published denominator, percentages with enough digits, differences between
// overlapping periods, marks on a drawing. Source: Federal Committee on Statistical
// Methodology, Statistical Policy Working Paper 22 (1994, revised 2005).
package disclosure

import (
	"fmt"
	"math"
)

// Policy says what is too small to publish.
type Policy struct {
	// Threshold k hides counts from 1 to k-1. 0 hides nothing.
	Threshold int
	// Complement hides a count as well if the rest of its denominator is from 1 to k-1:
	// 14 of 15 gives the one away.
	Complement bool
	// Zeros hides counts of 0 (and full denominators, with Complement) too.
	Zeros bool
	// Width is the least distance between the smallest and the largest value a hidden cell
	// may still have; 0 stands for the threshold, at least 1.
	Width int
}

func (p Policy) width() int {
	if p.Width > 0 {
		return p.Width
	}
	return max(p.Threshold, 1)
}

func (p Policy) check() error {
	if p.Threshold < 0 || p.Width < 0 || p.Threshold > 1<<20 || p.Width > 1<<20 {
		return fmt.Errorf("suppression threshold %d, width %d", p.Threshold, p.Width)
	}
	return nil
}

// small says whether a count by itself is too small.
func (p Policy) small(count int) bool {
	if p.Threshold == 0 {
		return false
	}
	return count > 0 && count < p.Threshold || count == 0 && p.Zeros
}

// Hides says whether a count out of n must be hidden: by itself, or because of its
// complement. A count that is impossible (negative, more than n) is hidden.
func (p Policy) Hides(count, n int) bool {
	if count < 0 || count > n {
		return true
	}
	return p.small(count) || p.Complement && p.small(n-count)
}

// CountsFromPercent gives the smallest and largest count out of n that round to a
// published percentage with so many decimals (halves either way). None fit where the
// percentage is impossible: then lo > hi.
func CountsFromPercent(percent float64, decimals, n int) (lo, hi int) {
	if n <= 0 || decimals < 0 || decimals > 12 || !(percent >= 0 && percent <= 100) {
		return 1, 0
	}
	half := 0.5 * math.Pow(10, -float64(decimals))
	const slack = 1e-9
	low := (percent - half) / 100 * float64(n)
	high := (percent + half) / 100 * float64(n)
	lo = int(math.Ceil(low - slack*float64(n)))
	hi = int(math.Floor(high + slack*float64(n)))
	return max(lo, 0), min(hi, n)
}

// DecimalsAllowed is the largest number of decimals, at most 3, of a percentage of n
// from which a count cannot be worked back to fewer than width+1 values; -1: not even
// whole percents. A percentage with one decimal gives every count below n = 1000 away.
func DecimalsAllowed(n, width int) int {
	out := -1
	for d := 0; d <= 3; d++ {
		// Values within the rounding interval: n 10^-d / 100 wide.
		if int(float64(n)*math.Pow(10, -float64(d))/100) < width+1 {
			break
		}
		out = d
	}
	return out
}
