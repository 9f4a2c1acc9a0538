//go:build !race

package synth

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/derive"
	"chestrise/etl/record"
	"chestrise/metrics/dist"
	"chestrise/metrics/spc"
)

// seeds is over how many invented networks a planted shift is looked for.
const seeds = 200

// same gives k times n.
func same(n float64, k int) []float64 {
	x := make([]float64, k)
	for i := range x {
		x[i] = n
	}
	return x
}

// The scenario's power entries were worked out by the exact calculation that
// they name; here it is done again.
func TestThePowerInTheScenarioIsTheExactOne(t *testing.T) {
	for _, p := range load(t, demo).Power {
		w := spc.Watch{Kind: spc.P, N: []float64{p.Known}, BaselineN: same(p.Known, p.Baseline)}
		power, err := w.Power(p.Before, p.Later, p.Window)
		require.NoError(t, err)
		last := power[p.Window-1]
		require.Contains(t, p.Sum, fmt.Sprintf("%.2f by", last), "%s: the calculation states the power at the window's end", p.Unit)
		se := math.Sqrt(last * (1 - last) / seeds)
		require.LessOrEqual(t, p.MustSignal, last-3*se, "%s: the share asked for leaves room for chance", p.Unit)
		require.Greater(t, p.MustSignal, last-6*se, "%s: and not too much", p.Unit)
	}
}

// start is the first month of the first whole period: quarters are those of the
// calendar.
func start(g *Generator, p Power) record.Month {
	m := g.from
	for (m.Number()-1)%p.Months != 0 {
		m++
	}
	return m
}

// begun counts, period by period, the newborns who needed ventilation at one
// minute and began it by 60 s, as the measure does.
func begun(g *Generator, p Power, last record.Month) (met, known []float64) {
	for m := start(g, p); m+record.Month(p.Months)-1 <= last; m += record.Month(p.Months) {
		var yes, all float64
		for k := range record.Month(p.Months) {
			for _, b := range g.Month(p.Unit, m+k, 0) {
				f := derive.Facts(&b.Document)
				need, lo, hi := f[record.FactNeed], f[record.FactFirstInflationLo], f[record.FactFirstInflationHi]
				counted := f[record.FactInPopulation].Code == record.Yes && need.State == record.Recorded && need.Code != record.NeedNo &&
					f[record.FactAnomalyHernia].Code != record.Yes && lo.State == record.Recorded
				switch {
				case !counted:
				case hi.Number <= 60:
					yes++
					all++
				case lo.Number > 60:
					all++
				}
			}
		}
		met, known = append(met, yes), append(known, all)
	}
	return met, known
}

// A training that helped is signalled against the old, stored limits within
// the window in at least the share of networks that the power calculation
// demands; before it, signals come no more often than chance brings them.
func TestPlantedShiftsSignalAndChanceAloneDoesNot(t *testing.T) {
	s := load(t, demo)
	for _, p := range s.Power {
		t.Run(p.Unit, func(t *testing.T) {
			t.Parallel()
			change := month(t, p.Change)
			first := int(change-start(NewGenerator(s, 0), p)) / p.Months // first period of the shift
			found, before, judged := 0, 0, 0
			for seed := uint64(1); seed <= seeds; seed++ {
				g := NewGenerator(s, seed)
				g.VentilatedOnly = true
				met, known := begun(g, p, change+record.Month(p.Window*p.Months)-1)
				base, err := spc.Plot(spc.P, spc.Ratios(nil, met[:p.Baseline], known[:p.Baseline]), nil, spc.Options{})
				require.NoError(t, err)
				stored := base.Phases[0].Baseline
				c, err := spc.Plot(spc.P, spc.Ratios(nil, met, known), &stored, spc.Options{})
				require.NoError(t, err)
				hit := false
				for i, point := range c.Points {
					if i >= first && len(point.Signals) > 0 && point.Value > *point.Centre {
						hit = true
					}
					if i >= p.Baseline && i < first {
						judged++
						if len(point.Signals) > 0 {
							before++
						}
					}
				}
				if hit {
					found++
				}
			}
			require.GreaterOrEqual(t, float64(found)/seeds, p.MustSignal, "share of %d networks that signal within %d periods", seeds, p.Window)
			t.Logf("%s: %d of %d networks signalled in the window; before it %d of %d periods signalled", p.Unit, found, seeds, before, judged)

			// Chance: the exact probability of a completed rule in a period with
			// nothing changed, at this many newborns and an estimated centre.
			w := spc.Watch{Kind: spc.P, N: []float64{p.Known}, BaselineN: same(p.Known, p.Baseline)}
			chance, err := w.PerPeriod(p.Before, first-p.Baseline)
			require.NoError(t, err)
			mean := 0.0
			for _, x := range chance {
				mean += x / float64(len(chance))
			}
			low, high := dist.BinomialQuantile(.0005, judged, mean), dist.BinomialQuantile(.9995, judged, mean)
			require.True(t, before >= low && before <= high, "%d of %d periods signalled before the shift, chance allows %d to %d", before, judged, low, high)
		})
	}
}
