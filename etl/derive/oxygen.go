package derive

import "chestrise/etl/record"

// The window of the starting oxygen around the begin of support, in seconds.
const (
	oxygenBeforeS = 60
	oxygenAfterS  = 30
)

// oxygen derives the oxygen at which ventilation or CPAP began: the last set at
// most 60 s before, else the first set at most 30 s after; and whether
// compressions began before oxygen was first set.
func oxygen(c *course, f *record.Facts) {
	tl := c.order
	if tl == nil {
		return
	}
	var set []row
	for _, r := range tl.of(record.Oxygen) {
		if r.Valued {
			set = append(set, r)
		}
	}
	begun := tl.of(record.SupportBegun, record.SupportPPV, record.SupportCPAP)
	pressed := tl.of(record.CompressionsBegun)
	if len(begun) > 0 && len(set) > 0 {
		var value values
		if c.explore(tl, func(t *trial) {
			value.add(startingOxygen(t, set, *earliest(t, begun, itself)))
		}) {
			f[record.FactStartingOxygenPct] = value.agreed()
		}
	}
	switch {
	case len(pressed) == 0 && !c.damaged(record.CompressionsDrugs):
		f[record.FactCompressionsBeforeOxygen] = yesNo(false)
	case len(pressed) > 0 && len(set) > 0:
		var verdict same
		if c.explore(tl, func(t *trial) {
			verdict.add(coded(yesNo(t.strictlyBefore(*earliest(t, pressed, itself), *earliest(t, set, itself)))))
		}) {
			f[record.FactCompressionsBeforeOxygen] = code(verdict.agreed())
		}
	}
}

func startingOxygen(t *trial, set []row, begin row) *row {
	last := latest(t, set, itself, func(r row) bool { return t.notAfter(r, begin) })
	if last != nil && t.within(begin.at, last.at, oxygenBeforeS) {
		return last
	}
	next := earliest(t, set, itself)
	for i := range set {
		if t.notAfter(set[i], begin) {
			continue
		}
		if t.notAfter(*next, begin) || t.ordered(set[i], *next) {
			next = &set[i]
		}
	}
	if !t.notAfter(*next, begin) && t.within(next.at, begin.at, oxygenAfterS) {
		return next
	}
	return nil
}

// values collects the values of the trials.
type values struct {
	some, none, many bool
	value            float64
}

// add takes the value of a row, or none.
func (v *values) add(r *row) {
	if r == nil {
		v.none = true
		return
	}
	v.many = v.many || v.some && v.value != r.Value
	v.some, v.value = true, r.Value
}

// agreed returns the value that all trials gave.
func (v *values) agreed() record.Value {
	if !v.some || v.none || v.many {
		return record.Value{}
	}
	return number(v.value)
}

// firstOxygenS and soonOxygenS are the limits of the first oximeter reading: from
// birth where support began by earlySupportS, else from the begin of support.
const (
	earlySupportS = 60
	firstReadingS = 120
	soonReadingS  = 60
)

// oximeter derives when the oximeter first gave a reading, a saturation or a heart
// rate with a value; putting it on is none. The reading is in time by 120 s where
// support began by 60 s, else by 60 s after support began.
func oximeter(c *course, f *record.Facts) {
	tl := c.lengthsIfAny()
	if tl == nil {
		return
	}
	read := tl.readings()
	for _, r := range tl.of(record.HeartRate, record.HROximeter) {
		if r.Valued {
			read = append(read, r)
		}
	}
	begun := tl.supports()
	supported := coded(f[record.FactSupported]) == record.SupportedYes && len(begun) > 0
	if len(read) == 0 {
		if supported && c.charted(record.Assessments) {
			f[record.FactOximeterInTime] = yesNo(false)
		}
		return
	}
	var at, after span
	var verdict same
	if !c.explore(tl, func(t *trial) {
		first := *earliest(t, read, itself)
		at.join(t.between(first.at, tl.birth(first)))
	}) {
		return
	}
	put(f, record.FactOximeterLo, record.FactOximeterHi, at)
	if !supported || !c.explore(tl, func(t *trial) {
		first, begin := *earliest(t, read, itself), *earliest(t, begun, itself)
		after.join(t.between(first.at, begin.at))
		if t.within(begin.at, tl.birth(begin), earlySupportS) {
			verdict.add(coded(yesNo(t.within(first.at, tl.birth(first), firstReadingS))))
		} else {
			verdict.add(coded(yesNo(t.within(first.at, begin.at, soonReadingS))))
		}
	}) {
		return
	}
	f[record.FactOximeterInTime] = code(verdict.agreed())
	put(f, record.FactToOximeterLo, record.FactToOximeterHi, after)
}

// lengthsIfAny is lengths for a document that may have no timeline at all.
func (c *course) lengthsIfAny() *timeline {
	if c.order == nil {
		return nil
	}
	return c.lengths()
}

// readings returns the saturations with a value.
func (tl *timeline) readings() []row {
	var out []row
	for _, r := range tl.of(record.Saturation, record.SaturationReading) {
		if r.Valued {
			out = append(out, r)
		}
	}
	return out
}
