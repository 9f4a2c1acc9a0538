package synth

import (
	"math"

	"chestrise/etl/record"
)

// firstMinute writes what was seen before any support.
func firstMinute(s *scribe, b band, c course) {
	if !c.ventilated && !c.cpap {
		if s.chance(.12) {
			s.note(record.Breathing, record.BreathingCrying, 8+s.Float64()*25)
			s.value(record.HeartRate, record.HRAuscultation, max(15, s.around(b.heartSec, .4)), float64(120+s.IntN(45)))
		}
		return
	}
	if s.chance(.5) {
		s.note(record.Stimulated, record.StimulatedDrying, 5+s.Float64()*8)
	}
	seen := 10 + s.Float64()*15
	if c.ventilated && !c.secondary {
		seen = min(seen, max(3, c.first-4))
		state := record.BreathingNone
		if s.chance(.3) {
			state = record.BreathingGasping
		}
		s.note(record.Breathing, state, seen)
		return
	}
	s.note(record.Breathing, record.BreathingBreathing, seen)
	s.value(record.HeartRate, record.HRAuscultation, 25+s.Float64()*30, float64(115+s.IntN(45)))
}

// ventilation writes a whole course of ventilation.
func ventilation(s *scribe, n *record.Newborn, b band, k int, c course) {
	if c.secondary {
		s.note(record.Breathing, record.BreathingNone, c.first-5-s.Float64()*10)
	}
	device := []record.EventCode{record.DeviceTPiece, record.DeviceSelfInflating, record.DeviceFlowInflating}[s.pick([]float64{.75, .18, .07})]
	ppv := s.open(record.SupportBegun, record.SupportPPV, c.first)
	s.join(ppv, record.Device, device)
	face := record.InterfaceMask
	if s.chance(.05) {
		face = record.InterfaceNasal
	}
	s.join(ppv, record.Interface, face)
	if k >= 3 {
		s.joinValue(ppv, record.MaskSize, 50)
	} else {
		s.joinValue(ppv, record.MaskSize, []float64{35, 35, 42}[k])
	}
	s.joinValue(ppv, record.PIP, math.Round(s.normal(24, 3)))
	if device != record.DeviceSelfInflating {
		s.joinValue(ppv, record.PEEP, 5)
	}
	s.value(record.Oxygen, record.OxygenSet, c.first+.2, b.oxygen)

	end := c.first + c.duration
	atStart(s, c)
	look(s, b, c, end)
	chest(s, c)
	corrections(s, c)
	over := attempts(s, k, b, c, ppv, &end)
	if c.compressions {
		compress(s, b, c)
	}
	s.close(over, record.SupportEnded, end)
	saturations(s, b, end, n)
	if n[record.GestationWk].Number < 34 && !c.tube {
		cpap := s.open(record.SupportBegun, record.SupportCPAP, end+1)
		s.join(cpap, record.Device, record.DeviceTPiece)
	}
}

// atStart writes the heart rate that most teams take around the first inflation.
func atStart(s *scribe, c course) {
	if at := c.first - 14 + s.Float64()*20; at > 4 && s.chance(.8) {
		s.value(record.HeartRate, record.HRAuscultation, at, math.Round(heartRate(s, c, at)))
	}
}

// look writes the heart rates that somebody looked for, at the intervals at
// which this team looks.
func look(s *scribe, b band, c course, end float64) {
	gap := 20 + s.Float64()*20
	at := max(12, s.around(b.heartSec, .5))
	way := record.HRAuscultation
	ecg := s.around(95, .5)
	if end > ecg && s.chance(.55) {
		s.note(record.MonitorOn, record.MonitorECG, ecg)
	} else {
		ecg = math.Inf(1)
	}
	for i := 0; i < 9 && at < max(end, c.first+60)+20; i++ {
		if at > ecg {
			way = record.HRECG
		} else if i > 2 {
			way = record.HROximeter
		}
		if s.chance(.9) {
			s.value(record.HeartRate, way, at, math.Round(heartRate(s, c, at)))
		}
		at += gap
	}
	// The reading at which the answer was seen: somebody was looking.
	if c.start < 100 && c.answer < c.duration && s.chance(.8) {
		s.value(record.HeartRate, way, c.first+c.answer+s.Float64()*10, math.Round(104+s.Float64()*20))
	}
}

func heartRate(s *scribe, c course, at float64) float64 {
	since := at - c.first
	switch {
	case c.start >= 100:
		return c.start + s.Float64()*15
	case since < 15:
		return c.start + s.Float64()*4
	case since < c.answer:
		return min(98, c.start+(98-c.start)*since/c.answer*.7)
	}
	return min(175, 105+s.Float64()*15+(since-c.answer)/8)
}

func chest(s *scribe, c course) {
	at := c.first + 8 + s.Float64()*17
	if c.fails {
		s.note(record.ChestMovement, record.ChestNotMoving, at)
		s.note(record.ChestMovement, record.ChestMoving, c.first+max(28, min(c.answer, 120))-s.Float64()*5)
	} else if s.chance(.8) {
		s.note(record.ChestMovement, record.ChestMoving, at)
	}
}

