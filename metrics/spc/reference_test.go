package spc_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/metrics/dist"
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

func TestReferencePCharts(t *testing.T) {
	t.Run("nist_p_chart_30_wafers", func(t *testing.T) {
		c := reference.Load(t, "nist_p_chart_30_wafers")
		events := c.Floats("events")
		n := constant(len(events), c.Float("n"))
		p := plot(t, spc.P, spc.Ratios(nil, events, n), spc.Options{})
		c.Check("pbar", stat(t, p, "mean"))
		c.Check("ucl", p.Points[0].Upper)
		c.Check("lcl", p.Points[0].Lower)
		c.Check("z", zs(p))
		c.Check("out", completing(p, spc.BeyondLimits))
		c.CheckPublished("pbar", stat(t, p, "mean"))
		c.CheckPublished("ucl", p.Points[0].Upper)
		c.CheckPublished("lcl", p.Points[0].Lower)
		np := plot(t, spc.NP, spc.Ratios(nil, events, n), spc.Options{})
		c.Check("np_center", np.Points[0].Centre)
		c.Check("np_ucl", np.Points[0].Upper)
		c.Check("np_lcl", np.Points[0].Lower)
		require.Equal(t, completing(p, spc.BeyondLimits), completing(np, spc.BeyondLimits))
		exact := plot(t, spc.P, spc.Ratios(nil, events, n), spc.Options{Limits: spc.Exact})
		c.Check("exact_binomial_q00135_q99865", []*float64{exact.Points[0].Lower, exact.Points[0].Upper})
	})
	t.Run("textbook_p_chart_variable_n", func(t *testing.T) {
		c := reference.Load(t, "textbook_p_chart_variable_n")
		p := plot(t, spc.P, spc.Ratios(nil, c.Floats("events"), c.Floats("n")), spc.Options{Limits: spc.Normal})
		c.Check("pbar", stat(t, p, "mean"))
		c.Check("ucl", uppers(p))
		c.Check("lcl", lowers(p))
		c.Check("z", zs(p))
		c.Check("out", completing(p, spc.BeyondLimits))
		c.Check("mean_n", p.Phases[0].Baseline.MeanN)
		// Neither an average denominator nor the mean of the proportions is what the chart uses.
		m, n := stat(t, p, "mean"), p.Phases[0].Baseline.MeanN
		c.Check("ucl_average_n", m+3*math.Sqrt(m*(1-m)/n))
		sum := 0.0
		for _, q := range p.Points {
			sum += q.Value
		}
		c.Check("unweighted_mean_p", sum/float64(len(p.Points)))
		c.CheckPublished("pbar", stat(t, p, "mean"))
		c.CheckPublished("total_events", stat(t, p, "events"))
		c.CheckPublished("total_n", stat(t, p, "n"))
		c.CheckPublished("z11", p.Points[10].Z)
		c.CheckPublished("ucl11", p.Points[10].Upper)
	})
	t.Run("p_chart_semmelweis_frozen_baseline", func(t *testing.T) {
		c := reference.Load(t, "p_chart_semmelweis_frozen_baseline")
		until := c.Input["baseline_last"].(string)
		p := plot(t, spc.P, spc.Ratios(c.Strings("period"), c.Floats("events"), c.Floats("n")), spc.Options{BaselineUntil: until})
		c.Check("n_baseline", p.Phases[0].Baseline.Points)
		c.Check("pbar", stat(t, p, "mean"))
		c.Check("ucl", uppers(p))
		c.Check("lcl", lowers(p))
		c.Check("z", zs(p))
		c.Check("out_high", completing(p, spc.BeyondLimits, spc.Up))
		c.Check("out_low", completing(p, spc.BeyondLimits, spc.Down))
		first := 0
		for _, at := range completing(p, spc.EightOneSide, spc.Down) {
			if first == 0 && at > p.Phases[0].Baseline.Points {
				first = at
			}
		}
		c.Check("first_after_freeze_run8_below", first)
		require.True(t, p.Phases[0].Windowed)
	})
	t.Run("p_chart_exact_vs_normal_small_n", func(t *testing.T) {
		c := reference.Load(t, "p_chart_exact_vs_normal_small_n")
		n, centre := c.Floats("n"), c.Float("p")
		s := spc.Ratios(nil, constant(len(n), 0), n)
		b := &spc.Baseline{Centre: centre, Points: 40}
		normal := plotFrom(t, spc.P, s, b, spc.Options{Limits: spc.Normal})
		c.Check("ucl_3sigma", uppers(normal))
		c.Check("lcl_3sigma", lowers(normal))
		exact := plotFrom(t, spc.P, s, b, spc.Options{Limits: spc.Exact})
		auto := plotFrom(t, spc.P, s, b, spc.Options{})
		var low, high, expected []float64
		var normalOK []bool
		for i, p := range exact.Points {
			low = append(low, math.Round(*p.LowerRaw*n[i]))
			high = append(high, math.Round(*p.UpperRaw*n[i]))
			expected = append(expected, n[i]**p.Centre)
			normalOK = append(normalOK, !auto.Points[i].Exact)
		}
		c.Check("exact_low_count", low)
		c.Check("exact_high_count", high)
		c.Check("expected", expected)
		c.Check("normal_ok_np_ge5", normalOK)
	})
}

