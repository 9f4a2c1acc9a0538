package metrics

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/spc"
)

// steady fills months 0..to-1 with met of 40 in turn around 16 (40 %), so that no
// rule signals.
func steady(e *Engine, m *memory, to int) {
	for i := range to {
		share(e, m, begun, i, []int{18, 14, 17, 15}[i%4], 40)
	}
}

func TestShiftIsJudgedAgainstTheFrozenBaseline(t *testing.T) {
	e, m := engine(t, 36)
	steady(e, m, 24)
	frozen := freeze(t, e)
	require.Len(t, frozen, 1)
	b := frozen[0]
	require.Equal(t, []any{begun, "p", "month", begin, begin, begin + 11, 0.4, 12}, []any{b.Measure, b.Chart, b.Period, b.Phase, b.From, b.To, b.Centre, b.Points})
	require.Contains(t, b.Reason, "A share of cases. About 40 known cases a month: enough for one point a month. The first 12 months.")

	for i := 24; i < 36; i++ { // 27 of 40: 68 %, under the upper limit of 63 %? above it
		share(e, m, begun, i, 22, 40)
	}
	require.Empty(t, freeze(t, e), "a night moves nothing")

	v := unit(t, e, 30)
	p := page(t, v, begun)
	require.Equal(t, "Ventilation begun within one minute", p.Title, "seven points are no run")
	require.InDelta(t, 0.4, p.Latest.Centre, 1e-12, "the old centre")
	require.Equal(t, "Jul 2024: 22 of 40 (55%)", p.Latest.Text)
	require.Equal(t, NoChange, p.Change.Kind)
	require.Contains(t, v.Headline, "nothing to bring to the meeting")

	v = unit(t, e, 31)
	p = page(t, v, begun)
	require.Equal(t, Signalled, p.Change.Kind)
	require.Equal(t, spc.Better, p.Change.Verdict)
	require.Equal(t, "Shift upward since Jan 2024: ventilation begun within one minute", p.Title)
	require.Len(t, p.Signals, 1)
	require.True(t, p.Signals[0].New && p.Signals[0].Active)
	require.Equal(t, []string{"Jan 2024", "Aug 2024"}, []string{p.Signals[0].From, p.Signals[0].To})
	require.Contains(t, p.Change.Text, "in the favourable direction")
	require.Equal(t, "Aug 2024: 1 chart to look at.", v.Headline)

	v = unit(t, e, 33)
	p = page(t, v, begun)
	require.Equal(t, Continues, p.Change.Kind)
	require.True(t, strings.HasPrefix(p.Title, "Shift upward since Jan 2024"))
	require.True(t, p.Baseline.Stored)
	require.Equal(t, "Limits rest on Jan 2022 to Dec 2022 (12 points) and do not move. They are provisional: firm limits want more points.", p.Baseline.Text)
}

func TestSignalThatStops(t *testing.T) {
	e, m := engine(t, 24)
	steady(e, m, 12)
	freeze(t, e)
	for i := 12; i < 20; i++ {
		share(e, m, begun, i, 22, 40)
	}
	share(e, m, begun, 20, 14, 40)
	share(e, m, begun, 21, 14, 40)
	p := page(t, unit(t, e, 20), begun)
	require.Equal(t, Stopped, p.Change.Kind)
	require.Contains(t, p.Change.Text, "No longer signalled: ")
	require.Equal(t, p.Measured, p.Title)
	require.Equal(t, NoChange, page(t, unit(t, e, 21), begun).Change.Kind)
}

func TestPointBeyondALimit(t *testing.T) {
	e, m := engine(t, 24)
	steady(e, m, 13)
	freeze(t, e)
	share(e, m, begun, 13, 3, 40)
	p := page(t, unit(t, e, 13), begun)
	require.Equal(t, "Below the lower limit in Feb 2023: ventilation begun within one minute", p.Title)
	require.Equal(t, spc.Worse, p.Change.Verdict)
	require.Contains(t, p.Change.Text, "against the favourable direction")
}

