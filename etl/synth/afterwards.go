package synth

import (
	"math"

	"chestrise/etl/record"
)

// cord writes how the cord was managed; some of it nobody writes down.
func cord(s *scribe, n *record.Newborn, c course) {
	if s.chance(.12) {
		return
	}
	code(n, record.CordMethod, record.CordMethodClamped)
	code(n, record.CordIntactSetup, uint8(1+s.pick([]float64{.15, .05, .8})))
	at := c.clamp
	if c.ventilated && n[record.CordIntactSetup].Code != record.CordIntactSetupUsed {
		at = min(at, max(3, c.first-15)) // the cord is cut before the newborn is moved
	}
	if at < 60 && c.ventilated && s.chance(.6) && n[record.CordIntactSetup].Code != record.CordIntactSetupUsed {
		code(n, record.CordException, record.CordExceptionHelpNeededNoSetup)
	} else if at < 60 && s.chance(.08) {
		code(n, record.CordException, record.CordExceptionAbruptionOrPrevia)
	}
	s.note(record.CordClamped, 0, at)
}

func thermal(s *scribe, k int) {
	if s.chance(.15) {
		return
	}
	if k <= 2 {
		s.note(record.ThermalStep, record.ThermalPlasticWrap, 40+s.Float64()*40)
	} else {
		s.note(record.ThermalStep, record.ThermalDried, 8+s.Float64()*10)
	}
}

// leaving fills in admission, temperature and outcome.
func leaving(n *record.Newborn, u *Unit, m record.Month, b band, c course, k int, d dice) {
	leave := math.Round(max(8, d.around(25, .4)))
	if n[record.LeftMin].State == record.Recorded {
		leave = n[record.LeftMin].Number
	}
	code(n, record.CareEnded, record.CareEndedStayed)
	if c.died {
		code(n, record.CareEnded, record.CareEndedDied)
		at := math.Round(d.around(45, .6))
		number(n, record.CareEndedMin, at)
		number(n, record.DiedMin, at)
		code(n, record.DiedPlace, record.DiedPlaceBirth)
		yes(n, record.Admitted, false)
		return
	}
	share := b.admitted
	if c.ventilated {
		share = max(share, .45)
	}
	if !d.chance(share) {
		yes(n, record.Admitted, false)
		code(n, record.SupportOnLeaving, record.SupportOnLeavingNone)
		return
	}
	yes(n, record.Admitted, true)
	yes(n, record.AdmittedDirect, !d.chance(.08))
	arrived := leave + math.Round(d.around(5, .4))
	number(n, record.LeftMin, leave)
	number(n, record.ArrivedMin, arrived)
	switch {
	case c.tube:
		code(n, record.SupportOnLeaving, record.SupportOnLeavingTube)
	case k <= 3 && (c.ventilated || c.cpap):
		code(n, record.SupportOnLeaving, record.SupportOnLeavingCPAP)
	default:
		code(n, record.SupportOnLeaving, record.SupportOnLeavingNone)
	}
	mean, sd := b.temperature, b.tSD
	if e, ok := u.in(warming, m); ok {
		mean, sd = mean+e.Value, e.Sigma
	}
	if k <= 2 && c.deferred { // a longer wait on the cord cools
		mean -= .1 * max(0, c.clamp-60) / 60
	}
	yes(n, record.MaternalFever, d.chance(.04))
	if d.chance(.06) {
		return // not written down
	}
	number(n, record.AdmissionTempCel, math.Round(min(max(d.normal(mean, sd), 31), 40)*10)/10)
	number(n, record.TempMin, arrived+math.Round(d.around(4, .7)))
	code(n, record.TempSite, record.TempSiteAxilla)
	yes(n, record.AirLeak, d.chance(b.airLeak))
	if n[record.AirLeak].Code == record.Yes {
		number(n, record.AirLeakMin, math.Round(d.around(400, .8)))
		yes(n, record.AirLeakSymptomatic, d.chance(.8))
		yes(n, record.AirLeakAfterSurgery, false)
	}
	if c.ventilated && k <= 2 {
		code(n, record.SkinInjuryMask, uint8(1+d.pick([]float64{.85, .12, .03})))
	}
}
