package chart_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"chestrise/reports/chart"
)

func TestText(t *testing.T) {
	for _, c := range []struct {
		f    chart.Format
		v    float64
		want string
	}{
		{chart.Percent, 0.39, "39 %"},
		{chart.Percent, 1.0 / 14, "7.1 %"},
		{chart.Percent, 0.0021, "0.21 %"},
		{chart.Percent, 0, "0 %"},
		{chart.Percent, 1, "100 %"},
		{chart.Percent, 0.996, "99.6 %"}, // 249 of 250 is not all
		{chart.Percent, 0.99996, ">99.9 %"},
		{chart.Percent, 0.00001, "<0.01 %"}, // 1 of 100,000 is not none
		{chart.Percent, 0.0995, "10 %"},
		{chart.Percent, 0.125, "13 %"}, // halves away from zero, not to even
		{chart.Percent, 0.285, "29 %"}, // 28.499999999999996 in binary
		{chart.Percent, 1.08, "108 %"},
		{chart.Percent, -0.12, "\u221212 %"},
		{chart.Seconds, 57, "57 s"},
		{chart.Seconds, 57.5, "58 s"},
		{chart.Seconds, 4.5, "4.5 s"},
		{chart.Seconds, 4, "4 s"},
		{chart.Celsius, 36.7, "36.7 °C"},
		{chart.Celsius, 37, "37.0 °C"},
		{chart.Celsius, 36.45, "36.5 °C"}, // 36.450000000000003
		{chart.Births, 470.4, "470 births"},
		{chart.Births, 1, "1 birth"},
		{chart.Births, 0, "0 births"},
		{chart.Count, 12, "12"},
		{chart.Count, 3.42, "3.4"},
		{chart.Plain, 12.3, "12.3"},
		{chart.Plain, 12, "12"},
		{chart.Plain, 1234.5, "1235"},
		{chart.Plain, 2.675, "2.68"}, // what ROUND(2.675, 2) of a spreadsheet gives; binary has 2.67499...
		{chart.Plain, 0.01234, "0.0123"},
		{chart.Plain, -3.5, "\u22123.50"},
		{chart.Plain, -1e-14, "0.000000000"},
		{chart.Plain, math.NaN(), "–"},
		{chart.Plain, math.Inf(1), "–"},
	} {
		require.Equal(t, c.want, c.f.Text(c.v), "%v as format %d", c.v, c.f)
	}
	comma := chart.Numbers{DecimalComma: true}
	require.Equal(t, "36,7 °C", comma.Text(chart.Celsius, 36.7))
	require.Equal(t, ">99,9 %", comma.Text(chart.Percent, 0.99999))
}

func TestTicksOfAnAxisHaveTheSameDecimals(t *testing.T) {
	n := chart.Numbers{}
	require.Equal(t, "0 %", n.Tick(chart.Percent, 0, 0.25))
	require.Equal(t, "25 %", n.Tick(chart.Percent, 0.25, 0.25))
	require.Equal(t, "0.0 %", n.Tick(chart.Percent, 0, 0.005))
	require.Equal(t, "0.3", n.Tick(chart.Plain, 3*0.1, 0.1)) // 0.30000000000000004
	require.Equal(t, "37.0 °C", n.Tick(chart.Celsius, 37, 1))
	require.Equal(t, "500", n.Tick(chart.Births, 500, 500))
}

// A spreadsheet that is given Pattern shows what Text writes. The formatter of
// the workbook library reads the pattern here; it rounds binary halves its own
// way, so values are kept off the halves.
func TestPatternShowsTheSameDigits(t *testing.T) {
	book := excelize.NewFile()
	defer func() { require.NoError(t, book.Close()) }()
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom([]chart.Format{chart.Plain, chart.Percent, chart.Seconds, chart.Celsius, chart.Births, chart.Count}).Draw(t, "format")
		v := float64(rapid.IntRange(-2000, 20000).Draw(t, "v"))/1000 + 0.00013
		if f == chart.Percent {
			v = 0.0001 + math.Abs(v)/20 // the formatter cannot read a quoted "<0.01 %"
		}
		pattern := f.Pattern(v)
		style, err := book.NewStyle(&excelize.Style{CustomNumFmt: &pattern})
		require.NoError(t, err)
		require.NoError(t, book.SetCellValue("Sheet1", "A1", v))
		require.NoError(t, book.SetCellStyle("Sheet1", "A1", "A1", style))
		shown, err := book.GetCellValue("Sheet1", "A1")
		require.NoError(t, err)
		blank := strings.NewReplacer(" ", "") // the formatter moves the blank of a percentage behind the sign
		require.Equal(t, blank.Replace(f.Text(v)), blank.Replace(shown), "%v with %q", v, pattern)
	})
}

// However many decimals, the text is the value to within half of its last digit.
func TestTextIsNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(0, 1e9).Draw(t, "v")
		var got float64
		text := chart.Plain.Text(v)
		_, err := sscan(text, &got)
		require.NoError(t, err)
		require.InDelta(t, v, got, max(0.5, 0.005*v))
		if v > 1e-6 && v < 1 {
			require.InEpsilon(t, v, got, 0.0051)
		}
	})
}
