package spc_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/metrics/spc"
)

func TestPowerOfSmallMonths(t *testing.T) {
	// 11 cases a month, share 39 % at first, the two default rules, centre known. Two
	// simulations of others gave medians of about 74, 26, 14 and 7 months.
	w := spc.Watch{Kind: spc.P, N: []float64{11}}
	for to, about := range map[float64]int{0.45: 74, 0.50: 26, 0.55: 14, 0.69: 7} {
		d, err := w.Detect(0.39, to, 600)
		require.NoError(t, err)
		require.True(t, d.Reached)
		require.InEpsilon(t, about, d.Median, 0.06, "to %v", to)
	}
	d, err := w.Detect(0.39, 0.50, 600)
	require.NoError(t, err)
	require.Equal(t, "With about 11 newborns a month, a change from 39% to 50% would take about 27 months to show.", d.Words(11, "newborns", spc.Month))
	d, err = w.Detect(0.39, 0.40, 24)
	require.NoError(t, err)
	require.Equal(t, "With about 11 newborns a month, a change from 39% to 40% would most likely not show within 24 months.", d.Words(11, "newborns", spc.Month))
}

func binomial(rng *rand.Rand, n int, p float64) (k float64) {
	for range n {
		if rng.Float64() < p {
			k++
		}
	}
	return k
}

func TestPowerAgreesWithSimulatedCharts(t *testing.T) {
	const charts, baseline, months = 1500, 24, 18
	ns := []float64{8, 15, 11}
	rng := rand.New(rand.NewPCG(7, 11))
	for _, tc := range []struct{ from, to float64 }{{0.4, 0.65}, {0.7, 0.45}, {0.1, 0.1}} {
		w := spc.Watch{Kind: spc.P, N: ns, BaselineN: repeated(ns, baseline)}
		power, err := w.Power(tc.from, tc.to, months)
		require.NoError(t, err)
		seen := make([]float64, months)
		for range charts {
			base, num, den := 0.0, []float64{}, repeated(ns, months)
			total := 0.0
			for _, n := range w.BaselineN {
				base += binomial(rng, int(n), tc.from)
				total += n
			}
			for _, n := range den {
				num = append(num, binomial(rng, int(n), tc.to))
			}
			c := plotFrom(t, spc.P, spc.Ratios(nil, num, den), &spc.Baseline{Centre: base / total, Points: baseline}, spc.Options{})
			first := months
			for _, s := range c.Signals {
				if tc.to == tc.from || (tc.to > tc.from) == (s.Direction == spc.Up) {
					first = min(first, s.At[0])
				}
			}
			for m := first; m < months; m++ {
				seen[m]++
			}
		}
		for _, m := range []int{0, 7, 11, 17} {
			p := seen[m] / charts
			se := math.Sqrt(power[m]*(1-power[m])/charts) + 1e-4
			require.InDelta(t, power[m], p, 4*se, "from %v to %v by month %d", tc.from, tc.to, m+1)
		}
	}
}

func repeated(ns []float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = ns[i%len(ns)]
	}
	return out
}

func TestPerPeriodAgreesWithSimulatedFalseSignals(t *testing.T) {
	ns := repeated([]float64{40}, 24)
	rng := rand.New(rand.NewPCG(3, 5))
	draw := func(rng *rand.Rand) spc.Series {
		num := make([]float64, len(ns))
		for i, n := range ns {
			num[i] = binomial(rng, int(n), 0.5)
		}
		return spc.Ratios(nil, num, ns)
	}
	o := spc.Options{Rules: rules(t, "default")}
	known := &spc.Baseline{Centre: 0.5, Points: 100}
	ch, err := spc.FalseSignals(rng, spc.P, known, o, 4000, draw)
	require.NoError(t, err)
	per, err := spc.Watch{Kind: spc.P, N: ns}.PerPeriod(0.5, 24)
	require.NoError(t, err)
	sum := 0.0
	for _, p := range per {
		sum += p
	}
	require.InDelta(t, sum/24, ch.PerPoint, 0.1*sum/24)
	again, err := spc.FalseSignals(rand.New(rand.NewPCG(3, 5)), spc.P, known, o, 4000, draw)
	require.NoError(t, err)
	require.Equal(t, ch, again, "the same seed gives the same answer")
	// Eight in a row on one side of a known median: in the long run 2/2^8 of the points
	// complete it, one in 128.
	run, err := spc.Watch{Kind: spc.P, N: []float64{41}, Rules: spc.RuleSet{Name: "runs", Rules: []spc.RuleID{spc.EightOneSide}}}.PerPeriod(0.5, 40)
	require.NoError(t, err)
	require.InEpsilon(t, 1.0/128, run[39], 1e-9)
	require.Zero(t, run[6])
}