func TestPointOnTheWayOfAShiftIsNoNews(t *testing.T) {
	e, m := engine(t, 30)
	steady(e, m, 12)
	freeze(t, e)
	for i := 12; i < 22; i++ {
		share(e, m, begun, i, 22, 40)
	}
	put(e, m, begun, 21, func(c *cell.Cell) { c.Band, c.Met = record.Band28, 8 }) // 30 of 48 in all
	p := page(t, unit(t, e, 21), begun)
	require.Len(t, p.Signals, 2)
	require.Equal(t, Continues, p.Change.Kind)
	require.Contains(t, p.Change.Text, "beyond the upper limit")
	require.Contains(t, p.Change.Text, "in a row above the centre")

	// Two months beyond the limit, one after the other: the second is no news.
	m.cells = m.cells[:12]
	share(e, m, begun, 12, 30, 40)
	share(e, m, begun, 13, 30, 40)
	require.Equal(t, Signalled, page(t, unit(t, e, 12), begun).Change.Kind)
	require.Equal(t, Continues, page(t, unit(t, e, 13), begun).Change.Kind)
	// On the other side it is.
	share(e, m, begun, 14, 2, 40)
	require.Equal(t, Signalled, page(t, unit(t, e, 14), begun).Change.Kind)
}

func TestSmallMonthsMakeQuartersAndALongerWindow(t *testing.T) {
	e, m := engine(t, 30)
	for i := range 30 {
		share(e, m, begun, i, 4+i%2, 11)
	}
	require.Len(t, freeze(t, e), 1)
	b := m.baselines[0]
	require.Equal(t, []any{"quarter", begin + 23, 8}, []any{b.Period, b.To, b.Points})
	v := unit(t, e, 28) // May 2024: its quarter has not closed
	p := page(t, v, begun)
	require.Equal(t, Quarterly, p.Period)
	last := p.Points[len(p.Points)-1]
	require.Equal(t, "2024 Q2", last.Label)
	require.Equal(t, []record.Month{begin + 27, begin + 28}, []record.Month{last.From, last.To})
	require.Equal(t, "2024 Q1: 13 of 33 (39%)", page(t, unit(t, e, 26), begun).Latest.Text)
	require.Contains(t, p.Detectability, "a quarter, a change from 41% to 56% would ")
}

func TestChartIsSettledOnce(t *testing.T) {
	e, m := engine(t, 48)
	for i := range 24 {
		share(e, m, begun, i, 8, 20)
	}
	freeze(t, e)
	require.Equal(t, "month", m.baselines[0].Period)
	for i := 24; i < 48; i++ { // half the births: a new proposal would choose quarters
		share(e, m, begun, i, 4, 9)
	}
	require.Equal(t, Monthly, page(t, unit(t, e, 47), begun).Period)
}

func TestDeclaredWindow(t *testing.T) {
	e, m := engine(t, 30)
	steady(e, m, 30)
	e.Settings.Windows = []Window{
		{From: begin, To: begin + 5, Reason: "everybody"},
		{Unit: "u", Measure: begun, From: begin + 6, To: begin + 17, Period: Quarterly, Reason: "the form of 2021 was still in use"},
	}
	freeze(t, e)
	b := m.baselines[0]
	require.Equal(t, []record.Month{begin + 6, begin + 17}, []record.Month{b.From, b.To})
	require.Equal(t, begin, b.Phase)
	require.Equal(t, "quarter", b.Period)
	require.Contains(t, b.Reason, "Declared window: the form of 2021 was still in use")
	require.Contains(t, b.Reason, "A person declared one point a quarter.")
}

