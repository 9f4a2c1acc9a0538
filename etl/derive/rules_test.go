package derive_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/derive"
	"chestrise/etl/record"
)

// A time typed afterwards stands for its unit; a limit inside the interval is
// undecided: first_inflation_hi <= 60 is met, first_inflation_lo > 60 is not.
func TestTypedTimes(t *testing.T) {
	ppv := func(at string) []string { return []string{at, "20 breathing none"} }
	tell(t, []story{
		{"45 to 30 s: at most 60", "", ppv("45 support-begun ppv ~30"), "first_inflation..=30..60"},
		{"60 to 30 s: undecided", "", ppv("60 support-begun ppv ~30"), "first_inflation..=45..75"},
		{"75 to 30 s: undecided, both ends count", "", ppv("75 support-begun ppv ~30"), "first_inflation..=60..90"},
		{"76 to 30 s: later than 60", "", ppv("76 support-begun ppv ~30"), "first_inflation..=61..91"},
		{"divisible by 30, unit not stated", "", ppv("90 support-begun ppv ~"), "first_inflation..=75..105"},
		{"divisible by 5, unit not stated", "", ppv("50 support-begun ppv ~"), "first_inflation..=47.5..52.5"},
		{"neither, unit not stated", "", ppv("52 support-begun ppv ~"), "first_inflation..=52"},
		{"zero is exact", "", ppv("0 support-begun ppv ~30"), "first_inflation..=0"},
		{"cut at birth", "", []string{"10 support-begun ppv ~30"}, "first_inflation..=0..25"},
		{"unit 1 is exact however taken", "", ppv("60 support-begun ppv ~1"), "first_inflation..=60"},
		{"unit 10 typed", "", ppv("60 support-begun ppv ~10"), "first_inflation..=55..65"},
		{"whole minutes: open ends", "", ppv("60 support-begun ppv ~60"), "first_inflation..=20..119.75"}, // not before the row at 20
		{"same minute as birth", "", []string{"0 support-begun ppv ~60"}, "first_inflation..=0..59.75"},
		{"birth read to the minute", "birth_time_unit_s=60", []string{"75 support-begun ppv"}, "first_inflation..=15.25..134.75"},
		{"birth read to the minute, cut at 0", "birth_time_unit_s=60", []string{"45 support-begun ppv"}, "first_inflation..=0..104.75"},
		{"warmer timer", "", ppv("20 support-begun ppv @warmer"), "first_inflation..=? ventilated=yes"},
		{"another record with birth as zero", "", []string{"45 support-begun ppv @sheet"}, "first_inflation..=45"},
		{"time not recorded: given", "", []string{"- support-begun ppv"}, "first_inflation..=? ventilated=yes"},
		{"an untimed row may be the first", "", []string{"50 support-begun ppv", "- support-begun ppv"}, "first_inflation..=?..50"},
	})
	d := newborn(t, "", "40 support-begun ppv")
	d.Events[0].How, d.Events[0].Unit = record.ByVideo, 10
	expect(t, d, "first_inflation..=40")
	d.Events[0].How, d.Events[0].Unit = record.Live, 0
	expect(t, d, "first_inflation..=40")
	d.Events[0].How, d.Events[0].Unit = record.ByDevice, 30
	expect(t, d, "first_inflation..=25..55")
	d.Events[0].How, d.Events[0].Unit = record.HowBlank, 10
	expect(t, d, "first_inflation..=35..45")
}

// A clock on which the cord was clamped 10 s or more after the first inflation,
// with no cord-intact set-up used, did not start at birth.
func TestContradictoryClock(t *testing.T) {
	rows := []string{"20 breathing none", "25 support-begun ppv", "60 cord-clamped", "70 heart-rate ecg 80", "90 heart-rate ecg 110"}
	tell(t, []story{
		{"warmer timer in disguise", "", rows, "first_inflation..=? clamp..=? to_sign..=65 sign..=? need=?"},
		{"lengths remain", "", append([]string{"24 heart-rate ecg 50"}, rows...), "first_inflation..=? to_sign..=45 first_end=heart-rate-rise"},
		{"cord-intact set-up used", "cord_intact_setup=used", rows, "first_inflation..=25"},
		{"begun before birth", "begun_before_birth=yes", rows, "first_inflation..=25"},
		{"9 s is tolerated", "", []string{"51 support-begun ppv", "60 cord-clamped"}, "first_inflation..=51"},
		{"10 s is not", "", []string{"50 support-begun ppv", "60 cord-clamped"}, "first_inflation..=?"},
		{"clamped on another clock", "", []string{"25 support-begun ppv", "60 cord-clamped @sheet"}, "first_inflation..=25"},
	})
}

