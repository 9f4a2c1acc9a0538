package derive_test

import "testing"

func TestSupportAndHeartRate(t *testing.T) {
	tell(t, []story{
		{"free-flow oxygen is support", "", []string{"90 support-begun free-flow"}, "supported=yes first_support..=90 cpap_given=no ventilated=no"},
		{"compressions are support", "", []string{"80 compressions-begun", "90 support-begun cpap"}, "first_support..=80 cpap_given=yes"},
		{"drying is none", "", []string{"20 stimulated drying"}, "supported=no first_support..=-"},
		{"later", "", []string{"1300 support-begun cpap"}, "supported=later cpap_given=no"},
		{"a band is a known heart rate", "", []string{"40 heart-rate absent", "70 heart-rate 80"}, "heart_rate_known=yes heart_rate..=40"},
		{"no reading is none", "", []string{"40 heart-rate no-reading"}, "heart_rate_known=? heart_rate..=?"},
		{"charted, none", "charted_assessments=yes", []string{"40 heart-rate no-reading"}, "heart_rate_known=no"},
	})
}

func TestRecheck(t *testing.T) {
	after := func(rows ...string) []string { return append(rows, "100 support-begun ppv #1") }
	tell(t, []story{
		{"at 15 s", "", after("115 heart-rate 80"), "heart_rate_rechecked=yes to_recheck..=15"},
		{"at 14 s only", "", after("114 heart-rate 80"), "heart_rate_rechecked=? to_recheck..=?"},
		{"at 45 s", "", after("145 heart-rate 80"), "heart_rate_rechecked=yes"},
		{"at 46 s: later, without any mark", "", after("146 heart-rate 80"), "heart_rate_rechecked=no to_recheck..=46"},
		{"leads alone do not do", "charted_assessments=yes", after("120 monitor-on ecg"), "heart_rate_rechecked=no ecg_used=yes"},
		{"compressions do not end the stretch", "", after("120 compressions-begun", "150 support-ended ppv #1"), "stretch..=50"},
		{"an airway attempt does", "", after("140 airway-attempt-begun supraglottic", "150 support-ended ppv #1"), "stretch..=40 ppv_total..=50"},
		{"no end on record", "", after("160 chest-movement moving"), "stretch..=60..? ppv_total..=60..?"},
		{"on, off and on", "", after("150 support-ended ppv #1", "160 support-begun ppv #2", "200 support-ended ppv #2"), "stretch..=100 ppv_total..=90"},
		{"past 20 minutes", "", after("1300 support-ended ppv #1"), "ppv_total..=1100"},
		{"whole minutes", "", []string{"60 support-begun ppv #1 ~60", "180 support-ended ppv #1 ~60"}, "stretch..=60.25..179.75 ppv_total..=60.25..179.75"},
		{"off in the minute it began", "", []string{"60 support-begun ppv #1 ~60", "60 support-ended ppv #1 ~60"}, "stretch_lo=0"},
	})
}

func TestRiseTo100(t *testing.T) {
	after := func(rows ...string) []string { return append(rows, "95 heart-rate 60", "100 support-begun ppv #1") }
	tell(t, []story{
		{"before the tube", "", after("190 heart-rate 100", "200 airway-attempt-begun tube"), "rose_to_100=yes to_100..=90"},
		{"after the tube", "", after("190 heart-rate 100", "180 airway-attempt-begun tube"), "rose_to_100=no to_100..=?"},
		{"a supraglottic airway is no tube", "", after("190 heart-rate 100", "180 airway-attempt-begun supraglottic"), "rose_to_100=yes"},
		{"looked, never", "", after("190 heart-rate 99"), "rose_to_100=no"},
		{"never looked", "", after(), "rose_to_100=?"},
		{"never looked, charted", "charted_assessments=yes", after(), "rose_to_100=no"},
	})
}

