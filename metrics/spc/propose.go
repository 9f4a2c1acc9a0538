package spc

import (
	"fmt"
	"math"
)

// DataType is what a measure produces for one case.
type DataType uint8

// The data types.
const (
	Proportion  DataType = iota + 1 // the case meets a condition or does not
	Duration                        // a time, skewed to the right
	Measurement                     // a measured value, about symmetric
	EventCount                      // a count of events for one case
)

// Period is the stretch of time, or the unit, that one point stands for.
type Period string

// The periods.
const (
	Month   Period = "month"
	Quarter Period = "quarter"
	Event   Period = "event"   // one point an event
	Newborn Period = "newborn" // one point a newborn
)

// Volume is what is known of a measure when its chart is chosen: once, at the
// baseline.
type Volume struct {
	Type     DataType
	PerMonth float64 // mean number of cases with a known answer in a month
	Centre   float64 // Proportion: share with the event; otherwise ignored
	Sequence bool    // the order of the cases is known
	Months   int     // months of baseline at hand
}

// Proposal is a choice of chart and period. It is stored with the baseline and
// changed only by a person.
type Proposal struct {
	Kind        Kind
	Period      Period
	Consecutive bool // show every newborn in order beside it
	Points      int  // baseline points wanted before limits are firm
	Reason      string
}

// Thresholds of the choice.
const (
	// enoughCases is the mean number of known cases a month under which a monthly
	// share swings so much that quarters serve better: with 11 cases at 39 % a month
	// has no lower limit at all. Own calculation.
	enoughCases = 15
	// rareEvents is the expected events a quarter under which a share says less than
	// the cases between events.
	rareEvents = 1.0
)

// Propose chooses the chart and the period of a measure from its data type and its
// volume, with the reason in words. A volume that is no number, or negative, counts
// as 0. The rules:
//
//   - rare event (share below 5 % and under one expected event a quarter): cases
//     between events where the order is known, otherwise the yearly count's share by
//     quarter;
//   - share: by month from 15 known cases a month, by quarter under that, with every
//     newborn in order beside it;
//   - times: run chart of the median, because times are skewed; by month or quarter
//     as above;
//   - measured values: individuals chart of the mean; by month or quarter as above;
//   - counts of events for each case: rate chart with its spread taken from
//     successive points, because such counts hold too many zeros for a pure count law.
func Propose(v Volume) Proposal {
	n := v.PerMonth
	if !(n > 0) || math.IsInf(n, 0) {
		n = 0
	}
	p := Proposal{Kind: P, Period: Month, Consecutive: false, Points: firmPoints, Reason: ""}
	about := fmt.Sprintf("About %.3g known cases a month", n)
	if n < enoughCases {
		p.Period, p.Consecutive = Quarter, true
		about += fmt.Sprintf(", under %d: a single month would swing too much, so one point is a quarter, and every newborn is shown in order beside it", enoughCases)
	} else {
		about += ": enough for one point a month"
		if n < firmSmallN && v.Type != Duration { // a run chart has no limits to be firm
			p.Points = firmSmallPoints
			about += fmt.Sprintf("; limits are firm from %d months, because months under %d cases give an uncertain centre", firmSmallPoints, firmSmallN)
		}
	}
	switch v.Type {
	case Duration:
		p.Kind = Run
		p.Points = firmRun
		p.Reason = "Times are skewed, so the chart is a run chart of the median. " + about + "."
	case Measurement:
		p.Kind = XmR
		p.Reason = "Measured values: an individuals chart of the mean. " + about + "."
	case EventCount:
		p.Kind = UPrime
		p.Reason = "Counts for each case hold many zeros, so the spread is taken from successive points. " + about + "."
	default:
		p.Kind = P
		p.Reason = "A share of cases. " + about + "."
		if v.Centre >= 0 && v.Centre < 0.05 && 3*n*v.Centre < rareEvents {
			if v.Sequence {
				return Proposal{
					Kind: G, Period: Event, Consecutive: false, Points: firmRun,
					Reason: "A rare event, under one expected a quarter: the chart shows the cases between one event and the next. It cannot show events becoming more frequent by a single point; a cumulative sum over the cases watches for that.",
				}
			}
			p.Period, p.Consecutive = Quarter, false
			p.Reason = "A rare event whose order among the cases is not known: share by quarter with exact limits. It can hardly show a change; a cumulative sum over the cases would need the order."
		}
	}
	return p
}
