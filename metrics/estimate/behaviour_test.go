package estimate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/metrics/estimate"
)

func TestCompetingEndsAreNotMereStops(t *testing.T) {
	// Ten newborns, six effective at 25 to 90 s, four tubed at 45 to 80 s: counting the
	// tubes as stops would say all are effective by 90 s; four never were.
	ends := []estimate.End{
		{At: 25, Cause: 1},
		{At: 40, Cause: 1},
		{At: 45, Cause: 2},
		{At: 50, Cause: 1},
		{At: 55, Cause: 2},
		{At: 60, Cause: 1},
		{At: 70, Cause: 1},
		{At: 75, Cause: 2},
		{At: 80, Cause: 2},
		{At: 90, Cause: 1},
	}
	one, err := estimate.CumulativeIncidence(ends, 1, 0.95)
	require.NoError(t, err)
	two, err := estimate.CumulativeIncidence(ends, 2, 0.95)
	require.NoError(t, err)
	require.InDelta(t, 0.6, one.At(90).Share, 1e-12)
	require.InDelta(t, 0.4, two.At(90).Share, 1e-12)
	// Without early stops the share and its error are those of a plain proportion.
	require.InDelta(t, math.Sqrt(0.6*0.4/10), one.At(90).StdErr, 1e-12)
	var km []estimate.Time
	for _, e := range ends {
		km = append(km, estimate.Time{At: e.At, Event: e.Cause == 1})
	}
	k, err := estimate.KaplanMeier(km, 0.95, estimate.Log)
	require.NoError(t, err)
	require.Zero(t, k.At(90))
	m, _, _ := one.Quantile(0.7)
	require.False(t, m.Reached, "70 % never had the sign: not reached")
	m, _, _ = one.Quantile(0.5)
	require.Equal(t, 70.0, m.Value)
}

func TestSharesOfAllEndsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var ends []estimate.End
		var either []estimate.Time
		for range rapid.IntRange(0, 40).Draw(t, "n") {
			e := estimate.End{At: float64(rapid.IntRange(1, 30).Draw(t, "at")), Cause: rapid.IntRange(0, 3).Draw(t, "cause")}
			ends = append(ends, e)
			either = append(either, estimate.Time{At: e.At, Event: e.Cause > 0})
		}
		k, err := estimate.KaplanMeier(either, 0.95, estimate.LogLog)
		require.NoError(t, err)
		for _, at := range []float64{0, 3, 11, 30} {
			sum := 0.0
			for cause := 1; cause <= 3; cause++ {
				c, err := estimate.CumulativeIncidence(ends, cause, 0.95)
				require.NoError(t, err)
				s := c.At(at)
				sum += s.Share
				require.False(t, math.IsNaN(s.StdErr) || math.IsNaN(s.Limits.Lower) || math.IsNaN(s.Limits.Upper))
				if s.Limited {
					require.LessOrEqual(t, s.Limits.Lower, s.Share+1e-12)
					require.GreaterOrEqual(t, s.Limits.Upper, s.Share-1e-12)
				}
			}
			require.InDelta(t, 1-k.At(at), sum, 1e-12)
		}
	})
}

func TestGrayIsNearLogRankWithoutCompetition(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	var before, after []estimate.End
	groups := make([][]estimate.Time, 2)
	for range 300 {
		a, b := rng.ExpFloat64()*60, rng.ExpFloat64()*45
		before, after = append(before, estimate.End{At: a, Cause: 1}), append(after, estimate.End{At: b, Cause: 1})
		groups[0] = append(groups[0], estimate.Time{At: a, Event: true})
		groups[1] = append(groups[1], estimate.Time{At: b, Event: true})
	}
	g, err := estimate.Gray(before, after, 1)
	require.NoError(t, err)
	l, err := estimate.LogRankTest(groups, 0)
	require.NoError(t, err)
	require.InDelta(t, l.Observed[1]-l.Expected[1], g.Score, 1e-8, "the score is the log-rank score")
	require.InEpsilon(t, l.ChiSquared, g.ChiSquared, 0.15, "the variance is estimated another way")
}

func TestGrayAgreesWithItsOriginalVariance(t *testing.T) {
	// The made-up times of the grid; P values of Gray's test with his own variance from R,
	// package cmprsk 2.2-11. The jackknife variance gives nearly the same.
	for _, v := range []struct {
		a, b  float64
		cause int
		p     float64
	}{{1, 2, 1, 0.3915}, {1, 2, 2, 0.6005}, {1, 3, 1, 0.1409}, {1, 3, 2, 0.1984}, {2, 3, 1, 0.0197}, {2, 3, 2, 0.0759}} {
		g, err := estimate.Gray(gridEnds(t, v.a), gridEnds(t, v.b), v.cause)
		require.NoError(t, err)
		require.InDelta(t, v.p, g.P, 0.03)
	}
}

