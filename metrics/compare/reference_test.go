package compare_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/metrics/compare"
	"chestrise/metrics/estimate"
	"chestrise/testdata/reference"
)

func TestReferenceFunnel(t *testing.T) {
	c := reference.Load(t, "funnel_surgical_babies_12_hospitals")
	x, n := c.Ints("events"), c.Ints("n")
	target, ok, err := compare.Pooled(x, n)
	require.NoError(t, err)
	require.True(t, ok)
	c.Check("target", target)
	limits := map[string][]float64{}
	for i, name := range []string{"low999", "low95", "high95", "high999"} {
		p := c.Floats("tail_probs")[i]
		for _, m := range n {
			e, err := compare.Limit(m, target, p)
			require.NoError(t, err)
			g, err := compare.NormalLimit(m, target, p)
			require.NoError(t, err)
			limits["limits_"+name] = append(limits["limits_"+name], e)
			limits["normal_"+name] = append(limits["normal_"+name], g)
		}
	}
	for k, v := range limits {
		c.Check(k, v)
	}
	outside := func(name string, above bool) []int {
		out := []int{}
		for i := range x {
			p := float64(x[i]) / float64(n[i])
			if l := limits["limits_"+name][i]; above && p > l || !above && p < compare.Clamped(l) {
				out = append(out, i+1)
			}
		}
		return out
	}
	c.Check("above_high95", outside("high95", true))
	c.Check("above_high999", outside("high999", true))
	c.Check("below_low95", outside("low95", false))
	c.Check("below_low999", outside("low999", false))

	plain, stable, err := compare.Zs(x, n, target)
	require.NoError(t, err)
	c.Check("z", plain)
	c.Check("z_arcsine", stable)
	z, s := make([]float64, len(x)), make([]float64, len(x))
	for i := range x {
		z[i], s[i] = *plain[i], math.Sqrt(target*(1-target)/float64(n[i]))
	}
	c.Check("phi", compare.Phi(z))
	o, err := compare.Spread(z, s, compare.Type7)
	require.NoError(t, err)
	ranked, err := compare.Winsorise(z, compare.ByRank)
	require.NoError(t, err)
	c.Check("phi_winsorised_type7", o.Phi)
	c.Check("phi_winsorised_rank", compare.Phi(ranked))
	c.Check("overdispersion_significant", o.Called)
	c.Check("tau2_additive", o.Tau2)
	var mult, add []float64
	for i := range z {
		mult = append(mult, o.Multiplicative(z[i]))
		add = append(add, o.Additive(z[i]*s[i], s[i]))
	}
	c.Check("z_multiplicative", mult)
	c.Check("z_additive", add)
}

func TestReferenceStandardisation(t *testing.T) {
	c := reference.Load(t, "indirect_standardisation_doctors")
	var strata []compare.Stratum
	for i := range c.Input["strata"].([]any) {
		at := func(k string) float64 { return c.Float(fmt.Sprintf("strata.%d.%s", i, k)) }
		strata = append(strata, compare.Stratum{
			Observed: int(at("observed")), Amount: at("person_years"),
			ReferenceEvents: at("reference_events"), ReferenceAmount: at("reference_person_years"),
		})
	}
	s, err := compare.Standardise(strata, 0.95)
	require.NoError(t, err)
	for k, v := range map[string]any{
		"observed": s.Observed, "expected": s.Expected, "ratio": s.Ratio,
		"exact_ci": []float64{s.Exact.Lower, s.Exact.Upper}, "byar_ci": []float64{s.Byar.Lower, s.Byar.Upper},
		"z_log": s.ZLog, "z_pearson": s.ZPearson, "reference_crude_rate": s.CrudeRate, "indirectly_standardised_rate": s.Rate,
	} {
		c.Check(k, v)
	}
}