func TestStoredLimitsOutliveADeclaration(t *testing.T) {
	e, m := engine(t, 30)
	steady(e, m, 30)
	freeze(t, e)
	codes := func() (out []string) {
		for _, n := range page(t, unit(t, e, 29), begun).Notes {
			out = append(out, n.Code)
		}
		return out
	}
	require.NotContains(t, codes(), "window-differs")
	e.Settings.Windows = []Window{{From: begin + 6, To: begin + 20, Reason: "another thought"}}
	require.Empty(t, freeze(t, e))
	require.Equal(t, begin+11, page(t, unit(t, e, 29), begun).Baseline.To)
	require.Contains(t, codes(), "window-differs")

	// Earlier months delivered later move nothing either.
	e.Settings.Windows = nil
	for i := -6; i < 0; i++ {
		share(e, m, begun, i, 30, 40)
	}
	m.deliveries = append(m.deliveries, func() record.Delivery {
		d := complete(begin + 29)
		d.From = begin - 6
		return d
	}())
	require.Empty(t, freeze(t, e))
	p := page(t, unit(t, e, 29), begun)
	require.Len(t, p.Points, 36)
	require.Equal(t, begin+11, p.Baseline.To)
	require.InDelta(t, 0.4, p.Baseline.Centre, 1e-12)

	// A changed definition has limits of its own, and says so.
	require.NotContains(t, codes(), "redefined")
	e.Derivation = 2
	for i := range m.cells {
		m.cells[i].Basis.Derivation = 2
	}
	require.Len(t, freeze(t, e), 1)
	require.Contains(t, codes(), "redefined")
}

func TestPhasesOnlyByRecord(t *testing.T) {
	e, m := engine(t, 40)
	steady(e, m, 24)
	for i := 24; i < 40; i++ {
		share(e, m, begun, i, 24, 40)
	}
	e.Settings.Interventions = []Label{{From: begin + 24, Label: "Team training", Text: "Training of the whole team", Measures: []string{begun}}}
	freeze(t, e)
	p := page(t, unit(t, e, 39), begun)
	require.Len(t, p.Chart.Phases, 1, "an intervention is a label")
	require.Equal(t, []Mark{{Month: begin + 24, At: 24, Kind: Intervention, Label: "Team training", Text: "Jan 2024: Training of the whole team. Limits and rules run straight through.", Break: false}}, p.Marks)
	require.Equal(t, Continues, p.Change.Kind)
	require.Empty(t, page(t, unit(t, e, 39), intubated).Marks)

	e.Settings.Phases = []PhaseStart{{Unit: "u", Measure: begun, From: begin + 24, Reason: "training, kept up since", DecidedBy: "quality lead", Signal: "eight in a row up to Aug 2024"}}
	stored := freeze(t, e)
	require.Len(t, stored, 1, "the old baseline stays")
	require.Equal(t, begin+24, stored[0].Phase)
	p = page(t, unit(t, e, 39), begun)
	require.Len(t, p.Chart.Phases, 2)
	require.InDelta(t, 0.4, p.Chart.Phases[0].Baseline.Centre, 1e-12)
	require.InDelta(t, 0.6, p.Chart.Phases[1].Baseline.Centre, 1e-12)
	require.Equal(t, 24, p.Chart.Phases[1].From)
	require.Equal(t, RecordedPhase, p.Marks[1].Kind)
	require.Contains(t, p.Marks[1].Text, "decided by the quality lead")
}

func TestRecordingChangeBreaksOnlyWhatItMoves(t *testing.T) {
	e, m := engine(t, 36)
	steady(e, m, 36)
	for i := range 36 {
		share(e, m, intubated, i, 5+i%3, 400)
		share(e, m, temperature, i, 20+i%3, 40)
	}
	say := func(from int, how record.How, unit uint8, site string) record.Recording {
		return record.Recording{Unit: "u", From: begin + record.Month(from), How: how, TimeUnit: unit, Form: "a", TempSite: site}
	}
	m.deliveries[0].Recording = []record.Recording{say(0, record.After, 30, "axilla"), say(12, record.ByDevice, 1, "axilla"), say(24, record.ByDevice, 1, "rectum")}
	freeze(t, e)
	v := unit(t, e, 35)
	timed, tube, temp := page(t, v, begun), page(t, v, intubated), page(t, v, temperature)
	require.Len(t, timed.Chart.Phases, 2)
	require.Equal(t, 12, timed.Chart.Phases[1].From)
	require.Contains(t, timed.Chart.Phases[1].Reason, "From Jan 2023 the unit declared a change of how times are taken.")
	require.Len(t, tube.Chart.Phases, 1)
	require.Len(t, temp.Chart.Phases, 2)
	require.Equal(t, 24, temp.Chart.Phases[1].From)
	require.False(t, tube.Marks[0].Break)
	require.True(t, timed.Marks[0].Break)
}

