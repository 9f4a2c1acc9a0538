package timeline_test

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/etl/derive"
	"chestrise/etl/record"
	"chestrise/metrics/cases"
	"chestrise/metrics/cell"
	"chestrise/reports/chart"
	"chestrise/reports/svg"
	"chestrise/reports/timeline"
)

type one struct{ d *record.Document }

func (o one) Documents(_ context.Context, _ cell.Scope, _ []record.Key, f func(*record.Document) error) error {
	return f(o.d)
}

// timelineOf makes the timeline of a document under the settings that are shipped.
func timelineOf(t require.TestingT, d *record.Document) *cases.Timeline {
	src, err := os.ReadFile("../../configs/casereview.yaml")
	require.NoError(t, err)
	s, err := cases.Load("casereview.yaml", src)
	require.NoError(t, err)
	d.Key, d.Unit, d.Month = record.Key{1}, "u", record.MonthOf(2026, 1)
	sel, err := cases.Select(context.Background(), one{d}, cases.Query{Unit: "u", From: d.Month, To: d.Month, AsOf: 0, Settings: s, Keys: []record.Key{d.Key}, Seed: 0, Facts: derive.Facts, Training: 0})
	require.NoError(t, err)
	require.Len(t, sel.Cases, 1)
	return &sel.Cases[0].Timeline
}

func at(s int, k record.Kind, code record.EventCode, value float64) record.Event {
	return record.Event{At: int32(s), Timed: true, Clock: record.ClockBirth, How: record.Live, Unit: 1, Kind: k, Code: code, Value: value, Valued: value != 0}
}

// anything draws a row of any kind that the dictionary allows.
func anything(r *rand.Rand, s int) record.Event {
	kinds := record.Kinds()
	k := kinds[r.IntN(len(kinds))]
	spec := record.Events[k]
	e := at(s, k, 0, 0)
	if len(spec.Codes) > 0 {
		e.Code = record.EventCode(1 + r.IntN(len(spec.Codes)))
	}
	if spec.Value && r.IntN(4) > 0 {
		e.Value, e.Valued = float64(int(spec.Min)+r.IntN(int(spec.Max-spec.Min)+1)), true
	}
	e.Group, e.Grouped = int32(r.IntN(6)), r.IntN(2) == 0
	return e
}

func newborn(set ...func(*record.Newborn)) record.Newborn {
	var n record.Newborn
	for _, f := range set {
		f(&n)
	}
	return n
}

func number(f record.Field, x float64) func(*record.Newborn) {
	return func(n *record.Newborn) { n[f] = record.Value{State: record.Recorded, Number: x} }
}

func code(f record.Field, c uint8) func(*record.Newborn) {
	return func(n *record.Newborn) { n[f] = record.Value{State: record.Recorded, Code: c} }
}

// roles counts the texts of a drawing by what they are.
func roles(d chart.Drawing) map[string]int {
	out := map[string]int{}
	for _, t := range d.Texts() {
		out[t.Role]++
	}
	return out
}

func words(d chart.Drawing) string {
	var w []string
	for _, t := range d.Texts() {
		w = append(w, t.Words)
	}
	return strings.Join(w, " ")
}

// clean lays a timeline out at both sizes: no text meets another or leaves the
// drawing, and the slide is a file of valid XML.
func clean(t require.TestingT, tl *cases.Timeline) timeline.Laid {
	slide := timeline.OnSlide
	slide.Title, slide.Foot = "Case 1", "One case cannot show a rate."
	var page timeline.Laid
	for i, o := range []timeline.Options{timeline.OnPage, slide} {
		l := timeline.Lay(tl, "alt", o, chart.DejaVu())
		require.Empty(t, chart.Overlaps(l.Drawing), "size %d", i)
		require.Empty(t, chart.Outside(l.Drawing), "size %d", i)
		require.InDelta(t, o.W, l.Drawing.W, 1e-9)
		var b bytes.Buffer
		require.NoError(t, svg.Write(&b, l.Drawing))
		x := xml.NewDecoder(&b)
		for {
			_, err := x.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err)
		}
		if i == 0 {
			page = l
		}
	}
	return page
}

