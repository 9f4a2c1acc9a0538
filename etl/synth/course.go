package synth

import (
	"math"

	"chestrise/etl/record"
)

// course is the true course of one newborn, in seconds from complete birth.
type course struct {
	shift                                uint8
	ventilated, secondary, cpap, comfort bool
	first                                float64 // first inflation
	start                                float64 // heart rate at start
	answer                               float64 // seconds from first inflation to an answer
	duration                             float64
	fails                                bool
	steps                                int
	tube, compressions                   bool
	died                                 bool
	clamp                                float64
	deferred                             bool
}

// write writes down a newborn's course, with the habits of the unit.
func write(u *Unit, m record.Month, k, sequence int, d dice, n record.Newborn, c course) Born {
	b := bands[k]
	number(&n, record.BirthSequence, float64(sequence))
	code(&n, record.Shift, c.shift)

	s := &scribe{dice: d, how: record.Live, unit: []uint8{1, 5, 10}[d.pick([]float64{.6, .25, .15})]}
	if d.chance(u.After) {
		s.how = record.After
	}
	if _, ok := u.in(timer, m); ok {
		s.how = record.ByDevice
	}
	// Whoever has the sickest baby writes least: what is lost grows with the
	// length of ventilation.
	s.lost = .002 + .03*min(c.duration/600, 1)
	if c.tube || c.compressions {
		s.lost += .04
	}
	if e, ok := u.in(rushed, m); ok {
		s.lost = e.Value
	}
	background(&n, c, d)
	firstMinute(s, b, c)
	if c.ventilated {
		ventilation(s, &n, b, k, c)
	} else if c.cpap {
		pressureOnly(s, b, &n)
	}
	cord(s, &n, c)
	thermal(s, k)
	leaving(&n, u, m, b, c, k, d)
	marks(&n, u, m, d)
	return Born{
		Document: record.Document{Key: d.key(), Unit: u.Code, Month: m, Newborn: n, Events: s.rows()},
		Late:     lateRecord(u, m, c, d),
		Revised:  d.chance(.004),
		Recalled: d.chance(.0004),
		Slow:     c.ventilated && !c.secondary && c.first > 60,
	}
}

// happen draws the course itself.
func (g *Generator) happen(u *Unit, m record.Month, b band, d dice) (c course) {
	c.shift = uint8(1 + d.pick([]float64{.36, .36, .14, .14}))
	c.comfort = d.chance(b.comfort)
	_, none := u.in(empty, m)
	c.ventilated = d.chance(b.ppv) && !c.comfort && !none
	c.cpap = !c.ventilated && !c.comfort && !none && d.chance(b.cpap/(1-b.ppv))
	c.deferred = d.chance(b.deferred)
	if e, ok := u.in(later, m); ok {
		c.deferred = d.chance(e.Value)
	}
	c.clamp = max(20, d.normal(b.clamp, b.clampSD))
	if !c.deferred {
		c.clamp = max(4, d.normal(20, 10))
	}
	c.died = c.comfort || d.chance(b.death)
	if !c.ventilated {
		return c
	}
	c.secondary = d.chance(b.secondary)
	median, sigma := b.first, b.firstSigma
	if e, ok := u.in(firstVentilation, m); ok {
		median, sigma = e.Value, e.Sigma
	}
	// Outside the day it takes about 6 s longer; the medians are of all hours.
	if c.shift == record.ShiftDay {
		median -= 4
	} else {
		median += 2
	}
	c.first = max(8, d.around(median, sigma))
	if e, ok := u.in(outlier, m); ok && d.chance(e.Value) {
		c.first = 65 + d.Float64()*90
	}
	if c.secondary {
		c.first = 70 + d.around(110, .7)
	}
	c.start = 100 + d.Float64()*45
	low := d.chance(b.below100)
	if low {
		c.start = 62 + d.Float64()*35
		if d.chance(b.below60 / b.below100) {
			c.start = 30 + d.Float64()*28
		}
	}
	c.answer = 8 + d.Float64()*20
	if low {
		c.answer = max(9, d.around(b.answer, b.answerSig))
	}
	c.fails = d.chance(b.fails)
	if c.fails {
		c.answer += 15 + d.Float64()*20
	}
	stepShare := .9
	if !c.fails {
		stepShare = max(0, b.steps-.9*b.fails) / (1 - b.fails)
	}
	if d.chance(stepShare) {
		c.steps = 1
		for c.steps < 5 && d.chance(b.moreSteps/(1+b.moreSteps)) {
			c.steps++
		}
	}
	share := min(b.tube/b.ppv, .97)
	base := share / (1 - b.fails + b.fails*4/(1+3*share))
	if c.fails {
		base = 4 * base / (1 + 3*base)
	}
	c.tube = d.chance(base)
	if c.start < 60 {
		c.compressions = d.chance(min(1, b.compressions/b.ppv/b.below60))
	}
	c.duration = max(25, d.around(b.duration, .8))
	if low {
		c.duration = max(c.duration, min(c.answer, 900)+20)
	}
	return c
}

// background fills in what is known of the birth.
func background(n *record.Newborn, c course, d dice) {
	code(n, record.Place, uint8(1+d.pick([]float64{.96, .035, .005})))
	yes(n, record.BornHere, true)
	yes(n, record.SignsOfLife, true)
	yes(n, record.ResuscitationBegun, c.ventilated || c.cpap)
	number(n, record.BirthTimeUnitS, 1)
	code(n, record.PlanOfCare, record.PlanOfCareFull)
	if c.comfort {
		code(n, record.PlanOfCare, record.PlanOfCareComfort)
	}
	yes(n, record.HeartBlockKnown, false)
	weeks := int(n[record.GestationWk].Number)
	team := c.ventilated || c.cpap || weeks < 37 || n[record.ModeOfBirth].Code == record.ModeOfBirthCaesarean || d.chance(.12)
	yes(n, record.NewbornTeamAtBirth, team && !(c.secondary && d.chance(.5)))
	if team {
		number(n, record.NoticeMin, math.Round(d.around(12, .9)))
		yes(n, record.Briefing, d.chance(.66))
		number(n, record.PeoplePresent, float64(2+d.IntN(4)))
	}
	if c.ventilated {
		yes(n, record.Debriefing, d.chance(.19))
	}
	var one float64
	switch {
	case c.ventilated && c.start < 60:
		one = float64(1 + d.IntN(3))
	case c.ventilated:
		one = float64(3 + d.IntN(4))
	case weeks < 30:
		one = float64(4 + d.IntN(4))
	default:
		one = float64(7 + d.IntN(3))
	}
	if !d.chance(.02) {
		number(n, record.Apgar1, one)
		five := min(10, one+1+float64(d.IntN(3)))
		number(n, record.Apgar5, five)
		if five < 7 {
			number(n, record.Apgar10, min(10, five+1))
		}
	}
}

// marks says which sections the source marked as filled in.
func marks(n *record.Newborn, u *Unit, m record.Month, d dice) {
	share := u.Marks
	if e, ok := u.in(form, m); ok {
		share = e.Value
	}
	for f := record.ChartedAssessments; f <= record.ChartedTeam; f++ {
		if d.chance(share) {
			code(n, f, record.Yes)
		}
	}
}

// lateRecord says whether a record arrives one delivery late.
func lateRecord(u *Unit, m record.Month, c course, d dice) bool {
	if e, ok := u.in(slowLate, m); ok && c.ventilated && !c.secondary && c.first > 60 {
		return d.chance(e.Value)
	}
	return d.chance(.01)
}