func TestHeldMonths(t *testing.T) {
	e, m := engine(t, 20)
	steady(e, m, 12)
	freeze(t, e)
	unknown := func(i, met, notMet, unknown int) {
		put(e, m, begun, i, func(c *cell.Cell) { c.Met, c.NotMet, c.Unknown = int32(met), int32(notMet), int32(unknown) })
	}
	for i := 12; i < 19; i++ {
		share(e, m, begun, i, 20, 40)
	}
	// 50 % of 30 known; with 10 unknown the share lies from 37 to 62 %: on either side
	// of the centre, and the eighth in a row hangs on it.
	unknown(19, 15, 15, 10)
	p := page(t, unit(t, e, 19), begun)
	require.Equal(t, "10 of 40 newborns have no answer, and the verdict would hang on them", p.Points[19].Hollow)
	require.True(t, p.Chart.Points[19].Hollow)
	require.Empty(t, p.Signals)
	require.Equal(t, &Bounds{Low: 15.0 / 40, High: 25.0 / 40}, p.Points[19].Bounds)
	require.Equal(t, "", p.NotJudged)

	// The same bounds where no signal hangs on them are drawn full.
	m.cells = m.cells[:12]
	share(e, m, begun, 12, 20, 40)
	unknown(13, 15, 15, 10)
	p = page(t, unit(t, e, 13), begun)
	require.Empty(t, p.Points[13].Hollow)

	// Where only "beyond the limit" hangs on them the month keeps its side of the
	// centre: 25 of 34 is beyond 65 %, 25 of 40 is not beyond 63 %.
	m.cells = m.cells[:12]
	unknown(12, 25, 9, 6)
	p = page(t, unit(t, e, 12), begun)
	require.Empty(t, p.Points[12].Hollow)
	require.Empty(t, p.Signals)
	require.Empty(t, p.Chart.Points[12].Signals)
	require.Contains(t, p.Notes, Note{Code: "held-limits", Text: "Not judged against the limits, because beyond or not would hang on newborns without an answer; judged for its side of the centre.", Labels: []string{"2023-01"}})

	// Three hollow of six: not judged. A run of eight hangs on each of three months.
	m.cells = m.cells[:12]
	for i := 12; i < 17; i++ {
		share(e, m, begun, i, 20, 40)
	}
	for i := 17; i < 20; i++ {
		unknown(i, 15, 15, 10)
	}
	v := unit(t, e, 19)
	p = page(t, v, begun)
	require.Equal(t, "in 3 of the last 6 months the verdict would hang on newborns without an answer", p.NotJudged)
	require.Equal(t, NotJudged, p.Change.Kind)
	require.Equal(t, "Aug 2023: no signal; 1 chart could not be judged.", v.Headline)
}

func TestOpenMonthIsShownApart(t *testing.T) {
	e, m := engine(t, 14)
	steady(e, m, 15)
	freeze(t, e)
	v := unit(t, e, 14)
	require.Equal(t, begin+13, v.Latest)
	require.True(t, v.EarlyLook)
	require.Equal(t, []record.Month{begin + 14}, v.Open)
	p := page(t, v, begun)
	require.True(t, p.Points[14].Open)
	require.True(t, p.Chart.Points[14].Hollow)
	require.Equal(t, "Feb 2023: 14 of 40 (35%)", p.Latest.Text)
	require.Equal(t, "not all its months have closed", p.Points[14].Hollow)
	require.Len(t, p.Figures, 14, "an open month is not issued")
}