// Each hard record with the sentence it must show and the layout it must have.
func TestHardRecords(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	var many, second, long []record.Event
	for i := range 300 {
		many = append(many, anything(r, i*4))
		if i < 60 {
			second = append(second, anything(r, 75))
		}
	}
	for m := range 90 {
		long = append(long, at(m*60, record.HeartRate, record.HRECG, float64(60+m)), at(m*60+20, record.Saturation, record.SaturationReading, float64(50+m/2)))
	}
	warmer := []record.Event{at(10, record.Breathing, record.BreathingNone, 0), at(20, record.SupportBegun, record.SupportPPV, 0), at(50, record.HeartRate, record.HRECG, 120), at(80, record.SupportEnded, record.SupportPPV, 0), at(100, record.Saturation, record.SaturationReading, 78)}
	for i := range warmer {
		warmer[i].Clock = record.ClockWarmer
	}
	unknown := append([]record.Event(nil), warmer...)
	for i := range unknown {
		unknown[i].Clock = record.ClockUnknown
	}
	early := []record.Event{at(20, record.SupportBegun, record.SupportPPV, 0), at(60, record.CordClamped, 0, 0), at(90, record.HeartRate, record.HRECG, 120)}
	minute := []record.Event{at(60, record.Breathing, record.BreathingNone, 0), at(120, record.HeartRate, record.HRBelow60, 0), at(120, record.SupportBegun, record.SupportPPV, 0), at(120, record.CompressionsBegun, 0, 0), at(180, record.CompressionsEnded, 0, 0)}
	for i := range minute {
		minute[i].How, minute[i].Unit = record.After, 60
	}
	untimed := []record.Event{{Kind: record.CorrectiveStep, Code: record.StepMaskSeal}, {Kind: record.Dose, Code: record.DoseEpinephrineIV, Value: .02, Valued: true}}
	backwards := []record.Event{at(50, record.SupportEnded, record.SupportPPV, 0), at(90, record.SupportBegun, record.SupportPPV, 0), at(120, record.AirwayEnded, record.AttemptTube, 0), at(200, record.CompressionsEnded, 0, 0)}
	later := []record.Event{at(30, record.Breathing, record.BreathingBreathing, 0), at(120, record.CordClamped, 0, 0), at(2040, record.LaterResuscitation, 0, 0), at(2060, record.SupportBegun, record.SupportPPV, 0), at(2100, record.CompressionsBegun, 0, 0)}

	for _, c := range []struct {
		name     string
		d        record.Document
		sentence string
		layout   string // what a reader sees
		check    func(t *testing.T, l timeline.Laid, n map[string]int)
	}{
		{
			"no events",
			record.Document{Newborn: newborn(number(record.Apgar1, 8))},
			"No event is on record for this newborn.",
			"a frame with the sentence, notes, no axis", func(t *testing.T, _ timeline.Laid, n map[string]int) {
				require.Zero(t, n["tick"])
				require.Zero(t, n["record"])
			},
		},
		{
			"everything missing",
			record.Document{},
			"No event is on record for this newborn.",
			"a frame with the sentence, the empty lanes in words, no axis", func(t *testing.T, l timeline.Laid, n map[string]int) {
				require.Zero(t, n["tick"])
				require.Contains(t, words(l.Drawing), "No record: team")
			},
		},
		{
			"only a death",
			record.Document{Newborn: newborn(number(record.DiedMin, 45), code(record.CareEnded, record.CareEndedDied))},
			"No event is on record for this newborn. Died 45 min after birth.",
			"a frame with the sentence, no axis", func(t *testing.T, _ timeline.Laid, n map[string]int) { require.Zero(t, n["tick"]) },
		},
		{
			"only events without a time",
			record.Document{Events: untimed},
			"No time is on record: 2 events without one, in words below.",
			"a frame with the sentence, the events in the notes of their lanes", func(t *testing.T, l timeline.Laid, n map[string]int) {
				require.Zero(t, n["tick"])
				require.Contains(t, words(l.Drawing), "Mask seal, time not recorded")
			},
		},
		{
			"300 events",
			record.Document{Events: many},
			"records are drawn without words; the list of records holds them all.",
			"every mark drawn, six lines of words a lane at most, the rest counted", func(t *testing.T, l timeline.Laid, _ map[string]int) {
				require.Positive(t, l.Bare)
				require.Less(t, l.Drawing.H, 320.0)
			},
		},
		{
			"all in one second",
			record.Document{Events: second},
			"75 s",
			"an axis of 80 s, one group of words a lane", func(t *testing.T, l timeline.Laid, _ map[string]int) {
				require.Contains(t, words(l.Drawing), "birth 10 s 20 s")
				require.Contains(t, words(l.Drawing), "·", "what is simultaneous shares one mark")
			},
		},
		{
			"90 minutes",
			record.Document{Events: long},
			"birth",
			"one scale to the end, ticks in minutes, readings joined only within a minute", func(t *testing.T, l timeline.Laid, _ map[string]int) {
				require.Contains(t, words(l.Drawing), "80:00")
				require.NotContains(t, words(l.Drawing), "cut out")
			},
		},
		{
			"timer of the warmer",
			record.Document{Events: warmer},
			"Order known, seconds not: these times are from a timer started at the warmer, and when it started after birth is not recorded.",
			"no second zero, no published band", func(t *testing.T, l timeline.Laid, _ map[string]int) {
				require.NotContains(t, words(l.Drawing), "birth 1")
				require.NotContains(t, words(l.Drawing), "Shaded")
				for _, x := range l.Drawing.Texts() {
					require.NotEqual(t, "birth", x.Words)
				}
			},
		},
		{
			"unknown second zero",
			record.Document{Events: unknown},
			"Order known, seconds not: it is not recorded from what the clock of these times counts.",
			"no second zero", func(t *testing.T, l timeline.Laid, _ map[string]int) {
				for _, x := range l.Drawing.Texts() {
					require.NotEqual(t, "birth", x.Words)
				}
			},
		},
		{
			"a clock that contradicts itself",
			record.Document{Events: early},
			"so it cannot have started at birth.",
			"no second zero", func(*testing.T, timeline.Laid, map[string]int) {},
		},
		{
			"whole minutes",
			record.Document{Events: minute},
			"5 of 5 times are intervals: each happened at some moment of the stretch drawn.",
			"bars and boxes from end to end of the intervals", func(t *testing.T, l timeline.Laid, _ map[string]int) {
				require.Contains(t, words(l.Drawing), "0–120 s not breathing")
			},
		},
		{
			"ends without begins",
			record.Document{Events: backwards},
			"begin not recorded, to 50 s ventilation",
			"bars that trail off on the side that is not on record", func(t *testing.T, l timeline.Laid, _ map[string]int) {
				require.Contains(t, words(l.Drawing), "from 90 s, end not recorded: ventilation")
			},
		},
		{
			"a later resuscitation",
			record.Document{Events: later},
			"Cut out, where nothing is on record: 2:00 to 34:00 (32 min).",
			"the axis is cut between two minutes and 34 minutes", func(t *testing.T, l timeline.Laid, _ map[string]int) {
				require.Contains(t, words(l.Drawing), "90 s 2:00 34:00")
			},
		},
		{
			"team called before birth",
			record.Document{Newborn: newborn(number(record.TeamCalledS, -240), number(record.TeamArrivedS, 70)), Events: early[:1]},
			"Called 4 min before birth",
			"the call in words, the arrival on the axis", func(t *testing.T, l timeline.Laid, _ map[string]int) {
				require.Contains(t, words(l.Drawing), "70 s arrived")
			},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := clean(t, timelineOf(t, &c.d))
			require.Contains(t, words(l.Drawing), c.sentence, c.layout)
			c.check(t, l, roles(l.Drawing))
		})
	}
}

