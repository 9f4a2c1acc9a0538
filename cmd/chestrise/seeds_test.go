//go:build !race

package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/etl/synth"
	"chestrise/metrics/spc"
)

// The planted shifts through the whole job: five networks drawn with other
// seeds go through deliveries, registry, frozen baselines and views. Power at
// the end of each window is 0.96 or more (the scenario's calculation), so that
// fewer than four of five would be a fault, not chance: probability under 0.02.
func TestPlantedShiftsSignalThroughPostgres(t *testing.T) {
	const networks, atLeast = 5, 4
	found := map[string]int{}
	for seed := uint64(1); seed <= networks; seed++ {
		scenario, err := synth.Load("../../configs/demo/scenario.yaml")
		require.NoError(t, err)
		var units []synth.Unit
		for _, u := range scenario.Units {
			for _, p := range scenario.Power {
				if p.Unit == u.Code {
					units = append(units, u)
				}
			}
		}
		scenario.Units = units
		g := synth.NewGenerator(scenario, seed)
		g.VentilatedOnly = true
		deliveries := t.TempDir()
		_, err = g.Write(deliveries)
		require.NoError(t, err)
		path, _ := configured(t, `
measures: [ROOT/configs/measures]
units: ROOT/configs/demo/units.yaml
settings: ROOT/configs/demo/settings
`)
		for _, drop := range scenario.Drops {
			must(t, "load", "--config", path, "--inbox", filepath.Join(deliveries, drop.Folder))
		}
		must(t, "measure", "--config", path)
		a := &app{streams: streams{out: os.Stdout, err: os.Stderr}, now: clock, configPath: path}
		require.NoError(t, a.with(t.Context(), func(c *config, s *session) error {
			e, _, err := a.engine(c, s)
			require.NoError(t, err)
			for _, p := range scenario.Power {
				change, err := record.ParseMonth(p.Change)
				require.NoError(t, err)
				end := change + record.Month(p.Window*p.Months) - 1
				view, err := e.Unit(t.Context(), p.Unit, end, nil)
				require.NoError(t, err)
				for _, m := range view.Measures {
					if m.Definition.ID != p.Measure {
						continue
					}
					require.True(t, m.Baseline.Stored, "%s: limits are the stored ones", p.Unit)
					require.Less(t, m.Baseline.To, change, "%s: from before the change", p.Unit)
					hit := false
					for i, point := range m.Chart.Points {
						inside := m.Points[i].From >= change && m.Points[i].To <= end
						hit = hit || inside && len(point.Signals) > 0 && point.Value > *point.Centre
					}
					for _, s := range m.Chart.Signals {
						hit = hit || s.Direction == spc.Up && m.Points[s.At[len(s.At)-1]].From >= change
					}
					if hit {
						found[p.Unit]++
					}
				}
			}
			return nil
		}))
	}
	for unit, n := range found {
		require.GreaterOrEqual(t, n, atLeast, unit)
	}
	require.Len(t, found, 2)
	t.Logf("of %d networks signalled: %v", networks, found)
}
