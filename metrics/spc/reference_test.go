package spc_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/metrics/spc"
	"chestrise/testdata/reference"
)

// completing lists the points, from 1, that complete a rule.
func completing(c spc.Chart, rule spc.RuleID, dir ...spc.Direction) []int {
	out := []int{}
	for _, s := range c.Signals {
		if s.Rule != rule || len(dir) > 0 && s.Direction != dir[0] {
			continue
		}
		for _, at := range s.At {
			out = append(out, at+1)
		}
	}
	// Signals are sorted by first point; a chart's own marks give all in order.
	if len(dir) == 0 {
		out = out[:0]
		for i, p := range c.Points {
			for _, id := range p.Signals {
				if id == rule {
					out = append(out, i+1)
				}
			}
		}
	}
	return out
}

func column(c spc.Chart, f func(spc.Point) *float64) []*float64 {
	out := make([]*float64, len(c.Points))
	for i, p := range c.Points {
		out[i] = f(p)
	}
	return out
}

func uppers(c spc.Chart) []*float64 {
	return column(c, func(p spc.Point) *float64 { return p.UpperRaw })
}

// lowers gives the lower limits as cases print them: a limit that is none is 0.
func lowers(c spc.Chart) []*float64 {
	return column(c, func(p spc.Point) *float64 {
		if p.LowerRaw != nil && *p.LowerRaw < 0 {
			zero := 0.0
			return &zero
		}
		return p.LowerRaw
	})
}

func zs(c spc.Chart) []*float64 { return column(c, func(p spc.Point) *float64 { return p.Z }) }

func values(c spc.Chart) []*float64 {
	return column(c, func(p spc.Point) *float64 {
		if !p.Has {
			return nil
		}
		return &p.Value
	})
}

func plot(t *testing.T, k spc.Kind, s spc.Series, o spc.Options) spc.Chart {
	t.Helper()
	return plotFrom(t, k, s, nil, o)
}

func plotFrom(t *testing.T, k spc.Kind, s spc.Series, b *spc.Baseline, o spc.Options) spc.Chart {
	t.Helper()
	c, err := spc.Plot(k, s, b, o)
	require.NoError(t, err)
	return c
}

func stat(t *testing.T, c spc.Chart, name string) float64 {
	t.Helper()
	v, ok := c.Summary.Get(name)
	require.True(t, ok, "no %s in the summary", name)
	return v
}

func constant(n int, v float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = v
	}
	return out
}

func rules(t *testing.T, name string) spc.RuleSet {
	t.Helper()
	r, err := spc.RulesNamed(name)
	require.NoError(t, err)
	return r
}

func codes(c spc.Chart) []spc.Code {
	var out []spc.Code
	for _, w := range c.Warnings {
		out = append(out, w.Code)
	}
	return out
}

func TestReferenceRunCharts(t *testing.T) {
	t.Run("runchart_semmelweis_first_24_months", func(t *testing.T) {
		c := reference.Load(t, "runchart_semmelweis_first_24_months")
		r := plot(t, spc.Run, spc.Ratios(nil, c.Floats("events"), c.Floats("n")), spc.Options{})
		for _, k := range []string{"median", "useful", "runs", "crossings", "longest_run", "min_crossings", "max_longest_run"} {
			c.Check(k, stat(t, r, k))
		}
		c.Check("signal", len(r.Signals) > 0)
		require.Equal(t, "the points cross the median four times, fewer than the 8 that chance allows", r.Signals[0].Words)
	})
	t.Run("runchart_limits_crossings_longest_run_10_100", func(t *testing.T) {
		c := reference.Load(t, "runchart_limits_crossings_longest_run_10_100")
		var fewest, longest, table []int
		for _, n := range c.Ints("n") {
			f, l := spc.RunLimits(n)
			fewest, longest = append(fewest, f), append(longest, l)
			if n <= 59 {
				table = append(table, l)
			}
		}
		c.Check("min_crossings", fewest)
		c.Check("max_longest_run", longest)
		c.CheckPublished("longest_10_to_59", table)
		var rest []int
		for _, n := range []int{60, 70, 80, 90, 91, 100} {
			_, l := spc.RunLimits(n)
			rest = append(rest, l)
		}
		c.CheckPublished("longest_60_70_80_90_91_100", rest)
		for n, key := range map[int]string{24: "n24", 10: "n10", 20: "n20"} {
			f, l := spc.RunLimits(n)
			c.CheckPublished(key+"_crossings", f)
			c.CheckPublished(key+"_longest", l)
		}
		f, _ := spc.RunLimits(13)
		c.CheckPublished("n13_crossings", f)
	})
	t.Run("nist_runs_test_lew", func(t *testing.T) {
		c := reference.Load(t, "nist_runs_test_lew")
		r := plot(t, spc.Run, spc.Values(nil, c.Floats("x")), spc.Options{})
		for _, k := range []string{"useful", "runs", "crossings", "longest_run"} {
			c.Check(k, stat(t, r, k))
		}
		require.Empty(t, r.Signals, "too many runs is no signal of the fewest-crossings rule")
	})
}