// Whatever is on record, words stay apart and inside.
func TestAnyRecordIsLegible(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		span := rapid.SampledFrom([]int{1, 10, 90, 400, 1300, 6000, 40000}).Draw(t, "span")
		var d record.Document
		for range rapid.IntRange(0, 140).Draw(t, "events") {
			e := anything(r, r.IntN(span)-r.IntN(20))
			e.Clock = record.Clock(rapid.SampledFrom([]int{1, 1, 1, 1, 2, 3, 0}).Draw(t, "clock"))
			e.How, e.Unit = record.How(r.IntN(5)), []uint8{0, 1, 5, 10, 30, 60}[r.IntN(6)]
			e.Timed = r.IntN(20) > 0
			d.Events = append(d.Events, e)
		}
		tl := timelineOf(t, &d)
		l := clean(t, tl)
		shown := 0
		for _, x := range l.Drawing.Items {
			if _, ok := x.(chart.Text); !ok {
				shown++
			}
		}
		if tl.Records > 0 {
			require.Positive(t, shown)
		}
	})
}

// A minute is as long as the axis says, and the second zero lies at birth.
func TestToScale(t *testing.T) {
	d := record.Document{Events: []record.Event{at(60, record.Breathing, record.BreathingNone, 0), at(120, record.CordClamped, 0, 0), at(180, record.ChestMovement, record.ChestMoving, 0)}}
	l := timeline.Lay(timelineOf(t, &d), "", timeline.OnPage, chart.DejaVu())
	x := map[string]float64{}
	for _, w := range l.Drawing.Texts() {
		if w.Role == "record" {
			x[w.Words] = w.At.X
		}
		if w.Words == "birth" {
			x["birth"] = w.At.X
		}
	}
	minute := x["120 s clamped"] - x["60 s not breathing"]
	require.InDelta(t, minute, x["180 s chest moving"]-x["120 s clamped"], 1e-9)
	require.InDelta(t, minute, x["60 s not breathing"]-0.6-x["birth"], 1e-9)
	require.Contains(t, words(l.Drawing), fmt.Sprintf("A minute is drawn %.3g mm from 0 s to 3:00", minute))
}

