package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/reports/chart"
	"chestrise/reports/funnel"
	"chestrise/testdata/reference"
)

// chartJSON runs the chart command on a file of the test and decodes what it prints.
func chartJSON(t *testing.T, csv string, args ...string) map[string]any {
	t.Helper()
	path := write(t, "data.csv", csv)
	out := must(t, append([]string{"chart", "--data", path, "--json"}, args...)...)
	var got map[string]any
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	return got
}

func points(got map[string]any, key string) (all []any) {
	for _, p := range got["points"].([]any) {
		all = append(all, p.(map[string]any)[key])
	}
	return all
}

func TestLongFormGivesTheSubgroupsOfThePistonRings(t *testing.T) {
	c := reference.Load(t, "xbar_R_S_piston_rings_n5")
	var b strings.Builder
	b.WriteString("subgroup,value\n")
	for i, g := range c.Input["subgroups"].([]any) {
		for _, x := range g.([]any) {
			fmt.Fprintf(&b, "%d,%v\n", i+1, x)
		}
	}
	got := chartJSON(t, b.String(), "--type", "xbar-r")
	require.InDeltaSlice(t, c.Expected["xbar"], points(got, "value"), 1e-9)
	first := got["points"].([]any)[0].(map[string]any)
	require.InDelta(t, c.Expected["xbar_ucl_R"], first["upper"], c.Tolerance["abs"])
	require.InDelta(t, c.Expected["xbar_lcl_R"], first["lower"], c.Tolerance["abs"])
	first = chartJSON(t, b.String(), "--type", "xbar-s")["points"].([]any)[0].(map[string]any)
	require.InDelta(t, c.Expected["xbar_ucl_S"], first["upper"], c.Tolerance["abs"])
}

func TestPointsSetAsideAreLeftOutOfTheLimits(t *testing.T) {
	c := reference.Load(t, "textbook_c_chart_revised")
	out := map[float64]bool{}
	for _, i := range c.Input["exclude"].([]any) {
		out[i.(float64)] = true
	}
	var b strings.Builder
	b.WriteString("label,value,set_aside\n")
	for i, n := range c.Input["counts"].([]any) {
		why := ""
		if out[float64(i+1)] {
			why = "cause found and removed"
		}
		fmt.Fprintf(&b, "%d,%v,%s\n", i+1, n, why)
	}
	first := chartJSON(t, b.String(), "--type", "c")["points"].([]any)[0].(map[string]any)
	require.InDelta(t, c.Expected["cbar_revised"], first["centre"], c.Tolerance["abs"])
	require.InDelta(t, c.Expected["ucl_revised"], first["upper"], c.Tolerance["abs"])
	require.InDelta(t, c.Expected["lcl_revised"], first["lower"], c.Tolerance["abs"])
}

func TestTheSummaryCarriesWhatTheTypeHas(t *testing.T) {
	c := reference.Load(t, "laney_pprime_semmelweis")
	out := must(t, "chart", "--type", "p-prime", "--data", vienna, "--baseline-until", "1847-05", "--json")
	var got map[string]any
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	require.InDelta(t, c.Expected["sigma_z"], got["summary"].(map[string]any)["sigma_z"], c.Tolerance["abs"])
}

func TestAPhaseColumnStartsNewLimits(t *testing.T) {
	got := chartJSON(t, "label,value,phase\na,10,before\nb,12,before\nc,11,before\nd,13,before\ne,30,after\nf,32,after\ng,31,after\nh,33,after\n", "--type", "xmr")
	require.Equal(t, []any{1.0, 1.0, 1.0, 1.0, 2.0, 2.0, 2.0, 2.0}, points(got, "phase"))
	centres := points(got, "centre")
	require.InDelta(t, 11.5, centres[0], 1e-12)
	require.InDelta(t, 31.5, centres[7], 1e-12)
	estimators := map[string]bool{}
	for _, method := range []string{"mean-mr", "median-mr", "screened-mr", "sd"} {
		x := chartJSON(t, "label,value\na,10\nb,12\nc,11\nd,19\ne,11\nf,12\n", "--type", "xmr", "--sigma", method)
		estimators[fmt.Sprintf("%.6f", x["sigma"])] = true
	}
	require.GreaterOrEqual(t, len(estimators), 3, "the estimators differ")
	stored := chartJSON(t, "label,value\na,10\nb,20\n", "--type", "xmr", "--centre", "12", "--sigma", "2")
	require.InDelta(t, 18.0, stored["points"].([]any)[0].(map[string]any)["upper"], 1e-12)
}

const babies = "../../testdata/charts/surgical-babies-12-hospitals.csv"

// Deaths after heart surgery in 12 hospitals (the case names its source).
func TestTheFunnelGivesThePublishedLimits(t *testing.T) {
	c := reference.Load(t, "funnel_surgical_babies_12_hospitals")
	out := must(t, "chart", "--type", "funnel", "--data", babies, "--json")
	var got map[string]any
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	tolerance := c.Tolerance["abs"]
	require.InDelta(t, c.Expected["target"], got["target"], tolerance)
	for key, want := range map[string]string{"lower_99_8": "limits_low999", "lower_95": "limits_low95", "upper_95": "limits_high95", "upper_99_8": "limits_high999", "z": "z"} {
		require.InDeltaSlice(t, c.Expected[want], points(got, key), tolerance, key)
	}
}

func TestEveryFormIsDrawn(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"f.svg", "f.pdf"} {
		must(t, "chart", "--type", "funnel", "--data", babies, "--out", filepath.Join(dir, name))
	}
	must(t, "chart", "--type", "p", "--data", vienna, "--out", filepath.Join(dir, "p.xlsx"))
	for _, name := range []string{"f.svg", "f.pdf", "p.xlsx"} {
		info, err := os.Stat(filepath.Join(dir, name))
		require.NoError(t, err)
		require.Greater(t, info.Size(), int64(1000))
	}
	require.Contains(t, workbookText(t, filepath.Join(dir, "p.xlsx")), "1841-01")
}

func TestFunnelLabelsNeverMeet(t *testing.T) {
	for _, n := range []int{0, 1, 3, 12, 60, 300} {
		m := funnel.Model{Title: "Share of newborns ventilated by one minute, by unit", YLabel: "share", XLabel: "cases", Format: chart.Percent, Target: .4}
		for i := range n {
			m.Units = append(m.Units, funnel.Unit{Label: fmt.Sprintf("unit %d", i), Cases: float64(10 + i%7), Value: .3 + float64(i%5)/20, Outside: i%4 == 0})
		}
		for _, text := range []string{"95 %", "99.8 %"} {
			m.Limits = append(m.Limits, funnel.Limit{Text: text, Lower: []funnel.Point{{Cases: 1, Value: .1}, {Cases: 20, Value: .3}}, Upper: []funnel.Point{{Cases: 1, Value: .9}, {Cases: 20, Value: .5}}})
		}
		for _, size := range []chart.Size{chart.OnPage, chart.OnSlide} {
			d := funnel.Lay(m, size, chart.DejaVu(), chart.Numbers{})
			require.Empty(t, chart.Overlaps(d), "%d units", n)
			require.Empty(t, chart.Outside(d), "%d units", n)
		}
	}
}
