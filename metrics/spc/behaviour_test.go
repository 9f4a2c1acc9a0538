package spc_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/metrics/spc"
)

var unitNormal = &spc.Baseline{Centre: 0, Sigma: 1, Points: 100}

func words(c spc.Chart) []string {
	out := []string{}
	for _, s := range c.Signals {
		out = append(out, s.Words)
	}
	return out
}

func TestRunOfEightIsOneSignalThatGrows(t *testing.T) {
	c := plotFrom(t, spc.XmR, spc.Values(nil, constant(11, -0.5)), unitNormal, spc.Options{Favourable: spc.Up})
	require.Len(t, c.Signals, 1)
	s := c.Signals[0]
	require.Equal(t, []int{7, 8, 9, 10}, s.At)
	require.Equal(t, indexes(11), s.Members)
	require.Equal(t, "eleven points in a row below the centre", s.Words)
	require.Equal(t, spc.Worse, s.Verdict)
	require.Equal(t, []spc.RuleID{spc.EightOneSide}, c.Points[3].Member)
	require.Empty(t, c.Points[3].Signals)
	require.Equal(t, "eight points in a row below the centre", plotFrom(t, spc.XmR, spc.Values(nil, constant(8, -0.5)), unitNormal, spc.Options{}).Signals[0].Words)
	require.Empty(t, plotFrom(t, spc.XmR, spc.Values(nil, constant(7, -0.5)), unitNormal, spc.Options{}).Signals)
}

func TestPointsOnTheCentreNeitherCountNorBreak(t *testing.T) {
	x := []float64{1, 1, 1, 1, 0, 1, 1, 0, 1}
	require.Empty(t, plotFrom(t, spc.XmR, spc.Values(nil, x), unitNormal, spc.Options{}).Signals)
	c := plotFrom(t, spc.XmR, spc.Values(nil, append(x, 1)), unitNormal, spc.Options{})
	require.Equal(t, []int{9}, c.Signals[0].At)
	require.NotContains(t, c.Signals[0].Members, 4)
}

func TestGapsHollowAndAsidePointsArePassedOverAndSaidSo(t *testing.T) {
	s := spc.Values(nil, constant(11, 1))
	s.Points[2].Missing = true
	s.Points[4].Hollow = true
	s.Points[6].SetAside, s.Points[6].Num, s.Points[6].SetReason = true, 9, "generator failed"
	c := plotFrom(t, spc.XmR, s, unitNormal, spc.Options{})
	require.Equal(t, []string{
		"one point beyond the upper limit",
		"eight points in a row above the centre, passing over three points that cannot be judged",
	}, words(c))
	require.Equal(t, []int{6}, c.Signals[0].At, "a point set aside is still judged against the limits")
	require.True(t, c.Points[2].Gap)
	require.Nil(t, c.Points[3].MovingRange, "a moving range does not bridge a gap")
	require.Subset(t, codes(c), []spc.Code{spc.GapsDrawn, spc.HollowDrawn, spc.AsideDrawn})
	for _, w := range c.Warnings {
		if w.Code == spc.AsideDrawn {
			require.Contains(t, w.Text, "7: generator failed")
		}
	}
	s.Points[4].Num = 99
	require.Len(t, plotFrom(t, spc.XmR, s, unitNormal, spc.Options{}).Signals, 2, "a hollow point is not judged")
}

func TestRulesAndRangesStopAtAPhase(t *testing.T) {
	x := constant(14, 1)
	o := spc.Options{Phases: []spc.PhaseStart{{From: 7, Reason: "new form", Baseline: unitNormal}}}
	c := plotFrom(t, spc.XmR, spc.Values(nil, x), unitNormal, o)
	require.Empty(t, c.Signals)
	require.Nil(t, c.Points[7].MovingRange)
	require.Len(t, c.Phases, 2)
	require.Equal(t, "new form", c.Phases[1].Reason)
	require.Len(t, plotFrom(t, spc.XmR, spc.Values(nil, x), unitNormal, spc.Options{}).Signals, 1, "without the phase it is a run")
}

func TestSignalsNeedStrictlyBeyond(t *testing.T) {
	c := plotFrom(t, spc.XmR, spc.Values(nil, []float64{3, -3, 3.0000001, -3.0000001, 3 + 1e-13}), unitNormal, spc.Options{})
	require.Equal(t, []int{3, 4}, completing(c, spc.BeyondLimits))
	require.Equal(t, []string{"one point beyond the upper limit", "one point beyond the lower limit"}, words(c))
}

