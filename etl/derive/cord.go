package derive

import "chestrise/etl/record"

// cord derives when the cord was clamped, from a clock that starts at birth, and
// the documented exception from waiting. That help was needed at once does not
// count where the cord-intact set-up was used; one placenta counts as recorded on
// either field; a reason without a name is no exception.
func cord(c *course, f *record.Facts) {
	exception := c.doc.Newborn[record.CordException]
	switch e := coded(exception); {
	case e == record.CordExceptionHelpNeededNoSetup && c.is(record.CordIntactSetup, record.CordIntactSetupUsed), e == 0, e == record.CordExceptionOther:
		if c.is(record.Placenta, record.PlacentaOne) {
			f[record.FactCordExcepted] = code(record.CordExceptionOnePlacenta)
		}
	default:
		f[record.FactCordExcepted] = code(e)
	}
	tl := c.order
	if tl == nil {
		return
	}
	var clamps []row
	for _, r := range tl.of(record.CordClamped) {
		if r.Timed && r.Clock.FromBirth() {
			clamps = append(clamps, r)
		}
	}
	if len(clamps) == 0 {
		return
	}
	var at span
	if c.explore(tl, func(t *trial) {
		first := *earliest(t, clamps, itself)
		at.join(t.between(first.at, tl.birth(first)))
	}) {
		put(f, record.FactClampLo, record.FactClampHi, at)
	}
}
