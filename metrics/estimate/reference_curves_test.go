package estimate_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/metrics/estimate"
	"chestrise/testdata/reference"
)

func TestReferenceSurvival(t *testing.T) {
	groups := func(c *reference.Case, event, group string) (out map[string][]estimate.Time) {
		out = map[string][]estimate.Time{}
		times, status := c.Floats("time"), c.Floats(event)
		for i, g := range c.Strings(group) {
			out[g] = append(out[g], estimate.Time{At: times[i], Event: status[i] == 1})
		}
		return out
	}
	curve := func(t *testing.T, x []estimate.Time, s estimate.Scale) estimate.Curve {
		return must[estimate.Curve](t)(estimate.KaplanMeier(x, 0.95, s))
	}
	value := func(r estimate.Reach) *float64 {
		if !r.Reached {
			return nil
		}
		return &r.Value
	}
	t.Run("km_logrank_aml", func(t *testing.T) {
		c := reference.Load(t, "km_logrank_aml")
		g := groups(c, "status", "group")
		names := []string{"Maintained", "Nonmaintained"}
		table := map[string][]any{}
		var medians []*float64
		for key, scale := range map[string]estimate.Scale{"quantiles_ci_log": estimate.Log, "quantiles_ci_loglog": estimate.LogLog} {
			var est, low, high [][]*float64
			for _, name := range names {
				var e, l, u []*float64
				for _, p := range []float64{0.25, 0.5, 0.75} {
					a, b, d := curve(t, g[name], scale).Quantile(p)
					e, l, u = append(e, value(a)), append(l, value(b)), append(u, value(d))
				}
				est, low, high = append(est, e), append(low, l), append(high, u)
			}
			c.Check(key+".estimate", est)
			c.Check(key+".lower", low)
			c.Check(key+".upper", high)
		}
		for _, name := range names {
			k := curve(t, g[name], estimate.Log)
			m, _, _ := k.Quantile(0.5)
			medians = append(medians, value(m))
			for _, s := range k.Steps {
				if !s.Limited {
					continue
				}
				for key, v := range map[string]any{"time": s.At, "n_risk": s.AtRisk, "n_event": s.Events, "surv": s.Survival, "std_err": s.StdErr, "lower_log": s.Limits.Lower, "upper_log": s.Limits.Upper} {
					table[key] = append(table[key], v)
				}
			}
		}
		c.Check("median", medians)
		c.CheckPublished("median", medians)
		for key, col := range table {
			want := c.Expected["surv_table"].(map[string]any)[key].([]any)
			require.LessOrEqual(t, len(col), len(want))
			for i, v := range col {
				c.Check(fmt.Sprintf("surv_table.%s.%d", key, i), v)
			}
		}
		lr := must[estimate.LogRank](t)(estimate.LogRankTest([][]estimate.Time{g["Maintained"], g["Nonmaintained"]}, 0))
		c.Check("logrank_chisq", lr.ChiSquared)
		c.Check("logrank_p", lr.P)
		c.Check("observed", lr.Observed)
		c.Check("expected", lr.Expected)
		c.CheckPublished("logrank_chisq", lr.ChiSquared)
		c.CheckPublished("logrank_p", lr.P)
	})
	t.Run("km_logrank_gehan_6mp", func(t *testing.T) {
		c := reference.Load(t, "km_logrank_gehan_6mp")
		g := groups(c, "event", "group")
		both := [][]estimate.Time{g["6-MP"], g["control"]}
		a, _, _ := curve(t, both[0], estimate.Log).Quantile(0.5)
		b, _, _ := curve(t, both[1], estimate.Log).Quantile(0.5)
		c.Check("median_6MP", value(a))
		c.Check("median_control", value(b))
		lr := must[estimate.LogRank](t)(estimate.LogRankTest(both, 0))
		c.Check("logrank_chisq", lr.ChiSquared)
		c.Check("peto_prentice_chisq", must[estimate.LogRank](t)(estimate.LogRankTest(both, 1)).ChiSquared)
		c.Check("observed", lr.Observed)
		c.Check("expected", lr.Expected)
		c.CheckPublished("median", []*float64{value(a), value(b)})
		c.CheckPublished("logrank_chisq", lr.ChiSquared)
		c.CheckPublished("obs", lr.Observed)
		c.CheckPublished("exp", lr.Expected)
	})
	t.Run("km_logrank_ovarian", func(t *testing.T) {
		c := reference.Load(t, "km_logrank_ovarian")
		var all []estimate.Time
		g := groups(c, "event", "rx")
		all = append(append(all, g["1"]...), g["2"]...)
		events := 0
		for _, x := range all {
			if x.Event {
				events++
			}
		}
		m, l, u := curve(t, all, estimate.Log).Quantile(0.5)
		lr := must[estimate.LogRank](t)(estimate.LogRankTest([][]estimate.Time{g["1"], g["2"]}, 0))
		c.Check("events", events)
		c.Check("median", value(m))
		c.Check("lower", value(l))
		c.Check("upper", value(u))
		c.Check("logrank_chisq", lr.ChiSquared)
		c.Check("logrank_p", lr.P)
		c.CheckPublished("median", value(m))
		c.CheckPublished("lower", value(l))
		c.CheckPublished("logrank_chisq", lr.ChiSquared)
		c.CheckPublished("logrank_p", lr.P)
	})
}