func TestNeed(t *testing.T) {
	tell(t, []story{
		{"cries before a minute", "", []string{"15 breathing none", "20 heart-rate 90", "40 breathing crying", "55 heart-rate 140"}, "need=no secondary_need=no"},
		{"the last record counts", "", []string{"15 breathing crying", "50 breathing gasping", "80 support-begun ppv"}, "need=yes"},
		{"at 60 s exactly", "", []string{"60 breathing none"}, "need=yes"},
		{"at 61 s", "", []string{"61 breathing none"}, "need=no"},
		{"judged at the first inflation", "", []string{"20 breathing none", "40 support-begun ppv", "55 breathing crying", "56 heart-rate 150"}, "need=yes"},
		{"heart rate below 100", "", []string{"20 breathing crying", "30 heart-rate 60-to-99", "40 support-begun ppv"}, "need=yes"},
		{"heart rate absent", "", []string{"30 heart-rate absent"}, "need=yes"},
		{"no reading is no record", "", []string{"20 breathing crying", "30 heart-rate no-reading", "80 support-begun ppv"}, "need=? secondary_need=?"},
		{"one of two, ventilated", "", []string{"20 breathing crying", "40 support-begun ppv"}, "need=?"},
		{"nothing recorded, ventilated by 60 s", "", []string{"60 support-begun ppv"}, "need=presumed"},
		{"nothing recorded, ventilated at 61 s", "", []string{"61 support-begun ppv"}, "need=? secondary_need=?"},
		{"never ventilated, nothing recorded", "", nil, "need=no"},
		{"ventilated after need had passed", "", []string{"20 breathing crying", "30 heart-rate 140", "180 support-begun ppv"}, "need=no secondary_need=yes"},
		{"heart block known", "heart_block_known=yes", []string{"20 breathing crying", "30 heart-rate 60", "180 support-begun ppv"}, "need=no secondary_need=yes"},
		{"heart block known, not breathing", "heart_block_known=yes", []string{"20 breathing none", "30 heart-rate 60"}, "need=yes"},
		{"no sign of life, ventilated", "signs_of_life=no", []string{"90 support-begun ppv"}, "need=yes in_population=yes"},
		{"begun before birth", "begun_before_birth=yes", []string{"-40 support-begun ppv"}, "need=presumed first_inflation..=-40 ventilated=yes"},
		{"only later resuscitated", "", []string{"2040 later-resuscitation #1", "2060 support-begun ppv #1"}, "need=no ventilated=later first_inflation..=-"},
		{"typed to 30 s around the minute", "", []string{"60 breathing none ~30"}, "need=?"},
		{"the order of rows is kept", "", []string{"60 breathing none ~30", "60 breathing crying ~30"}, "need=?"},
		{"either order means yes", "", []string{"30 breathing none ~30", "60 heart-rate 80 ~30", "120 support-begun ppv"}, "need=yes"},
		{"same minute: at the first inflation", "", []string{"0 breathing none ~60", "0 support-begun ppv ~60"}, "need=yes"},
		{"an untimed record says nothing of the minute", "", []string{"- breathing none"}, "need=?"},
		{"on another clock nothing is known of the order", "", []string{"30 breathing none @warmer", "50 support-begun ppv"}, "need=?"},
		{"warmer clock, always calm", "", []string{"30 breathing crying @warmer", "40 heart-rate 140 @warmer"}, "need=no"},
	})
}

