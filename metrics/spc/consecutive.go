package spc

import (
	"fmt"
	"math"
)

// Outcome is one case of a consecutive series: met, not met, or without an answer.
type Outcome uint8

// The outcomes.
const (
	NoAnswer Outcome = iota // unknown or undecided
	OutcomeMet
	OutcomeNotMet
)

// Blocks turns single cases in order into shares of blocks of so many cases with an
// answer, so that each point rests on the same number however many cases a month
// brings. Cases without an answer are passed over and not lost: the label of a block
// names its first and last case and how many had none. The last block, if short, is
// hollow. A size under 1 is an error; no cases give an empty series.
func Blocks(labels []string, cases []Outcome, size int) (Series, error) {
	if size < 1 {
		return Series{}, fmt.Errorf("blocks of %d cases", size)
	}
	s := Series{Ratio: true}
	first, met, known, without := 0, 0, 0, 0
	add := func(last int, hollow bool) {
		text := label(labels, first)
		if last > first {
			text += " to " + label(labels, last)
		}
		if without > 0 {
			text += fmt.Sprintf(" (%d without an answer)", without)
		}
		s.Points = append(s.Points, Observation{Label: text, Num: float64(met), N: float64(known), Hollow: hollow, Missing: known == 0})
		first, met, known, without = last+1, 0, 0, 0
	}
	for i, c := range cases {
		switch c {
		case OutcomeMet:
			met++
			known++
		case OutcomeNotMet:
			known++
		default:
			without++
		}
		if known == size {
			add(i, false)
		}
	}
	if known+without > 0 {
		add(len(cases)-1, true)
	}
	return s, nil
}

// LogTimes turns times of single cases into their natural logarithms for an individuals
// chart, because times are skewed and limits on the plain scale would fall below 0.
// Times of 0 get half the unit they were recorded in added; a NaN is a gap. A negative
// time, or a time of 0 without a unit, is an error. [UnlogTime] turns limits back.
func LogTimes(labels []string, seconds []float64, unit float64) (Series, error) {
	x := make([]float64, len(seconds))
	for i, v := range seconds {
		switch {
		case math.IsNaN(v):
			x[i] = math.NaN()
			continue
		case v < 0 || !usable(v):
			return Series{}, fmt.Errorf("row %d (%s): a time of %v", i+1, label(labels, i), v)
		case v == 0 && !(unit > 0 && usable(unit)):
			return Series{}, fmt.Errorf("row %d (%s): a time of 0 has no logarithm\nhint: give the unit of the times; half of it is added to zeros", i+1, label(labels, i))
		case v == 0:
			v = unit / 2
		}
		x[i] = math.Log(v)
	}
	return Values(labels, x), nil
}

// UnlogTime turns a value, centre or limit of a chart of logarithms back to a time; nil
// stays nil, and what is beyond double precision becomes nil.
func UnlogTime(v *float64) *float64 {
	if v == nil {
		return nil
	}
	t := math.Exp(*v)
	if !usable(t) {
		return nil
	}
	return &t
}
