package derive

import "chestrise/etl/record"

// ecg derives whether ECG leads were on, or an ECG heart rate is on record, within
// 20 minutes of birth.
func ecg(c *course, f *record.Facts) {
	tl := c.order
	if tl == nil {
		return
	}
	rows := tl.of(record.MonitorOn, record.MonitorECG)
	for _, r := range tl.of(record.HeartRate, record.HRECG) {
		if r.Valued {
			rows = append(rows, r)
		}
	}
	verdict, ok := c.window(rows, windowS)
	switch {
	case !ok:
	case len(rows) > 0 && verdict == 1:
		f[record.FactEcgUsed] = yesNo(true)
	case len(rows) > 0 && verdict == 0:
	case c.charted(record.Assessments):
		f[record.FactEcgUsed] = yesNo(false)
	}
}

// total derives how long ventilation lasted within 20 minutes of birth, all
// stretches added up. The ends of the sum are those of its parts, which is exact
// for exact times and never too narrow for others. A stretch without an end on
// record lasted at least until the last row that shows it going on.
func total(c *course, f *record.Facts) {
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
	var sum span
	if c.explore(tl, func(t *trial) { sum.join(v.total(t)) }) {
		put(f, record.FactPpvTotalLo, record.FactPpvTotalHi, sum)
	}
}

func (v *effect) total(t *trial) span {
	sum := span{some: true, up: atMost(0), down: atMost(0)}
	add := func(s span) { sum.up, sum.down = sum.up.plus(s.up), sum.down.plus(s.down) }
	var begin *row
	limit := row{Event: untyped, nth: -1}
	for _, r := range sorted(t, append(append([]row(nil), v.ppv...), v.stops...), itself) {
		limit.at = v.tl.late(r).after(windowS)
		switch {
		case r.Kind == record.SupportBegun && begin == nil:
			if v.tl.soon(t, r, windowS) {
				begin = &r
			}
		case r.Kind == record.SupportEnded && begin != nil && !v.covered(t, r):
			if t.less(limit.at, r.at, 0) {
				add(t.length(*begin, limit))
			} else {
				add(t.length(*begin, r))
			}
			begin = nil
		}
	}
	if begin == nil {
		return sum
	}
	open := span{some: true, up: unbounded, down: atMost(0)}
	for _, rows := range [][]row{v.ppv, v.looked, v.tl.of(record.CorrectiveStep)} {
		for _, r := range rows {
			if r.Timed && v.tl.soon(t, r, windowS) && t.notAfter(*begin, r) {
				open.down = min(open.down, t.length(*begin, r).down)
			}
		}
	}
	add(open)
	return sum
}