// A section that lost a row leaves its blanks open.
func TestLostRows(t *testing.T) {
	lost := func(s record.Section, fields string, rows ...string) *record.Document {
		d := newborn(t, fields, rows...)
		d.Damaged = d.Damaged.With(s)
		return d
	}
	expect(t, lost(record.Support, ""), "ventilated=? need=? mask_ventilated=? later_resuscitation=?")
	expect(t, lost(record.Support, "", "20 breathing none"), "ventilated=? need=?") // breathing may have begun before a lost inflation
	expect(t, lost(record.Support, "signs_of_life=no"), "in_population=?")
	expect(t, lost(record.Assessments, ""), "need=?")
	expect(t, lost(record.Assessments, "", "40 support-begun ppv"), "need=?")
	expect(t, lost(record.Airway, ""), "tube=?")
	expect(t, lost(record.CompressionsDrugs, ""), "compressions=? later_resuscitation=?")
	expect(t, lost(record.CompressionsDrugs, "plan_of_care=comfort"), "comfort_only=?")
	expect(t, lost(record.CompressionsDrugs, "", "30 heart-rate 60", "40 support-begun ppv", "70 heart-rate 120"), "first_end=? effective=? hr_at_start_value=60")
	expect(t, lost(record.Steps, "charted_steps=yes", "40 support-begun ppv #1", "40 interface mask #1"), "any_step=? step_count=?")
	expect(t, newborn(t, "", "20 breathing none"), "tube=no compressions=no ventilated=no")
}

func TestHeartRateAtStart(t *testing.T) {
	at := func(rows ...string) []string { return append(rows, "100 support-begun ppv") }
	tell(t, []story{
		{"30 s before counts", "", at("70 heart-rate 80"), "hr_at_start=below-100 hr_at_start_value=80"},
		{"31 s before does not", "", at("69 heart-rate 80"), "hr_at_start=?"},
		{"at the first inflation", "", at("100 heart-rate 120"), "hr_at_start=100-or-more hr_at_start_value=120"},
		{"the last before", "", at("80 heart-rate 120", "95 heart-rate 90"), "hr_at_start_value=90"},
		{"10 s after counts", "", at("110 heart-rate 120"), "hr_at_start=100-or-more hr_at_start_value=120"},
		{"11 s after is only a hint", "", at("111 heart-rate 90"), "hr_at_start=below-100 hr_at_start_value=?"},
		{"11 s after and fast says nothing", "", at("111 heart-rate 120"), "hr_at_start=?"},
		{"120 s after", "", at("220 heart-rate 90"), "hr_at_start=below-100 hr_at_start_value=?"},
		{"121 s after", "", at("221 heart-rate 90"), "hr_at_start=?"},
		{"an end lies between", "", at("150 compressions-begun", "200 heart-rate 90"), "hr_at_start=?"},
		{"an end in the same second does not", "", at("200 compressions-begun", "200 heart-rate 90"), "hr_at_start=below-100"},
		{"a band has no value", "", at("95 heart-rate below-60"), "hr_at_start=below-100 hr_at_start_value=?"},
		{"absent", "", at("95 heart-rate absent"), "hr_at_start=below-100 hr_at_start_value=?"},
		{"no reading", "", at("95 heart-rate no-reading", "105 heart-rate 70"), "hr_at_start_value=70"},
		{"the window in doubt", "", at("70 heart-rate 80 ~5"), "hr_at_start=?"},
		{"the value in doubt", "", at("80 heart-rate 80 ~30", "100 heart-rate 60 ~30"), "hr_at_start=below-100 hr_at_start_value=?"},
		{"same minute", "", []string{"120 heart-rate 80 ~60", "120 support-begun ppv ~60"}, "hr_at_start=below-100 hr_at_start_value=80"},
		{"another clock", "", at("95 heart-rate 80 @warmer"), "hr_at_start=?"},
	})
}