func TestReferencePrimeCharts(t *testing.T) {
	t.Run("laney_pprime_semmelweis", func(t *testing.T) {
		c := reference.Load(t, "laney_pprime_semmelweis")
		s := spc.Ratios(c.Strings("period"), c.Floats("events"), c.Floats("n"))
		p := plot(t, spc.PPrime, s, spc.Options{BaselineUntil: c.Input["baseline_last"].(string)})
		c.Check("pbar", stat(t, p, "mean"))
		c.Check("sigma_z", stat(t, p, "sigma_z"))
		c.Check("ucl", uppers(p))
		c.Check("lcl", lowers(p))
		c.Check("z_adjusted", zs(p))
		c.Check("out_high", completing(p, spc.BeyondLimits, spc.Up))
		c.Check("out_low", completing(p, spc.BeyondLimits, spc.Down))
		c.Check("sigma_z_d2_1.128", stat(t, p, "sigma_z")*2/math.SqrtPi/1.128)
	})
	t.Run("laney_pprime_denmark_births_sex_2007_2011", func(t *testing.T) {
		c := reference.Load(t, "laney_pprime_denmark_births_sex_2007_2011")
		s := spc.Ratios(c.Strings("period"), c.Floats("events"), c.Floats("n"))
		prime, plain := plot(t, spc.PPrime, s, spc.Options{}), plot(t, spc.P, s, spc.Options{})
		c.Check("pbar", stat(t, prime, "mean"))
		c.Check("sigma_z", stat(t, prime, "sigma_z"))
		c.Check("sigma_z", stat(t, plain, "sigma_z"))
		c.Check("ucl_p", uppers(plain))
		c.Check("lcl_p", lowers(plain))
		c.Check("ucl", uppers(prime))
		c.Check("lcl", lowers(prime))
		c.Check("z", zs(plain))
		c.Check("out_p", completing(plain, spc.BeyondLimits))
		c.Check("out_pprime", completing(prime, spc.BeyondLimits))
		ss := 0.0
		for _, z := range zs(plain) {
			ss += *z * *z
		}
		c.Check("dispersion", ss/float64(len(plain.Points)-1))
	})
	t.Run("laney_uprime_accidental_deaths", func(t *testing.T) {
		c := reference.Load(t, "laney_uprime_accidental_deaths")
		s := spc.Ratios(nil, c.Floats("events"), c.Floats("exposure"))
		prime, plain := plot(t, spc.UPrime, s, spc.Options{}), plot(t, spc.U, s, spc.Options{})
		c.Check("ubar", stat(t, prime, "mean"))
		c.Check("sigma_z", stat(t, prime, "sigma_z"))
		c.Check("u_ucl", uppers(plain))
		c.Check("u_lcl", lowers(plain))
		c.Check("uprime_ucl", uppers(prime))
		c.Check("uprime_lcl", lowers(prime))
		c.Check("z", zs(plain))
		c.Check("out_u", completing(plain, spc.BeyondLimits))
		c.Check("out_uprime", completing(prime, spc.BeyondLimits))
		z := make([]float64, len(plain.Points))
		for i, v := range zs(plain) {
			z[i] = *v
		}
		x := plot(t, spc.XmR, spc.Values(nil, z), spc.Options{})
		c.Check("lag1_autocorr_z", stat(t, x, "lag1_autocorrelation"))
	})
	t.Run("pprime_semmelweis_two_phases_and_rules", func(t *testing.T) {
		c := reference.Load(t, "pprime_semmelweis_two_phases_and_rules")
		labels := c.Strings("period")
		var starts []spc.PhaseStart
		for _, from := range c.Strings("phase_starts") {
			for i, l := range labels {
				if l == from {
					starts = append(starts, spc.PhaseStart{From: i, Reason: "recorded"})
				}
			}
		}
		set := spc.RuleSet{Name: "chosen", Rules: []spc.RuleID{spc.BeyondLimits, spc.EightOneSide, spc.TwoOfThree, spc.SixTrend}}
		p := plot(t, spc.PPrime, spc.Ratios(labels, c.Floats("events"), c.Floats("n")), spc.Options{Phases: starts, Rules: set})
		require.Len(t, p.Phases, 2)
		c.Check("p_phase", []float64{p.Phases[0].Baseline.Centre, p.Phases[1].Baseline.Centre})
		c.Check("sigma_z_phase", []float64{p.Phases[0].Baseline.SigmaZ, p.Phases[1].Baseline.SigmaZ})
		c.Check("ucl", uppers(p))
		c.Check("lcl", lowers(p))
		c.Check("z_adjusted", zs(p))
		c.Check("beyond3", completing(p, spc.BeyondLimits))
		c.Check("eight_same_side", completing(p, spc.EightOneSide))
		c.Check("two_of_three", completing(p, spc.TwoOfThree))
		c.Check("six_trend_in_proportion", completing(p, spc.SixTrend))
	})
}

