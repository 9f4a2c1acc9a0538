package derive_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/derive"
	"chestrise/etl/record"
)

// The eight worked newborns: A cries before a minute; B is ventilated at 48 s and
// answers after the mask is reseated; C and D are twins of 29 weeks, D ends with a
// tube; E has a timer started at the warmer; F was born in the emergency
// department with whole-minute times; G collapses in the nursery; H is of 22 weeks
// with comfort care planned.
func TestTheEight(t *testing.T) {
	docs := readEight(t)
	require.Len(t, docs, 8)
	facts := map[string]record.Facts{}
	for name, d := range docs {
		facts[name] = derive.Facts(d)
	}
	for _, c := range []struct {
		fact record.Fact
		pair bool
		want [8]string // A to H
	}{
		{record.FactInPopulation, false, [8]string{"yes", "yes", "yes", "yes", "yes", "yes", "yes", "yes"}},
		{record.FactGestationBand, false, [8]string{"37-plus", "37-plus", "28-31", "28-31", "34-36", "unknown", "37-plus", "22-24"}},
		{record.FactNeed, false, [8]string{"no", "yes", "yes", "yes", "?", "?", "no", "yes"}},
		{record.FactSecondaryNeed, false, [8]string{"no", "no", "no", "no", "?", "?", "no", "no"}},
		{record.FactVentilated, false, [8]string{"no", "yes", "yes", "yes", "yes", "yes", "later", "yes"}},
		{record.FactFirstInterface, false, [8]string{"-", "mask", "mask", "mask", "mask", "mask", "-", "mask"}},
		{record.FactFirstDevice, false, [8]string{"-", "t-piece", "t-piece", "t-piece", "t-piece", "self-inflating", "-", "t-piece"}},
		// begun by 60 s: met 48, met 40, not met 66, unknown, later than 60 s for certain; exception at 100
		{record.FactFirstInflationLo, true, [8]string{"-", "48", "40", "66", "?", "60.25..179.75", "-", "100"}},
		{record.FactHrAtStart, false, [8]string{"-", "below-100", "below-100", "below-100", "below-100", "below-100", "-", "below-100"}},
		{record.FactHrAtStartValue, false, [8]string{"-", "?", "80", "60", "95", "?", "-", "50"}},
		{record.FactFirstEnd, false, [8]string{"-", "heart-rate-100", "heart-rate-100", "airway-attempt", "heart-rate-100", "compressions", "-", "stopped"}},
		{record.FactEffective, false, [8]string{"-", "yes", "yes", "no", "yes", "no", "-", "no"}},
		{record.FactToFirstEndLo, true, [8]string{"-", "57", "35", "84", "30", "0.25..119.75", "-", "500"}},
		{record.FactToSignLo, true, [8]string{"-", "57", "35", "?", "30", "?", "-", "?"}},
		// effective by 120 s from birth: met 105, met 75, not met, unknown, unknown need, exception
		{record.FactSignLo, true, [8]string{"-", "105", "75", "?", "?", "?", "-", "?"}},
		{record.FactMaskVentilated, false, [8]string{"no", "yes", "yes", "yes", "yes", "yes", "no", "yes"}},
		{record.FactAnyStep, false, [8]string{"-", "yes", "no", "yes", "?", "?", "-", "no"}},
		{record.FactStepCount, false, [8]string{"-", "1", "0", "3", "?", "?", "-", "0"}},
		{record.FactTube, false, [8]string{"no", "no", "no", "yes", "no", "no", "later", "no"}},
		{record.FactCompressions, false, [8]string{"no", "no", "no", "no", "no", "yes", "later", "no"}},
		{record.FactLaterResuscitation, false, [8]string{"no", "no", "no", "no", "no", "no", "yes", "no"}},
		{record.FactAdmissionTempCel, false, [8]string{"?", "37.7", "36.4", "35.9", "36.5", "34.8", "36.6", "?"}},
		{record.FactTempLate, false, [8]string{"?", "no", "no", "yes", "no", "?", "no", "?"}},
		{record.FactAdmittedDirect, false, [8]string{"?", "yes", "yes", "yes", "yes", "?", "no", "?"}},
		{record.FactComfortOnly, false, [8]string{"?", "no", "no", "no", "no", "no", "no", "no"}},
		{record.FactExceptionReason, false, [8]string{"?", "?", "?", "?", "?", "?", "?", "decision-awaited"}},
		{record.FactMultiple, false, [8]string{"?", "?", "yes", "yes", "?", "?", "?", "?"}},
		// heart rate known by 60 s: not met 80, met 35, met 58, unknown, unknown, not met 85
		{record.FactSupported, false, [8]string{"no", "yes", "yes", "yes", "yes", "yes", "yes", "yes"}},
		{record.FactFirstSupportLo, true, [8]string{"-", "48", "40", "66", "?", "60.25..179.75", "240", "100"}},
		{record.FactHeartRateLo, true, [8]string{"20", "80", "35", "58", "?", "60.25..179.75", "50", "85"}},
		{record.FactStretchLo, true, [8]string{"-", "102", "90", "84", "60", "60.25..179.75", "-", "500"}},
		{record.FactHeartRateRechecked, false, [8]string{"-", "yes", "yes", "yes", "yes", "?", "-", "yes"}},
		{record.FactToRecheckLo, true, [8]string{"-", "32", "35", "24", "30", "15..299.75", "-", "30"}},
		{record.FactRoseTo100, false, [8]string{"-", "yes", "yes", "no", "yes", "yes", "-", "no"}},
		{record.FactTo100Lo, true, [8]string{"-", "57", "35", "?", "30", "180.25..299.75", "-", "?"}},
		{record.FactFirstCheck, false, [8]string{"-", "failed", "passed", "failed", "passed", "?", "-", "passed"}},
		{record.FactStepWhenNeeded, false, [8]string{"-", "yes", "-", "yes", "-", "?", "-", "-"}},
		{record.FactToStepLo, true, [8]string{"-", "5", "-", "5", "-", "?", "-", "-"}},
		{record.FactAirwayReason, false, [8]string{"?", "?", "?", "mask-ventilation-failing", "?", "?", "?", "?"}},
		{record.FactBasicSteps, false, [8]string{"?", "?", "?", "no", "?", "?", "?", "?"}},
		{record.FactBasicStepsRequired, false, [8]string{"?", "?", "?", "3", "?", "?", "?", "?"}},
		{record.FactBasicStepsOnRecord, false, [8]string{"?", "?", "?", "2", "?", "?", "?", "?"}},
		{record.FactPressureDeviceNotKept, false, [8]string{"-", "?", "?", "?", "?", "yes", "-", "?"}},
		{record.FactStartingOxygenPct, false, [8]string{"?", "21", "30", "30", "21", "?", "21", "30"}},
		{record.FactOximeterInTime, false, [8]string{"-", "yes", "yes", "yes", "?", "?", "yes", "no"}},
		{record.FactToOximeterLo, true, [8]string{"-", "62", "20", "34", "80", "?", "-5", "80"}},
		{record.FactSpo2At5Min, false, [8]string{"?", "88", "83", "?", "?", "?", "?", "55"}},
		{record.FactSpo2At10Min, false, [8]string{"?", "?", "97", "91", "?", "?", "?", "50"}},
		{record.FactOnOxygenAt10Min, false, [8]string{"no", "no", "yes", "yes", "?", "?", "no", "yes"}},
		{record.FactEcgUsed, false, [8]string{"?", "yes", "yes", "yes", "yes", "?", "?", "no"}},
		{record.FactPpvTotalLo, true, [8]string{"-", "102", "90", "534", "60", "0..?", "-", "500"}},
		{record.FactTubeAttempts, false, [8]string{"-", "-", "-", "2", "-", "-", "-", "-"}},
		{record.FactFirstTubePlaced, false, [8]string{"-", "-", "-", "no", "-", "-", "-", "-"}},
		{record.FactLongestAttemptLo, true, [8]string{"-", "-", "-", "35", "-", "-", "-", "-"}},
		{record.FactSaturationFall, false, [8]string{"-", "-", "-", "25", "-", "-", "-", "-"}},
		{record.FactSupraglotticBeforeSecondTube, false, [8]string{"?", "?", "?", "no", "?", "?", "?", "?"}},
		{record.FactCpapGiven, false, [8]string{"no", "no", "yes", "no", "yes", "no", "yes", "no"}},
		{record.FactTubeBeforeLeaving, false, [8]string{"no", "no", "no", "yes", "no", "no", "no", "no"}},
		{record.FactClampLo, true, [8]string{"70", "18", "95", "20", "60", "?", "120", "30"}},
		{record.FactCordExcepted, false, [8]string{"?", "help-needed-no-setup", "?", "help-needed-no-setup", "?", "?", "?", "?"}},
		{record.FactOrderLoose, false, [8]string{"no", "no", "no", "no", "no", "no", "no", "no"}},
	} {
		for i, want := range c.want {
			name := string(rune('A' + i))
			f := facts[name]
			got := word(f, c.fact)
			if c.pair {
				got = span(f, c.fact)
			}
			require.Equal(t, want, got, "newborn %s, %s", name, record.FactSpecs[c.fact].Name)
		}
	}
}
