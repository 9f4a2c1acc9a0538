package dashboard

import (
	"fmt"
	"strconv"
	"strings"

	"chestrise/metrics"
	"chestrise/reports/chart"
	"chestrise/reports/controlchart"
)

// format says how a measure's plotted values are written.
func format(m *metrics.MeasureView) chart.Format {
	switch {
	case m.Axis.Percent:
		return chart.Percent
	case m.Period == metrics.ByEvent:
		return chart.Births
	}
	return unitFormat(m.Axis.Unit)
}

func unitFormat(ucum string) chart.Format {
	switch ucum {
	case "s":
		return chart.Seconds
	case "Cel":
		return chart.Celsius
	}
	return chart.Plain
}

// model puts a measure's chart into the words and numbers that are drawn.
func (b *builder) model(m *metrics.MeasureView) chart.Model {
	c := controlchart.Model(&m.Chart, func(i int) string { return b.label(m.Points[i], m.Period) })
	c.ID = sectionID(&m.Definition)
	c.Title = m.Title
	c.Subtitle = m.Definition.Question
	c.Y = chart.Axis{Label: m.Axis.Title, Format: format(m)}
	for i := range c.Points {
		b.dress(m, i, &c.Points[i])
	}
	for _, k := range m.Marks {
		if k.At >= 0 && k.At < len(c.Points) {
			c.Marks = append(c.Marks, chart.Mark{At: k.At, Text: k.Label})
		}
	}
	if m.Axis.Aim != nil {
		c.Target = &chart.Target{Value: *m.Axis.Aim, Text: m.Axis.AimText}
	}
	if m.Period != metrics.ByEvent {
		c.Rows = rows(m)
	}
	for _, n := range m.Notes {
		if n.Code != "hollow" { // the chart says so itself, point by point
			c.Notes = append(c.Notes, n.Text)
		}
	}
	c.Alt = alt(m, &c)
	return c
}

// dress gives a plotted point its period's name and what is not known of it.
func (b *builder) dress(m *metrics.MeasureView, i int, q *chart.Point) {
	v := m.Points[i]
	if v.Open {
		q.Hollow = true
	}
	switch {
	case v.Hollow != "" && v.Bounds != nil: // how many stands under the axis
		q.Why = "the verdict would hang on newborns without an answer"
	case v.Hollow != "":
		q.Why = v.Hollow
	}
	switch m.Period {
	case metrics.Monthly:
		q.Short, q.Year = b.short(v.From), strconv.Itoa(v.From.Year())
	case metrics.Quarterly:
		q.Short, q.Year = fmt.Sprintf("Q%d", (v.From.Number()+2)/3), strconv.Itoa(v.From.Year())
	case metrics.ByEvent:
		q.Short = strconv.Itoa(i + 1)
		if v.From != 0 {
			q.Year = strconv.Itoa(v.From.Year())
		}
	}
	if v.Bounds != nil && m.Axis.Percent {
		low, high := v.Bounds.Low, v.Bounds.High
		q.Low, q.High = &low, &high
	}
}

// rows are printed under the axis: how many newborns, and how many of them known.
func rows(m *metrics.MeasureView) []chart.Row {
	n, known := chart.Row{Label: "n"}, chart.Row{Label: "known"}
	for _, p := range m.Points {
		n.Texts = append(n.Texts, strconv.Itoa(int(p.Eligible)))
		known.Texts = append(known.Texts, strconv.Itoa(int(p.Known)))
	}
	return []chart.Row{n, known}
}

// alt describes the chart to a reader who cannot see it.
func alt(m *metrics.MeasureView, c *chart.Model) string {
	if len(c.Points) == 0 {
		return "No chart: " + m.Absent
	}
	first, last := c.Points[0].Label, c.Points[len(c.Points)-1].Label
	text := fmt.Sprintf("%s of %s, %s to %s.", upper(c.Kind), m.Measured, first, last)
	if n := len(c.Signals); n > 0 {
		return text + " " + c.Signals[n-1].Words
	}
	return text + " No signal."
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
