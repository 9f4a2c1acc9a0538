package synth

import (
	"math"
	"sort"

	"chestrise/etl/record"
)

// scribe writes down what happened, with the habits of the record: by a
// device to the second, live to 1, 5 or 10 s, or afterwards, where hands round
// to half minutes and tens.
type scribe struct {
	dice
	how    record.How
	unit   uint8   // of live times, one a record
	lost   float64 // share of times that nobody wrote down
	group  int32
	events []record.Event
}

// note writes an event at a true time in seconds from birth.
func (s *scribe) note(k record.Kind, c record.EventCode, at float64) *record.Event {
	e := record.Event{Kind: k, Code: c, Clock: record.ClockBirth, How: s.how, Timed: true}
	switch {
	case s.how == record.ByDevice:
		e.Unit, e.At = 1, int32(math.Round(at))
	case s.how == record.Live:
		e.Unit = s.unit
		e.At = rounded(at, float64(e.Unit))
	case s.chance(.6): // a half minute, as hands round it; no unit stated
		e.At = rounded(at, 30)
	default:
		e.Unit, e.At = 10, rounded(at, 10)
	}
	if s.lost > 0 && s.chance(s.lost) {
		e.Timed, e.At, e.Unit, e.How = false, 0, 0, record.HowBlank
		e.Clock = record.ClockUnknown
	}
	s.events = append(s.events, e)
	return &s.events[len(s.events)-1]
}

func rounded(at, unit float64) int32 { return int32(math.Round(at/unit) * unit) }

// value writes an event that carries a number.
func (s *scribe) value(k record.Kind, c record.EventCode, at, v float64) {
	e := s.note(k, c, at)
	e.Value, e.Valued = v, true
}

// open starts a group with an event; further rows join it by join.
func (s *scribe) open(k record.Kind, c record.EventCode, at float64) record.Event {
	e := s.note(k, c, at)
	s.group++
	e.Group, e.Grouped = s.group, true
	return *e
}

// join writes an attribute of an event, at its time and in its group.
func (s *scribe) join(parent record.Event, k record.Kind, c record.EventCode) *record.Event {
	e := parent
	e.Kind, e.Code, e.Value, e.Valued = k, c, 0, false
	s.events = append(s.events, e)
	return &s.events[len(s.events)-1]
}

func (s *scribe) joinValue(parent record.Event, k record.Kind, v float64) {
	e := s.join(parent, k, 0)
	e.Value, e.Valued = v, true
}

// close writes the end of what a group began.
func (s *scribe) close(parent record.Event, k record.Kind, at float64) record.Event {
	e := s.note(k, parent.Code, at)
	e.Group, e.Grouped = parent.Group, true
	if e.Timed && parent.Timed && e.At < parent.At {
		e.At = parent.At
	}
	return *e
}

// rows returns the events in the order of the contract: by time, then kind,
// untimed last.
func (s *scribe) rows() []record.Event {
	sort.SliceStable(s.events, func(i, j int) bool { return before(s.events[i], s.events[j]) })
	return s.events
}

func before(a, b record.Event) bool {
	if a.Timed != b.Timed {
		return a.Timed
	}
	if a.At != b.At {
		return a.At < b.At
	}
	return a.Kind.String() < b.Kind.String()
}