func TestReferenceRanks(t *testing.T) {
	t.Run("mann_whitney_hodges_lehmann_chorioamnion", func(t *testing.T) {
		c := reference.Load(t, "mann_whitney_hodges_lehmann_chorioamnion")
		r := must[estimate.MannWhitney](t)(estimate.RankTest(c.Floats("x"), c.Floats("y"), 0.95, true))
		require.True(t, r.Exact)
		c.Check("W", r.W)
		c.Check("p_greater", r.PGreater)
		c.Check("p_two_sided", r.P)
		c.Check("hodges_lehmann", r.Shift)
		c.Check("ci95", pair(r.ShiftCI))
		c.CheckPublished("W", r.W)
		c.CheckPublished("p_greater", r.PGreater)
	})
	t.Run("mann_whitney_ties_normal_approx", func(t *testing.T) {
		c := reference.Load(t, "mann_whitney_ties_normal_approx")
		with := must[estimate.MannWhitney](t)(estimate.RankTest(c.Floats("x"), c.Floats("y"), 0.95, true))
		without := must[estimate.MannWhitney](t)(estimate.RankTest(c.Floats("x"), c.Floats("y"), 0.95, false))
		require.False(t, with.Exact)
		c.Check("W", with.W)
		c.Check("p_with_continuity", with.P)
		c.Check("p_without_continuity", without.P)
	})
}

