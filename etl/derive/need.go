package derive

import "chestrise/etl/record"

// minuteS is the moment by which need is judged, in seconds from birth.
const minuteS = 60

// need derives whether ventilation was needed at one minute. The state is judged
// at the first inflation or at 60 s, whichever came first, from the last record
// of breathing and the last known heart rate up to then:
//
//   - yes: no breathing or gasping, or heart rate below 100; also a newborn
//     without any sign of life who was ventilated;
//   - no: breathing and heart rate of 100 or more, both recorded; or never
//     ventilated and none of the records that mean yes standing;
//   - presumed: first inflation by 60 s and neither recorded before;
//   - blank: all else.
//
// Where heart block was known before birth, breathing alone decides.
func need(c *course, f *record.Facts) {
	tl := c.order
	if tl == nil {
		return
	}
	n := needed{c: c, tl: tl, ppv: tl.inflations(), breathing: tl.of(record.Breathing)}
	if !c.is(record.HeartBlockKnown, record.Yes) {
		n.rates = tl.rates()
	}
	n.lost = len(n.ppv) == 0 && c.withoutInflations() == 0
	if len(n.ppv) == 0 && c.withoutInflations() == record.VentilatedYes {
		n.unplaced = true
	}
	var verdict, secondary same
	if !c.explore(tl, func(t *trial) {
		v, s := n.judge(t)
		verdict.add(v)
		secondary.add(s)
	}) {
		return
	}
	f[record.FactNeed] = code(verdict.agreed())
	f[record.FactSecondaryNeed] = code(secondary.agreed())
}

type needed struct {
	c         *course
	tl        *timeline
	ppv       []row
	breathing []row
	rates     []rate
	lost      bool // an inflation may be in a lost row
	unplaced  bool // ventilated, begun before birth, but no row of it
}

// judge returns the codes of need and of secondary need in one trial.
func (n *needed) judge(t *trial) (verdict, secondary uint8) {
	tl := n.tl
	start, birth, ventilated := tl.free, tl.free, n.unplaced
	switch first := earliest(t, n.ppv, itself); {
	case first != nil:
		start, birth = first.at, tl.birth(*first)
		ventilated = tl.soon(t, *first, windowS)
	case n.lost:
		ventilated = t.either()
	}
	if ventilated && n.c.is(record.SignsOfLife, record.No) {
		return record.NeedYes, record.No
	}
	var early bool
	switch {
	case !ventilated:
	case n.unplaced:
		early = true
	case n.lost:
		early = t.either()
	default:
		early = t.within(start, birth, minuteS)
	}
	standing := func(r row) bool {
		if early {
			return t.within(r.at, start, 0)
		}
		return t.within(r.at, tl.birth(r), minuteS)
	}
	breath := latest(t, n.breathing, itself, standing)
	rate := latest(t, n.rates, rateRow, standing)
	verdict = n.verdict(breath, rate, ventilated, early)
	switch {
	case verdict == 0:
	case ventilated && !early && verdict == record.NeedNo:
		secondary = record.Yes
	default:
		secondary = record.No
	}
	return verdict, secondary
}

func (n *needed) verdict(breath *row, rate *rate, ventilated, early bool) uint8 {
	calm := breath != nil && breath.Code >= record.BreathingBreathing
	fast := rate != nil && rate.lo >= 100
	block := n.c.is(record.HeartBlockKnown, record.Yes)
	lost := n.c.damaged(record.Assessments)
	switch {
	case breath != nil && !calm, rate != nil && rate.hi < 100:
		return record.NeedYes
	case calm && (fast || block):
		return record.NeedNo
	case !ventilated && !lost:
		return record.NeedNo
	case early && breath == nil && rate == nil && !lost:
		return record.NeedPresumed
	}
	return 0
}