func TestReferenceRiskAdjustedSums(t *testing.T) {
	t.Run("racusum_weights_steiner", func(t *testing.T) {
		c := reference.Load(t, "racusum_weights_steiner")
		for key, ra := range map[string]float64{"up": c.Float("RA_up"), "down": c.Float("RA_down")} {
			var yes, no []float64
			for _, p := range c.Floats("p") {
				w, err := compare.RiskWeights(p, c.Float("R0"), ra)
				require.NoError(t, err)
				yes, no = append(yes, w.Event), append(no, w.NoEvent)
				require.InDelta(t, 1, p*math.Exp(w.Event)+(1-p)*math.Exp(w.NoEvent), 1e-12)
			}
			c.Check(key+"_event", yes)
			c.Check(key+"_nonevent", no)
		}
	})
	t.Run("racusum_constant_risk_arl", func(t *testing.T) {
		c := reference.Load(t, "racusum_constant_risk_arl")
		mix := []compare.RiskGroup{{Risk: c.Float("p0"), Share: 1}}
		var got []float64
		for _, odds := range c.Floats("odds_ratio_true") {
			n, err := compare.RiskRunLength(mix, c.Float("RA"), c.Float("h"), odds)
			require.NoError(t, err)
			got = append(got, n)
			mean, se, cut, err := compare.SimulatedRiskRunLength(rand.New(rand.NewPCG(5, 6)), []float64{c.Float("p0")}, c.Float("RA"), c.Float("h"), odds, 4000, 1<<20)
			require.NoError(t, err)
			require.Zero(t, cut)
			require.InDelta(t, mean, n, 4*se)
		}
		c.Check("arl", got)
		c.Check("monte_carlo", got)
	})
}

func TestLimitOnTheActualMix(t *testing.T) {
	mix, err := compare.Mix([]float64{0.01, 0.02, 0.02, 0.05, 0.05, 0.1, 0.3, 0.4}, 4)
	require.NoError(t, err)
	h, err := compare.RiskLimit(mix, 2, 1000)
	require.NoError(t, err)
	n, err := compare.RiskRunLength(mix, 2, h, 1)
	require.NoError(t, err)
	require.InEpsilon(t, 1000, n, 0.02)
	low, err := compare.RiskLimit([]compare.RiskGroup{{Risk: 0.02, Share: 1}}, 2, 1000)
	require.NoError(t, err)
	require.Less(t, low, h, "fewer events: a lower limit gives as many cases between false signals")
}

func TestRareWatchIsExact(t *testing.T) {
	w, err := compare.WatchRare(0.0021, 2, 20000)
	require.NoError(t, err)
	require.InEpsilon(t, 0.0042, w.P1, 0.01)
	require.GreaterOrEqual(t, w.Every, 20000.0)
	require.Less(t, w.Every, 20000*1.02)
	require.Less(t, w.Detect, 4000.0)
	require.InDelta(t, 1, w.P0*math.Exp(w.Weights.Event)+(1-w.P0)*math.Exp(w.Weights.NoEvent), 1e-9)
	require.Regexp(t, `^A false signal about once in 20,\d00 births; a doubling shows after about \d,\d\d0 births on average\.$`, w.Words())

	// Simulation from the weights themselves.
	rng := rand.New(rand.NewPCG(8, 1))
	for _, tc := range []struct{ p, want float64 }{{w.P0, w.Every}, {w.P0 * 2, w.Detect}} {
		const runs = 400
		sum, squares := 0.0, 0.0
		for range runs {
			level, n := 0, 0.0
			for level <= w.Levels {
				n++
				if rng.Float64() < tc.p {
					level += w.Steps
				} else {
					level = max(level-1, 0)
				}
			}
			sum += n
			squares += n * n
		}
		mean := sum / runs
		se := math.Sqrt((squares/runs - mean*mean) / runs)
		require.InDelta(t, tc.want, mean, 4*se)
	}
	for _, bad := range [][3]float64{{0, 2, 100}, {0.2, 2, 100}, {0.01, 1, 100}, {0.01, 2, 1}, {math.NaN(), 2, 100}} {
		_, err := compare.WatchRare(bad[0], bad[1], bad[2])
		require.Error(t, err)
	}
}

func TestThreeEventsInARowAreSeen(t *testing.T) {
	// Compressions on three consecutive newborns at 2.1 per 1,000: no limit of a gap chart
	// can show it, the sum does.
	w, err := compare.WatchRare(0.0021, 2, 12000)
	require.NoError(t, err)
	event := make([]bool, 400)
	for _, i := range []int{100, 101, 102, 103, 104, 105} {
		event[i] = true
	}
	weights := make([]compare.Weights, len(event))
	for i := range weights {
		weights[i] = w.Weights
	}
	tr, err := compare.Follow(weights, event, w.H, 0)
	require.NoError(t, err)
	require.NotEmpty(t, tr.Signals)
	require.LessOrEqual(t, tr.Signals[0], 105)
}

func TestObservedMinusExpectedSumsUp(t *testing.T) {
	out, err := compare.ObservedMinusExpected([]float64{0.2, 0.5, 0.1}, []bool{true, false, false})
	require.NoError(t, err)
	require.InDeltaSlice(t, []float64{0.8, 0.3, 0.2}, out, 1e-12)
	_, err = compare.ObservedMinusExpected([]float64{0.2}, nil)
	require.Error(t, err)
}