func TestMonthsClose(t *testing.T) {
	docs := map[record.Month]int32{begin: 10, begin + 1: 10, begin + 2: 10}
	delivery := func(source string, to int, month, day int) record.Delivery {
		d := complete(begin + record.Month(to))
		d.Source, d.ExtractedAt = source, time.Date(2022, time.Month(month), day, 3, 0, 0, 0, time.UTC)
		return d
	}
	closed := func(s Settings, births []record.Births, ds ...record.Delivery) string {
		c := newCalendar("u", ds, births, docs, s)
		out := ""
		for i := range 4 {
			out += map[bool]string{true: "x", false: "."}[c.closed[begin+record.Month(i)]]
		}
		return out
	}
	grace := Settings{GraceDays: 5}
	for _, c := range []struct {
		name, want string
		got        string
	}{
		{"nothing delivered", "....", closed(grace, nil)},
		{"grace not over", "xx..", closed(grace, nil, delivery("a", 2, 4, 5))},
		{"grace over", "xxx.", closed(grace, nil, delivery("a", 2, 4, 6))},
		{"no grace", "xxx.", closed(Settings{}, nil, delivery("a", 2, 4, 1))},
		{"late, but for an earlier month", "xx..", closed(grace, nil, delivery("a", 1, 6, 1))},
		{"two sources, one late", "xx..", closed(grace, nil, delivery("a", 2, 4, 20), delivery("b", 1, 4, 20))},
		{"the late one has retired", "xxx.", closed(Settings{GraceDays: 5, Retired: map[string]record.Month{"b": begin + 1}}, nil, delivery("a", 2, 4, 20), delivery("b", 1, 4, 20))},
		{"fewer newborns than births", "x.x.", closed(grace, []record.Births{{Unit: "u", Month: begin + 1, Births: 6}, {Unit: "u", Month: begin + 1, Gestation: 40, Births: 5}}, delivery("a", 2, 4, 20))},
		{"as many as births", "xxx.", closed(grace, []record.Births{{Unit: "u", Month: begin + 1, Births: 10}, {Unit: "other", Month: begin, Births: 99}}, delivery("a", 2, 4, 20))},
		{"another unit's delivery", "....", closed(grace, nil, func() record.Delivery {
			d := delivery("a", 2, 4, 20)
			d.Units = []string{"other"}
			return d
		}())},
	} {
		require.Equal(t, c.want, c.got, c.name)
	}
}

func TestRareEvents(t *testing.T) {
	e, m := engine(t, 60)
	// 100 births a month, an event at the 50th birth of two months out of six: gaps of
	// 99 and 499 in turn, on either side of the median of their law.
	for i := range 60 {
		put(e, m, between, i, func(c *cell.Cell) {
			c.Births, c.NotMet = 100, 100
			if i%6 < 2 && i < 48 {
				c.Items, c.Met, c.NotMet = []cell.Item{{Order: 50}}, 1, 99
			}
		})
	}
	b := freeze(t, e)
	require.Len(t, b, 1)
	require.Equal(t, []any{"g", 299.0, 12, begin + 36}, []any{b[0].Chart, b[0].Centre, b[0].Points, b[0].To}, "until twelve whole gaps are seen")
	v := unit(t, e, 47)
	p := page(t, v, between)
	require.Equal(t, ByEvent, p.Period)
	require.Len(t, p.Points, 17, "16 events and the open count")
	require.Equal(t, "49 births or more", p.Points[0].Text, "the first stretch was not seen whole")
	require.Equal(t, "99 births", p.Points[1].Text)
	require.Equal(t, "Dec 2025: 450 births since the last event", p.Latest.Text)
	require.Equal(t, "4 events in 1200 births of the last 12 months", p.Latest.KnownText)
	require.Equal(t, NoChange, p.Change.Kind)
	require.Regexp(t, `^One event in about 300 births, about 1200 births a year: if events became twice as frequent, a run of eight short gaps would take about \d+ events, or \d+\.\d years, to show; no single point can show it\.$`, p.Detectability)

	// The open count is a signal once past the upper limit, and new only then. Upper
	// limit of a geometric law with mean 299: ln(0.00135)/ln(299/300) = 1979.
	for i := 60; i < 70; i++ {
		put(e, m, between, i, func(c *cell.Cell) { c.Births, c.NotMet = 100, 100 })
	}
	m.deliveries = append(m.deliveries, complete(begin+69))
	require.Equal(t, NoChange, page(t, unit(t, e, 62), between).Change.Kind) // 1950 births
	p = page(t, unit(t, e, 63), between)                                     // 2050
	require.Equal(t, Signalled, p.Change.Kind)
	require.Equal(t, spc.Better, p.Change.Verdict)
	require.Equal(t, "Longer than expected without an event: births between chest compressions", p.Title)
	require.Equal(t, Continues, page(t, unit(t, e, 64), between).Change.Kind)
}

