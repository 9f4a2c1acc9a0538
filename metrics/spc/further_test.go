package spc_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/metrics/dist"
	"chestrise/metrics/spc"
)

func TestFourSigmaEstimators(t *testing.T) {
	// One wild value among ten: moving ranges 1 1 1 1 1 20 20 1 1.
	x := []float64{10, 11, 10, 11, 10, 11, 31, 11, 10, 11}
	sigma := func(m spc.SigmaMethod) float64 {
		return stat(t, plot(t, spc.XmR, spc.Values(nil, x), spc.Options{Sigma: m}), "sigma")
	}
	d2 := 2 / math.SqrtPi
	require.InDelta(t, 47.0/9/d2, sigma(spc.MeanMR), 1e-12)
	require.InDelta(t, 1/0.9538725524, sigma(spc.MedianMR), 1e-9)
	require.InDelta(t, 1/d2, sigma(spc.ScreenedMR), 1e-12, "the two ranges above 3.5 times the mean are dropped")
	sd := stat(t, plot(t, spc.XmR, spc.Values(nil, x), spc.Options{}), "sd")
	require.InDelta(t, sd/dist.C4(10), sigma(spc.SampleSD), 1e-12)
}

func TestUnequalSubgroups(t *testing.T) {
	g := [][]float64{{1, 2, 3}, {5}, {2, 4}, {3, 3, 5, 1}}
	c := plot(t, spc.XbarS, spc.Subgroups(nil, g), spc.Options{})
	pooled := math.Sqrt((2*1 + 1*2 + 3*(8.0/3)) / 6)
	require.InDelta(t, pooled, c.Phases[0].Baseline.Sigma, 1e-12)
	require.InDelta(t, 29.0/10, c.Phases[0].Baseline.Centre, 1e-12, "weighted by subgroup size")
	for i, n := range []int{3, 1, 2, 4} {
		if n == 1 {
			continue
		}
		a3 := 3 / (dist.C4(n) * math.Sqrt(float64(n)))
		require.InDelta(t, 2.9+a3*pooled, *c.Points[i].Upper, 1e-12, "A3 of its own size")
		b4 := 1 + 3*math.Sqrt(1-dist.C4(n)*dist.C4(n))/dist.C4(n)
		require.InDelta(t, b4*pooled, *c.Companion.Points[i].Upper, 1e-12, "B4 of its own size")
	}
	require.True(t, c.Companion.Points[1].Gap, "a single value has no spread")
	require.Contains(t, codes(c), spc.SingleSubgroups)
	r := plot(t, spc.XbarR, spc.Subgroups(nil, g), spc.Options{})
	want := (2/dist.D2(3) + 2/dist.D2(2) + 4/dist.D2(4)) / 3
	require.InDelta(t, want, r.Phases[0].Baseline.Sigma, 1e-12)
}

func TestAverageOfProportionsUsesEachDenominator(t *testing.T) {
	s := spc.Ratios(nil, []float64{4, 9, 2, 8}, []float64{10, 30, 5, 20})
	m := spc.Memory{Lambda: 0.3, Width: 2.7, Proportion: true}
	c := plotFrom(t, spc.EWMA, s, &spc.Baseline{Centre: 0.35, Points: 40}, spc.Options{Memory: m})
	z, v := 0.35, 0.0
	for i, p := range []float64{0.4, 0.3, 0.4, 0.4} {
		n := []float64{10, 30, 5, 20}[i]
		z = 0.3*p + 0.7*z
		v = 0.09*0.35*0.65/n + 0.49*v
		require.InDelta(t, z, c.Points[i].Value, 1e-12)
		require.InDelta(t, 0.35+2.7*math.Sqrt(v), *c.Points[i].Upper, 1e-12)
	}
}

func TestSumsRestartOnlyIfAsked(t *testing.T) {
	x := constant(8, 3)
	base := &spc.Baseline{Centre: 0, Sigma: 1, Points: 30}
	goes := plotFrom(t, spc.Cusum, spc.Values(nil, x), base, spc.Options{})
	require.Equal(t, []float64{2.5, 5, 7.5, 10, 12.5, 15, 17.5, 20}, func() (v []float64) {
		for _, p := range goes.Points {
			v = append(v, p.Value)
		}
		return v
	}())
	require.Equal(t, []int{3, 4, 5, 6, 7, 8}, completing(goes, spc.MovingCentred))
	again := plotFrom(t, spc.Cusum, spc.Values(nil, x), base, spc.Options{Memory: spc.Memory{Restart: true}})
	require.Equal(t, []int{3, 6}, completing(again, spc.MovingCentred))
	require.Equal(t, 2.5, again.Points[3].Value)
	gap := spc.Values(nil, []float64{3, math.NaN(), 3, 3})
	held := plotFrom(t, spc.Cusum, gap, base, spc.Options{})
	require.Equal(t, 5.0, held.Points[2].Value, "a gap leaves the sum as it is")
}

