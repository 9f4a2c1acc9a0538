package derive

import (
	"math"

	"chestrise/etl/record"
)

// The window of the first check and of the step it calls for, in seconds.
const (
	checkFromS  = 5  // after the first inflation
	checkToS    = 60 // after the first inflation
	rateFromS   = 15 // heart rate counts from here
	slowFromS   = 30 // a slow heart rate is a failure from here
	stepBeforeS = 5  // before the failed check
	stepAfterS  = 30 // after it
)

// firstCheck derives the first check of ventilation and, where it failed, whether
// a corrective step is on record from 5 s before to 30 s after it. The first
// record of chest movement, or of heart rate from 15 s, within 5 to 60 s of the
// first inflation decides; one that does not decide leaves it to the next:
//
//   - failed: chest not moving; or heart rate below 100 and not 20 above the start
//     at 30 s or later;
//   - passed: chest moving, heart rate of 100 or more, or 20 above the start;
//   - ended: ventilation ended or an airway attempt began before a record decided;
//   - blank: no record decided.
//
// Where heart block was known before birth only chest movement decides.
func firstCheck(c *course, f *record.Facts) {
	if coded(f[record.FactVentilated]) != record.VentilatedYes || c.order == nil {
		return
	}
	v := newEffect(c, c.order)
	if v == nil {
		return
	}
	taken := c.order.of(record.CorrectiveStep)
	var check, step same
	var length span
	always := true
	if !c.explore(c.order, func(t *trial) {
		code, at := v.check(t)
		check.add(code)
		t.enough = check.many // then nothing of the check is known
		if code != record.CheckFailed {
			return
		}
		s := stepAt(t, taken, *at)
		if s == nil {
			always = false
			step.add(record.No)
			return
		}
		step.add(record.Yes)
		length.join(t.between(s.at, at.at))
	}) {
		return
	}
	f[record.FactFirstCheck] = code(check.agreed())
	if check.agreed() != record.CheckFailed {
		return
	}
	if step.agreed() == record.Yes || c.charted(record.Steps) {
		f[record.FactStepWhenNeeded] = code(step.agreed())
	}
	if always {
		put(f, record.FactToStepLo, record.FactToStepHi, length)
	}
}

// stepAt returns the first corrective step in the window around a failed check.
func stepAt(t *trial, taken []row, check row) *row {
	var first *row
	for i := range taken {
		s := &taken[i]
		if t.within(check.at, s.at, stepBeforeS) && t.within(s.at, check.at, stepAfterS) && (first == nil || !t.ordered(*first, *s)) {
			first = s
		}
	}
	return first
}

// check returns the outcome of the first check in one trial, and the record that
// decided.
func (v *effect) check(t *trial) (uint8, *row) {
	first := *earliest(t, v.ppv, itself)
	rates := sorted(t, v.rates, rateRow)
	begin, _ := initialRate(t, rates, first, v.ends(t, first))
	var decided *row
	var outcome uint8
	consider := func(r row, code uint8) {
		if code != 0 && (decided == nil || t.less(r.at, decided.at, 0)) {
			decided, outcome = &r, code
		}
	}
	inside := func(r row, from int32) bool {
		return t.within(first.at.after(from), r.at, 0) && t.within(r.at, first.at, checkToS)
	}
	for _, r := range v.looked {
		if r.Kind == record.ChestMovement && inside(r, checkFromS) {
			if r.Code == record.ChestMoving {
				consider(r, record.CheckPassed)
			} else {
				consider(r, record.CheckFailed)
			}
		}
	}
	if !v.c.is(record.HeartBlockKnown, record.Yes) {
		for _, r := range rates {
			if inside(r.row, rateFromS) {
				consider(r.row, rateCheck(t, r, begin, first))
			}
		}
	}
	for _, e := range v.ends(t, first) {
		over := e.code == record.FirstEndStopped || e.code == record.FirstEndAirwayAttempt
		if !over {
			continue
		}
		if decided == nil && t.within(e.at, first.at, checkToS) || decided != nil && e.before(t, *decided) {
			return record.CheckEnded, nil
		}
	}
	return outcome, decided
}

// rateCheck says what a heart rate decides: a rise must hold for the whole
// interval of a band, and so must its absence.
func rateCheck(t *trial, r rate, begin initial, first row) uint8 {
	rise := begin.value + riseBy
	switch {
	case r.lo >= 100, begin.value >= 1 && r.lo >= rise:
		return record.CheckPassed
	case math.IsNaN(begin.value), begin.value >= 1 && r.hi >= rise, r.hi >= 100:
		return 0
	case t.less(r.at, first.at, slowFromS):
		return 0
	}
	return record.CheckFailed
}
