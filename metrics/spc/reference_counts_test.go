package spc_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/metrics/spc"
	"chestrise/testdata/reference"
)

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