func TestOrderOfBirthsNotKnown(t *testing.T) {
	e, m := engine(t, 3)
	put(e, m, between, 0, func(c *cell.Cell) { c.Births, c.Met, c.NotMet, c.Items = 100, 1, 99, []cell.Item{{Order: 0}} })
	require.Equal(t, "Not computable here: the order of births is not known for every event.", page(t, unit(t, e, 0), between).Absent)
}

func TestCoverageNeeded(t *testing.T) {
	e, m := engine(t, 3)
	share(e, m, begun, 0, 3, 9)
	share(e, m, intubated, 0, 3, 9)
	m.deliveries[0].Coverage = record.NewbornHelped
	v := unit(t, e, 0)
	require.Equal(t, "Not computable here: the source sends newborns who were helped. Births between events can be counted only where every birth is sent.", page(t, v, between).Absent)
	require.NotEmpty(t, page(t, v, intubated).Absent)
	require.Empty(t, page(t, v, begun).Absent)
	require.Empty(t, freeze(t, e))
}

func TestValuesAreSharesWithEnds(t *testing.T) {
	e, m := engine(t, 24)
	// Of ten newborns six have a sign at 25 to 90 s, four met a tube at 45 to 80 s:
	// leaving those out would make all of them effective by 90 s.
	signs := []float64{25, 38, 51, 64, 77, 90}
	tubes := []float64{45, 55, 65, 80}
	for i := range 24 {
		put(e, m, effective, i, func(c *cell.Cell) {
			order := int32(0)
			for _, s := range signs {
				order++
				c.Items = append(c.Items, cell.Item{Order: order, Low: s, High: s, End: "heart-rate-100"})
			}
			for _, s := range tubes {
				order++
				c.Items = append(c.Items, cell.Item{Order: order, Low: s, High: s, End: "airway-attempt"})
			}
			c.Items = append(c.Items, cell.Item{Order: 11, Low: 45, High: 75, End: "heart-rate-rise"})
			c.Met, c.NotMet = 7, 4
		})
	}
	p := page(t, unit(t, e, 23), effective)
	require.Equal(t, "share with a sign within 60 seconds of ventilation", p.Axis.Title)
	last := p.Points[len(p.Points)-1]
	require.Equal(t, Quarterly, p.Period)
	require.Equal(t, []int32{9, 30, 33, 3}, []int32{last.Met, last.Known, last.Eligible, last.Undecided}, "three of ten by 60 s, one undecided, three months")
	require.Equal(t, spc.Up, p.Chart.Favourable, "a larger share is better although fewer seconds are")

	r := p.Rolling
	require.Equal(t, []float64{30, 60, 120}, r.Limits)
	require.Len(t, r.Rows, 13)
	row := r.Rows[12]
	require.Equal(t, []int{12, 36, 84}, row.Within)
	require.Equal(t, []int{0, 12, 0}, row.Straddle)
	require.Equal(t, []Count{{Name: "an airway attempt", Count: 48}}, row.OtherEnds)
	require.Equal(t, 132, row.Newborns)
	require.Equal(t, 77.0, *row.Median, "the sixth of eleven, the interval at its longest")
	require.Equal(t, "half had a sign by 77 s", row.Text)

	n := p.Newborns
	require.Len(t, n.Marks, 264)
	require.Equal(t, Newborn{Place: 7, Month: begin, Low: 45, High: 45, Sign: false, End: "an airway attempt", EndCode: "airway-attempt", Open: false, Closed: true}, n.Marks[6])
	require.True(t, n.Marks[10].Open && n.Marks[10].Sign)
	require.True(t, n.Log)

	kinds := map[string]int64{}
	for _, s := range p.Flow.Steps {
		kinds[s.Kind] += s.Count
	}
	require.Equal(t, []int64{9, 9, 12, 3}, []int64{kinds["met"], kinds["not-met"], kinds["end"], kinds["undecided"]})

	half := []item{{Item: cell.Item{Low: 10, High: 10, End: "heart-rate-100"}}, {Item: cell.Item{Low: 5, High: 5, End: "stopped"}}, {Item: cell.Item{Low: 5, High: 5, End: "died"}}}
	d, _ := e.Catalogue.Get(effective)
	require.Nil(t, medianSign(d, half), "half did not reach a sign")
	require.Nil(t, medianSign(d, nil))
}

