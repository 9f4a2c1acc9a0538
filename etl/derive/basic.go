package derive

import "chestrise/etl/record"

// basicSteps derives what stands on record before the first airway attempt within
// 15 minutes of birth: its reason, the last chest movement from the first
// inflation on, and, where mask ventilation was failing and the chest was not
// recorded as moving, how many of the required steps. Required are head position,
// mask seal, and clearing or mouth opening; pressure too, where the chest is
// recorded as not moving after the last of those. Any order will do. What is not
// on record is missing only in a section marked as charted.
func basicSteps(c *course, f *record.Facts) {
	tl := c.order
	if tl == nil {
		return
	}
	begun := tl.of(record.AirwayBegun)
	if len(begun) == 0 {
		return
	}
	b := basics{c: c, tl: tl, ppv: tl.inflations(), begun: begun, chest: tl.of(record.ChestMovement), taken: tl.of(record.CorrectiveStep)}
	var reason, chest, met, required, present same
	if !c.explore(tl, func(t *trial) {
		attempt := *earliest(t, b.begun, itself)
		if !tl.soon(t, attempt, tubeS) {
			reason.add(0)
			return
		}
		why, last := uint8(c.attribute(attempt, record.Reason)), b.lastChest(t, attempt)
		reason.add(why)
		chest.add(last)
		if why != uint8(record.ReasonMaskVentilationFailing) || last == record.ChestBeforeMoving {
			met.add(0)
			return
		}
		needed, found := b.count(t, attempt)
		met.add(coded(yesNo(found == needed)))
		required.add(needed)
		present.add(found)
	}) {
		return
	}
	f[record.FactAirwayReason] = code(reason.agreed())
	if reason.agreed() != 0 || !reason.many {
		f[record.FactChestBeforeAirway] = code(chest.agreed())
	}
	if met.agreed() == 0 || reason.many || c.damaged(record.Assessments) {
		return
	}
	if met.agreed() == record.Yes || c.charted(record.Steps) {
		f[record.FactBasicSteps] = code(met.agreed())
		if !required.many {
			f[record.FactBasicStepsRequired] = number(float64(required.code))
		}
		if !present.many {
			f[record.FactBasicStepsOnRecord] = number(float64(present.code))
		}
	}
}

type basics struct {
	c                        *course
	tl                       *timeline
	ppv, begun, chest, taken []row
}

// lastChest is the last record of chest movement from the first inflation to the
// attempt.
func (b *basics) lastChest(t *trial, attempt row) uint8 {
	first := earliest(t, b.ppv, itself)
	if first == nil {
		return record.ChestBeforeNone
	}
	last := latest(t, b.chest, itself, func(r row) bool { return t.notAfter(*first, r) && t.notAfter(r, attempt) })
	switch {
	case last == nil:
		return record.ChestBeforeNone
	case last.Code == record.ChestMoving:
		return record.ChestBeforeMoving
	}
	return record.ChestBeforeNotMoving
}

// count returns how many steps were required and how many of those are on record
// from the first inflation to the attempt.
func (b *basics) count(t *trial, attempt row) (needed, found uint8) {
	first := earliest(t, b.ppv, itself)
	var head, seal, open, pressure bool
	var last *row
	for i := range b.taken {
		s := &b.taken[i]
		if first == nil || !t.notAfter(*first, *s) || !t.strictlyBefore(*s, attempt) {
			continue
		}
		switch s.Code {
		case record.StepHeadPosition:
			head = true
		case record.StepMaskSeal:
			seal = true
		case record.StepAirwayClearing, record.StepMouthOpening:
			open = true
		case record.StepPressure:
			pressure = true
			continue
		default: // another step: it moves the last one on, and is none of the three
		}
		if last == nil || t.ordered(*last, *s) {
			last = s
		}
	}
	needed = 3
	for _, have := range []bool{head, seal, open} {
		if have {
			found++
		}
	}
	for _, r := range b.chest {
		if last != nil && r.Code == record.ChestNotMoving && t.strictlyBefore(*last, r) && t.notAfter(r, attempt) {
			needed = 4
			if pressure {
				found++
			}
			break
		}
	}
	return needed, found
}