func TestWatchRefusesWhatItCannotFollow(t *testing.T) {
	ok := spc.Watch{Kind: spc.P, N: []float64{11}}
	for name, w := range map[string]spc.Watch{
		"kind":            {Kind: spc.XmR, N: []float64{1}},
		"rule":            {Kind: spc.P, N: []float64{11}, Rules: rules(t, "nelson")},
		"no denominators": {Kind: spc.P},
		"negative":        {Kind: spc.P, N: []float64{-1}},
		"broken":          {Kind: spc.P, N: []float64{1.5}},
		"huge":            {Kind: spc.U, N: []float64{1e9}},
	} {
		_, err := w.Power(0.3, 0.5, 12)
		require.Error(t, err, name)
	}
	for _, r := range []float64{-0.1, 1.1, math.NaN(), math.Inf(1)} {
		_, err := ok.Power(r, 0.5, 12)
		require.Error(t, err)
	}
	_, err := ok.Power(0.3, 0.5, 0)
	require.Error(t, err)
	p, err := spc.Watch{Kind: spc.P, N: []float64{0}}.Power(0.3, 0.5, 12)
	require.NoError(t, err)
	require.Zero(t, p[11], "months without cases show nothing")
}

func TestProposals(t *testing.T) {
	for name, tc := range map[string]struct {
		v      spc.Volume
		kind   spc.Kind
		period spc.Period
		beside bool
	}{
		"large share":      {spc.Volume{Type: spc.Proportion, PerMonth: 40, Centre: 0.4}, spc.P, spc.Month, false},
		"small share":      {spc.Volume{Type: spc.Proportion, PerMonth: 11, Centre: 0.4}, spc.P, spc.Quarter, true},
		"exactly enough":   {spc.Volume{Type: spc.Proportion, PerMonth: 15, Centre: 0.4}, spc.P, spc.Month, false},
		"times":            {spc.Volume{Type: spc.Duration, PerMonth: 30}, spc.Run, spc.Month, false},
		"few times":        {spc.Volume{Type: spc.Duration, PerMonth: 6}, spc.Run, spc.Quarter, true},
		"temperature":      {spc.Volume{Type: spc.Measurement, PerMonth: 22}, spc.XmR, spc.Month, false},
		"counts":           {spc.Volume{Type: spc.EventCount, PerMonth: 22}, spc.UPrime, spc.Month, false},
		"rare, in order":   {spc.Volume{Type: spc.Proportion, PerMonth: 150, Centre: 0.0021, Sequence: true}, spc.G, spc.Event, false},
		"rare, no order":   {spc.Volume{Type: spc.Proportion, PerMonth: 150, Centre: 0.0021}, spc.P, spc.Quarter, false},
		"not a number":     {spc.Volume{Type: spc.Proportion, PerMonth: math.NaN(), Centre: math.NaN()}, spc.P, spc.Quarter, true},
		"nothing is known": {spc.Volume{}, spc.P, spc.Quarter, false},
	} {
		p := spc.Propose(tc.v)
		require.Equal(t, tc.kind, p.Kind, name)
		require.Equal(t, tc.period, p.Period, name)
		if name != "nothing is known" {
			require.Equal(t, tc.beside, p.Consecutive, name)
		}
		require.NotEmpty(t, p.Reason, name)
	}
	require.Equal(t, 24, spc.Propose(spc.Volume{Type: spc.Proportion, PerMonth: 20, Centre: 0.4}).Points)
}