func TestFirstCheck(t *testing.T) {
	at := func(rows ...string) []string { return append(rows, "95 heart-rate 60", "100 support-begun ppv #1") }
	tell(t, []story{
		{"chest not moving at 5 s", "", at("105 chest-movement not-moving"), "first_check=failed"},
		{"at 4 s it is too soon", "", at("104 chest-movement not-moving", "120 chest-movement moving"), "first_check=passed"},
		{"at 60 s", "", at("160 chest-movement not-moving"), "first_check=failed"},
		{"at 61 s it is too late", "", at("161 chest-movement not-moving"), "first_check=?"},
		{"slow at 30 s", "", at("130 heart-rate 79"), "first_check=failed"},
		{"slow at 29 s leaves it to the next", "", at("129 heart-rate 79", "140 chest-movement moving"), "first_check=passed"},
		{"20 above the start at 15 s", "", at("115 heart-rate 80"), "first_check=passed"},
		{"at 14 s heart rate does not count", "", at("114 heart-rate 130"), "first_check=?"},
		{"100 passes whatever the start", "", []string{"100 support-begun ppv", "120 heart-rate 100"}, "first_check=passed"},
		{"start unknown: slow does not decide", "", []string{"100 support-begun ppv", "135 heart-rate 80"}, "first_check=?"},
		{"start unknown: the next record decides", "", []string{"100 support-begun ppv", "135 heart-rate 80", "140 chest-movement not-moving"}, "first_check=failed"},
		{"chest and heart rate at once: the chest decides", "", at("130 heart-rate 70", "130 chest-movement moving"), "first_check=passed"},
		{"ventilation ended first", "", at("115 support-ended ppv #1", "120 chest-movement moving"), "first_check=ended step_when_needed=-"},
		{"airway attempt first", "", at("115 airway-attempt-begun tube", "120 chest-movement moving"), "first_check=ended"},
		{"ended, nothing recorded", "", at("150 support-ended ppv #1"), "first_check=ended"},
		{"heart block known: only the chest", "heart_block_known=yes", at("135 heart-rate 60", "150 chest-movement moving"), "first_check=passed"},
		{"typed around the limit", "", at("105 chest-movement not-moving ~30"), "first_check=?"},
		{"typed, certain", "", at("125 chest-movement not-moving ~30"), "first_check=failed"},
	})
	failed := func(rows ...string) []string { return append(at("120 chest-movement not-moving"), rows...) }
	tell(t, []story{
		{"a step 5 s before", "", failed("115 corrective-step mask-seal"), "step_when_needed=yes to_step..=-5"},
		{"a step 6 s before", "charted_steps=yes", failed("114 corrective-step mask-seal"), "step_when_needed=no to_step..=?"},
		{"a step 30 s after", "", failed("150 corrective-step mask-seal"), "step_when_needed=yes to_step..=30"},
		{"a step 31 s after", "charted_steps=yes", failed("151 corrective-step mask-seal"), "step_when_needed=no"},
		{"none, not charted", "", failed(), "step_when_needed=?"},
		{"an airway attempt is no step", "charted_steps=yes", failed("125 airway-attempt-begun tube"), "step_when_needed=no"},
		{"slow heart and a step", "", append(at("130 heart-rate 60"), "140 corrective-step pressure 25"), "first_check=failed step_when_needed=yes to_step..=10"},
	})
}

func TestBasicSteps(t *testing.T) {
	try := func(rows ...string) []string {
		return append(rows, "60 support-begun ppv #1", "200 airway-attempt-begun tube #2", "200 reason mask-ventilation-failing #2")
	}
	seal, head, cleared, raise := "100 corrective-step mask-seal", "100 corrective-step head-position", "110 corrective-step airway-clearing", "130 corrective-step pressure 25"
	tell(t, []story{
		{"all three, chest not looked at", "", try(seal, head, cleared), "basic_steps=yes basic_steps_required=3 basic_steps_on_record=3 chest_before_airway=none"},
		{"mouth opening does for clearing", "", try(seal, head, "110 corrective-step mouth-opening"), "basic_steps=yes"},
		{"still not moving: pressure too", "charted_steps=yes", try(seal, head, cleared, "120 chest-movement not-moving"), "basic_steps=no basic_steps_required=4 basic_steps_on_record=3"},
		{"still not moving, pressure raised", "", try(seal, head, cleared, "120 chest-movement not-moving", raise), "basic_steps=yes basic_steps_required=4 basic_steps_on_record=4"},
		{"not moving before the last step", "", try(seal, head, cleared, "105 chest-movement not-moving"), "basic_steps=yes basic_steps_required=3"},
		{"one missing, not charted", "", try(seal, head), "basic_steps=? basic_steps_on_record=?"},
		{"one missing, charted", "charted_steps=yes", try(seal, head), "basic_steps=no basic_steps_on_record=2"},
		{"chest moving at the last look", "charted_steps=yes", try(seal, "150 chest-movement moving"), "basic_steps=? chest_before_airway=moving"},
		{"a step after the attempt", "charted_steps=yes", try(seal, head, "210 corrective-step airway-clearing"), "basic_steps=no"},
		{"another reason", "charted_steps=yes", []string{"60 support-begun ppv", "200 airway-attempt-begun tube #2", "200 reason surfactant #2"}, "basic_steps=? airway_reason=surfactant"},
		{"reason not recorded", "charted_steps=yes", []string{"60 support-begun ppv", "200 airway-attempt-begun tube #2"}, "basic_steps=? airway_reason=?"},
		{"attempt at 16 minutes", "charted_steps=yes", []string{"60 support-begun ppv", "960 airway-attempt-begun tube #2", "960 reason mask-ventilation-failing #2"}, "basic_steps=? airway_reason=?"},
	})
}