func TestReferenceRules(t *testing.T) {
	standardised := func(z []float64) (spc.Series, *spc.Baseline) {
		return spc.Values(nil, z), &spc.Baseline{Centre: 0, Sigma: 1, Points: 100}
	}
	t.Run("rules_nelson_eight_tests_sequence", func(t *testing.T) {
		c := reference.Load(t, "rules_nelson_eight_tests_sequence")
		s, b := standardised(c.Floats("z"))
		x := plotFrom(t, spc.XmR, s, b, spc.Options{Rules: rules(t, "nelson")})
		c.Check("t1_beyond_3", completing(x, spc.BeyondLimits))
		c.Check("t2_nine_same_side", completing(x, spc.NineOneSide))
		c.Check("t3_six_trend", completing(x, spc.SixTrend))
		c.Check("t4_fourteen_alternating", completing(x, spc.Alternating))
		c.Check("t5_two_of_three_beyond_2", completing(x, spc.TwoOfThree))
		c.Check("t6_four_of_five_beyond_1", completing(x, spc.FourOfFive))
		c.Check("t7_fifteen_within_1", completing(x, spc.FifteenInner))
		c.Check("t8_eight_beyond_1", completing(x, spc.EightOuter))
		we := plotFrom(t, spc.XmR, s, b, spc.Options{Rules: rules(t, "western-electric")})
		c.Check("we4_eight_same_side", completing(we, spc.EightOneSide))
	})
	t.Run("rules_healthcare_variant_sequence", func(t *testing.T) {
		c := reference.Load(t, "rules_healthcare_variant_sequence")
		s, b := standardised(c.Floats("z"))
		x := plotFrom(t, spc.XmR, s, b, spc.Options{Rules: rules(t, "health-care")})
		c.Check("r1_beyond_3", completing(x, spc.BeyondLimits))
		c.Check("r2_eight_shift", completing(x, spc.EightOneSide))
		c.Check("r3_six_trend", completing(x, spc.SixTrend))
		c.Check("r4_two_of_three_outer_third", completing(x, spc.TwoOfThree))
		c.Check("r5_fifteen_inner_third", completing(x, spc.FifteenInner))
		r := plotFrom(t, spc.Run, s, b, spc.Options{Rules: rules(t, "run-chart-fixed")})
		c.Check("run_shift6", completing(r, spc.ShiftSix))
		c.Check("run_trend5", completing(r, spc.TrendFive))
	})
}

func TestReferenceDegenerateInputs(t *testing.T) {
	c := reference.Load(t, "edge_cases_degenerate_inputs")
	input := func(id string) map[string]any {
		for _, v := range c.Input["cases"].([]any) {
			if m := v.(map[string]any); m["id"] == id {
				return m
			}
		}
		t.Fatalf("no case %s", id)
		return nil
	}
	floats := func(v any) []float64 {
		var out []float64
		for _, x := range v.([]any) {
			out = append(out, x.(float64))
		}
		return out
	}
	plotted := func(x spc.Chart) (n int) {
		for _, p := range x.Points {
			if p.Has {
				n++
			}
		}
		return n
	}

	in := input("c_all_zero")
	x := plot(t, spc.C, spc.Values(nil, floats(in["counts"])), spc.Options{})
	c.Check("c_all_zero.center", x.Points[0].Centre)
	c.Check("c_all_zero.ucl", x.Points[0].UpperRaw)
	c.Check("c_all_zero.lcl", x.Points[0].LowerRaw)
	c.Check("c_all_zero.out", completing(x, spc.BeyondLimits))
	require.Contains(t, codes(x), spc.NoEvents)

	in = input("p_all_zero")
	x = plot(t, spc.P, spc.Ratios(nil, floats(in["events"]), floats(in["n"])), spc.Options{})
	c.Check("p_all_zero.center", x.Points[0].Centre)
	c.Check("p_all_zero.points_plotted", plotted(x))
	c.Check("p_all_zero.ucl", x.Points[0].UpperRaw)
	c.Check("p_all_zero.lcl", x.Points[0].LowerRaw)
	require.True(t, x.Points[2].Gap)
	c.Check("p_all_zero.rule_of_three_upper_for_total_n42", 1-math.Pow(0.05, 1.0/42))

	in = input("p_all_one")
	x = plot(t, spc.P, spc.Ratios(nil, floats(in["events"]), floats(in["n"])), spc.Options{})
	c.Check("p_all_one.center", x.Points[0].Centre)
	c.Check("p_all_one.ucl", x.Points[0].UpperRaw)
	c.Check("p_all_one.lcl", x.Points[0].LowerRaw)
	require.Empty(t, x.Signals)

	in = input("imr_constant")
	x = plot(t, spc.XmR, spc.Values(nil, floats(in["x"])), spc.Options{})
	c.Check("imr_constant.center", x.Points[0].Centre)
	c.Check("imr_constant.sigma", stat(t, x, "sigma"))
	c.Check("imr_constant.ucl", x.Points[0].UpperRaw)
	c.Check("imr_constant.lcl", x.Points[0].LowerRaw)
	c.Check("imr_constant.out", completing(x, spc.BeyondLimits))

	in = input("imr_single")
	x = plot(t, spc.XmR, spc.Values(nil, floats(in["x"])), spc.Options{})
	c.Check("imr_single.center", x.Points[0].Centre)
	var sigma *float64
	if v, ok := x.Summary.Get("sigma"); ok {
		sigma = &v
	}
	c.Check("imr_single.sigma", sigma)

	in = input("u_zero_exposure")
	x = plot(t, spc.U, spc.Ratios(nil, floats(in["events"]), floats(in["exposure"])), spc.Options{Limits: spc.Normal})
	c.Check("u_zero_exposure.center", x.Points[0].Centre)
	c.Check("u_zero_exposure.points_plotted", plotted(x))
	c.Check("u_zero_exposure.ucl", uppers(x))

	in = input("xbar_s_n1")
	var groups [][]float64
	for _, g := range in["subgroups"].([]any) {
		groups = append(groups, floats(g))
	}
	x = plot(t, spc.XbarS, spc.Subgroups(nil, groups), spc.Options{})
	c.Check("xbar_s_n1.s_defined", values(*x.Companion))
	c.Check("xbar_s_n1.weighted_mean", stat(t, x, "grand_mean"))
	c.Check("xbar_s_n1.pooled_sd", stat(t, x, "pooled_sd"))
}