func TestGrayHoldsItsLevelUnderCompetition(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	draw := func(n int, rate float64) (out []estimate.End) {
		for range n {
			a, b, stop := rng.ExpFloat64()/rate, rng.ExpFloat64()*80, 20+rng.Float64()*200
			switch {
			case a < b && a < stop:
				out = append(out, estimate.End{At: a, Cause: 1})
			case b < stop:
				out = append(out, estimate.End{At: b, Cause: 2})
			default:
				out = append(out, estimate.End{At: stop})
			}
		}
		return out
	}
	rejects := func(rate float64) (n float64) {
		for range 150 {
			g, err := estimate.Gray(draw(40, 1.0/50), draw(40, rate), 1)
			require.NoError(t, err)
			if g.P < 0.05 {
				n++
			}
		}
		return n / 150
	}
	require.InDelta(t, 0.05, rejects(1.0/50), 0.05)
	require.Greater(t, rejects(1.0/15), 0.7)
}

func TestTimesAgainstALimit(t *testing.T) {
	// Typed 45, 60, 75 and 76 s to the nearest 30 s against a limit of 60 s.
	for at, want := range map[float64]estimate.Answer{45: estimate.Met, 60: estimate.Undecided, 75: estimate.Undecided, 76: estimate.NotMet} {
		require.Equal(t, want, estimate.Against(at-15, at+15, 60), "%v", at)
	}
	require.Equal(t, estimate.Met, estimate.Against(60, 60, 60))
	require.Equal(t, estimate.NotMet, estimate.Against(60.001, 61, 60))
	require.Equal(t, estimate.Undecided, estimate.Against(math.NaN(), 3, 60))
	require.Equal(t, estimate.Undecided, estimate.Against(5, 3, 60))
	require.Equal(t, estimate.LimitTally{Met: 1, NotMet: 1, Undecided: 1}, estimate.AgainstAll([]estimate.Interval{{Lower: 0, Upper: 9}, {Lower: 50, Upper: 70}, {Lower: 80, Upper: 90}}, 60))
}

func TestBoundsStraddle(t *testing.T) {
	b, err := estimate.BoundsOf(6, 10, 4)
	require.NoError(t, err)
	require.Equal(t, estimate.Bounds{Known: 0.6, Worst: 6.0 / 14, Best: 10.0 / 14, Answered: 10.0 / 14}, b)
	line := func(v float64) *float64 { return &v }
	require.True(t, b.Straddle(line(0.5)))
	require.False(t, b.Straddle(line(0.4), line(0.8), nil))
	require.True(t, b.Straddle(line(b.Best)), "one end on the line, the other under it")
	none, err := estimate.BoundsOf(0, 0, 0)
	require.NoError(t, err)
	require.True(t, none.None)
	_, err = estimate.BoundsOf(3, 2, 0)
	require.Error(t, err)
	_, err = estimate.BoundsOf(1, 2, -1)
	require.Error(t, err)
}

func TestHeaping(t *testing.T) {
	h, err := estimate.HeapingOf([]float64{30, 60, 90, 30, 60, 41, 52, 60}, 30)
	require.NoError(t, err)
	require.Equal(t, 6, h.On)
	require.InDelta(t, (0.75-1.0/30)/(29.0/30), h.Index, 1e-12)
	require.Less(t, h.P, 1e-6)
	even := make([]float64, 0, 300)
	for i := range 300 {
		even = append(even, float64(i))
	}
	h, err = estimate.HeapingOf(even, 30)
	require.NoError(t, err)
	require.InDelta(t, 0, h.Index, 1e-12)
	h, err = estimate.HeapingOf(nil, 5)
	require.NoError(t, err)
	require.False(t, h.Known)
	_, err = estimate.HeapingOf(nil, 1)
	require.Error(t, err)
}

func TestIntervalsHoldTheirEstimateAndNest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 400).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		p := 0.5
		if n > 0 {
			p = float64(x) / float64(n)
		}
		for name, f := range map[string]intervalOf{"wilson": estimate.Wilson, "corrected": estimate.WilsonCorrected, "exact": estimate.ClopperPearson, "mid-p": estimate.MidP} {
			a, err := f(x, n, 0.95)
			require.NoError(t, err)
			b, err := f(x, n, 0.99)
			require.NoError(t, err)
			require.True(t, 0 <= b.Lower && b.Lower <= a.Lower+1e-12 && a.Lower <= p+1e-12, name)
			require.True(t, p-1e-12 <= a.Upper && a.Upper <= b.Upper+1e-12 && b.Upper <= 1, name)
			mirror, err := f(n-x, n, 0.95)
			require.NoError(t, err)
			require.InDelta(t, a.Lower, 1-mirror.Upper, 1e-9, name)
		}
		w, _ := estimate.ClopperPearson(x, n, 0.95)
		m, _ := estimate.MidP(x, n, 0.95)
		require.True(t, w.Lower <= m.Lower+1e-12 && m.Upper <= w.Upper+1e-12)
		g, err := estimate.Garwood(x, 0.95)
		require.NoError(t, err)
		q, err := estimate.PoissonMidP(x, 0.95)
		require.NoError(t, err)
		require.True(t, g.Lower <= q.Lower+1e-9 && q.Upper <= g.Upper+1e-9)
	})
}