func TestFirstEnd(t *testing.T) {
	slow := func(rows ...string) []string {
		return append(rows, "95 heart-rate 50", "100 support-begun ppv #1", "100 interface mask #1")
	}
	fast := func(rows ...string) []string { return append(rows, "95 heart-rate 130", "100 support-begun ppv #1") }
	tell(t, []story{
		{"heart rate of 100", "", append(slow("140 heart-rate 99", "150 heart-rate 100"), "98 heart-rate 85"), "first_end=heart-rate-100 effective=yes to_first_end..=50 sign..=150 to_sign..=50"},
		{"rise of 20 that holds", "", slow("120 heart-rate 70", "180 heart-rate 70"), "first_end=heart-rate-rise to_sign..=20"},
		{"next reading 61 s later", "", slow("120 heart-rate 70", "181 heart-rate 75", "300 support-ended ppv #1"), "first_end=stopped"},
		{"rise of 19", "", slow("120 heart-rate 69", "150 heart-rate 69", "300 support-ended ppv #1"), "first_end=stopped"},
		{"rise that does not hold", "", slow("120 heart-rate 72", "150 heart-rate 60", "300 support-ended ppv #1"), "first_end=stopped effective=no to_first_end..=200 to_sign..=? sign..=?"},
		{"rise, next a sensor without reading", "", slow("120 heart-rate 72", "130 heart-rate no-reading", "150 heart-rate 90"), "first_end=heart-rate-rise to_sign..=20"},
		{"rise with an end between", "", slow("120 heart-rate 72", "130 compressions-begun", "150 heart-rate 90"), "first_end=compressions to_first_end..=30"},
		{"rise by a band counts by its whole interval", "", append(slow("120 heart-rate 60-to-99", "150 heart-rate 100-or-more"), "98 heart-rate 40"), "first_end=heart-rate-rise to_sign..=20"},
		{"band too wide to be a rise", "", slow("120 heart-rate 60-to-99", "150 heart-rate 60-to-99", "300 support-ended ppv #1"), "first_end=stopped"},
		{"start absent: 100 only", "", []string{"95 heart-rate absent", "100 support-begun ppv", "120 heart-rate 60", "150 heart-rate 70", "170 heart-rate 110"}, "to_sign..=70 first_end=heart-rate-100"},
		{"start a value of 0: 100 only", "", []string{"95 heart-rate 0", "100 support-begun ppv", "120 heart-rate 60", "150 heart-rate 70", "170 heart-rate 110"}, "to_sign..=70"},
		{"chest movement is no sign with a slow heart", "", slow("110 chest-movement moving", "150 heart-rate 110"), "to_sign..=50"},
		{"chest movement is the sign with a fast one", "", fast("110 chest-movement moving", "120 exhaled-co2 detected"), "first_end=chest-movement to_sign..=10 hr_at_start=100-or-more"},
		{"exhaled carbon dioxide", "", fast("108 exhaled-co2 not-detected", "109 exhaled-co2 detected", "110 chest-movement moving"), "first_end=exhaled-co2 to_sign..=9"},
		{"start unknown: chest movement", "", []string{"100 support-begun ppv", "115 chest-movement moving"}, "hr_at_start=? first_end=chest-movement effective=yes"},
		{"chest movement before the first inflation", "", fast("90 chest-movement moving", "110 chest-movement not-moving", "200 support-ended ppv"), "first_end=stopped"},
		{"airway attempt", "", slow("150 airway-attempt-begun tube", "160 heart-rate 120"), "first_end=airway-attempt effective=no to_first_end..=50"},
		{"airway first, ventilated through it", "", []string{"95 heart-rate 50", "96 airway-attempt-begun supraglottic", "100 support-begun ppv", "130 heart-rate 120"}, "first_end=heart-rate-100"},
		{"drug", "", slow("150 dose epinephrine-iv", "160 heart-rate 120"), "first_end=drug"},
		{"same second: the sign counts", "", slow("150 airway-attempt-begun tube", "150 heart-rate 120"), "first_end=heart-rate-100"},
		{"died", "died_min=3", slow("140 heart-rate 40"), "first_end=died to_first_end..=80 first_end..=180"},
		{"died later", "died_min=45", slow("140 heart-rate 40"), "first_end=observation-end to_first_end..=1100"},
		{"died at birth, no time", "died_place=birth", slow("140 heart-rate 40"), "first_end=? effective=?"},
		{"observation ends at 20 minutes", "", slow("140 heart-rate 60", "1201 heart-rate 130"), "first_end=observation-end effective=no first_end..=1200"},
		{"a sign at 20 minutes", "", slow("1200 heart-rate 130"), "first_end=heart-rate-100"},
		{"nobody looked", "", slow("300 support-ended ppv #1"), "first_end=? effective=? hr_at_start=below-100"},
		{"nobody looked, in a charted section", "charted_assessments=yes", slow("300 support-ended ppv #1"), "first_end=stopped effective=no"},
		{"stopped for 30 s", "", slow("120 heart-rate 60", "140 support-ended ppv #1", "170 support-begun ppv #2", "180 heart-rate 120"), "first_end=stopped to_first_end..=40"},
		{"stopped for 29 s", "", slow("120 heart-rate 60", "140 support-ended ppv #1", "169 support-begun ppv #2", "180 heart-rate 120"), "first_end=heart-rate-100"},
		{"new interface in the same second", "", slow("120 heart-rate 60", "140 support-ended ppv #1", "140 support-begun ppv #2", "180 heart-rate 120"), "first_end=heart-rate-100"},
		{"episodes overlap", "", slow("120 heart-rate 60", "138 support-begun ppv #2", "140 support-ended ppv #1", "200 support-ended ppv #2", "180 heart-rate 120"), "first_end=heart-rate-100"},
		{"on, off and on again", "", slow("110 heart-rate 60", "140 support-ended ppv #1", "240 support-begun ppv #2", "260 heart-rate 120", "300 support-ended ppv #2"), "first_end=stopped later_resuscitation=no ventilated=yes"},
		{"resumed at 35 minutes", "", slow("150 heart-rate 110", "240 support-ended ppv #1", "2100 support-begun ppv #2"), "later_resuscitation=yes ventilated=yes first_end=heart-rate-100"},
		{"goes on past 20 minutes through a tube", "", slow("150 heart-rate 110", "1300 support-begun ppv #1", "1300 interface tube #1"), "later_resuscitation=no tube=later"},
	})
}