func TestNoLimitIsNilAndNeverSignals(t *testing.T) {
	// 11 cases a month at 39 %: no lower limit; a month of 0 of 11 is no signal.
	s := spc.Ratios(nil, []float64{0, 4, 11}, constant(3, 11))
	c := plotFrom(t, spc.P, s, &spc.Baseline{Centre: 0.39, Points: 30}, spc.Options{})
	require.Nil(t, c.Points[0].Lower)
	require.Equal(t, 0.0, *c.Points[0].LowerRaw)
	require.Empty(t, c.Points[0].Signals)
	require.Equal(t, []int{3}, completing(c, spc.BeyondLimits))
	require.Contains(t, codes(c), spc.NoLowerLimit)
	// At 55 % there is no upper limit.
	c = plotFrom(t, spc.P, s, &spc.Baseline{Centre: 0.55, Points: 30}, spc.Options{})
	require.Nil(t, c.Points[2].Upper)
	require.Empty(t, c.Points[2].Signals)
	require.Contains(t, codes(c), spc.NoUpperLimit)
}

func TestOpenGapPastTheLimitIsASignal(t *testing.T) {
	s, err := spc.Gaps([]int{100, 120, 200, 260, 310, 400}, 1500)
	require.NoError(t, err)
	require.Equal(t, []float64{99, 19, 79, 59, 49, 89, 1100}, func() (v []float64) {
		for _, o := range s.Points {
			v = append(v, o.Num)
		}
		return v
	}())
	c := plot(t, spc.G, s, spc.Options{Favourable: spc.Up})
	require.InDelta(t, 59, stat(t, c, "mean_gap"), 1e-12, "the two stretches not seen whole are left out")
	require.Equal(t, []int{7}, completing(c, spc.BeyondLimits))
	require.Equal(t, "one point beyond the upper limit (its true value is this or more)", c.Signals[0].Words)
	require.Equal(t, spc.Better, c.Signals[0].Verdict)
	require.Contains(t, codes(c), spc.IncompleteGaps)
	require.Contains(t, codes(c), spc.NoWorsening)

	for _, bad := range [][]int{{0}, {5, 5}, {5, 4}, {11}} {
		_, err := spc.Gaps(bad, 10)
		require.Error(t, err)
	}
	none, err := spc.Gaps(nil, 10)
	require.NoError(t, err)
	require.Contains(t, codes(plot(t, spc.G, none, spc.Options{})), spc.NoBaseline)
	empty, err := spc.Gaps(nil, 0)
	require.NoError(t, err)
	require.Empty(t, plot(t, spc.G, empty, spc.Options{}).Points)
}

func TestRulesThatDoNotFitAreDroppedAloud(t *testing.T) {
	for _, tc := range []struct {
		k    spc.Kind
		set  string
		kept []spc.RuleID
	}{
		{spc.G, "nelson", []spc.RuleID{spc.BeyondLimits, spc.NineOneSide, spc.SixTrend, spc.Alternating}},
		{spc.Run, "western-electric", []spc.RuleID{spc.EightOneSide}},
		{spc.XmR, "run-chart", nil},
		{spc.Cusum, "health-care", nil},
		{spc.C, "western-electric", []spc.RuleID{spc.BeyondLimits, spc.EightOneSide}},
	} {
		c := plot(t, tc.k, spc.Values(nil, []float64{1, 2, 3, 1, 2, 4}), spc.Options{Rules: rules(t, tc.set)})
		var kept []spc.RuleID
		for _, r := range c.Rules {
			kept = append(kept, r.ID)
		}
		require.Equal(t, tc.kept, kept, "%s %s", tc.k, tc.set)
		require.Contains(t, codes(c), spc.RuleDropped)
	}
	_, err := spc.RulesNamed("of-thumb")
	require.ErrorContains(t, err, "hint: one of default")
	_, err = spc.Plot(spc.XmR, spc.Values(nil, []float64{1, 2}), nil, spc.Options{Rules: spc.RuleSet{Name: "own", Rules: []spc.RuleID{"gut-feeling"}}})
	require.Error(t, err)
	set, err := spc.RulesNamed("western-electric", spc.FourOfFive, spc.TwoOfThree)
	require.NoError(t, err)
	require.Equal(t, []spc.RuleID{spc.BeyondLimits, spc.EightOneSide}, set.Rules)
	_, err = spc.RulesNamed("nelson", "gut-feeling")
	require.Error(t, err)
}

func TestBadSeriesAreRefusedWithTheRow(t *testing.T) {
	for name, tc := range map[string]struct {
		k spc.Kind
		s spc.Series
	}{
		"more events than cases": {spc.P, spc.Ratios([]string{"2024-05"}, []float64{5}, []float64{4})},
		"negative":               {spc.C, spc.Values([]string{"2024-05"}, []float64{-1})},
		"fraction":               {spc.P, spc.Ratios([]string{"2024-05"}, []float64{0.5}, []float64{4})},
		"infinite":               {spc.XmR, spc.Values([]string{"2024-05"}, []float64{math.Inf(1)})},
		"events without cases":   {spc.U, spc.Ratios([]string{"2024-05"}, []float64{3}, []float64{0})},
		"negative time":          {spc.T, spc.Values([]string{"2024-05"}, []float64{-3})},
		"zero time":              {spc.T, spc.Values([]string{"2024-05"}, []float64{0})},
		"subgroup":               {spc.XbarR, spc.Subgroups([]string{"2024-05"}, [][]float64{{1, math.NaN()}})},
	} {
		_, err := spc.Plot(tc.k, tc.s, nil, spc.Options{})
		require.ErrorContains(t, err, "row 1 (2024-05)", name)
	}
	_, err := spc.Plot(spc.NP, spc.Ratios([]string{"a", "b"}, []float64{1, 1}, []float64{5, 6}), nil, spc.Options{})
	require.ErrorContains(t, err, "use a p chart")
	_, err = spc.Plot(spc.P, spc.Ratios(nil, []float64{1}, []float64{5}), &spc.Baseline{Centre: 1.2}, spc.Options{})
	require.ErrorContains(t, err, "no proportion")
	_, err = spc.Plot(spc.P, spc.Ratios(nil, []float64{1}, []float64{5}), nil, spc.Options{BaselineUntil: "2020-01"})
	require.ErrorContains(t, err, `no row is labelled "2020-01"`)
	_, err = spc.Plot(spc.MovingRange, spc.Series{}, nil, spc.Options{})
	require.Error(t, err)
}

