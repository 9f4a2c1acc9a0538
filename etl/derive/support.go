package derive

import "chestrise/etl/record"

// supports returns the rows that begin support: CPAP, ventilation, free-flow
// oxygen or compressions.
func (tl *timeline) supports() []row {
	return append(tl.of(record.SupportBegun), tl.of(record.CompressionsBegun)...)
}

// support derives whether and when support was first begun. No row means none,
// unless a row of its sections was lost.
func support(c *course, f *record.Facts) {
	tl := c.order
	if tl == nil {
		return
	}
	rows := tl.supports()
	if len(rows) == 0 {
		switch {
		case tl.any(record.SupportBegun) || tl.any(record.CompressionsBegun):
			f[record.FactSupported] = code(record.SupportedLater)
		case c.damaged(record.Support), c.damaged(record.CompressionsDrugs):
		default:
			f[record.FactSupported] = code(record.SupportedNo)
		}
	} else {
		var verdict same
		var first span
		if c.explore(tl, func(t *trial) {
			s := *earliest(t, rows, itself)
			if !tl.soon(t, s, windowS) {
				verdict.add(record.SupportedLater)
				return
			}
			verdict.add(record.SupportedYes)
			first.join(t.between(s.at, tl.birth(s)))
		}) {
			f[record.FactSupported] = code(verdict.agreed())
			put(f, record.FactFirstSupportLo, record.FactFirstSupportHi, first)
		}
	}
	cpap := tl.of(record.SupportBegun, record.SupportCPAP)
	verdict, ok := c.window(cpap, windowS)
	switch {
	case !ok:
	case len(cpap) > 0 && verdict == 1:
		f[record.FactCpapGiven] = yesNo(true)
	case len(cpap) > 0 && verdict == 0, len(cpap) == 0 && c.damaged(record.Support):
	default:
		f[record.FactCpapGiven] = yesNo(false)
	}
}

// devices derives what the place does not keep and whether the gas failed. A
// place without a pressure-controlled device keeps neither a T-piece nor a
// flow-inflating bag.
func devices(c *course, f *record.Facts) {
	missing := map[record.EventCode]bool{}
	for i := range c.doc.Events {
		switch e := &c.doc.Events[i]; {
		case e.Kind == record.DeviceNotKept:
			missing[e.Code] = true
		case e.Kind == record.GasFailure && (!e.Timed || e.At <= windowS):
			f[record.FactGasFailure] = yesNo(true)
		}
	}
	if len(missing) > 0 {
		f[record.FactPressureDeviceNotKept] = yesNo(missing[record.DeviceTPiece] && missing[record.DeviceFlowInflating])
	}
}