func TestImpreciseFirstEnd(t *testing.T) {
	tell(t, []story{
		{
			"sign and end in one minute", "",
			[]string{"60 heart-rate below-60 ~60", "60 support-begun ppv ~60", "180 heart-rate 100-or-more ~60", "180 airway-attempt-begun tube ~60"},
			"first_end=undecided effective=? to_first_end..=60.25..179.75 to_sign..=60.25..?",
		},
		{
			"sign a minute before the end", "",
			[]string{"60 heart-rate below-60 ~60", "60 support-begun ppv ~60", "120 heart-rate 100-or-more ~60", "180 airway-attempt-begun tube ~60"},
			"first_end=heart-rate-100 effective=yes to_sign..=0.25..119.75",
		},
		{
			"end in the minute of the first inflation", "",
			[]string{"60 heart-rate below-60 ~60", "60 support-begun ppv ~60", "60 compressions-begun ~60", "240 heart-rate 100-or-more ~60"},
			"first_end=undecided effective=?",
		},
		{
			"chest moving in the minute of the first inflation", "",
			[]string{"60 heart-rate 100-or-more ~60", "60 support-begun ppv ~60", "60 chest-movement moving ~60"},
			"first_end=chest-movement effective=yes to_sign..=0..59.75",
		},
		{"typed to 30 s", "", []string{"60 heart-rate 50 ~30", "60 support-begun ppv ~30", "120 heart-rate 120 ~30"}, "hr_at_start_value=? effective=yes sign..=105..135 to_sign..=30..90"},
		{"value certain, length not", "", []string{"58 heart-rate 50", "60 support-begun ppv", "120 heart-rate 120 ~30"}, "effective=yes to_sign..=45..75 sign..=105..135"},
		{"end too close to call", "", []string{"58 heart-rate 50", "60 support-begun ppv", "120 heart-rate 120 ~30", "130 airway-attempt-begun tube"}, "first_end=heart-rate-100 to_sign..=45..70"},
		{"end before or after", "", []string{"58 heart-rate 50", "60 support-begun ppv", "120 heart-rate 120 ~30", "120 airway-attempt-begun tube"}, "first_end=undecided effective=? to_first_end..=45..60 sign..=105..?"},
		{"a sign for certain, of which kind not", "", []string{"60 heart-rate 80 ~60", "120 support-begun ppv ~60", "180 heart-rate 120 ~60", "180 chest-movement moving ~60"}, "first_end=heart-rate-100 effective=yes hr_at_start=? to_sign..=0.25..119.75"},
		{"an end for certain, of which kind not", "", []string{"58 heart-rate 50", "60 support-begun ppv", "120 compressions-begun ~30", "120 airway-attempt-begun tube ~30"}, "first_end=undecided effective=no to_first_end..=45..75 to_sign..=?"},
		{"untimed end", "", []string{"58 heart-rate 50", "60 support-begun ppv", "120 heart-rate 120", "- airway-attempt-begun tube"}, "first_end=undecided effective=? tube=yes"},
		{"warmer clock", "", []string{"58 heart-rate 50 @warmer", "60 support-begun ppv @warmer", "120 heart-rate 120 @warmer"}, "effective=yes to_sign..=60 sign..=? first_end..=?"},
	})
}

