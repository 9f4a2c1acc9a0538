package metrics

import (
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
	require.Equal(t, "Jul 2024: 22 of 40 (55 %)", p.Latest.Text)
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
	require.Equal(t, "2024 Q1: 13 of 33 (39 %)", page(t, unit(t, e, 26), begun).Latest.Text)
	require.Contains(t, p.Detectability, "a quarter, a change from 41 % to 56 % would ")
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
	require.Equal(t, "Feb 2023: 14 of 40 (35 %)", p.Latest.Text)
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
		var outSb334 strings.Builder
		for i := range 4 {
			outSb334.WriteString(map[bool]string{true: "x", false: "."}[c.closed[begin+record.Month(i)]])
		}
		out += outSb334.String()
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
