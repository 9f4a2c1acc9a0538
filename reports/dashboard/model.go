package dashboard

import (
	"fmt"
	"slices"
	"strings"

	"chestrise/metrics"
	"chestrise/metrics/spc"
	"chestrise/reports/chart"
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
	f := format(m)
	c := chart.Model{
		ID:       sectionID(&m.Definition),
		Title:    m.Title,
		Subtitle: m.Definition.Question,
		Kind:     m.Chart.Kind.String(),
		Y:        chart.Axis{Label: m.Axis.Title, Format: f},
		CentreIs: centreWord(m.Chart.Kind),
	}
	for i, p := range m.Chart.Points {
		c.Points = append(c.Points, b.point(m, i, p))
	}
	for _, p := range m.Chart.Phases {
		c.Phases = append(c.Phases, chart.Phase{From: p.From, To: p.To, Label: p.Reason, Provisional: p.Provisional})
	}
	for _, k := range m.Marks {
		if k.At >= 0 && k.At < len(c.Points) {
			c.Marks = append(c.Marks, chart.Mark{At: k.At, Text: k.Label})
		}
	}
	if m.Axis.Aim != nil {
		c.Target = &chart.Target{Value: *m.Axis.Aim, Text: m.Axis.AimText}
	}
	b.signals(m, &c)
	if m.Period != metrics.ByEvent {
		n, known := chart.Row{Label: "n"}, chart.Row{Label: "known"}
		for i := range c.Points {
			p := m.Points[i]
			n.Texts = append(n.Texts, fmt.Sprint(p.Eligible))
			known.Texts = append(known.Texts, fmt.Sprint(p.Known))
		}
		c.Rows = []chart.Row{n, known}
	}
	for _, n := range m.Notes {
		c.Notes = append(c.Notes, n.Text)
	}
	c.Alt = b.alt(m, &c)
	return c
}

func centreWord(k spc.Kind) string {
	switch k {
	case spc.Run, spc.G, spc.T:
		return "median"
	}
	return "mean"
}

func (b *builder) point(m *metrics.MeasureView, i int, p spc.Point) chart.Point {
	v := m.Points[i]
	q := chart.Point{
		Label: b.label(v, m.Period), Value: p.Value, Has: p.Has, Hollow: p.Hollow || v.Open, Why: v.Hollow,
		Centre: p.Centre, Lower: p.Lower, Upper: p.Upper, Phase: p.Phase,
	}
	if !p.Has {
		q.Value = 0
	}
	switch m.Period {
	case metrics.Monthly:
		q.Short, q.Year = b.short(v.From), fmt.Sprint(v.From.Year())
	case metrics.Quarterly:
		q.Short, q.Year = fmt.Sprintf("Q%d", (v.From.Number()+2)/3), fmt.Sprint(v.From.Year())
	case metrics.ByEvent:
		q.Short = fmt.Sprint(i + 1)
		if v.From != 0 {
			q.Year = fmt.Sprint(v.From.Year())
		}
	}
	if p.AtLeast && q.Why == "" {
		q.Hollow, q.Why = true, "still open: this many births or more"
	}
	if v.Bounds != nil && m.Axis.Percent {
		low, high := v.Bounds.Low, v.Bounds.High
		q.Low, q.High = &low, &high
	}
	return q
}

// signals gives every signal a letter; a point carries the letters of the
// patterns it belongs to.
func (b *builder) signals(m *metrics.MeasureView, c *chart.Model) {
	for i, s := range m.Chart.Signals {
		letter := letterOf(i)
		words := s.Words
		if i < len(m.Signals) {
			words = m.Signals[i].Text
		}
		c.Signals = append(c.Signals, chart.Signal{Letter: letter, Points: slices.Clone(s.Members), Words: words, Sense: sense(s.Verdict)})
		for _, p := range s.Members {
			c.Points[p].Letter += letter
		}
	}
}

func letterOf(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return letterOf(i/26-1) + letterOf(i%26)
}

func sense(v spc.Verdict) chart.Sense {
	switch v {
	case spc.Better:
		return chart.Better
	case spc.Worse:
		return chart.Worse
	}
	return chart.Neither
}

// alt describes the chart to a reader who cannot see it.
func (b *builder) alt(m *metrics.MeasureView, c *chart.Model) string {
	if len(c.Points) == 0 {
		return "No chart: " + m.Absent
	}
	first, last := c.Points[0].Label, c.Points[len(c.Points)-1].Label
	text := fmt.Sprintf("%s of %s, %s to %s.", upper(c.Kind), m.Measured, first, last)
	switch n := len(c.Signals); n {
	case 0:
		return text + " No signal."
	default:
		return text + " " + c.Signals[n-1].Words
	}
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
