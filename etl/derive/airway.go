package derive

import "chestrise/etl/record"

// tubeS is the window of intubation at birth, in seconds from birth.
const tubeS = 900

// tube derives whether a tube was placed or attempted up to 15 minutes after
// birth, in any place. Ventilation through a tube is taken as a tube placed by
// then. No row means no, unless the section lost a row or the newborn left with a
// tube.
func tube(c *course, f *record.Facts) {
	tl := c.order
	if tl == nil {
		return
	}
	rows := append(tl.of(record.AirwayBegun, record.AttemptTube), tl.of(record.AirwayEnded, record.AttemptTube)...)
	for _, r := range tl.inflations() {
		if c.attribute(r, record.Interface) == record.InterfaceTube {
			rows = append(rows, r)
		}
	}
	verdict, ok := c.window(rows, tubeS)
	switch {
	case !ok:
	case len(rows) > 0:
		f[record.FactTube] = code(verdict)
	case tl.any(record.AirwayBegun, record.AttemptTube) || tl.any(record.AirwayEnded, record.AttemptTube):
		f[record.FactTube] = code(record.TubeLater)
	case c.damaged(record.Airway), c.is(record.SupportOnLeaving, record.SupportOnLeavingTube):
	default:
		f[record.FactTube] = code(record.TubeNo)
	}
}

// window judges whether any of the rows lies within a limit of five minutes or
// more: 1 yes, 3 later, 0 undecided.
func (c *course) window(rows []row, seconds int32) (verdict uint8, ok bool) {
	var s same
	ok = c.explore(c.order, func(t *trial) {
		for _, r := range rows {
			if c.order.soon(t, r, seconds) {
				s.add(1)
				return
			}
		}
		s.add(3)
	})
	return s.agreed(), ok
}
