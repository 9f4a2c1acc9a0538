package derive

import "chestrise/etl/record"

// heartRate derives when a heart rate was first known: a value, a band or absent.
// No row means not known only in a section marked as charted.
func heartRate(c *course, f *record.Facts) {
	tl := c.order
	if tl == nil {
		return
	}
	rates := tl.rates()
	if len(rates) == 0 {
		if c.charted(record.Assessments) {
			f[record.FactHeartRateKnown] = yesNo(false)
		}
		return
	}
	f[record.FactHeartRateKnown] = yesNo(true)
	var first span
	if c.explore(tl, func(t *trial) {
		r := earliest(t, rates, rateRow).row
		first.join(t.between(r.at, tl.birth(r)))
	}) {
		put(f, record.FactHeartRateLo, record.FactHeartRateHi, first)
	}
}

// The window of the recheck, in seconds after the first inflation.
const (
	recheckFromS = 15
	recheckToS   = 45
)

// stretch derives how long ventilation went on before its end or the first airway
// attempt, and whether the heart rate was checked again 15 to 45 s after the first
// inflation. Where no end is on record, ventilation lasted at least until the last
// row that shows it going on. Compressions do not end the stretch.
func stretch(c *course, f *record.Facts) {
	if coded(f[record.FactVentilated]) != record.VentilatedYes || c.order == nil {
		return
	}
	tl := c.lengths()
	if tl == nil {
		return
	}
	v := newEffect(c, tl)
	if v == nil {
		return
	}
	attempts := tl.of(record.AirwayBegun)
	var length, again span
	var rechecked same
	if !c.explore(tl, func(t *trial) { length.join(v.stretch(t, attempts)) }) ||
		!c.explore(tl, func(t *trial) {
			verdict, when := v.recheck(t)
			rechecked.add(verdict)
			again.join(when)
		}) {
		return
	}
	put(f, record.FactStretchLo, record.FactStretchHi, length)
	f[record.FactHeartRateRechecked] = code(rechecked.agreed())
	put(f, record.FactToRecheckLo, record.FactToRecheckHi, again)
}

// stretch is the length of the first stretch of ventilation in one trial.
func (v *effect) stretch(t *trial, attempts []row) span {
	first := *earliest(t, v.ppv, itself)
	var last *row
	for _, r := range v.stops {
		if t.notAfter(first, r) && (last == nil || t.less(r.at, last.at, 0)) && v.stopped(t, r, first) {
			last = &r
		}
	}
	if a := nextAfter(t, attempts, first); a != nil && (last == nil || t.less(a.at, last.at, 0)) {
		last = a
	}
	if last != nil {
		return t.length(first, *last)
	}
	s := span{some: true, up: unbounded, down: atMost(0)}
	for _, rows := range [][]row{v.ppv, v.looked, v.tl.of(record.CorrectiveStep)} {
		for _, r := range rows {
			if r.Timed && t.notAfter(first, r) {
				s.down = min(s.down, t.length(first, r).down)
			}
		}
	}
	return s
}

// recheck judges the recheck in one trial and gives the time to the first heart
// rate 15 s or more after the first inflation.
func (v *effect) recheck(t *trial) (uint8, span) {
	first := *earliest(t, v.ppv, itself)
	var next *rate
	for i := range v.rates {
		r := &v.rates[i]
		if t.less(r.at, first.at, recheckFromS) || next != nil && t.ordered(next.row, r.row) {
			continue
		}
		next = r
	}
	switch {
	case next != nil:
		return coded(yesNo(t.within(next.at, first.at, recheckToS))), t.length(first, next.row)
	case v.c.charted(record.Assessments):
		return record.No, span{}
	}
	return 0, span{}
}

// rise derives whether, and how soon, a heart rate of 100 or more was recorded
// after the first inflation and before any tube attempt. None counts as none only
// if someone is on record as having looked, the section is marked as charted, or
// a tube attempt came first.
func rise(c *course, f *record.Facts) {
	if coded(f[record.FactVentilated]) != record.VentilatedYes || c.order == nil {
		return
	}
	tl := c.lengths()
	if tl == nil {
		return
	}
	v := newEffect(c, tl)
	if v == nil {
		return
	}
	tubes := tl.of(record.AirwayBegun, record.AttemptTube)
	var verdict same
	var length span
	always := true
	if !c.explore(tl, func(t *trial) {
		code, s := v.rise(t, tubes)
		verdict.add(code)
		length.join(s)
		always = always && s.some
	}) {
		return
	}
	f[record.FactRoseTo100] = code(verdict.agreed())
	put(f, record.FactTo100Lo, record.FactTo100Hi, length)
	if !always {
		f[record.FactTo100Hi] = record.Value{}
	}
}

func (v *effect) rise(t *trial, tubes []row) (uint8, span) {
	first := *earliest(t, v.ppv, itself)
	tube := nextAfter(t, tubes, first)
	var fast *rate
	looked := false
	for i := range v.rates {
		r := &v.rates[i]
		if !t.less(first.at, r.at, 0) {
			continue
		}
		looked = true
		if r.lo >= 100 && (fast == nil || !t.ordered(fast.row, r.row)) {
			fast = r
		}
	}
	switch {
	case fast != nil && (tube == nil || !t.less(tube.at, fast.at, 0)):
		if v.lost(record.FirstEndAirwayAttempt, record.Airway) {
			return 0, span{}
		}
		return record.Yes, t.length(first, fast.row)
	case v.c.damaged(record.Assessments):
		return 0, span{}
	case tube != nil, looked, v.c.charted(record.Assessments):
		return record.No, span{}
	}
	return 0, span{}
}
