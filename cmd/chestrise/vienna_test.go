package main

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/testdata/reference"
)

const vienna = "../../testdata/charts/vienna-clinic-1841-1849.csv"

// Monthly births and maternal deaths of the first clinic in Vienna, 1841 to
// 1849 (I. Semmelweis, 1861), with the baseline frozen before chlorine washing
// began; limits and signals as computed independently in R (the case's source).
func TestTheChartCommandGivesTheViennaClinicsLimitsAndSignals(t *testing.T) {
	c := reference.Load(t, "p_chart_semmelweis_frozen_baseline")
	out := must(t, "chart", "--type", "p", "--data", vienna, "--baseline-until", "1847-05", "--json")
	var got struct {
		Centre *float64 `json:"centre"`
		Points []struct {
			Label   string
			Value   *float64
			Lower   *float64 `json:"lower_raw"`
			Upper   *float64 `json:"upper_raw"`
			Signals []string
		} `json:"points"`
	}
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	tolerance := c.Tolerance["abs"]
	want := c.Expected
	require.InDelta(t, want["pbar"], *got.Centre, tolerance)
	upper, lower := want["ucl"].([]any), want["lcl"].([]any)
	require.Len(t, got.Points, len(upper))
	var high, low []any
	firstRun := 0
	for i, p := range got.Points {
		// The case prints limits clipped to what a share can be.
		require.InDelta(t, upper[i], math.Min(*p.Upper, 1), tolerance, p.Label)
		require.InDelta(t, lower[i], math.Max(*p.Lower, 0), tolerance, p.Label)
		for _, s := range p.Signals {
			switch {
			case s == "beyond-limits" && *p.Value > *got.Centre:
				high = append(high, float64(i+1))
			case s == "beyond-limits":
				low = append(low, float64(i+1))
			case s == "eight-one-side" && firstRun == 0 && float64(i+1) > want["n_baseline"].(float64):
				firstRun = i + 1
			}
		}
	}
	require.Equal(t, want["out_high"], high)
	require.Equal(t, want["out_low"], low)
	require.Equal(t, want["first_after_freeze_run8_below"], float64(firstRun))
}

// The example's file is the open data set in the columns of the command.
func TestTheExampleFileIsTheDataSet(t *testing.T) {
	read := func(path string) [][]string {
		f, err := os.Open(path)
		require.NoError(t, err)
		defer f.Close()
		rows, err := csv.NewReader(f).ReadAll()
		require.NoError(t, err)
		return rows[1:]
	}
	data := read("../../testdata/reference/data/semmelweis_clinic1_monthly.csv")
	example := read(vienna)
	require.Len(t, example, len(data))
	for i, row := range data {
		require.Equal(t, []string{strings.TrimSuffix(row[0], "-01"), row[2], row[1]}, example[i])
	}
}
