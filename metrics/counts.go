package metrics

import (
	"context"
	"fmt"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
)

// Counts is what a measure counted over some months and bands, with its own rule
// for missing answers and, for a value that is charted as a share, with its limit
// applied.
type Counts struct {
	Outside            int
	EligibilityUnknown int
	Excluded           []int // by reason
	Exceptions         []int // by reason
	Unknown            int
	Undecided          int
	NotMet             int
	Met                int
}

// Known are the newborns with an answer: the denominator of the share.
func (c Counts) Known() int { return c.NotMet + c.Met }

// Eligible are the newborns that the measure asks about, answered or not.
func (c Counts) Eligible() int { return c.Known() + c.Unknown + c.Undecided }

// Add adds up.
func (c Counts) Add(o Counts) Counts {
	return Counts{
		Outside: c.Outside + o.Outside, EligibilityUnknown: c.EligibilityUnknown + o.EligibilityUnknown,
		Excluded: addUp(c.Excluded, o.Excluded), Exceptions: addUp(c.Exceptions, o.Exceptions),
		Unknown: c.Unknown + o.Unknown, Undecided: c.Undecided + o.Undecided, NotMet: c.NotMet + o.NotMet, Met: c.Met + o.Met,
	}
}

func addUp(a, b []int) []int {
	out := make([]int, max(len(a), len(b)))
	copy(out, a)
	for i, v := range b {
		out[i] += v
	}
	return out
}

// IsShare says whether the measure has a numerator and a denominator to compare: a
// proportion, an event among births, or a value charted as the share within a limit.
func IsShare(d measure.Definition) bool { return d.Data != measure.Value || d.Chart.Within > 0 }

// CountUp adds up cells of one measure.
func CountUp(d measure.Definition, cells []cell.Cell) Counts {
	var t tally
	for _, c := range cells {
		t.add(d, c)
	}
	t = t.counted(d)
	whole := func(x []int32) []int {
		out := make([]int, len(x))
		for i, v := range x {
			out[i] = int(v)
		}
		return out
	}
	return Counts{
		Outside: int(t.outside), EligibilityUnknown: int(t.eligibilityUnknown), Excluded: whole(t.excluded), Exceptions: whole(t.exceptions),
		Unknown: int(t.unknown), Undecided: int(t.undecided), NotMet: int(t.notMet), Met: int(t.met),
	}
}

// Standing is what a unit's sources sent for a stretch of months.
type Standing struct {
	Months     int // with a newborn on record
	Coverage   record.Coverage
	CoverageIn string         // in words
	Open       []record.Month // of the stretch, that have not closed
	Synthetic  bool

	calendar calendar
}

// Standing tells it for the months from to to.
func (e *Engine) Standing(ctx context.Context, unit string, from, to record.Month) (Standing, error) {
	c, err := e.calendarOf(ctx, unit)
	if err != nil {
		return Standing{}, fmt.Errorf("unit %s: %w", unit, err)
	}
	s := Standing{Months: 0, Coverage: c.coverage(), CoverageIn: coverageWords(c.coverage()), Open: nil, Synthetic: c.synthetic(), calendar: c}
	for _, m := range months(from, to) {
		if c.documents[m] > 0 {
			s.Months++
		}
		if !c.closed[m] {
			s.Open = append(s.Open, m)
		}
	}
	return s, nil
}

// Absent says why the measure cannot be computed from what the unit's sources send;
// empty: it can.
func (s Standing) Absent(d measure.Definition) string {
	if s.Months == 0 {
		return "No newborn on record in these months."
	}
	return absent(s.calendar, d)
}