func TestOxygenAndSaturation(t *testing.T) {
	tell(t, []story{
		{"set 60 s before", "", []string{"40 oxygen set 30", "100 support-begun ppv"}, "starting_oxygen_pct=30"},
		{"set 61 s before", "", []string{"39 oxygen set 30", "100 support-begun ppv"}, "starting_oxygen_pct=?"},
		{"set 30 s after", "", []string{"100 support-begun cpap", "130 oxygen set 21", "140 oxygen set 60"}, "starting_oxygen_pct=21"},
		{"set 31 s after", "", []string{"100 support-begun ppv", "131 oxygen set 21"}, "starting_oxygen_pct=?"},
		{"the last before", "", []string{"90 oxygen set 21", "95 oxygen set 40", "100 support-begun ppv"}, "starting_oxygen_pct=40"},
		{"compressions first", "", []string{"100 support-begun ppv", "110 compressions-begun", "120 oxygen set 100"}, "compressions_before_oxygen=yes"},
		{"oxygen first", "", []string{"100 support-begun ppv", "100 oxygen set 21", "110 compressions-begun"}, "compressions_before_oxygen=no"},
		{"early support: 120 s", "", []string{"60 support-begun ppv", "120 saturation reading 60"}, "oximeter_in_time=yes to_oximeter..=60"},
		{"early support: 121 s", "", []string{"60 support-begun ppv", "121 saturation reading 60"}, "oximeter_in_time=no"},
		{"late support: 60 s after", "", []string{"61 support-begun ppv", "121 saturation reading 60"}, "oximeter_in_time=yes"},
		{"on, without a reading", "charted_assessments=yes", []string{"60 support-begun ppv", "70 monitor-on oximeter", "80 saturation no-reading"}, "oximeter_in_time=no oximeter..=?"},
		{"a heart rate from the oximeter", "", []string{"60 support-begun ppv", "90 heart-rate oximeter 110"}, "oximeter_in_time=yes oximeter..=90"},
		{"nearest to five minutes", "", []string{"280 saturation reading 70", "315 saturation reading 84"}, "spo2_at_5_min=84"},
		{"equally near: the earlier", "", []string{"290 saturation reading 70", "310 saturation reading 84"}, "spo2_at_5_min=70"},
		{"outside the window", "", []string{"269 saturation reading 70", "331 saturation reading 84"}, "spo2_at_5_min=?"},
		{"any clock", "", []string{"300 saturation reading 70 @warmer"}, "spo2_at_5_min=70"},
		{"oxygen holds within its episode", "", []string{"60 support-begun ppv #1", "60 oxygen set 40 #1", "300 support-ended ppv #1", "300 support-begun cpap #2", "600 saturation reading 97"}, "on_oxygen_at_10_min=? spo2_at_10_min=97"},
		{"set in that episode", "", []string{"300 support-begun cpap #2", "310 oxygen set 30 #2", "590 saturation reading 97"}, "on_oxygen_at_10_min=yes"},
		{"turned down to air", "", []string{"300 support-begun cpap #2", "310 oxygen set 30 #2", "500 oxygen set 21 #2"}, "on_oxygen_at_10_min=no"},
		{"support over", "", []string{"300 support-begun cpap #2", "310 oxygen set 30 #2", "500 support-ended cpap #2"}, "on_oxygen_at_10_min=no"},
	})
}