func TestStepsAndMask(t *testing.T) {
	mask := func(rows ...string) []string { return append(rows, "60 support-begun ppv #1", "60 interface mask #1") }
	tell(t, []story{
		{"counted from the first inflation to the attempt", "charted_steps=yes", mask("59 corrective-step head-position", "60 corrective-step mask-seal", "90 corrective-step pressure 25", "100 airway-attempt-begun tube", "101 corrective-step head-position"), "any_step=yes step_count=2"},
		{"not charted, a row", "", mask("90 corrective-step mask-seal"), "any_step=yes step_count=?"},
		{"not charted, none", "", mask(), "any_step=? step_count=?"},
		{"charted, none", "charted_steps=yes", mask(), "any_step=no step_count=0"},
		{"typed around the first inflation", "charted_steps=yes", mask("60 corrective-step mask-seal ~30"), "any_step=? step_count=?"},
		{"without a time", "charted_steps=yes", mask("- corrective-step mask-seal"), "any_step=yes step_count=1"},
		{"without a time, with an attempt", "charted_steps=yes", mask("- corrective-step mask-seal", "120 airway-attempt-begun tube"), "any_step=? step_count=?"},
		{"nasal interface", "", []string{"60 support-begun ppv #1", "60 interface nasal #1"}, "mask_ventilated=yes"},
		{"supraglottic from the start", "gestation_wk=35", []string{"50 airway-attempt-begun supraglottic #2", "60 support-begun ppv #1", "60 interface supraglottic #1"}, "mask_ventilated=no any_step=- first_interface=supraglottic"},
		{"interface not recorded", "", []string{"60 support-begun ppv #1"}, "mask_ventilated=? any_step=?"},
		{"mask later", "", []string{"60 support-begun ppv #1", "60 interface supraglottic #1", "90 support-begun ppv #1", "90 interface mask #1"}, "mask_ventilated=yes first_interface=supraglottic"},
		{"not ventilated", "", nil, "mask_ventilated=no any_step=-"},
		{"ventilated at 20 minutes", "", []string{"1200 support-begun ppv"}, "ventilated=yes"},
		{"ventilated a second later", "", []string{"1201 support-begun ppv"}, "ventilated=later"},
		{"CPAP alone", "", []string{"120 support-begun cpap"}, "ventilated=no"},
		{"about 20 minutes", "", []string{"1200 support-begun ppv ~60"}, "ventilated=?"},
	})
}

func TestTubeAndCompressions(t *testing.T) {
	tell(t, []story{
		{"at 15 minutes", "", []string{"900 airway-attempt-begun tube #1"}, "tube=yes"},
		{"a second later", "", []string{"901 airway-attempt-begun tube #1"}, "tube=later"},
		{"any clock will do", "", []string{"300 airway-attempt-begun tube #1 @warmer"}, "tube=yes"},
		{"about 15 minutes", "", []string{"900 airway-attempt-begun tube #1 ~60"}, "tube=?"},
		{"supraglottic is no tube", "", []string{"300 airway-attempt-begun supraglottic #1"}, "tube=no"},
		{"placed, dislodged, tried again", "", []string{"300 airway-attempt-begun tube #1", "330 outcome placed #1", "500 outcome dislodged #1", "520 airway-attempt-begun tube #2"}, "tube=yes"},
		{"ventilated through a tube, no attempt on record", "", []string{"300 support-begun ppv #1", "300 interface tube #1"}, "tube=yes"},
		{"left with a tube, no attempt on record", "support_on_leaving=tube", nil, "tube=?"},
		{"without a time", "", []string{"- airway-attempt-begun tube"}, "tube=yes"},
		{"compressions at 20 minutes", "", []string{"1200 compressions-begun"}, "compressions=yes"},
		{"a second later", "", []string{"1201 compressions-begun"}, "compressions=later later_resuscitation=yes"},
		{"compressions in the nursery, by its own clock", "", []string{"0 later-resuscitation #1 @unknown", "40 compressions-begun #1 @unknown"}, "compressions=later later_resuscitation=yes"},
	})
}

