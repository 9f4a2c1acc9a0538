package estimate

import (
	"fmt"
	"math"
)

// Bounds is what a share would be had none, or all, of the cases without an answer
// been met.
type Bounds struct {
	Known       float64 // met among those with an answer; meaningless where None
	Worst, Best float64 // lowest and highest the share can be
	Answered    float64 // share with an answer
	None        bool    // no case has an answer
}

// BoundsOf computes the bounds of met of known cases with unknown more that belong in
// the denominator. Without any case it is 0 to 1.
func BoundsOf(met, known, unknown int) (Bounds, error) {
	if err := checkCounts(met, known); err != nil {
		return Bounds{}, err
	}
	if unknown < 0 {
		return Bounds{}, fmt.Errorf("%d unknown cases", unknown)
	}
	n := float64(known + unknown)
	if n == 0 {
		return Bounds{Known: 0, Worst: 0, Best: 1, Answered: 0, None: true}, nil
	}
	b := Bounds{Known: 0, Worst: float64(met) / n, Best: float64(met+unknown) / n, Answered: float64(known) / n, None: known == 0}
	if known > 0 {
		b.Known = float64(met) / float64(known)
	}
	return b, nil
}

// Straddle says whether the bounds lie on both sides of a line, or reach a limit on
// one end only, so that what is unknown could change the verdict. A bound on the line
// counts as not beyond it. Nil lines are no lines.
func (b Bounds) Straddle(lines ...*float64) bool {
	for _, l := range lines {
		if l != nil && (b.Best > *l) != (b.Worst > *l) {
			return true
		}
		if l != nil && (b.Best < *l) != (b.Worst < *l) {
			return true
		}
	}
	return false
}

// Answer is a recorded time against a limit.
type Answer uint8

// The answers.
const (
	Undecided Answer = iota // the limit lies inside the interval
	Met
	NotMet
)

// Against compares a time recorded as the closed interval lo to hi with a limit: met
// if all of it is at or under the limit, not met if all of it is over, else undecided.
// An interval that is no interval (lo above hi, or not a number) is undecided.
func Against(lo, hi, limit float64) Answer {
	switch {
	case !(lo <= hi):
		return Undecided
	case hi <= limit:
		return Met
	case lo > limit:
		return NotMet
	default:
		return Undecided
	}
}

// LimitTally is how many times were met, not met, undecided at a limit.
type LimitTally struct{ Met, NotMet, Undecided int }

// AgainstAll counts the answers of many intervals.
func AgainstAll(times []Interval, limit float64) LimitTally {
	var t LimitTally
	for _, v := range times {
		switch Against(v.Lower, v.Upper, limit) {
		case Met:
			t.Met++
		case NotMet:
			t.NotMet++
		default:
			t.Undecided++
		}
	}
	return t
}

// Heaping says how strongly typed times gather on round numbers.
type Heaping struct {
	N        int
	On       int     // values divisible by the step
	Expected float64 // share that would be by chance: 1/step
	Index    float64 // (share on - expected)/(1 - expected): 0 by chance, 1 all on; below 0 is avoidance
	P        float64 // chance of so many on, or more
	Known    bool    // false without values
}

// HeapingOf computes the heaping of whole-second times on multiples of a step of two
// seconds or more: Index is the excess share on multiples over what is possible, in the
// manner of Whipple's index; P is the binomial tail. Values with a fraction are rounded
// to the second. Common practice; the index has no single source.
func HeapingOf(seconds []float64, step int) (Heaping, error) {
	if step < 2 {
		return Heaping{}, fmt.Errorf("heaping on multiples of %d seconds", step)
	}
	if err := checkNumbers(seconds); err != nil {
		return Heaping{}, err
	}
	h := Heaping{N: len(seconds), On: 0, Expected: 1 / float64(step), Index: 0, P: 1, Known: false}
	for _, s := range seconds {
		if math.Mod(math.Round(s), float64(step)) == 0 {
			h.On++
		}
	}
	if h.N == 0 {
		return h, nil
	}
	h.Known = true
	share := float64(h.On) / float64(h.N)
	h.Index = (share - h.Expected) / (1 - h.Expected)
	h.P = binomialAtLeast(h.On, h.N, h.Expected)
	return h, nil
}