func TestReferenceIndividuals(t *testing.T) {
	t.Run("nist_individuals_flowrate", func(t *testing.T) {
		c := reference.Load(t, "nist_individuals_flowrate")
		x := plot(t, spc.XmR, spc.Values(nil, c.Floats("x")), spc.Options{})
		checkIndividuals(t, c, x)
		c.Check("sd_sample", stat(t, x, "sd"))
		mean, mrbar := stat(t, x, "mean"), stat(t, x, "mean_moving_range")
		c.Check("ucl_d2_1.128", mean+3*mrbar/1.128)
		c.Check("lcl_d2_1.128", mean-3*mrbar/1.128)
		c.CheckPublished("mean", mean)
		c.CheckPublished("mrbar", mrbar)
		// The handbook divides by 1.128 for 2/sqrt(pi): its limits follow from the same mean moving range.
		c.CheckPublished("ucl_d2_1.128", mean+3*mrbar/1.128)
		c.CheckPublished("lcl_d2_1.128", mean-3*mrbar/1.128)
	})
	t.Run("imr_systolic_bp_26_days", func(t *testing.T) {
		c := reference.Load(t, "imr_systolic_bp_26_days")
		x := plot(t, spc.XmR, spc.Values(nil, c.Floats("x")), spc.Options{})
		checkIndividuals(t, c, x)
		// Rounded divisors move the limits in the second or third decimal.
		mean, mrbar := stat(t, x, "mean"), stat(t, x, "mean_moving_range")
		c.Check("ucl_d2_1.128", mean+3*mrbar/1.128)
		c.Check("lcl_d2_1.128", mean-3*mrbar/1.128)
		c.Check("ucl_2.66", mean+2.66*mrbar)
		c.Check("lcl_2.66", mean-2.66*mrbar)
	})
	t.Run("imr_autocorrelated_mavro", func(t *testing.T) {
		c := reference.Load(t, "imr_autocorrelated_mavro")
		x := plot(t, spc.XmR, spc.Values(nil, c.Floats("x")), spc.Options{})
		out := completing(x, spc.BeyondLimits)
		c.Check("mean", stat(t, x, "mean"))
		c.Check("mrbar", stat(t, x, "mean_moving_range"))
		c.Check("ucl", x.Points[0].Upper)
		c.Check("lcl", x.Points[0].Lower)
		c.Check("out", out)
		c.Check("n_out", len(out))
		c.Check("sd", stat(t, x, "sd"))
		c.Check("ratio_sd_to_mr_sigma", stat(t, x, "sd")/stat(t, x, "sigma"))
		c.Check("lag1_autocorrelation", stat(t, x, "lag1_autocorrelation"))
		require.Contains(t, codes(x), spc.Autocorrelated)
	})
}

