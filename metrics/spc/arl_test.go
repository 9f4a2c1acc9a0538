package spc_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/metrics/spc"
	"chestrise/testdata/reference"
)

func ids(r ...spc.RuleID) spc.RuleSet { return spc.RuleSet{Name: "chosen", Rules: r} }

func runLengths(t *testing.T, shifts []float64, f func(float64) (float64, error)) []float64 {
	t.Helper()
	var out []float64
	for _, s := range shifts {
		v, err := f(s)
		require.NoError(t, err)
		out = append(out, v)
	}
	return out
}

func TestRunLengthsOfChampAndWoodall(t *testing.T) {
	// Champ & Woodall, Technometrics 29 (1987), in-control column of table 1 (from memory).
	for _, tc := range []struct {
		want  float64
		rules []spc.RuleID
	}{
		{370.40, []spc.RuleID{spc.BeyondLimits}},
		{225.44, []spc.RuleID{spc.BeyondLimits, spc.TwoOfThree}},
		{166.05, []spc.RuleID{spc.BeyondLimits, spc.FourOfFive}},
		{152.73, []spc.RuleID{spc.BeyondLimits, spc.EightOneSide}},
		{132.89, []spc.RuleID{spc.BeyondLimits, spc.TwoOfThree, spc.FourOfFive}},
		{122.05, []spc.RuleID{spc.BeyondLimits, spc.TwoOfThree, spc.EightOneSide}},
		{105.78, []spc.RuleID{spc.BeyondLimits, spc.FourOfFive, spc.EightOneSide}},
		{91.75, []spc.RuleID{spc.BeyondLimits, spc.TwoOfThree, spc.FourOfFive, spc.EightOneSide}},
	} {
		got, err := spc.RunLength(ids(tc.rules...), 0)
		require.NoError(t, err)
		require.InDelta(t, tc.want, got, 0.0051, "%v", tc.rules)
	}
}

func TestReferenceRunLengths(t *testing.T) {
	t.Run("arl_shift_rule_6_7_8_9", func(t *testing.T) {
		c := reference.Load(t, "arl_shift_rule_6_7_8_9")
		shifts := c.Floats("shift")
		of := func(r ...spc.RuleID) []float64 {
			return runLengths(t, shifts, func(s float64) (float64, error) { return spc.RunLength(ids(r...), s) })
		}
		c.Check("rule1_plus_run6", of(spc.BeyondLimits, spc.ShiftSix))
		c.Check("rule1_plus_run7", of(spc.BeyondLimits, spc.SevenOneSide))
		c.Check("rule1_plus_run8", of(spc.BeyondLimits, spc.EightOneSide))
		c.Check("rule1_plus_run9", of(spc.BeyondLimits, spc.NineOneSide))
		c.Check("run8_only", of(spc.EightOneSide))
		c.Check("rule1_2_run8", of(spc.BeyondLimits, spc.TwoOfThree, spc.EightOneSide))
		c.CheckPublished("run8_only_in_control", of(spc.EightOneSide)[0])
		c.CheckPublished("rule1_plus_run8_in_control", of(spc.BeyondLimits, spc.EightOneSide)[0])
	})
	t.Run("arl_cusum_k05_h4_and_fir", func(t *testing.T) {
		c := reference.Load(t, "arl_cusum_k05_h4_and_fir")
		k, h, s := c.Float("k"), c.Float("h"), c.Float("headstart")
		plain := runLengths(t, c.Floats("shift"), func(d float64) (float64, error) { return spc.CusumRunLength(k, h, d, 0, true) })
		fir := runLengths(t, c.Floats("shift"), func(d float64) (float64, error) { return spc.CusumRunLength(k, h, d, s, true) })
		c.Check("arl", plain)
		c.Check("arl_fir", fir)
		c.CheckPublished("arl", plain)
		// Printed 1.32 at a shift of 3 for 1.3254; the other ten agree.
		c.PrintDisagrees("arl_fir", fir, 9)
	})
	t.Run("arl_cusum_k05_h5", func(t *testing.T) {
		c := reference.Load(t, "arl_cusum_k05_h5")
		k, h := c.Float("k"), c.Float("h")
		plain := runLengths(t, c.Floats("shift"), func(d float64) (float64, error) { return spc.CusumRunLength(k, h, d, 0, true) })
		fir := runLengths(t, []float64{0, 1}, func(d float64) (float64, error) { return spc.CusumRunLength(k, h, d, h/2, true) })
		c.Check("arl", plain)
		c.Check("arl_fir_0_and_1", fir)
		c.CheckPublished("arl", plain)
		c.CheckPublished("arl_fir_0_and_1", fir)
	})
	t.Run("arl_cusum_one_sided_brook_evans_vance", func(t *testing.T) {
		c := reference.Load(t, "arl_cusum_one_sided_brook_evans_vance")
		for _, part := range []string{"a", "b"} {
			k, h := c.Float(part+".k"), c.Float(part+".h")
			got := runLengths(t, c.Floats(part+".shift"), func(d float64) (float64, error) { return spc.CusumRunLength(k, h, d, 0, false) })
			c.Check(part, got)
			if part == "a" {
				c.CheckPublished(part, got)
			} else {
				// Printed 2071.51 for 2071.57; the other seven agree.
				c.PrintDisagrees(part, got, 1)
			}
		}
	})
	t.Run("arl_ewma_lucas_saccucci_table3", func(t *testing.T) {
		c := reference.Load(t, "arl_ewma_lucas_saccucci_table3")
		for i, key := range []string{"l05", "l003"} {
			d := reference.At(c.Input, "designs").([]any)[i]
			l, w := reference.At(d, "lambda").(float64), reference.At(d, "L").(float64)
			got := runLengths(t, c.Floats("shift"), func(s float64) (float64, error) { return spc.EWMARunLength(l, w, s, 0) })
			c.Check(key, got)
			c.CheckPublished(key, got)
		}
	})
	t.Run("arl_ewma_five_designs_arl500", func(t *testing.T) {
		c := reference.Load(t, "arl_ewma_five_designs_arl500")
		var rows [][]float64
		for _, s := range c.Floats("shift") {
			var row []float64
			for _, d := range c.Input["designs"].([]any) {
				v, err := spc.EWMARunLength(reference.At(d, "lambda").(float64), reference.At(d, "L").(float64), s, 0)
				require.NoError(t, err)
				row = append(row, v)
			}
			rows = append(rows, row)
		}
		c.Check("arl_rows_by_shift", rows)
		var printed []float64 // the print runs design by design and leaves out shift 0
		for d := range rows[0] {
			for _, row := range rows[1:] {
				printed = append(printed, row[d])
			}
		}
		// Printed 48.2 for 48.29 and 15.9 for 15.85.
		c.PrintDisagrees("arl", printed, 11, 30)
	})
	t.Run("arl_ewma_fir_lucas_saccucci_table5", func(t *testing.T) {
		c := reference.Load(t, "arl_ewma_fir_lucas_saccucci_table5")
		for i, key := range []string{"l05", "l003"} {
			d := reference.At(c.Input, "designs").([]any)[i]
			l, w := reference.At(d, "lambda").(float64), reference.At(d, "L").(float64)
			start := c.Float("headstart_fraction")
			got := runLengths(t, c.Floats("shift"), func(s float64) (float64, error) { return spc.EWMAPairRunLength(l, w, s, start) })
			c.Check(key, got)
			// Printed 487 for 493.0 and 86.1 for 85.9, 406 for 404.6 and 7.36 for 7.34: the
			// paper used a coarse Markov chain.
			c.PrintDisagrees(key, got, 1, i+2)
		}
	})
	t.Run("runchart_exact_false_signal_rate", func(t *testing.T) {
		c := reference.Load(t, "runchart_exact_false_signal_rate")
		var rows []map[string]any
		for _, n := range c.Ints("n") {
			fewest, longest := spc.RunLimits(n)
			a, b, e := spc.RunChartChance(n)
			rows = append(rows, map[string]any{"n": n, "min_crossings": fewest, "max_longest": longest, "p_crossings_signal": a, "p_longest_signal": b, "p_any_signal": e})
		}
		for i, r := range rows {
			for k, v := range r {
				c.Check("rows."+string(rune('0'+i))+"."+k, v)
			}
		}
	})
}

