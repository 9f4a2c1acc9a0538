package derive

import "chestrise/etl/record"

// plan derives the anomalies known before birth, the agreed limits, and whether
// care was for comfort alone. Comfort alone needs both: comfort care was planned
// or decided, and no ventilation, CPAP, airway attempt, compressions or drug was
// given.
func plan(c *course, f *record.Facts) {
	anomaly := c.doc.Newborn[record.MajorAnomaly]
	limits := c.doc.Newborn[record.PlanLimits]
	if c.has(record.PlanOfCare) && !c.is(record.PlanOfCare, record.PlanOfCareLimitsAgreed) {
		limits = record.Value{State: record.Recorded}
	}
	for _, m := range []struct {
		fact record.Fact
		set  record.Value
		code uint8
	}{
		{record.FactAnomalyHernia, anomaly, record.MajorAnomalyDiaphragmaticHernia},
		{record.FactAnomalyAirway, anomaly, record.MajorAnomalyAirway},
		{record.FactAnomalyHeart, anomaly, record.MajorAnomalyHeart},
		{record.FactLimitCompressions, limits, record.PlanLimitsCompressions},
		{record.FactLimitDrugs, limits, record.PlanLimitsDrugs},
		{record.FactLimitAirway, limits, record.PlanLimitsAirway},
	} {
		if m.set.State == record.Recorded {
			f[m.fact] = yesNo(m.set.Set&(1<<(m.code-1)) != 0)
		}
	}
	switch {
	case c.given(), c.is(record.ResuscitationBegun, record.Yes):
		f[record.FactComfortOnly] = yesNo(false)
	case !c.has(record.PlanOfCare):
	case !c.is(record.PlanOfCare, record.PlanOfCareComfort):
		f[record.FactComfortOnly] = yesNo(false)
	case c.damaged(record.Support), c.damaged(record.Airway), c.damaged(record.CompressionsDrugs):
	default:
		f[record.FactComfortOnly] = yesNo(true)
	}
}

// presentByS is by when someone for the newborn alone must have been present, in
// seconds from birth.
const presentByS = 300

// team derives whether someone whose only task was the newborn was present by
// five minutes. Without an arrival on record, absence at birth means absence only
// in a section marked as charted.
func team(c *course, f *record.Facts) {
	arrived := c.doc.Newborn[record.TeamArrivedS]
	switch {
	case c.is(record.NewbornTeamAtBirth, record.Yes), arrived.State == record.Recorded && arrived.Number <= presentByS:
		f[record.FactAttended] = yesNo(true)
	case arrived.State == record.Recorded, c.charted(record.Team) && arrived.State == record.Blank:
		f[record.FactAttended] = yesNo(false)
	}
}

// lateAfterMin is when a temperature is flagged, in minutes after arrival.
const lateAfterMin = 15

// temperature derives whether the first temperature was taken more than 15
// minutes after arrival; minutes are compared as typed.
func temperature(c *course, f *record.Facts) {
	if c.has(record.AdmissionTempCel) && c.has(record.TempMin) && c.has(record.ArrivedMin) {
		gap := c.doc.Newborn[record.TempMin].Number - c.doc.Newborn[record.ArrivedMin].Number
		f[record.FactTempLate] = yesNo(gap > lateAfterMin+rounding)
	}
}

// rounding absorbs the representation of decimal minutes in binary: 34.3 - 19.3
// is 15, not a little more.
const rounding = 1e-9