func checkIndividuals(t *testing.T, c *reference.Case, x spc.Chart) {
	t.Helper()
	c.Check("n", len(x.Points))
	c.Check("mean", stat(t, x, "mean"))
	c.Check("mr", column(x, func(p spc.Point) *float64 { return p.MovingRange })[1:])
	c.Check("mrbar", stat(t, x, "mean_moving_range"))
	c.Check("sigma_hat", stat(t, x, "sigma"))
	c.Check("ucl", x.Points[0].Upper)
	c.Check("lcl", x.Points[0].Lower)
	c.Check("mr_ucl", x.Companion.Points[0].Upper)
	c.Check("mr_lcl", x.Companion.Points[0].LowerRaw)
	c.Check("out", completing(x, spc.BeyondLimits))
	c.Check("mr_out", completing(*x.Companion, spc.BeyondLimits))
}

func codes(c spc.Chart) []spc.Code {
	var out []spc.Code
	for _, w := range c.Warnings {
		out = append(out, w.Code)
	}
	return out
}

func TestReferenceGapCharts(t *testing.T) {
	// The published number counts the births without the event between two events.
	positions := func(event []float64) (pos []int) {
		for i, e := range event {
			if e == 1 {
				pos = append(pos, i+1)
			}
		}
		return pos
	}
	t.Run("g_chart_births_between_low_birthweight", func(t *testing.T) {
		c := reference.Load(t, "g_chart_births_between_low_birthweight")
		event := c.Floats("event")
		s, err := spc.Gaps(positions(event), len(event))
		require.NoError(t, err)
		open := s.Points[len(s.Points)-1]
		c.Check("open_gap_after_last", open.Num)
		var cdf []float64
		for _, o := range s.Points[:len(s.Points)-1] {
			cdf = append(cdf, dist.GeometricCDF(int(o.Num), c.Expected["p_hat"].(float64)))
		}
		c.Check("cdf_of_each", cdf)
		s.Points[0].AtLeast = false // this case takes the first stretch as a whole gap
		checkGaps(t, c, s)
		g := plot(t, spc.G, s, spc.Options{})
		normal := plot(t, spc.G, s, spc.Options{Limits: spc.Normal})
		c.Check("out_3sigma", completing(normal, spc.BeyondLimits))
		c.Check("out_prob", completing(g, spc.BeyondLimits))
	})
	t.Run("g_chart_births_drop_first_gap", func(t *testing.T) {
		c := reference.Load(t, "g_chart_births_drop_first_gap")
		event := c.Floats("event")
		s, err := spc.Gaps(positions(event), len(event))
		require.NoError(t, err)
		checkGaps(t, c, s)
	})
}