func TestZeroTimesAreLiftedAndSaidSo(t *testing.T) {
	c := plot(t, spc.T, spc.Values(nil, []float64{0, 5, 9}), spc.Options{TimeUnit: 1})
	require.Equal(t, 0.5, c.Points[0].Value)
	require.Contains(t, codes(c), spc.ZeroTimes)
}

func TestShortBaselinesAreProvisional(t *testing.T) {
	for _, tc := range []struct {
		points int
		n      float64
		want   bool
	}{{11, 100, true}, {19, 100, true}, {20, 100, false}, {23, 11, true}, {24, 11, false}} {
		c := plot(t, spc.P, spc.Ratios(nil, constant(tc.points, 4), constant(tc.points, tc.n)), spc.Options{})
		require.Equal(t, tc.want, c.Phases[0].Provisional, "%d points of %v", tc.points, tc.n)
	}
}

func TestFewerThanTenUsefulPointsAreNotJudged(t *testing.T) {
	x := []float64{1, 1, 1, 1, 9, 9, 9, 9, 9}
	c := plotFrom(t, spc.Run, spc.Values(nil, x), &spc.Baseline{Centre: 5, Points: 20}, spc.Options{})
	require.Empty(t, c.Signals)
	require.Contains(t, codes(c), spc.FewPoints)
}

func TestLongRunAboutAStoredMedian(t *testing.T) {
	x := append([]float64{4, 6, 4, 6, 4, 6, 4, 6, 4}, constant(9, 7)...)
	c := plotFrom(t, spc.Run, spc.Values(nil, x), &spc.Baseline{Centre: 5, Points: 20}, spc.Options{Favourable: spc.Up})
	require.Equal(t, []string{"nine points in a row above the median"}, words(c))
	require.Equal(t, []int{16, 17}, c.Signals[0].At, "the limit for 18 useful points is 7: the eighth completes it")
	require.Equal(t, spc.Better, c.Signals[0].Verdict)
}

func TestJSONHoldsWhatTheCommandPrints(t *testing.T) {
	s := spc.Ratios([]string{"Jan", "Feb", "Mar"}, []float64{3, math.NaN(), 40}, []float64{50, 50, 50})
	c := plot(t, spc.P, s, spc.Options{BaselineFirst: 1})
	raw, err := json.Marshal(c)
	require.NoError(t, err)
	var d map[string]any
	require.NoError(t, json.Unmarshal(raw, &d))
	require.Equal(t, "p", d["chart"])
	require.Equal(t, 0.06, d["centre"])
	points := d["points"].([]any)
	require.Nil(t, points[1].(map[string]any)["value"])
	require.Nil(t, points[0].(map[string]any)["lower"])
	require.Equal(t, 0.0, points[0].(map[string]any)["lower_raw"])
	require.Equal(t, []any{"beyond-limits"}, points[2].(map[string]any)["signals"])
	require.Equal(t, 0.06, d["summary"].(map[string]any)["mean"])
	require.Equal(t, 1.0, points[0].(map[string]any)["phase"])
	require.NotEmpty(t, d["warnings"])
}

func BenchmarkPlotP48(b *testing.B) {
	s := spc.Ratios(nil, constant(48, 5), constant(48, 11))
	for b.Loop() {
		if _, err := spc.Plot(spc.P, s, nil, spc.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPlotXmR48Nelson(b *testing.B) {
	x := make([]float64, 48)
	for i := range x {
		x[i] = math.Sin(float64(i * i))
	}
	set, _ := spc.RulesNamed("nelson")
	for b.Loop() {
		if _, err := spc.Plot(spc.XmR, spc.Values(nil, x), nil, spc.Options{Rules: set}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDetect(b *testing.B) {
	w := spc.Watch{Kind: spc.P, N: []float64{11}, BaselineN: constant(24, 11)}
	for b.Loop() {
		if _, err := w.Detect(0.39, 0.5, 240); err != nil {
			b.Fatal(err)
		}
	}
}