func TestBlocksOfConsecutiveCases(t *testing.T) {
	m, n, u := spc.OutcomeMet, spc.OutcomeNotMet, spc.NoAnswer
	s, err := spc.Blocks(nil, []spc.Outcome{m, u, n, m, n, n, u, m}, 3)
	require.NoError(t, err)
	require.Len(t, s.Points, 2)
	require.Equal(t, spc.Observation{Label: "1 to 4 (1 without an answer)", Num: 2, N: 3}, s.Points[0])
	require.Equal(t, spc.Observation{Label: "5 to 8 (1 without an answer)", Num: 1, N: 3}, s.Points[1])
	s, err = spc.Blocks([]string{"a", "b", "c", "d"}, []spc.Outcome{m, n, n, u}, 3)
	require.NoError(t, err)
	require.Equal(t, spc.Observation{Label: "d (1 without an answer)", Hollow: true, Missing: true}, s.Points[1])
	_, err = spc.Blocks(nil, nil, 0)
	require.Error(t, err)
	s, err = spc.Blocks(nil, nil, 5)
	require.NoError(t, err)
	require.Empty(t, s.Points)
}

func TestLogTimesKeepLimitsPositive(t *testing.T) {
	s, err := spc.LogTimes(nil, []float64{0, 30, 45, 60, 300, math.NaN(), 50}, 5)
	require.NoError(t, err)
	c := plot(t, spc.XmR, s, spc.Options{})
	require.InDelta(t, 2.5, *spc.UnlogTime(&c.Points[0].Value), 1e-12)
	require.Positive(t, *spc.UnlogTime(c.Points[0].Lower))
	require.True(t, c.Points[5].Gap)
	require.Nil(t, spc.UnlogTime(nil))
	_, err = spc.LogTimes([]string{"x"}, []float64{0}, 0)
	require.ErrorContains(t, err, "row 1 (x)")
	_, err = spc.LogTimes(nil, []float64{-1}, 1)
	require.Error(t, err)
}

func TestWordsOfEveryRule(t *testing.T) {
	at := func(z ...float64) spc.Series { return spc.Values(nil, z) }
	for want, tc := range map[string]struct {
		s    spc.Series
		rule spc.RuleID
	}{
		"two of three in a row more than two sigma below the centre":                {at(-2.5, 0.3, -2.4), spc.TwoOfThree},
		"four of five in a row more than one sigma above the centre":                {at(1.2, 1.3, 0.1, 1.4, 1.1), spc.FourOfFive},
		"six points in a row falling":                                               {at(1, 0.8, 0.4, -0.1, -0.5, -0.6), spc.SixTrend},
		"eight points in a row more than one sigma from the centre, on either side": {at(1.2, -1.3, 1.1, 1.6, -1.2, 1.3, -1.4, 1.1), spc.EightOuter},
		"15 points in a row within one sigma of the centre":                         {at(constant(15, 0.5)...), spc.FifteenInner},
		"nine points in a row above the centre":                                     {at(constant(9, 0.5)...), spc.NineOneSide},
	} {
		c := plotFrom(t, spc.XmR, tc.s, unitNormal, spc.Options{Rules: spc.RuleSet{Name: "one", Rules: []spc.RuleID{tc.rule}}})
		require.Equal(t, []string{want}, words(c))
	}
}

func TestTwoOfThreeCountsTheNewestPoint(t *testing.T) {
	c := plotFrom(t, spc.XmR, spc.Values(nil, []float64{2.5, 2.5, 0, 0, 2.5, -2.5, -2.6}), unitNormal, spc.Options{Rules: ids(spc.TwoOfThree)})
	require.Equal(t, []int{2, 7}, completing(c, spc.TwoOfThree))
	require.Equal(t, spc.Up, c.Signals[0].Direction)
	require.Equal(t, spc.Down, c.Signals[1].Direction)
}

func TestEqualNeighboursBreakATrendOrArePassedOver(t *testing.T) {
	x := []float64{1, 2, 3, 3, 4, 5, 6}
	strict := plotFrom(t, spc.XmR, spc.Values(nil, x), &spc.Baseline{Centre: 3, Sigma: 3}, spc.Options{Rules: ids(spc.SixTrend)})
	require.Empty(t, strict.Signals)
	loose := plotFrom(t, spc.Run, spc.Values(nil, x), &spc.Baseline{Centre: 3}, spc.Options{Rules: ids(spc.TrendFive)})
	require.Equal(t, []int{6, 7}, completing(loose, spc.TrendFive))
	require.Equal(t, []string{"six points in a row rising"}, words(loose))
}