func TestSpreadIsRefusedBelowTwelveUnits(t *testing.T) {
	z := make([]float64, 11)
	_, err := compare.Spread(z, z, compare.Type7)
	require.ErrorIs(t, err, compare.ErrTooFewUnits)
	s := make([]float64, 12)
	for i := range s {
		s[i] = 0.1
	}
	o, err := compare.Spread(make([]float64, 12), s, compare.Type7)
	require.NoError(t, err)
	require.Equal(t, 1.0, o.Inflate, "limits never shrink")
	require.Zero(t, o.Tau2)
}

func TestBenjaminiHochbergTextbook(t *testing.T) {
	// The fifteen P values of the 1995 paper (from memory): four are called at 0.05.
	p := []float64{0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1}
	called, err := compare.BenjaminiHochberg(p, 0.05)
	require.NoError(t, err)
	n := 0
	for i, c := range called {
		if c {
			n++
			require.Less(t, i, 4)
		}
	}
	require.Equal(t, 4, n)
	_, err = compare.BenjaminiHochberg([]float64{2}, 0.05)
	require.Error(t, err)
}

func TestLeaveOneOutUsesTheOthersOnly(t *testing.T) {
	units := [][]compare.Cell{{{2, 20}, {0, 0}}, {{5, 100}, {1, 10}}, {{10, 100}, {2, 10}}}
	out, err := compare.LeaveOneOut(units, 0.95)
	require.NoError(t, err)
	require.InDelta(t, 20*15.0/200, out[0].Expected, 1e-12)
	require.InDelta(t, 100*12.0/120+10*2.0/10, out[1].Expected, 1e-12)
	alone, err := compare.LeaveOneOut(units[:1], 0.95)
	require.NoError(t, err)
	require.False(t, alone[0].Defined)
	require.Equal(t, 2, alone[0].Unmatched)
	_, err = compare.LeaveOneOut([][]compare.Cell{{{1, 2}}, {{1, 2}, {1, 2}}}, 0.95)
	require.Error(t, err)
}

func TestFunnelLimitsAreOrdered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 3000).Draw(t, "n")
		target := rapid.Float64Range(0, 1).Draw(t, "target")
		last := math.Inf(-1)
		for _, p := range []float64{0.001, 0.025, 0.5, 0.975, 0.999} {
			l, err := compare.Limit(n, target, p)
			require.NoError(t, err)
			require.False(t, math.IsNaN(l))
			require.GreaterOrEqual(t, l, last-1e-9)
			last = l
			if e := target * float64(n); e > 0 {
				r, err := compare.RatioLimit(e, p)
				require.NoError(t, err)
				require.False(t, math.IsNaN(r))
			}
		}
	})
}

func TestDegenerateUnits(t *testing.T) {
	_, ok, err := compare.Pooled(nil, nil)
	require.NoError(t, err)
	require.False(t, ok)
	plain, _, err := compare.Zs([]int{0, 0}, []int{0, 5}, 0)
	require.NoError(t, err)
	require.Nil(t, plain[0])
	require.Nil(t, plain[1])
	s, err := compare.Standardise(nil, 0.95)
	require.NoError(t, err)
	require.False(t, s.Defined)
	require.Equal(t, estimate.Interval{}, s.Exact)
	_, err = compare.Limit(0, 0.5, 0.1)
	require.Error(t, err)
	_, err = compare.RiskRunLength([]compare.RiskGroup{{Risk: 0, Share: 1}}, 2, 3, 1)
	require.Error(t, err)
	_, err = compare.RiskRunLength(nil, 2, 3, 1)
	require.Error(t, err)
	e, some, err := compare.OutsideByChance(6, 0.998)
	require.NoError(t, err)
	require.InDelta(t, 0.012, e, 1e-12)
	require.InDelta(t, 1-math.Pow(0.998, 6), some, 1e-12)
}

func BenchmarkWatchRare(b *testing.B) {
	for b.Loop() {
		if _, err := compare.WatchRare(0.0021, 2, 20000); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRiskRunLength(b *testing.B) {
	mix := []compare.RiskGroup{{Risk: 0.02, Share: 3}, {Risk: 0.1, Share: 1}}
	for b.Loop() {
		if _, err := compare.RiskRunLength(mix, 2, 3, 1); err != nil {
			b.Fatal(err)
		}
	}
}