func TestPopulation(t *testing.T) {
	tell(t, []story{
		{"22 weeks", "gestation_wk=22", nil, "in_population=yes gestation_band=22-24"},
		{"under 22 weeks", "gestation_wk=21", nil, "in_population=no gestation_band=?"},
		{"gestation unknown, 500 g", "gestation_wk= birth_weight_g=500", nil, "in_population=yes gestation_band=unknown"},
		{"gestation unknown, 499 g", "gestation_wk= birth_weight_g=499", nil, "in_population=no"},
		{"gestation and weight unknown", "gestation_wk=", nil, "in_population=yes"},
		{"32 weeks, days unknown", "gestation_wk=32", nil, "gestation_band=32-33"},
		{"31 weeks and 6 days", "gestation_wk=31 gestation_d=6", nil, "gestation_band=28-31"},
		{"37 weeks", "gestation_wk=37", nil, "gestation_band=37-plus"},
		{"no sign of life, no resuscitation", "signs_of_life=no", nil, "in_population=no"},
		{"no sign of life, resuscitated", "signs_of_life=no", []string{"60 compressions-begun"}, "in_population=yes"},
		{"no sign of life, resuscitation ticked", "signs_of_life=no resuscitation_begun=yes", nil, "in_population=yes"},
		{"nothing said of life", "signs_of_life=", nil, "in_population=?"},
		{"a heart rate is a sign of life", "signs_of_life=", []string{"60 heart-rate below-60"}, "in_population=yes"},
		{"an absent one is not", "signs_of_life=", []string{"60 heart-rate absent"}, "in_population=?"},
		{"gasping is a sign of life", "signs_of_life=", []string{"60 breathing gasping"}, "in_population=yes"},
		{"an Apgar score of 1", "signs_of_life= apgar_1=1", nil, "in_population=yes"},
		{"born elsewhere", "born_here=no", nil, "in_population=no"},
		{"outside, said to be here", "place=outside", nil, "in_population=?"},
		{"outside", "place=outside born_here=", nil, "in_population=no"},
		{"place only", "place=elsewhere-in-hospital born_here=", nil, "in_population=yes"},
		{"neither place nor born here", "born_here=", nil, "in_population=?"},
	})
	d := newborn(t, "place=outside")
	d.Newborn[record.BornHere] = record.Value{State: record.SetAside}
	expect(t, d, "in_population=?")
	require.Equal(t, record.Facts{}, derive.Facts(&record.Document{Withdrawn: true}))
}

func TestPlanAndTeam(t *testing.T) {
	tell(t, []story{
		{"comfort care", "plan_of_care=comfort", nil, "comfort_only=yes"},
		{"comfort care, then helped", "plan_of_care=comfort", []string{"60 support-begun ppv"}, "comfort_only=no"},
		{"comfort care, oxygen alone", "plan_of_care=comfort", []string{"60 support-begun free-flow"}, "comfort_only=yes"},
		{"no plan recorded", "", nil, "comfort_only=? limit_compressions=?"},
		{"full care", "plan_of_care=full", nil, "comfort_only=no limit_compressions=no limit_drugs=no"},
		{"limits", "plan_of_care=limits-agreed plan_limits=compressions", nil, "limit_compressions=yes limit_drugs=no limit_airway=no"},
		{"limits, which not recorded", "plan_of_care=limits-agreed", nil, "limit_compressions=?"},
		{"hernia", "major_anomaly=diaphragmatic-hernia", nil, "anomaly_hernia=yes anomaly_airway=no"},
		{"no anomaly", "major_anomaly=none", nil, "anomaly_hernia=no anomaly_heart=no"},
		{"present at birth", "newborn_team_at_birth=yes", nil, "attended=yes"},
		{"arrived at five minutes", "newborn_team_at_birth=no team_arrived_s=300", nil, "attended=yes"},
		{"arrived later", "team_arrived_s=301", nil, "attended=no"},
		{"absent at birth, arrival blank", "newborn_team_at_birth=no", nil, "attended=?"},
		{"absent at birth, arrival blank, charted", "newborn_team_at_birth=no charted_team=yes", nil, "attended=no"},
		{"15 minutes after arrival", "arrived_min=19.3 temp_min=34.3 admission_temp_cel=36.6", nil, "temp_late=no"},
		{"16 minutes after arrival", "arrived_min=20 temp_min=36 admission_temp_cel=36.6", nil, "temp_late=yes"},
	})
}

// A record whose times leave more orders than are tried says so and leaves blank
// what rests on them.
func TestTooManyOrders(t *testing.T) {
	rows := []string{"100 support-begun ppv"}
	for range 4 {
		rows = append(rows, "- heart-rate 80", "- compressions-begun", "- chest-movement moving", "- breathing none", "- airway-attempt-begun tube")
	}
	expect(t, newborn(t, "", rows...), "order_loose=yes first_end=? hr_at_start=? ventilated=yes first_inflation..=100")
}
