package spc_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/metrics/spc"
)

var asked = []spc.Kind{spc.P, spc.NP, spc.PPrime, spc.C, spc.U, spc.UPrime, spc.Run, spc.XmR, spc.XbarR, spc.XbarS, spc.G, spc.T, spc.EWMA, spc.Cusum}

// drawSeries makes a series that the kind accepts, with gaps, hollow points and
// points set aside.
func drawSeries(t *rapid.T, k spc.Kind) spc.Series {
	rows := rapid.IntRange(0, 40).Draw(t, "rows")
	constantN := float64(rapid.IntRange(1, 60).Draw(t, "n"))
	s := spc.Series{Ratio: rapid.Bool().Draw(t, "ratio")}
	for range rows {
		o := spc.Observation{
			Missing:  rapid.IntRange(0, 9).Draw(t, "missing") == 0,
			SetAside: rapid.IntRange(0, 9).Draw(t, "aside") == 0,
			Hollow:   rapid.IntRange(0, 9).Draw(t, "hollow") == 0,
			AtLeast:  rapid.IntRange(0, 19).Draw(t, "at least") == 0,
		}
		switch k {
		case spc.P, spc.PPrime, spc.NP:
			o.N = constantN
			if k != spc.NP {
				o.N = float64(rapid.IntRange(0, 60).Draw(t, "n"))
			}
			o.Num = float64(rapid.IntRange(0, int(o.N)).Draw(t, "events"))
		case spc.U, spc.UPrime:
			o.N = float64(rapid.IntRange(0, 120).Draw(t, "exposure")) / 4
			if o.N > 0 {
				o.Num = float64(rapid.IntRange(0, 40).Draw(t, "events"))
			}
		case spc.C, spc.G:
			o.Num = float64(rapid.IntRange(0, 400).Draw(t, "count"))
		case spc.T:
			o.Num = rapid.Float64Range(0, 1e4).Draw(t, "time")
		case spc.XbarR, spc.XbarS:
			o.Sub = rapid.SliceOfN(rapid.Float64Range(-1e3, 1e3), 0, 8).Draw(t, "subgroup")
		default:
			o.N = float64(rapid.IntRange(0, 120).Draw(t, "exposure")) / 4
			if o.N > 0 || !s.Ratio {
				o.Num = rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
			}
		}
		s.Points = append(s.Points, o)
	}
	return s
}

func drawOptions(t *rapid.T, rows int) spc.Options {
	set, err := spc.RulesNamed(rapid.SampledFrom(spc.RuleSetNames()).Draw(t, "rules"))
	require.NoError(t, err)
	o := spc.Options{
		Rules:  set,
		Limits: rapid.SampledFrom([]spc.LimitMethod{spc.Auto, spc.Normal, spc.Exact}).Draw(t, "limits"),
		Sigma:  rapid.SampledFrom([]spc.SigmaMethod{spc.MeanMR, spc.MedianMR, spc.ScreenedMR, spc.SampleSD}).Draw(t, "sigma"),
		// Times of zero need a resolution.
		TimeUnit:   1,
		Favourable: rapid.SampledFrom([]spc.Direction{spc.Down, spc.Level, spc.Up}).Draw(t, "favourable"),
	}
	if rapid.Bool().Draw(t, "frozen") {
		o.BaselineFirst = rapid.IntRange(1, 30).Draw(t, "baseline")
	}
	if rows > 4 && rapid.Bool().Draw(t, "phases") {
		o.Phases = []spc.PhaseStart{{From: rapid.IntRange(1, rows-1).Draw(t, "from"), Reason: "recorded"}}
	}
	return o
}

func TestEveryChartIsOrderedFiniteAndWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom(asked).Draw(t, "kind")
		s := drawSeries(t, k)
		o := drawOptions(t, len(s.Points))
		c, err := spc.Plot(k, s, nil, o)
		require.NoError(t, err)
		require.Len(t, c.Points, len(s.Points))
		raw, err := json.Marshal(c) // fails on a NaN or an infinity
		require.NoError(t, err)
		require.NotContains(t, string(raw), "NaN")
		for _, p := range c.Points {
			if p.Centre != nil && p.Lower != nil {
				require.LessOrEqual(t, *p.Lower, *p.Centre)
			}
			if p.Centre != nil && p.Upper != nil {
				require.LessOrEqual(t, *p.Centre, *p.Upper)
			}
			if (k == spc.P || k == spc.PPrime) && p.Centre != nil {
				require.True(t, *p.Centre >= 0 && *p.Centre <= 1)
				require.True(t, p.Lower == nil || *p.Lower > 0)
				require.True(t, p.Upper == nil || *p.Upper < 1)
			}
			if p.Gap || p.Hollow {
				require.Empty(t, p.Signals, "a gap or a hollow point is not judged")
			}
			if len(p.Signals) > 0 {
				require.True(t, p.Has)
			}
		}
		last := -1
		for _, s := range c.Signals {
			require.GreaterOrEqual(t, s.At[0], last)
			last = s.At[0]
			require.NotEmpty(t, s.Words)
			for _, m := range s.Members {
				require.Equal(t, s.Phase, c.Points[m].Phase, "a rule does not cross the start of a phase")
			}
			require.Equal(t, spc.Judge(s.Direction, o.Favourable), s.Verdict)
		}
		require.Equal(t, 0, c.Phases[0].From)
		require.Equal(t, len(s.Points)-1, c.Phases[len(c.Phases)-1].To)
	})
}

func TestLaterPointsNeverMoveFrozenLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom(asked).Draw(t, "kind")
		s := drawSeries(t, k)
		if len(s.Points) < 3 {
			return
		}
		first := rapid.IntRange(1, len(s.Points)-1).Draw(t, "baseline")
		cut := rapid.IntRange(first, len(s.Points)).Draw(t, "cut")
		o := spc.Options{BaselineFirst: first, TimeUnit: 1}
		long, err := spc.Plot(k, s, nil, o)
		require.NoError(t, err)
		part := s
		part.Points = s.Points[:cut]
		short, err := spc.Plot(k, part, nil, o)
		require.NoError(t, err)
		require.Equal(t, short.Phases[0].Baseline, long.Phases[0].Baseline)
		for i := range short.Points {
			require.Equal(t, short.Points[i].Upper, long.Points[i].Upper)
			require.Equal(t, short.Points[i].Lower, long.Points[i].Lower)
		}
		if long.Phases[0].Baseline.Points == 0 {
			return
		}
		// A stored baseline draws the same limits as the window it came from.
		stored := long.Phases[0].Baseline
		again, err := spc.Plot(k, s, &stored, spc.Options{TimeUnit: 1})
		require.NoError(t, err)
		for i := range again.Points {
			require.Equal(t, long.Points[i].Upper, again.Points[i].Upper)
			require.Equal(t, long.Points[i].Lower, again.Points[i].Lower)
			require.Equal(t, long.Points[i].Signals, again.Points[i].Signals)
		}
	})
}

func TestAffineMapsMoveLimitsAndKeepSignals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom([]spc.Kind{spc.XmR, spc.Run, spc.EWMA, spc.Cusum}).Draw(t, "kind")
		// Whole numbers, so that ties and points on a line stay what they are.
		x := rapid.SliceOfN(rapid.IntRange(-40, 40), 2, 60).Draw(t, "x")
		scale := float64(rapid.IntRange(1, 50).Draw(t, "scale"))
		shift := float64(rapid.IntRange(-1000, 1000).Draw(t, "shift"))
		a, b := make([]float64, len(x)), make([]float64, len(x))
		for i, v := range x {
			a[i], b[i] = float64(v), scale*float64(v)+shift
		}
		o := spc.Options{}
		if k == spc.XmR {
			o.Rules, _ = spc.RulesNamed("nelson")
		}
		one, err := spc.Plot(k, spc.Values(nil, a), nil, o)
		require.NoError(t, err)
		two, err := spc.Plot(k, spc.Values(nil, b), nil, o)
		require.NoError(t, err)
		for i := range one.Points {
			require.Equal(t, one.Points[i].Signals, two.Points[i].Signals)
			if p, q := one.Points[i].Upper, two.Points[i].Upper; p != nil && k != spc.Cusum {
				require.InDelta(t, scale**p+shift, *q, 1e-6)
			}
		}
	})
}

func TestFourTimesTheCasesHalveTheWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := float64(rapid.IntRange(20, 400).Draw(t, "n"))
		events := rapid.SliceOfN(rapid.IntRange(1, int(n)-1), 2, 30).Draw(t, "events")
		for _, k := range []spc.Kind{spc.P, spc.U} {
			var one, four []float64
			for _, e := range events {
				one, four = append(one, float64(e)), append(four, 4*float64(e))
			}
			o := spc.Options{Limits: spc.Normal}
			a, err := spc.Plot(k, spc.Ratios(nil, one, constant(len(one), n)), nil, o)
			require.NoError(t, err)
			b, err := spc.Plot(k, spc.Ratios(nil, four, constant(len(one), 4*n)), nil, o)
			require.NoError(t, err)
			width := func(c spc.Chart) float64 { return *c.Points[0].UpperRaw - *c.Points[0].LowerRaw }
			require.InEpsilon(t, width(a)/2, width(b), 1e-9)
		}
	})
}

func TestOrderInsideASubgroupIsIrrelevant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := rapid.SliceOfN(rapid.SliceOfN(rapid.IntRange(-50, 50), 1, 7), 2, 12).Draw(t, "groups")
		one, two := make([][]float64, len(g)), make([][]float64, len(g))
		for i, sub := range g {
			for _, v := range sub {
				one[i] = append(one[i], float64(v))
			}
			for _, j := range rapid.Permutation(indexes(len(sub))).Draw(t, "order") {
				two[i] = append(two[i], float64(sub[j]))
			}
		}
		for _, k := range []spc.Kind{spc.XbarR, spc.XbarS} {
			a, err := spc.Plot(k, spc.Subgroups(nil, one), nil, spc.Options{})
			require.NoError(t, err)
			b, err := spc.Plot(k, spc.Subgroups(nil, two), nil, spc.Options{})
			require.NoError(t, err)
			require.InDelta(t, a.Phases[0].Baseline.Centre, b.Phases[0].Baseline.Centre, 1e-9)
			require.InDelta(t, a.Phases[0].Baseline.Sigma, b.Phases[0].Baseline.Sigma, 1e-9)
		}
	})
}

func indexes(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

func TestAnyInputGivesAnErrorOrAFiniteChart(t *testing.T) {
	odd := rapid.SampledFrom([]float64{
		0, 1, -1, 0.5, 3, 1e300, -1e300, 1e99, math.MaxFloat64, math.SmallestNonzeroFloat64,
		math.NaN(), math.Inf(1), math.Inf(-1), 1 << 53, 1<<53 + 2,
	})
	rapid.Check(t, func(t *rapid.T) {
		k := spc.Kind(rapid.IntRange(0, 20).Draw(t, "kind"))
		var s spc.Series
		for range rapid.IntRange(0, 14).Draw(t, "rows") {
			s.Points = append(s.Points, spc.Observation{
				Num: odd.Draw(t, "num"), N: odd.Draw(t, "n"), Sub: rapid.SliceOfN(odd, 0, 4).Draw(t, "sub"),
				Missing: rapid.Bool().Draw(t, "missing"), Hollow: rapid.IntRange(0, 5).Draw(t, "h") == 0,
			})
		}
		o := spc.Options{
			Limits:        spc.LimitMethod(rapid.IntRange(0, 4).Draw(t, "limits")),
			Sigma:         spc.SigmaMethod(rapid.IntRange(0, 6).Draw(t, "sigma")),
			BaselineFirst: rapid.IntRange(-1, 5).Draw(t, "first"),
			TimeUnit:      odd.Draw(t, "unit"),
			Memory:        spc.Memory{Lambda: odd.Draw(t, "lambda"), Width: odd.Draw(t, "width"), K: odd.Draw(t, "k"), H: odd.Draw(t, "h"), HeadStart: odd.Draw(t, "head")},
		}
		if rapid.Bool().Draw(t, "phase") {
			o.Phases = []spc.PhaseStart{{From: rapid.IntRange(-2, 20).Draw(t, "from"), First: rapid.IntRange(-1, 3).Draw(t, "count")}}
		}
		var b *spc.Baseline
		if rapid.Bool().Draw(t, "stored") {
			b = &spc.Baseline{Centre: odd.Draw(t, "centre"), Sigma: odd.Draw(t, "sigma"), SigmaZ: odd.Draw(t, "sigma z")}
		}
		c, err := spc.Plot(k, s, b, o)
		if err != nil {
			return
		}
		_, err = json.Marshal(c)
		require.NoError(t, err)
	})
}
