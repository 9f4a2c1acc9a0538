package derive

import "chestrise/etl/record"

// How far a recorded time may lie from what was typed.
type slack struct {
	half   int32 // typed value +/- so many half seconds, both ends possible
	minute bool  // a reading of whole clock minutes
}

// slackOf gives the precision of an event's time.
//
// A unit of 60 s always means the difference of two whole-minute clock readings.
// A time is exact if its unit is 1 s, however taken, or up to 10 s if taken by
// device, from video or live; zero is exact. Any other time stands for the typed
// value +/- half its unit. A unit that is not stated is 1 s for device, video and
// live; for the rest it is 30 s where the typed number is divisible by 30, else
// 5 s where divisible by 5, else 1 s. Cord clamping is a called action and counts
// as typed unless a coarse unit marks it as estimated.
func slackOf(e *record.Event) slack {
	taken := e.How == record.ByDevice || e.How == record.ByVideo || e.How == record.Live
	unit := e.Unit
	if unit == 0 {
		switch {
		case taken || e.Kind == record.CordClamped:
			unit = 1
		case e.At%30 == 0:
			unit = 30
		case e.At%5 == 0:
			unit = 5
		default:
			unit = 1
		}
	}
	switch {
	case unit == 60:
		return slack{minute: true}
	case e.At == 0, unit == 1, unit <= 10 && (taken || e.Kind == record.CordClamped):
		return slack{}
	}
	return slack{half: int32(unit)}
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
