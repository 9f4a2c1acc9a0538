package metrics

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/spc"
)

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
	var gotSb149 strings.Builder
	for _, s := range page(t, unit(t, e, 0), begun).Flow.Steps {
		fmt.Fprintf(&gotSb149, "%s%d %s\n", map[bool]string{true: "-", false: "="}[s.Loss], s.Count, s.Name)
	}
	got += gotSb149.String()
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
	var textSb221 strings.Builder
	for _, n := range v.Notes {
		textSb221.WriteString(n.Text + "\n")
	}
	text += textSb221.String()
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
