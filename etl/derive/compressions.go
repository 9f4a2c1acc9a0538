package derive

import "chestrise/etl/record"

// compressions derives whether compressions were begun up to 20 minutes after
// birth in this hospital. No row means no, unless the section lost a row.
func compressions(c *course, f *record.Facts) {
	tl := c.order
	if tl == nil {
		return
	}
	rows := append(tl.of(record.CompressionsBegun), tl.of(record.CompressionsEnded)...)
	verdict, ok := c.window(rows, windowS)
	switch {
	case !ok:
	case len(rows) > 0:
		f[record.FactCompressions] = code(verdict)
	case tl.any(record.CompressionsBegun):
		f[record.FactCompressions] = code(record.CompressionsLater)
	case c.damaged(record.CompressionsDrugs):
	default:
		f[record.FactCompressions] = code(record.CompressionsNo)
	}
}

// later derives whether the newborn was resuscitated later than 20 minutes after
// birth: a row that says so, ventilation first begun or begun again after it had
// ended, or compressions first begun, after that. Ventilation that goes on past
// 20 minutes is not a later resuscitation.
func later(c *course, f *record.Facts) {
	tl := c.order
	if tl == nil {
		return
	}
	if tl.any(record.LaterResuscitation) || coded(f[record.FactVentilated]) == record.VentilatedLater || coded(f[record.FactCompressions]) == record.CompressionsLater {
		f[record.FactLaterResuscitation] = yesNo(true)
		return
	}
	var verdict same
	v := newEffect(c, c.order)
	if v != nil && !c.explore(tl, func(t *trial) { verdict.add(coded(yesNo(v.resumed(t)))) }) {
		return
	}
	switch {
	case v != nil:
		f[record.FactLaterResuscitation] = code(verdict.agreed())
	case c.damaged(record.Support), c.damaged(record.CompressionsDrugs):
	default:
		f[record.FactLaterResuscitation] = yesNo(false)
	}
	if coded(f[record.FactLaterResuscitation]) == record.No && (coded(f[record.FactVentilated]) == 0 || coded(f[record.FactCompressions]) == 0) {
		f[record.FactLaterResuscitation] = record.Value{}
	}
}

// resumed says whether ventilation begins after the window and after it had ended.
func (v *effect) resumed(t *trial) bool {
	first := *earliest(t, v.ppv, itself)
	for _, r := range v.ppv {
		if v.tl.soon(t, r, windowS) {
			continue
		}
		for _, stop := range v.stops {
			if t.notAfter(first, stop) && t.strictlyBefore(stop, r) && v.stopped(t, stop, first) {
				return true
			}
		}
	}
	return false
}