func TestReferenceTables(t *testing.T) {
	t.Run("fisher_exact_2x2", func(t *testing.T) {
		c := reference.Load(t, "fisher_exact_2x2")
		var two []float64
		var first estimate.Fisher
		for i := range c.Input["tables"].([]any) {
			at := func(r, k int) int { return int(c.Float(fmt.Sprintf("tables.%d.%d.%d", i, r, k))) }
			f := must[estimate.Fisher](t)(estimate.FisherTest(estimate.Table2{A: at(0, 0), B: at(0, 1), C: at(1, 0), D: at(1, 1)}, 0.95))
			two = append(two, f.TwoSided)
			if i == 0 {
				first = f
			}
		}
		c.Check("p_two_sided", two)
		c.Check("p_greater_tea", first.Greater)
		// The case's odds ratio and interval come from a root search that stops at about
		// four digits. Ours are checked against their defining equations instead: with the
		// weights 1, 16, 36, 16, 1 of the table, mean 3 at the estimate, tails of 0.025 at
		// the limits.
		c.Imprecise("odds_ratio_conditional_mle_tea", first.OddsRatio, 3e-6, "root search to four digits")
		c.Imprecise("ci_tea", pair(first.CI), 8e-3, "root search to four digits")
		weights := []float64{1, 16, 36, 16, 1}
		moment := func(odds float64, f func(k float64) float64) float64 {
			above, below := 0.0, 0.0
			for k, w := range weights {
				p := w * math.Pow(odds, float64(k))
				above += p * f(float64(k))
				below += p
			}
			return above / below
		}
		require.InDelta(t, 3, moment(first.OddsRatio, func(k float64) float64 { return k }), 1e-10)
		is := func(cond func(k float64) bool) func(float64) float64 {
			return func(k float64) float64 {
				if cond(k) {
					return 1
				}
				return 0
			}
		}
		require.InDelta(t, 0.025, moment(first.CI.Lower, is(func(k float64) bool { return k >= 3 })), 1e-10)
		require.InDelta(t, 0.025, moment(first.CI.Upper, is(func(k float64) bool { return k <= 3 })), 1e-10)
		c.CheckPublished("p_two_sided", two[:2])
		c.CheckPublished("p_greater_tea", first.Greater)
	})
	t.Run("cochran_armitage_trend_infant_malformations", func(t *testing.T) {
		c := reference.Load(t, "cochran_armitage_trend_infant_malformations")
		x, n := c.Ints("events"), c.Ints("n")
		tr := must[estimate.Trend](t)(estimate.TrendTest(x, n, c.Floats("scores")))
		eq := must[estimate.Trend](t)(estimate.TrendTest(x, n, []float64{1, 2, 3, 4, 5}))
		var counts [][]int
		for i := range x {
			counts = append(counts, []int{x[i], n[i] - x[i]})
		}
		p := must[estimate.ChiSquare](t)(estimate.PearsonTest(counts, false))
		for k, v := range map[string]float64{
			"chisq_trend": tr.ChiSquared, "p_trend": tr.P, "z": tr.Z, "m2_n_minus_1": tr.Correlation,
			"chisq_trend_equal_scores": eq.ChiSquared, "p_trend_equal_scores": eq.P,
			"pearson_chisq": p.Value, "pearson_df": float64(p.DF), "pearson_p": p.P, "min_expected": p.MinExpected,
		} {
			c.Check(k, v)
		}
		c.CheckPublished("m2_n_minus_1", tr.Correlation)
		c.CheckPublished("pearson_chisq", p.Value)
	})
	t.Run("mantel_haenszel_ucb", func(t *testing.T) {
		c := reference.Load(t, "mantel_haenszel_ucb")
		var strata []estimate.Table2
		var sum estimate.Table2
		for i := range c.Input["strata"].([]any) {
			at := func(k string) int { return int(c.Float(fmt.Sprintf("strata.%d.%s", i, k))) }
			s := estimate.Table2{A: at("a"), B: at("b"), C: at("c"), D: at("d")}
			strata = append(strata, s)
			sum = estimate.Table2{A: sum.A + s.A, B: sum.B + s.B, C: sum.C + s.C, D: sum.D + s.D}
		}
		m := must[estimate.MantelHaenszel](t)(estimate.MantelHaenszelTest(strata, 0.95))
		crude := float64(sum.A) * float64(sum.D) / (float64(sum.B) * float64(sum.C))
		c.Check("common_or", m.OddsRatio)
		c.Check("ci95", pair(m.CI))
		c.Check("chisq_cc", m.ChiSquared)
		c.Check("p", m.P)
		c.Check("crude_or", crude)
		c.CheckPublished("common_or", m.OddsRatio)
		c.CheckPublished("chisq_cc", m.ChiSquared)
		c.CheckPublished("p", m.P)
		c.CheckPublished("crude_or", crude)
	})
	t.Run("mantel_haenszel_caesarian_sparse", func(t *testing.T) {
		c := reference.Load(t, "mantel_haenszel_caesarian_sparse")
		var strata []estimate.Table2
		infected, total := 0, 0
		for i := range c.Input["strata"].([]any) {
			at := func(k string) int { return int(c.Float(fmt.Sprintf("strata.%d.%s", i, k))) }
			s := estimate.Table2{A: at("infected_ab"), B: at("clean_ab"), C: at("infected_noab"), D: at("clean_noab")}
			strata = append(strata, s)
			infected += s.A + s.C
			total += s.A + s.B + s.C + s.D
		}
		m := must[estimate.MantelHaenszel](t)(estimate.MantelHaenszelTest(strata, 0.95))
		require.Equal(t, 3, m.Used, "the stratum without infections contributes nothing")
		c.Check("total", total)
		c.Check("infected", infected)
		c.Check("common_or", m.OddsRatio)
		var sum estimate.Table2
		for _, s := range strata {
			sum = estimate.Table2{A: sum.A + s.A, B: sum.B + s.B, C: sum.C + s.C, D: sum.D + s.D}
		}
		c.Check("crude_or", float64(sum.A)*float64(sum.D)/(float64(sum.B)*float64(sum.C)))
		c.CheckPublished("total", total)
	})
}
