package derive_test

import (
	"testing"

	"chestrise/etl/derive"
	"chestrise/etl/record"
)

var sink record.Facts

func benchmark(b *testing.B, d *record.Document) {
	b.Helper()
	b.ReportAllocs()
	for b.Loop() {
		sink = derive.Facts(d)
	}
}

// A newborn without support, as most are.
func BenchmarkFactsCalm(b *testing.B) {
	d := &record.Document{}
	for _, e := range []record.Event{
		{Kind: record.Breathing, Code: record.BreathingCrying, At: 30},
		{Kind: record.HeartRate, Code: record.HRAuscultation, At: 50, Value: 140, Valued: true},
		{Kind: record.CordClamped, At: 75},
	} {
		e.Timed, e.Clock, e.How, e.Unit = true, record.ClockBirth, record.Live, 1
		d.Events = append(d.Events, e)
	}
	benchmark(b, d)
}

// A resuscitation of 30 rows with exact times, and the same typed afterwards.
func BenchmarkFactsExact(b *testing.B) { benchmark(b, long(record.ByDevice, 1, record.ClockBirth)) }
func BenchmarkFactsTyped(b *testing.B) { benchmark(b, long(record.After, 0, record.ClockBirth)) }
func BenchmarkFactsMinutes(b *testing.B) {
	benchmark(b, long(record.After, 60, record.ClockBirth))
}
func BenchmarkFactsWarmer(b *testing.B) { benchmark(b, long(record.Live, 1, record.ClockWarmer)) }

func long(how record.How, unit uint8, clock record.Clock) *record.Document {
	d := &record.Document{}
	for i := range int32(30) {
		e := record.Event{Timed: true, Clock: clock, How: how, Unit: unit, At: 10 + 10*i, Kind: record.HeartRate, Code: record.HRECG, Value: float64(50 + i), Valued: true}
		switch i % 6 {
		case 1:
			e.Kind, e.Code = record.Breathing, record.BreathingNone
		case 2:
			e.Kind, e.Code = record.ChestMovement, record.ChestNotMoving
		case 3:
			e.Kind, e.Code = record.CorrectiveStep, record.StepMaskSeal
		case 4:
			e.Kind, e.Code = record.Saturation, record.SaturationReading
		}
		if unit == 60 {
			e.At = e.At / 60 * 60
		}
		switch i {
		case 5:
			e.Kind, e.Code = record.SupportBegun, record.SupportPPV
		case 28:
			e.Kind, e.Code = record.AirwayBegun, record.AttemptTube
		case 29:
			e.Kind, e.Code = record.SupportEnded, record.SupportPPV
		}
		d.Events = append(d.Events, e)
	}
	return d
}
