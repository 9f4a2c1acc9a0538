package casereview

import (
	"fmt"
	"strconv"
	"strings"

	"chestrise/metrics"
	"chestrise/metrics/spc"
	"chestrise/reports"
	"chestrise/reports/chart"
	"chestrise/reports/controlchart"
)

// charts shows the unit's charts that belong to the triggers of the cases.
func (b *builder) charts() (reports.Section, bool) {
	if b.in.Charts == nil {
		return reports.Section{}, false
	}
	s := reports.Section{ID: "charts", Title: "One night or the system: the unit's charts", Sheet: "Charts", Parent: "packet", Blocks: nil}
	s.Blocks = append(s.Blocks, reports.Text{Text: oneCase, Strong: true})
	wanted := map[string]bool{}
	for i := range b.sel.Cases {
		for _, id := range b.sel.Cases[i].Measures {
			wanted[id] = true
		}
	}
	var items []reports.Multiple
	for i := range b.in.Charts.Measures {
		m := &b.in.Charts.Measures[i]
		if !wanted[m.Definition.ID] {
			continue
		}
		one := reports.Multiple{Title: m.Measured, Link: "", Latest: m.Latest.Text, Centre: "", Words: said(m), Known: m.Latest.KnownText, Chart: chart.Model{}}
		if m.Drawn {
			one.Chart = b.model(m)
			slide := one.Chart
			slide.Notes = append(append([]string{}, slide.Notes...), b.slideNotices()...)
			b.p.Figures = append(b.p.Figures, Figure{Name: "chart-" + m.Definition.ID, Drawing: chart.Lay(slide, chart.Size{W: 254, H: 135}, b.f, b.in.Locale.Numbers())})
		}
		items = append(items, one)
	}
	if len(items) == 0 {
		s.Blocks = append(s.Blocks, reports.Text{Text: "No chart of the unit belongs to a trigger of these cases.", Strong: false})
		return s, true
	}
	s.Blocks = append(s.Blocks, reports.Multiples{Items: items})
	return s, true
}

// said is what a chart says, in the words of the unit's own report.
func said(m *metrics.MeasureView) string {
	switch {
	case m.Absent != "":
		return m.Absent
	case m.NotJudged != "":
		return m.NotJudged
	}
	var words []string
	for _, s := range m.Signals {
		if s.Active {
			words = append(words, upper(s.Text))
		}
	}
	if len(words) > 0 {
		return strings.Join(words, " ")
	}
	return "No signal in the latest closed period: it looks like the others."
}

// model puts a unit's chart into a form that can be drawn.
func (b *builder) model(m *metrics.MeasureView) chart.Model {
	label := func(i int) string { return m.Chart.Points[i].Label }
	if len(m.Points) == len(m.Chart.Points) {
		label = func(i int) string { return m.Points[i].Label }
	}
	c := controlchart.Model(&m.Chart, label)
	c.ID, c.Title, c.Subtitle = m.Definition.ID, m.Measured, m.Definition.Question
	c.Y = chart.Axis{Label: m.Axis.Title, Format: format(m), Min: nil, Max: nil}
	for i := range c.Points {
		if i >= len(m.Points) {
			break
		}
		v, q := m.Points[i], &c.Points[i]
		q.Hollow = q.Hollow || v.Open
		if v.From != 0 {
			q.Short, q.Year = english[v.From.Number()-1], strconv.Itoa(v.From.Year())
		}
		if v.Hollow != "" {
			q.Why = v.Hollow
		}
	}
	for _, k := range m.Marks {
		if k.At >= 0 && k.At < len(c.Points) {
			c.Marks = append(c.Marks, chart.Mark{At: k.At, Text: k.Label})
		}
	}
	c.Notes = append(c.Notes, oneCase)
	c.Alt = fmt.Sprintf("%s of %s. %s", upper(c.Kind), m.Measured, said(m))
	return c
}

func format(m *metrics.MeasureView) chart.Format {
	switch {
	case m.Axis.Percent:
		return chart.Percent
	case m.Chart.Kind == spc.G:
		return chart.Births
	case m.Axis.Unit == "s":
		return chart.Seconds
	case m.Axis.Unit == "Cel":
		return chart.Celsius
	}
	return chart.Plain
}