func TestSimulationAgreesWithTheChain(t *testing.T) {
	for _, tc := range []struct {
		set   string
		shift float64
	}{{"western-electric", 0}, {"default", 1}, {"western-electric", 1.5}} {
		set := rules(t, tc.set)
		if set.Rules == nil {
			set = ids(spc.BeyondLimits, spc.EightOneSide)
		}
		exact, err := spc.RunLength(set, tc.shift)
		require.NoError(t, err)
		got, se, cut, err := spc.SimulatedRunLength(rand.New(rand.NewPCG(1, 2)), set, tc.shift, 600, 3000)
		require.NoError(t, err)
		require.Zero(t, cut)
		require.InDelta(t, exact, got, 4*se)
	}
	// The full Nelson set has rules the chain cannot follow.
	_, err := spc.RunLength(rules(t, "nelson"), 0)
	require.ErrorContains(t, err, "simulate")
	got, _, _, err := spc.SimulatedRunLength(rand.New(rand.NewPCG(1, 2)), rules(t, "nelson"), 0, 400, 3000)
	require.NoError(t, err)
	require.Less(t, got, 100.0)
}

func TestRunLengthsRefuseNonsense(t *testing.T) {
	_, err := spc.RunLength(spc.RuleSet{Name: "none", Rules: []spc.RuleID{}}, 0)
	require.Error(t, err)
	_, err = spc.CusumRunLength(-1, 5, 0, 0, true)
	require.Error(t, err)
	_, err = spc.EWMARunLength(0, 3, 0, 0)
	require.Error(t, err)
	_, _, _, err = spc.SimulatedRunLength(rand.New(rand.NewPCG(1, 2)), ids(spc.BeyondLimits), 0, 1, 5)
	require.Error(t, err)
	a, b, e := spc.RunChartChance(1)
	require.Zero(t, a+b+e)
}

func BenchmarkRunLengthWesternElectric(b *testing.B) {
	set := ids(spc.BeyondLimits, spc.TwoOfThree, spc.FourOfFive, spc.EightOneSide)
	for b.Loop() {
		if _, err := spc.RunLength(set, 0); err != nil {
			b.Fatal(err)
		}
	}
}
