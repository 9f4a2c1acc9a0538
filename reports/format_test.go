package reports_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/reports"
	"chestrise/reports/chart"
)

func TestACellReadsTheSameInEveryReport(t *testing.T) {
	v := 1.0 / 14
	english, german := reports.Locale{}, reports.Locale{DecimalComma: true}
	require.Equal(t, "7.1 %", reports.Cell{Number: &v}.Read(chart.Percent, english))
	require.Equal(t, "7,1 %", reports.Cell{Number: &v}.Read(chart.Percent, german))
	require.Equal(t, chart.Percent.Text(v), english.Number(chart.Percent, v))
	require.Equal(t, "not recorded", reports.Cell{Text: "not recorded", Number: &v}.Read(chart.Percent, english))
	require.Empty(t, reports.Cell{}.Read(chart.Percent, english), "missing is not zero")
}
