package derive

import (
	"math"

	"chestrise/etl/record"
)

// end is something that ends the question whether ventilation works: an airway
// attempt, compressions, a drug, the end of ventilation, death, or the end of
// observation 20 minutes after birth.
type end struct {
	row
	code uint8
}

// before says whether the end comes before the row. In the same second it does
// not: the sign counts, not the end.
func (e end) before(t *trial, r row) bool { return t.strictlyBefore(e.row, r) }

// firstEnd returns the earliest of the ends. Of two in the same second the one
// listed first in the dictionary is named; the time is the same.
func firstEnd(t *trial, ends []end) *end {
	var first *end
	for i := range ends {
		if first == nil || t.strictlyBefore(ends[i].row, first.row) {
			first = &ends[i]
		}
	}
	return first
}

// ends returns what may end the course of one trial, in the order of the
// dictionary: only what comes after the first inflation.
func (v *effect) ends(t *trial, first row) []end {
	var out []end
	for _, e := range v.actions {
		if t.strictlyBefore(first, e.row) {
			out = append(out, e)
		}
	}
	for _, r := range v.stops {
		if t.notAfter(first, r) && v.stopped(t, r, first) {
			out = append(out, end{r, record.FirstEndStopped})
		}
	}
	if d, died := v.death(first); died && t.less(first.at, d.at, 0) {
		out = append(out, d)
	}
	late := v.tl.late(first)
	return append(out, end{row{Event: untyped, at: late.after(windowS), nth: -2}, record.FirstEndObservationEnd})
}

// untyped is the event behind a time that no row holds.
var untyped = &record.Event{}

// stopped says whether a row that ends ventilation really does: no ventilation
// begins from then until less than 30 s later (a new interface or device is no
// end), and no other episode goes on past it.
func (v *effect) stopped(t *trial, stop, first row) bool {
	for _, r := range v.ppv {
		if r.nth != first.nth && t.notAfter(stop, r) && t.less(r.at, stop.at, pauseS) {
			return false
		}
	}
	return !v.covered(t, stop)
}

// covered says whether another episode of ventilation, begun before the stop,
// ends later.
func (v *effect) covered(t *trial, stop row) bool {
	for _, other := range v.stops {
		if other.Group == stop.Group || !other.Grouped || !stop.Grouped || !t.strictlyBefore(stop, other) {
			continue
		}
		for _, r := range v.ppv {
			if r.Grouped && r.Group == other.Group && t.notAfter(r, stop) {
				return true
			}
		}
	}
	return false
}

// pauseS is how long ventilation must be off to have ended, in seconds.
const pauseS = 30

// death places a death at its minutes since birth. A death later than the window
// is no end; one without a time leaves the end of observation open.
func (v *effect) death(first row) (end, bool) {
	minutes := v.c.doc.Newborn[record.DiedMin]
	d := end{row{Event: untyped, nth: -1}, record.FirstEndDied}
	if minutes.State != record.Recorded || minutes.Number*60 > windowS {
		return d, false
	}
	halves := int32(math.Round(minutes.Number * 120))
	from := v.tl.birth(first)
	if minutes.Number >= 5 {
		from = v.tl.late(first)
	}
	d.at = point{from.node, from.off + halves}
	return d, true
}