// Readings more than a minute apart are not joined.
func TestGapsAreGaps(t *testing.T) {
	lines := func(second int) int {
		d := record.Document{Events: []record.Event{at(30, record.HeartRate, record.HRECG, 70), at(second, record.HeartRate, record.HRECG, 110)}}
		n := 0
		for _, it := range timeline.Lay(timelineOf(t, &d), "", timeline.OnPage, chart.DejaVu()).Drawing.Items {
			if _, ok := it.(chart.Polyline); ok {
				n++
			}
		}
		return n
	}
	require.Equal(t, 1, lines(90))
	require.Equal(t, 0, lines(91))
}

func TestSameDrawingTwice(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	var d record.Document
	for i := range 80 {
		d.Events = append(d.Events, anything(r, i*7))
	}
	dump := func() string {
		var b strings.Builder
		require.NoError(t, chart.Dump(&b, timeline.Lay(timelineOf(t, &d), "", timeline.OnPage, chart.DejaVu()).Drawing))
		return b.String()
	}
	require.Equal(t, dump(), dump())
}

func BenchmarkLay(b *testing.B) {
	r := rand.New(rand.NewPCG(5, 6))
	var d record.Document
	for i := range 300 {
		d.Events = append(d.Events, anything(r, i*4))
	}
	tl := timelineOf(b, &d)
	for b.Loop() {
		timeline.Lay(tl, "", timeline.OnPage, chart.DejaVu())
	}
}