func TestSectionNeverMarked(t *testing.T) {
	e, m := engine(t, 12)
	for i := range 12 {
		put(e, m, anyStep, i, func(c *cell.Cell) { c.Met, c.Unknown = 6, 30 })
	}
	v := unit(t, e, 11)
	p := page(t, v, anyStep)
	require.Equal(t, "Any corrective step on record", p.Title)
	require.Contains(t, p.NotJudged, `the source never marks the section "steps" as charted`)
	require.Empty(t, p.Chart.Rules)
	require.Empty(t, p.Signals)
}

func TestFlowNamesEveryLoss(t *testing.T) {
	e, m := engine(t, 1)
	put(e, m, begun, 0, func(c *cell.Cell) {
		c.Outside, c.EligibilityUnknown, c.Excluded, c.Exceptions = 80, 5, []int32{2, 1}, []int32{3}
		c.Unknown, c.Undecided, c.NotMet, c.Met, c.Presumed = 4, 2, 7, 9, 1
	})
	got := ""
	for _, s := range page(t, unit(t, e, 0), begun).Flow.Steps {
		got += fmt.Sprintf("%s%d %s\n", map[bool]string{true: "-", false: "="}[s.Loss], s.Count, s.Name)
	}
	require.Equal(t, `=113 births on record
-80 outside the population
-5 cannot be told whether they belong
=28 in the population
-2 left out: diaphragmatic hernia known before birth
-1 left out: comfort care, no support given
-3 not met, with a documented reason: a decision was awaited
-4 answer not recorded
-2 recorded times allow both answers
=16 known
=1 of those, counted as presumed
=9 met
=7 not met
`, got)
}

func TestStrata(t *testing.T) {
	e, m := engine(t, 24)
	for i := range 24 {
		put(e, m, begun, i, func(c *cell.Cell) { c.Band, c.Met, c.NotMet = record.Band22, 0, 1 })
		if i < 19 {
			put(e, m, begun, i, func(c *cell.Cell) { c.Band, c.Met, c.Excluded = record.BandUnknown, 1, []int32{1, 0} })
		}
		put(e, m, begun, i, func(c *cell.Cell) { c.Band, c.Outside = record.Band37, 9 })
	}
	s := page(t, unit(t, e, 23), begun).Strata
	require.Len(t, s, 1)
	zero := 0.0
	require.Equal(t, []StratumRow{
		{Name: "22-24 weeks", Met: 0, Known: 24, Eligible: 24, Rate: &zero},
		{Name: "gestation unknown", Met: 19, Known: 19, Eligible: 19, Excluded: 19, Rate: nil},
	}, s[0].Rows, "no rate under twenty, no line for newborns outside")
}

