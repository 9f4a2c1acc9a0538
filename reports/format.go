package reports

import "chestrise/reports/chart"

// Numbers gives the writer of numbers for this locale. It is the only place
// from which a number's text comes, in every kind of report.
func (l Locale) Numbers() chart.Numbers { return chart.Numbers{DecimalComma: l.DecimalComma} }

// Number writes a value with its unit: "39 %", "57 s", "36.7 °C".
func (l Locale) Number(f chart.Format, v float64) string { return l.Numbers().Text(f, v) }

// Read gives what a reader sees in the cell: its words, else its number in
// the column's format, else nothing.
func (c Cell) Read(f chart.Format, l Locale) string {
	if c.Text != "" || c.Number == nil {
		return c.Text
	}
	return l.Number(f, *c.Number)
}
