package derive

import "chestrise/etl/record"

// nearS is how far a saturation may lie from five or ten minutes, in seconds.
const nearS = 30

// saturation derives the saturations nearest to five and to ten minutes, and
// whether more than air was given at the latter. Of two equally near the earlier
// counts. Oxygen holds from one setting to the next within the same support
// episode, no longer; without any support running it is air.
func saturation(c *course, f *record.Facts) {
	tl := c.order
	if tl == nil {
		return
	}
	read := tl.readings()
	for _, m := range []struct {
		at   int32
		fact record.Fact
	}{{300, record.FactSpo2At5Min}, {600, record.FactSpo2At10Min}} {
		var value values
		if c.explore(tl, func(t *trial) { value.add(tl.nearest(t, read, m.at)) }) {
			f[m.fact] = value.agreed()
		}
	}
	var on same
	if c.explore(tl, func(t *trial) { on.add(c.onOxygen(t, read)) }) {
		f[record.FactOnOxygenAt10Min] = code(on.agreed())
	}
}

// nearest returns the reading nearest to so many seconds of life, at most 30 s
// away, or nil.
func (tl *timeline) nearest(t *trial, read []row, at int32) *row {
	var best *row
	for i := range read {
		r := &read[i]
		centre := tl.late(*r).after(at)
		if !r.Timed || !t.within(r.at, centre, nearS) || !t.within(centre, r.at, nearS) {
			continue
		}
		if best == nil || closer(t, *r, *best, centre) {
			best = r
		}
	}
	return best
}

// closer says whether r lies nearer to the centre than the earlier reading best.
// Distances from the centre compare as differences of times only on one side of
// it; across it, both orders are tried unless the times are exact.
func closer(t *trial, r, best row, centre point) bool {
	switch {
	case t.within(r.at, centre, 0):
		return t.less(best.at, r.at, 0)
	case t.within(centre, best.at, 0):
		return t.less(r.at, best.at, 0)
	case r.at.node == centre.node && best.at.node == centre.node:
		return r.at.off-centre.off < centre.off-best.at.off
	}
	return t.either()
}

// onOxygen judges whether more than 21 % was given at the ten-minute reading, or
// at ten minutes.
func (c *course) onOxygen(t *trial, read []row) uint8 {
	tl := c.order
	verdict := record.No
	for _, b := range tl.of(record.SupportBegun) {
		at := row{Event: untyped, at: tl.late(b).after(600), nth: -1}
		if r := tl.nearest(t, read, 600); r != nil {
			at = *r
		}
		if !b.Timed {
			return 0
		}
		if !t.notAfter(b, at) || tl.over(t, b, at) {
			continue
		}
		set := latest(t, tl.of(record.Oxygen), itself, func(r row) bool {
			return r.Valued && r.Grouped == b.Grouped && r.Group == b.Group && t.notAfter(r, at)
		})
		switch {
		case set == nil:
			verdict = 0
		case set.Value > 21:
			return record.Yes
		}
	}
	if verdict == record.No && c.damaged(record.Support) {
		return 0
	}
	return verdict
}

// over says whether the episode of a row that begins support is over before the
// given time: its own end, or another episode that took its place.
func (tl *timeline) over(t *trial, begun, at row) bool {
	for _, e := range tl.of(record.SupportEnded) {
		if e.Grouped == begun.Grouped && e.Group == begun.Group && t.notAfter(begun, e) && t.strictlyBefore(e, at) {
			return true
		}
	}
	for _, b := range tl.of(record.SupportBegun) {
		if b.nth != begun.nth && b.Timed && t.strictlyBefore(begun, b) && t.notAfter(b, at) {
			return true
		}
	}
	return false
}