// corrections writes steps in no particular order; the shares are those of a
// published count of 41 steps in 30 newborns for how many, and invented for which.
func corrections(s *scribe, c course) {
	left := []record.EventCode{record.StepAirwayClearing, record.StepHeadPosition, record.StepMaskSeal, record.StepMouthOpening, record.StepPressure}
	share := []float64{.13, .26, .32, .13, .16}
	at := c.first + 22 + s.Float64()*8
	for i := 0; i < c.steps && len(left) > 0; i++ {
		total := 0.0
		for _, p := range share {
			total += p
		}
		x, j := s.Float64()*total, 0
		for j < len(share)-1 && x >= share[j] {
			x -= share[j]
			j++
		}
		e := s.note(record.CorrectiveStep, left[j], at)
		if left[j] == record.StepPressure {
			e.Value, e.Valued = float64(28+s.IntN(8)), true
		}
		left, share = append(left[:j], left[j+1:]...), append(share[:j], share[j+1:]...)
		at += 6 + s.Float64()*12
	}
}

// attempts writes airway attempts and returns the support row that is open at
// the end.
func attempts(s *scribe, k int, b band, c course, ppv record.Event, end *float64) record.Event {
	if !c.tube {
		return ppv
	}
	at := c.first + max(70, s.around(150, .4))
	reason := record.ReasonMaskVentilationFailing
	if !c.fails && s.chance(.6) {
		reason = []record.EventCode{record.ReasonSurfactant, record.ReasonTransportOrSurgery, record.ReasonOther}[s.pick([]float64{.7, .2, .1})]
	}
	for try := range 5 {
		a := s.open(record.AirwayBegun, record.AttemptTube, at)
		s.join(a, record.Reason, reason)
		s.join(a, record.Operator, record.EventCode(1+s.pick([]float64{.25, .3, .25, .2})))
		s.join(a, record.Scope, record.EventCode(1+s.IntN(2)))
		s.joinValue(a, record.TubeSize, []float64{2.5, 2.5, 3, 3, 3.5, 3.5}[k])
		length := s.around(43, .43)
		e := s.close(a, record.AirwayEnded, at+length)
		if try == 4 || s.chance(b.success) {
			s.join(e, record.Outcome, record.OutcomePlaced)
			s.join(e, record.Confirmed, record.ConfirmedCO2)
			s.note(record.ExhaledCO2, record.CO2Detected, at+length+6)
			tube := s.open(record.SupportBegun, record.SupportPPV, at+length+4)
			s.join(tube, record.Interface, record.InterfaceTube)
			s.join(tube, record.Device, record.DeviceTPiece)
			*end = max(*end, at+length+120)
			return tube
		}
		s.join(e, record.Outcome, record.OutcomeFailed)
		at += length + 30 + s.Float64()*30
	}
	return ppv
}

func compress(s *scribe, b band, c course) {
	at := c.first + 45 + s.Float64()*60
	e := s.open(record.CompressionsBegun, 0, at)
	s.close(e, record.CompressionsEnded, at+30+s.Float64()*150)
	if s.chance(b.epinephrine) {
		s.value(record.Dose, record.DoseEpinephrineIV, at+75+s.Float64()*60, .02)
	}
}

// saturations writes a sensor's readings, fewer the sicker the newborn is.
func saturations(s *scribe, b band, end float64, n *record.Newborn) {
	on := max(20, s.around(b.oximeter, .6))
	if on > end+200 {
		return
	}
	s.note(record.MonitorOn, record.MonitorOximeter, on)
	depth := s.around(b.saturation, .88)
	for at := math.Ceil((on+20)/60) * 60; at <= min(end+120, 620); at += 60 {
		if s.chance(.12 + .25*min(end/600, 1)) {
			s.note(record.Saturation, record.SaturationNoReading, at)
			continue
		}
		target := 100 - depth*math.Exp(-(at-300)/260)
		s.value(record.Saturation, record.SaturationReading, at, math.Round(min(99, max(25, target+s.normal(0, 2)))))
	}
	number(n, record.LeftMin, math.Round(max(end/60+5, s.around(18, .4))))
}

// pressureOnly writes CPAP without ventilation.
func pressureOnly(s *scribe, b band, n *record.Newborn) {
	at := s.around(150, .6)
	e := s.open(record.SupportBegun, record.SupportCPAP, at)
	s.join(e, record.Device, record.DeviceTPiece)
	s.joinValue(e, record.PEEP, 5)
	s.value(record.Oxygen, record.OxygenSet, at+.2, b.oxygen)
	end := at + s.around(400, .6)
	saturations(s, b, end, n)
	if n[record.GestationWk].Number >= 34 {
		s.close(e, record.SupportEnded, end)
	}
}
