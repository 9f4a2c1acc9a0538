package derive

import "chestrise/etl/record"

// How far a recorded time may lie from what was typed.
type slack struct {
	half   int32 // typed value +/- so many half seconds, both ends possible
	minute bool  // a reading of whole clock minutes
}

// slackOf gives the precision of an event's time.
func slackOf(e *record.Event) slack {
	half, minute := e.Precision()
	return slack{half: half, minute: minute}
}

// minuteHalves is a clock minute in half seconds.
const minuteHalves = 120

// exact says whether the time is a point.
func (s slack) exact() bool { return !s.minute && s.half == 0 }

// apart gives how far the difference of two times of one clock may lie from the
// difference of what was typed: two whole-minute readings share their minute's
// bounds, otherwise the uncertainties add up.
func (s slack) apart(o slack) bound {
	switch {
	case s.minute && o.minute:
		return lessThan(minuteHalves)
	case s.minute:
		return lessThan(minuteHalves + o.half)
	case o.minute:
		return lessThan(minuteHalves + s.half)
	}
	return atMost(s.half + o.half)
}