func TestAttempts(t *testing.T) {
	tell(t, []story{
		{"placed at the first", "", []string{"200 airway-attempt-begun tube #1", "230 airway-attempt-ended tube #1", "230 outcome placed #1"}, "tube_attempts=1 first_tube_placed=yes longest_attempt..=30"},
		{"dislodged means it was placed", "", []string{"200 airway-attempt-begun tube #1", "400 outcome dislodged #1", "420 airway-attempt-begun tube #2", "450 outcome failed #2"}, "tube_attempts=1 first_tube_placed=yes"},
		{"three attempts", "", []string{"200 airway-attempt-begun tube #1", "200 outcome failed #1", "260 airway-attempt-begun tube #2", "260 outcome failed #2", "320 airway-attempt-begun tube #3", "320 outcome placed #3"}, "tube_attempts=3 first_tube_placed=no longest_attempt..=0..?"},
		{"the third after 15 minutes", "", []string{"200 airway-attempt-begun tube #1", "200 outcome failed #1", "260 airway-attempt-begun tube #2", "260 outcome failed #2", "901 airway-attempt-begun tube #3", "901 outcome placed #3"}, "tube_attempts=2"},
		{"an outcome missing between", "", []string{"200 airway-attempt-begun tube #1", "260 airway-attempt-begun tube #2", "260 outcome placed #2"}, "tube_attempts=? first_tube_placed=?"},
		{"saturation on one side only", "", []string{"190 saturation reading 80", "200 airway-attempt-begun tube #1", "230 airway-attempt-ended tube #1", "230 outcome placed #1"}, "saturation_fall=?"},
		{"saturation rose", "", []string{"190 saturation reading 60", "200 airway-attempt-begun tube #1", "210 saturation reading 80", "230 airway-attempt-ended tube #1", "230 outcome placed #1"}, "saturation_fall=-20"},
		{"the reason of the tube", "", []string{"200 airway-attempt-begun tube #1", "200 reason transport-or-surgery #1"}, "tube_reason=transport-or-surgery"},
		{"supraglottic between", "", []string{"200 airway-attempt-begun tube #1", "200 reason mask-ventilation-failing #1", "220 outcome failed #1", "230 airway-attempt-begun supraglottic #2", "300 airway-attempt-begun tube #3"}, "supraglottic_before_second_tube=yes"},
		{"a second tube first", "", []string{"200 airway-attempt-begun tube #1", "200 reason mask-ventilation-failing #1", "220 outcome failed #1", "230 airway-attempt-begun tube #3", "300 airway-attempt-begun supraglottic #2"}, "supraglottic_before_second_tube=no"},
		{"one tube, placed", "", []string{"200 airway-attempt-begun tube #1", "200 reason mask-ventilation-failing #1", "220 outcome placed #1"}, "supraglottic_before_second_tube=?"},
		{"in the unit at 25 minutes, left at 30", "left_min=30", []string{"1500 airway-attempt-begun tube #1"}, "tube=later tube_before_leaving=yes"},
		{"after leaving", "left_min=20", []string{"1500 airway-attempt-begun tube #1"}, "tube=later tube_before_leaving=no"},
		{"leaving not recorded", "", []string{"1500 airway-attempt-begun tube #1"}, "tube_before_leaving=?"},
	})
}

func TestCord(t *testing.T) {
	tell(t, []story{
		{"a called time counts as typed", "", []string{"60 cord-clamped ~"}, "clamp..=60"},
		{"marked as estimated", "", []string{"60 cord-clamped ~30"}, "clamp..=45..75"},
		{"on a clock that does not start at birth", "", []string{"60 cord-clamped @warmer"}, "clamp..=?"},
		{"help needed, set-up used", "cord_exception=help-needed-no-setup cord_intact_setup=used", nil, "cord_excepted=?"},
		{"help needed, none", "cord_exception=help-needed-no-setup cord_intact_setup=none", nil, "cord_excepted=help-needed-no-setup"},
		{"one placenta", "placenta=one", nil, "cord_excepted=one-placenta multiple=yes"},
		{"placenta unknown is no exception", "placenta=unknown", nil, "cord_excepted=?"},
		{"other is none", "cord_exception=other", nil, "cord_excepted=?"},
	})
}

func TestDevices(t *testing.T) {
	tell(t, []story{
		{"none kept", "", []string{"60 support-begun ppv #1", "60 device-not-kept-here t-piece #1", "60 device-not-kept-here flow-inflating #1"}, "pressure_device_not_kept=yes"},
		{"one kept", "", []string{"60 support-begun ppv #1", "60 device-not-kept-here t-piece #1"}, "pressure_device_not_kept=no"},
		{"not said", "", []string{"60 support-begun ppv #1", "60 gas-failure #1"}, "pressure_device_not_kept=? gas_failure=yes"},
		{"the interface of another moment", "", []string{"60 support-begun ppv #1", "90 interface tube #1"}, "first_interface=?"},
		{"an attribute without a time", "", []string{"60 support-begun ppv #1", "- interface mask #1"}, "first_interface=mask"},
	})
}
