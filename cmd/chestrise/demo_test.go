//go:build !race

package main

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/synth"
	"chestrise/reports"
	"chestrise/reports/chart"
	"chestrise/reports/dashboard"
)

// The demo, as make demo runs it, over a registry of the test: two nights, an
// idle one, and everything that the reports promise.
func TestTheDemo(t *testing.T) {
	scenario, err := synth.Load("../../configs/demo/scenario.yaml")
	require.NoError(t, err)
	deliveries := t.TempDir()
	_, err = synth.NewGenerator(scenario, 0).Write(deliveries)
	require.NoError(t, err)
	config, out := configured(t, `
measures: [ROOT/configs/measures]
units: ROOT/configs/demo/units.yaml
settings: ROOT/configs/demo/settings
`)
	var before runFile
	for _, drop := range scenario.Drops {
		must(t, "nightly", "--config", config, "--inbox", filepath.Join(deliveries, drop.Folder))
		night := readRun(t, out)
		require.Equal(t, before.After, night.Before)
		for _, rows := range night.Rows {
			require.Equal(t, rows.Read, rows.Loaded+rows.Revised+rows.Unchanged+rows.Withdrawn+rows.Superseded+rows.Duplicate+rows.Held+rows.HeldWith,
				"%s of drop %s: every row has one fate", rows.File, drop.Folder)
		}
		require.Len(t, night.Reports, len(scenario.Units))
		before = night
	}

	t.Run("every unit has its report of the latest closed month", func(t *testing.T) {
		for _, u := range scenario.Units {
			home := filepath.Join(out, "dashboard", u.Code, scenario.To)
			var current reports.Current
			require.NoError(t, json.Unmarshal([]byte(readFile(t, filepath.Join(home, "current.json"))), &current))
			require.Equal(t, 1, current.Issue)
			require.GreaterOrEqual(t, len(current.Files), 3, "workbook, PDF and charts")
			for _, f := range current.Files {
				require.Equal(t, f.SHA256, fmt.Sprintf("%x", sha256.Sum256([]byte(readFile(t, filepath.Join(home, current.Folder, f.Name))))))
			}
		}
	})
	t.Run("the training that helped is found, and late records are restated", func(t *testing.T) {
		text := pdfText(t, filepath.Join(out, "dashboard", "alder", scenario.To, "issue-001", "alder-"+scenario.To+".pdf"))
		require.Contains(t, text, "Shift upward since")
		for i, page := range strings.Split(strings.TrimRight(text, "\f\n"), "\f") {
			require.Contains(t, page, "Synthetic data", "page %d", i+1)
		}
		cedar := pdfText(t, filepath.Join(out, "dashboard", "cedar", scenario.To, "issue-001", "cedar-"+scenario.To+".pdf"))
		require.Contains(t, cedar, "was issued")
	})
	t.Run("an idle night changes no byte but its own record", func(t *testing.T) {
		was := tree(t, out)
		must(t, "nightly", "--config", config, "--inbox", deliveries)
		night := readRun(t, out)
		require.Equal(t, night.Before, night.After)
		is := tree(t, out)
		delete(was, "run.json")
		delete(is, "run.json")
		require.Equal(t, len(was), len(is))
		for name := range was {
			require.True(t, was[name] == is[name], name)
		}
	})
	t.Run("lost reports come back the same to the byte", func(t *testing.T) {
		was := tree(t, filepath.Join(out, "dashboard", "elder", scenario.To))
		require.NoError(t, os.RemoveAll(filepath.Join(out, "dashboard", "elder", scenario.To)))
		must(t, "report", "--config", config, "--unit", "elder")
		is := tree(t, filepath.Join(out, "dashboard", "elder", scenario.To))
		require.Equal(t, was["current.json"], is["current.json"])
		for name := range was {
			require.True(t, was[name] == is[name], name)
		}
	})
	t.Run("no two texts of any chart overlap", func(t *testing.T) { overlaps(t, config) })
}

// overlaps lays every chart of every unit's report out as the page, the slide
// and the overview do.
func overlaps(t *testing.T, path string) {
	a := &app{streams: streams{out: os.Stdout, err: os.Stderr}, now: clock, configPath: path}
	require.NoError(t, a.with(t.Context(), func(c *config, s *session) error {
		e, p, err := a.engine(c, s)
		require.NoError(t, err)
		charts := 0
		for _, u := range p.units.Units {
			view, err := e.Unit(t.Context(), u.Code, 0, nil)
			require.NoError(t, err)
			for _, comma := range []bool{false, true} {
				d := dashboard.Build(&view, dashboard.Options{Locale: reports.Locale{DecimalComma: comma}})
				for _, section := range d.Sections {
					for _, b := range section.Blocks {
						switch x := b.(type) {
						case reports.Figure:
							charts++
							for _, size := range []chart.Size{chart.OnPage, chart.OnSlide} {
								free(t, chart.Lay(x.Chart, size, chart.DejaVu(), d.Locale.Numbers()), u.Code+" "+x.Chart.ID)
							}
						case reports.Multiples:
							for _, m := range x.Items {
								free(t, chart.LaySmall(m.Chart, chart.InRow, chart.DejaVu(), d.Locale.Numbers()), u.Code+" "+m.Title)
							}
						}
					}
				}
			}
		}
		require.Greater(t, charts, 20)
		return nil
	}))
}

func free(t *testing.T, d chart.Drawing, what string) {
	t.Helper()
	require.Empty(t, chart.Overlaps(d), what)
	require.Empty(t, chart.Outside(d), what)
}

func readRun(t *testing.T, out string) (r runFile) {
	t.Helper()
	require.NoError(t, json.Unmarshal([]byte(readFile(t, filepath.Join(out, "run.json"))), &r))
	return r
}