func TestExactRanksAreSymmetric(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfNDistinct(rapid.IntRange(0, 5000), 2, 40, rapid.ID).Draw(t, "x")
		cut := rapid.IntRange(1, len(x)-1).Draw(t, "cut")
		var a, b []float64
		for i, v := range x {
			if i < cut {
				a = append(a, float64(v))
			} else {
				b = append(b, float64(v))
			}
		}
		one, err := estimate.RankTest(a, b, 0.95, true)
		require.NoError(t, err)
		two, err := estimate.RankTest(b, a, 0.95, true)
		require.NoError(t, err)
		require.True(t, one.Exact)
		require.InDelta(t, one.P, two.P, 1e-12)
		require.InDelta(t, one.Shift, -two.Shift, 1e-9)
		require.InDelta(t, one.W+two.W, float64(len(a)*len(b)), 1e-9)
	})
}

func TestNonsenseIsRefused(t *testing.T) {
	nan := math.NaN()
	_, err := estimate.Wilson(5, 4, 0.95)
	require.Error(t, err)
	_, err = estimate.MidP(1, 4, 1)
	require.Error(t, err)
	_, err = estimate.Newcombe(1, 4, -1, 4, 0.95)
	require.Error(t, err)
	_, err = estimate.Garwood(-1, 0.95)
	require.Error(t, err)
	_, _, err = estimate.Quantile([]float64{1, nan}, 0.5, 7)
	require.Error(t, err)
	_, _, err = estimate.Quantile([]float64{1}, 0.5, 10)
	require.Error(t, err)
	_, err = estimate.KaplanMeier([]estimate.Time{{At: -1}}, 0.95, estimate.Log)
	require.Error(t, err)
	_, err = estimate.CumulativeIncidence([]estimate.End{{At: nan}}, 1, 0.95)
	require.Error(t, err)
	_, err = estimate.RankTest(nil, []float64{1}, 0.95, true)
	require.Error(t, err)
	_, err = estimate.FisherTest(estimate.Table2{A: -1}, 0.95)
	require.Error(t, err)
	_, err = estimate.TrendTest([]int{1}, []int{2, 3}, []float64{1})
	require.Error(t, err)
	_, err = estimate.LogRankTest([][]estimate.Time{{}}, 0)
	require.Error(t, err)
}

func TestThinInputGivesDocumentedResults(t *testing.T) {
	i, err := estimate.Wilson(0, 0, 0.95)
	require.NoError(t, err)
	require.Equal(t, estimate.Interval{Lower: 0, Upper: 1}, i)
	_, ok, err := estimate.MedianCI([]float64{1, 2, 3, 4, 5}, 0.95)
	require.NoError(t, err)
	require.False(t, ok, "five values give no 95 % interval for a median")
	k, err := estimate.KaplanMeier(nil, 0.95, estimate.Log)
	require.NoError(t, err)
	m, _, _ := k.Quantile(0.5)
	require.False(t, m.Reached)
	lr, err := estimate.LogRankTest([][]estimate.Time{nil, {{At: 3, Event: true}}}, 0)
	require.NoError(t, err)
	require.Equal(t, 1.0, lr.P)
	same, err := estimate.RankTest([]float64{2, 2}, []float64{2, 2, 2}, 0.95, true)
	require.NoError(t, err)
	require.Equal(t, 1.0, same.P)
	mh, err := estimate.MantelHaenszelTest(nil, 0.95)
	require.NoError(t, err)
	require.False(t, mh.Estimable)
	g, err := estimate.Gray(nil, nil, 1)
	require.NoError(t, err)
	require.Equal(t, 1.0, g.P)
	d := estimate.CompareAt(estimate.Incidence{Level: 0.95}, estimate.Incidence{Level: 0.95}, 60)
	require.Zero(t, d.Value)
}

func BenchmarkCumulativeIncidence200(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	var ends []estimate.End
	for range 200 {
		ends = append(ends, estimate.End{At: math.Round(rng.ExpFloat64() * 60), Cause: rng.IntN(3)})
	}
	for b.Loop() {
		if _, err := estimate.CumulativeIncidence(ends, 1, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWilson(b *testing.B) {
	for b.Loop() {
		if _, err := estimate.Wilson(9, 14, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}