func TestRestated(t *testing.T) {
	e, m := engine(t, 3)
	share(e, m, begun, 0, 3, 9)
	share(e, m, begun, 1, 5, 9)
	share(e, m, begun, 2, 5, 9)
	issued := page(t, unit(t, e, 2), begun).Figures
	require.Len(t, issued, 3)
	require.Empty(t, page(t, unit(t, e, 2, issued...), begun).Restated)
	put(e, m, begun, 1, func(c *cell.Cell) { c.Band, c.Met, c.Unknown = record.Band28, 1, 1 })
	r := page(t, unit(t, e, 2, issued...), begun).Restated
	require.Len(t, r, 1)
	require.Equal(t, "Feb 2022: 5 of 9 was issued, 6 of 10 now (late, corrected or withdrawn records).", r[0].Text)
	issued[1].Basis = "older:1"
	require.Contains(t, page(t, unit(t, e, 2, issued...), begun).Restated[0].Text, "the definition, or how facts are derived, changed")
}

func TestNoData(t *testing.T) {
	e, _ := engine(t, 3)
	v := unit(t, e, 1)
	require.Equal(t, "No month has closed yet.", v.Headline)
	require.Equal(t, "no-data", v.Notes[0].Code)
	for _, p := range v.Measures {
		require.Equal(t, "No newborn on record up to this month.", p.Absent)
	}
}

func TestHeldBackIsPrinted(t *testing.T) {
	e, m := engine(t, 1)
	share(e, m, begun, 0, 3, 9)
	m.held = map[string]int64{"key": 1, "month": 2}
	m.deliveries[0].Synthetic = true
	v := unit(t, e, 0)
	require.Equal(t, []Count{{"key", 1}, {"month", 2}}, v.Held)
	require.Equal(t, []Count{{"range", 2}}, v.SetAside)
	text := ""
	for _, n := range v.Notes {
		text += n.Text + "\n"
	}
	require.Contains(t, text, "3 newborns of deliveries that cover Jan 2022 are held back and in no figure.")
	require.Contains(t, text, "Synthetic data.")
}

func TestByChance(t *testing.T) {
	e, m := engine(t, 36)
	steady(e, m, 36)
	freeze(t, e)
	v := unit(t, e, 35)
	require.Positive(t, v.Charts)
	// Two rules: 2.7 in a thousand for the limits and one in 128 for being in a run of
	// eight; more because the centre is estimated from twelve months and because a
	// month on the centre does not end a run.
	require.Greater(t, v.ByChance, 0.0105)
	require.Less(t, v.ByChance, 0.04)
	require.Contains(t, v.ByChanceIn, "would signal this month by chance alone")
}

func TestNewbornsOfAnotherMeasureAndRunChart(t *testing.T) {
	e, m := engine(t, 14)
	const first = "seconds-to-first-ventilation"
	for i := range 14 {
		share(e, m, begun, i, 8, 20)
		put(e, m, first, i, func(c *cell.Cell) {
			c.Met = 4
			for j, s := range []float64{40, 50, 70, 120} {
				c.Items = append(c.Items, cell.Item{Order: int32(4 - j), Low: s, High: s})
			}
			c.Items = append(c.Items, cell.Item{Order: 9, Low: 45, High: 75})
		})
	}
	v := unit(t, e, 13)
	n := page(t, v, begun).Newborns
	require.Len(t, n.Marks, 70)
	require.Equal(t, []float64{120, 70, 50, 40}, []float64{n.Marks[0].Low, n.Marks[1].Low, n.Marks[2].Low, n.Marks[3].Low}, "in order of birth")
	require.True(t, n.Marks[4].Open)
	require.Equal(t, 60.0, n.Line)
	require.Equal(t, "seconds from birth", n.Axis.Title)
	require.Equal(t, "70 newborns in order of birth, Jan 2022 to Feb 2023; median 70 s.", n.Text)

	p := page(t, v, first)
	require.Equal(t, spc.Run, p.Chart.Kind)
	require.Equal(t, 60.0, p.Latest.Value, "median of the four that are known to the second: between 50 and 70")
	require.Contains(t, p.Baseline.Reason, "run chart of the median")
	require.Nil(t, page(t, v, intubated).Newborns)
}
