package derive

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"chestrise/etl/record"
)

// plain is the same set of rules written down a second time for exact times, all
// different, on one clock: no zones, no trials, only loops over seconds.
type plain struct {
	need, start, end uint8
	value            float64
	length           float64
}

type fact struct {
	at    int32
	kind  record.Kind
	code  record.EventCode
	value float64
}

func plainly(rows []fact) plain {
	p := plain{value: math.NaN(), length: math.NaN()}
	first := int32(math.MaxInt32)
	for _, r := range rows {
		if r.kind == record.SupportBegun {
			first = min(first, r.at)
		}
	}
	p.need = plainNeed(rows, first)
	if first > 1200 {
		return p
	}
	// Ends after the first inflation.
	endAt, end := int32(1200), record.FirstEndObservationEnd
	for _, r := range rows {
		code := map[record.Kind]uint8{record.AirwayBegun: record.FirstEndAirwayAttempt, record.CompressionsBegun: record.FirstEndCompressions, record.Dose: record.FirstEndDrug}[r.kind]
		if r.kind == record.SupportEnded {
			code = record.FirstEndStopped
			for _, b := range rows {
				if b.kind == record.SupportBegun && b.at > r.at && b.at < r.at+30 {
					code = 0
				}
			}
		}
		if code != 0 && r.at > first && r.at < endAt {
			endAt, end = r.at, code
		}
	}
	var hr []fact
	for _, r := range rows {
		if r.kind == record.HeartRate {
			hr = append(hr, r)
		}
	}
	slow := false
	known := false
	var before, after []fact
	for _, r := range hr {
		if r.at <= first {
			before = append(before, r)
		} else {
			after = append(after, r)
		}
	}
	take := func(r fact) {
		known, slow, p.value = true, r.value < 100, r.value
	}
	switch {
	case len(before) > 0 && before[len(before)-1].at >= first-30:
		take(before[len(before)-1])
	case len(after) > 0 && after[0].at <= first+10:
		take(after[0])
	case len(after) > 0 && after[0].at <= first+120 && after[0].value < 100 && endAt > after[0].at:
		known, slow = true, true
	}
	signAt, sign := int32(math.MaxInt32), uint8(0)
	if known && slow {
		for i, r := range slices.Backward(after) {

			if r.value >= 100 {
				signAt, sign = r.at, record.FirstEndHeartRate100
				continue
			}
			if math.IsNaN(p.value) || p.value < 1 || r.value < p.value+20 || i+1 == len(after) {
				continue
			}
			next := after[i+1]
			if next.at <= r.at+60 && next.value >= p.value+20 && (endAt <= r.at || endAt >= next.at) {
				signAt, sign = r.at, record.FirstEndHeartRateRise
			}
		}
	} else {
		for _, r := range rows {
			if r.at < first || r.at >= signAt {
				continue
			}
			switch r.kind {
			case record.ChestMovement:
				signAt, sign = r.at, record.FirstEndChestMovement
			case record.ExhaledCO2:
				signAt, sign = r.at, record.FirstEndExhaledCo2
			}
		}
	}
	switch {
	case !known:
	case slow:
		p.start = record.HrAtStartBelow100
	default:
		p.start = record.HrAtStart100OrMore
	}
	if signAt <= endAt && sign != 0 {
		endAt, end = signAt, sign
	}
	p.end, p.length = end, float64(endAt-first)
	return p
}

func plainNeed(rows []fact, first int32) uint8 {
	m := min(first, 60)
	var breath, hr *fact
	for i := range rows {
		if rows[i].at > m {
			continue
		}
		switch rows[i].kind {
		case record.Breathing:
			breath = &rows[i]
		case record.HeartRate:
			hr = &rows[i]
		}
	}
	bad := breath != nil && breath.code <= record.BreathingGasping || hr != nil && hr.value < 100
	switch {
	case bad:
		return record.NeedYes
	case breath != nil && hr != nil, first > 1200:
		return record.NeedNo
	case first <= 60 && breath == nil && hr == nil:
		return record.NeedPresumed
	}
	return 0
}

// With exact times the facts are those of the plain reading of the rules.
func TestExactTimesGiveThePlainReading(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		step := rapid.SampledFrom([]int{1, 5, 10}).Draw(t, "step")
		times := rapid.SliceOfNDistinct(rapid.IntRange(0, 250/step), 1, 12, rapid.ID[int]).Draw(t, "times")
		slices.Sort(times)
		var rows []fact
		d := &record.Document{}
		d.Newborn[record.ChartedAssessments] = code(record.Yes)
		for _, at := range times {
			r := fact{at: int32(at * step)}
			switch rapid.SampledFrom([]string{"hr", "hr", "hr", "breath", "ppv", "ppv", "off", "chest", "co2", "tube", "comp", "drug"}).Draw(t, "kind") {
			case "hr":
				r.kind, r.code, r.value = record.HeartRate, record.HRECG, float64(rapid.SampledFrom([]int{0, 40, 60, 65, 80, 99, 100, 140}).Draw(t, "hr"))
			case "breath":
				r.kind, r.code = record.Breathing, record.EventCode(rapid.IntRange(1, 4).Draw(t, "breath"))
			case "ppv":
				r.kind, r.code = record.SupportBegun, record.SupportPPV
			case "off":
				r.kind, r.code = record.SupportEnded, record.SupportPPV
			case "chest":
				r.kind, r.code = record.ChestMovement, record.ChestMoving
			case "co2":
				r.kind, r.code = record.ExhaledCO2, record.CO2Detected
			case "tube":
				r.kind, r.code = record.AirwayBegun, record.AttemptTube
			case "comp":
				r.kind = record.CompressionsBegun
			case "drug":
				r.kind, r.code = record.Dose, record.DoseVolume
			}
			rows = append(rows, r)
			d.Events = append(d.Events, record.Event{
				At: r.at, Timed: true, Clock: record.ClockBirth, How: record.ByDevice,
				Kind: r.kind, Code: r.code, Value: r.value, Valued: r.kind == record.HeartRate,
			})
		}
		f := Facts(d)
		want := plainly(rows)
		got := plain{need: coded(f[record.FactNeed]), start: coded(f[record.FactHrAtStart]), end: coded(f[record.FactFirstEnd]), value: math.NaN(), length: math.NaN()}
		if v := f[record.FactHrAtStartValue]; v.State == record.Recorded {
			got.value = v.Number
		}
		if v := f[record.FactToFirstEndLo]; v.State == record.Recorded {
			got.length = v.Number
		}
		if want.start == 0 {
			want.value = math.NaN()
		}
		same := func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }
		if got.need != want.need || got.start != want.start || got.end != want.end || !same(got.value, want.value) || !same(got.length, want.length) {
			t.Fatalf("facts %+v, plain reading %+v of %v", got, want, rows)
		}
	})
}
