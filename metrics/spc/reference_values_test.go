package spc_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/metrics/dist"
	"chestrise/metrics/spc"
	"chestrise/testdata/reference"
)

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