func checkGaps(t *testing.T, c *reference.Case, s spc.Series) {
	t.Helper()
	var gaps []float64
	for _, o := range s.Points {
		if !o.AtLeast {
			gaps = append(gaps, o.Num)
		}
	}
	g := plot(t, spc.G, s, spc.Options{})
	normal := plot(t, spc.G, s, spc.Options{Limits: spc.Normal})
	c.Check("gaps", gaps)
	c.Check("gbar", stat(t, g, "mean_gap"))
	c.Check("sigma", g.Points[0].Sigma)
	c.Check("ucl_3sigma", normal.Points[0].Upper)
	require.Nil(t, normal.Points[0].Lower)
	c.Check("lcl_3sigma", lowers(normal)[0])
	c.Check("center_0693", 0.693*stat(t, g, "mean_gap"))
	c.Check("p_hat_unbiased", stat(t, g, "p_unbiased"))
	c.Check("p_hat", stat(t, g, "p"))
	c.Check("ucl_prob_00135", g.Points[0].Upper)
	c.Check("lcl_prob_00135", g.Points[0].LowerRaw)
	require.Nil(t, g.Points[0].Lower)
	c.Check("median_geometric", g.Points[0].Centre)
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

func TestReferenceCountCharts(t *testing.T) {
	t.Run("nist_c_chart_wafers", func(t *testing.T) {
		c := reference.Load(t, "nist_c_chart_wafers")
		x := plot(t, spc.C, spc.Values(nil, c.Floats("counts")), spc.Options{})
		c.Check("cbar", stat(t, x, "mean"))
		c.Check("ucl", x.Points[0].Upper)
		c.Check("lcl", x.Points[0].Lower)
		c.Check("out_strict", completing(x, spc.BeyondLimits))
		c.Check("total", stat(t, x, "events"))
		on := []int{}
		for i, p := range x.Points {
			if p.Value == *p.Upper || p.Value == *p.Lower {
				on = append(on, i+1)
			}
		}
		c.Check("on_limit", on)
		c.CheckPublished("cbar", stat(t, x, "mean"))
		c.CheckPublished("ucl", x.Points[0].Upper)
		c.CheckPublished("lcl", x.Points[0].Lower)
	})
	t.Run("textbook_c_chart_revised", func(t *testing.T) {
		c := reference.Load(t, "textbook_c_chart_revised")
		s := spc.Values(nil, c.Floats("counts"))
		x := plot(t, spc.C, s, spc.Options{})
		c.Check("cbar", stat(t, x, "mean"))
		c.Check("ucl", x.Points[0].Upper)
		c.Check("lcl", x.Points[0].Lower)
		c.Check("out", completing(x, spc.BeyondLimits))
		for _, i := range c.Ints("exclude") {
			s.Points[i-1].SetAside = true
		}
		r := plot(t, spc.C, s, spc.Options{})
		c.Check("cbar_revised", stat(t, r, "mean"))
		c.Check("ucl_revised", r.Points[0].Upper)
		c.Check("lcl_revised", r.Points[0].Lower)
		c.Check("out_revised", completing(r, spc.BeyondLimits))
		for k, v := range map[string]any{
			"cbar": stat(t, x, "mean"), "ucl": x.Points[0].Upper, "lcl": x.Points[0].Lower,
			"cbar_revised": stat(t, r, "mean"), "ucl_revised": r.Points[0].Upper, "lcl_revised": r.Points[0].Lower,
		} {
			c.CheckPublished(k, v)
		}
	})
	t.Run("c_chart_horse_kicks_20_years", func(t *testing.T) {
		c := reference.Load(t, "c_chart_horse_kicks_20_years")
		counts := c.Floats("counts")
		x := plot(t, spc.C, spc.Values(nil, counts), spc.Options{})
		c.Check("total", stat(t, x, "events"))
		c.Check("cbar", stat(t, x, "mean"))
		c.Check("ucl", x.Points[0].Upper)
		c.Check("lcl", x.Points[0].Lower)
		c.Check("out", completing(x, spc.BeyondLimits))
		ss := 0.0
		for _, z := range zs(x) {
			ss += *z * *z
		}
		c.Check("dispersion", ss/float64(len(counts)-1))
		e := plot(t, spc.C, spc.Values(nil, counts), spc.Options{Limits: spc.Exact})
		c.Check("exact_poisson_q00135", e.Points[0].LowerRaw)
		c.Check("exact_poisson_q99865", e.Points[0].UpperRaw)
		c.CheckPublished("total", stat(t, x, "events"))
	})
	t.Run("textbook_u_chart_constant_exposure", func(t *testing.T) {
		c := reference.Load(t, "textbook_u_chart_constant_exposure")
		events := c.Floats("events")
		x := plot(t, spc.U, spc.Ratios(nil, events, constant(len(events), c.Float("exposure"))), spc.Options{})
		c.Check("ubar", stat(t, x, "mean"))
		c.Check("ucl", x.Points[0].Upper)
		c.Check("lcl", x.Points[0].Lower)
		c.Check("out", completing(x, spc.BeyondLimits))
		c.CheckPublished("ubar", stat(t, x, "mean"))
		c.CheckPublished("ucl", x.Points[0].Upper)
		c.CheckPublished("lcl", x.Points[0].Lower)
	})
	t.Run("textbook_u_chart_varying_area", func(t *testing.T) {
		c := reference.Load(t, "textbook_u_chart_varying_area")
		x := plot(t, spc.U, spc.Ratios(nil, c.Floats("events"), c.Floats("exposure")), spc.Options{})
		c.Check("ubar", stat(t, x, "mean"))
		c.Check("ucl", uppers(x))
		c.Check("lcl", lowers(x))
		c.Check("z", zs(x))
		c.Check("out", completing(x, spc.BeyondLimits))
		c.CheckPublished("ubar", stat(t, x, "mean"))
		c.CheckPublished("ucl", uppers(x))
		c.CheckPublished("lcl", lowers(x))
	})
}

func TestReferenceSubgroupCharts(t *testing.T) {
	c := reference.Load(t, "xbar_R_S_piston_rings_n5")
	s := spc.Subgroups(nil, c.Lists("subgroups"))
	r, sd := plot(t, spc.XbarR, s, spc.Options{}), plot(t, spc.XbarS, s, spc.Options{})
	got := map[string]any{
		"xbar": values(r), "r": values(*r.Companion), "s": values(*sd.Companion),
		"grand_mean": stat(t, r, "grand_mean"), "rbar": stat(t, r, "mean_range"), "sbar": stat(t, sd, "mean_sd"),
		"xbar_ucl_R": r.Points[0].Upper, "xbar_lcl_R": r.Points[0].Lower,
		"r_ucl": r.Companion.Points[0].Upper, "r_lcl": r.Companion.Points[0].LowerRaw,
		"xbar_ucl_S": sd.Points[0].Upper, "xbar_lcl_S": sd.Points[0].Lower,
		"s_ucl": sd.Companion.Points[0].Upper, "s_lcl": sd.Companion.Points[0].LowerRaw,
		"sigma_hat_R": stat(t, r, "sigma"), "sigma_hat_S": stat(t, sd, "sigma"), "sigma_pooled": stat(t, sd, "pooled_sd"),
		"out": completing(r, spc.BeyondLimits),
	}
	for k, v := range got {
		c.Check(k, v)
	}
	for _, k := range []string{"grand_mean", "rbar", "sbar", "xbar_ucl_R", "xbar_lcl_R", "r_ucl", "xbar_ucl_S", "xbar_lcl_S", "s_ucl"} {
		c.CheckPublished(k, got[k])
	}
	require.Nil(t, r.Companion.Points[0].Lower, "D3 is 0 for five: no lower limit")
	require.Empty(t, sd.Signals)
}

func TestReferenceTimeChart(t *testing.T) {
	c := reference.Load(t, "t_chart_exponential_probability_limits")
	times := c.Floats("t")
	x := plot(t, spc.T, spc.Values(nil, times), spc.Options{})
	c.Check("mean", stat(t, x, "mean_time"))
	c.Check("center_median", x.Points[0].Centre)
	c.Check("lcl", x.Points[0].Lower)
	c.Check("ucl", x.Points[0].Upper)
	c.Check("out", completing(x, spc.BeyondLimits))
	var cdf []float64
	for _, v := range times {
		cdf = append(cdf, dist.GammaCDF(v/stat(t, x, "mean_time"), 1))
	}
	c.Check("cdf", cdf)
	// The power transform has no usable lower limit here; its upper one is of the same order.
	n := plot(t, spc.T, spc.Values(nil, times), spc.Options{Limits: spc.Normal})
	require.Nil(t, n.Points[0].Lower)
	require.InEpsilon(t, *x.Points[0].Upper, *n.Points[0].Upper, 0.6)
}

func TestReferenceEWMA(t *testing.T) {
	observed := func(c *reference.Case, m spc.Memory) spc.Chart {
		sigma := 1.0
		if v, ok := c.Input["sigma"].(float64); ok {
			sigma = v
		}
		return plotFrom(t, spc.EWMA, spc.Values(nil, c.Floats("x")), &spc.Baseline{Centre: c.Float("target"), Sigma: sigma}, spc.Options{Memory: m})
	}
	t.Run("nist_ewma_example", func(t *testing.T) {
		c := reference.Load(t, "nist_ewma_example")
		exact := observed(c, spc.Memory{Lambda: c.Float("lambda"), Width: c.Float("L")})
		flat := observed(c, spc.Memory{Lambda: c.Float("lambda"), Width: c.Float("L"), Asymptote: true})
		c.Check("ewma", values(exact))
		c.Check("ucl_asymptotic", flat.Points[0].Upper)
		c.Check("lcl_asymptotic", flat.Points[0].Lower)
		c.Check("ucl_exact", uppers(exact))
		c.Check("lcl_exact", lowers(exact))
		c.Check("out_asymptotic", completing(flat, spc.MovingCentred))
		c.Check("out_exact", completing(exact, spc.MovingCentred))
		c.CheckPublished("ewma", values(exact))
		c.CheckPublished("ucl_asymptotic", flat.Points[0].Upper)
		c.CheckPublished("lcl_asymptotic", flat.Points[0].Lower)
	})
	t.Run("textbook_ewma_lambda01_L27", func(t *testing.T) {
		c := reference.Load(t, "textbook_ewma_lambda01_L27")
		exact := observed(c, spc.Memory{Lambda: c.Float("lambda"), Width: c.Float("L")})
		flat := observed(c, spc.Memory{Lambda: c.Float("lambda"), Width: c.Float("L"), Asymptote: true})
		out := completing(exact, spc.MovingCentred)
		c.Check("ewma", values(exact))
		c.Check("ucl_exact", uppers(exact))
		c.Check("lcl_exact", lowers(exact))
		c.Check("ucl_asymptotic", flat.Points[0].Upper)
		c.Check("lcl_asymptotic", flat.Points[0].Lower)
		c.Check("out_exact", out)
		c.Check("first_signal", out[0])
		c.CheckPublished("ewma", values(exact))
		c.CheckPublished("ucl_asymptotic", flat.Points[0].Upper)
		c.CheckPublished("lcl_asymptotic", flat.Points[0].Lower)
		c.CheckPublished("first_signal", out[0])
	})
}

func TestReferenceCusum(t *testing.T) {
	draw := func(c *reference.Case, m spc.Memory) (upper, lower spc.Chart) {
		up := plotFrom(t, spc.Cusum, spc.Values(nil, c.Floats("x")), &spc.Baseline{Centre: c.Float("target"), Sigma: 1}, spc.Options{Memory: m})
		return up, *up.Companion
	}
	negated := func(c spc.Chart) []float64 {
		var out []float64
		for _, p := range c.Points {
			out = append(out, math.Abs(p.Value))
		}
		return out
	}
	signals := func(a, b spc.Chart) []int {
		out := []int{}
		for i := range a.Points {
			if len(a.Points[i].Signals)+len(b.Points[i].Signals) > 0 {
				out = append(out, i+1)
			}
		}
		return out
	}
	t.Run("nist_cusum_tabular", func(t *testing.T) {
		c := reference.Load(t, "nist_cusum_tabular")
		up, low := draw(c, spc.Memory{K: c.Float("k"), H: c.Float("h")})
		c.Check("s_hi", values(up))
		c.Check("s_lo", negated(low))
		c.Check("signals", signals(up, low))
		c.Check("first_signal", stat(t, up, "first_signal"))
		c.CheckPublished("first_signal", stat(t, up, "first_signal"))
		c.CheckPublished("s_hi_from_13", values(up)[12:])
		sum, raw := 0.0, []float64{}
		for _, v := range c.Floats("x") {
			sum += v - c.Float("target")
			raw = append(raw, sum)
		}
		c.Check("cusum_raw", raw)
	})
	t.Run("textbook_cusum_k05_h5", func(t *testing.T) {
		c := reference.Load(t, "textbook_cusum_k05_h5")
		up, low := draw(c, spc.Memory{K: c.Float("k"), H: c.Float("h")})
		steps := func(x spc.Chart) (out []int) {
			for _, p := range x.Points {
				out = append(out, p.Steps)
			}
			return out
		}
		c.Check("c_plus", values(up))
		c.Check("c_minus", negated(low))
		c.Check("n_plus", steps(up))
		c.Check("n_minus", steps(low))
		c.Check("signals", signals(up, low))
		c.Check("first_signal", stat(t, up, "first_signal"))
		c.Check("change_estimate_last_in_control", stat(t, up, "last_in_control"))
		c.CheckPublished("first_signal", stat(t, up, "first_signal"))
		c.CheckPublished("c_plus_at_29", values(up)[28])
		c.CheckPublished("n_plus_at_29", steps(up)[28])
		c.CheckPublished("change_estimate_last_in_control", stat(t, up, "last_in_control"))
	})
	t.Run("textbook_cusum_fir", func(t *testing.T) {
		c := reference.Load(t, "textbook_cusum_fir")
		up, low := draw(c, spc.Memory{K: c.Float("k"), H: c.Float("h"), HeadStart: c.Float("headstart") / c.Float("h")})
		c.Check("c_plus", values(up))
		c.Check("c_minus", negated(low))
		c.Check("signals", signals(up, low))
	})
}
