package dashboard

import (
	"fmt"
	"strings"

	"chestrise/metrics"
	"chestrise/metrics/measure"
	"chestrise/metrics/spc"
	"chestrise/reports"
	"chestrise/reports/chart"
)

// front is page one: what the nurse brings to the meeting, then one line a
// core measure.
func (b *builder) front() reports.Section {
	v := b.view
	s := reports.Section{ID: "month", Title: "What changed in " + b.latest(), Sheet: "Overview"}
	for _, text := range b.sentences() {
		s.Blocks = append(s.Blocks, reports.Text{Text: text, Strong: true})
	}
	for _, text := range []string{b.early(), b.goesOn()} {
		if text != "" {
			s.Blocks = append(s.Blocks, reports.Text{Text: text})
		}
	}
	var core []reports.Multiple
	further := 0
	for i := range v.Measures {
		m := &v.Measures[i]
		if m.Definition.Tier == measure.Core {
			core = append(core, b.multiple(m))
		} else {
			further++
		}
	}
	if len(core) > 0 {
		s.Blocks = append(s.Blocks, reports.Multiples{Items: core})
	}
	s.Blocks = append(s.Blocks, reports.Footnotes{Items: b.frontNotes(further)})
	return s
}

// early says that the month asked for is not closed; empty where it is.
func (b *builder) early() string {
	if !b.view.EarlyLook || b.view.Latest == 0 {
		return ""
	}
	return fmt.Sprintf("Early look: %s is not closed yet. %s is judged; %s is shown apart, as far as it goes.",
		b.month(b.view.Month), b.month(b.view.Latest), b.month(b.view.Month))
}

func (b *builder) goesOn() string {
	switch n := b.continuing(); n {
	case 0:
		return ""
	case 1:
		return "1 chart goes on signalling as before."
	default:
		return fmt.Sprintf("%d charts go on signalling as before.", n)
	}
}

func (b *builder) frontNotes(further int) []string {
	v := b.view
	var notes []string
	if v.Charts > 0 {
		notes = append(notes, fmt.Sprintf("About %s of these %d charts would signal this month by chance%s.",
			b.say(fmt.Sprintf("%.2f", v.ByChance)), v.Charts, every(v.ByChance)))
	}
	month := "of this month"
	if v.Latest != 0 {
		month = "of " + b.month(v.Latest)
	}
	if n := total(v.Held); n > 0 {
		notes = append(notes, fmt.Sprintf("%s %s %s held and in no figure: %s.", newborns(n), month, areIs(n), b.ruled(v.Held)))
	} else {
		notes = append(notes, "No newborn "+month+" is held back.")
	}
	if further > 0 {
		notes = append(notes, fmt.Sprintf("%d further measures are in the workbook.", further))
	}
	if v.CoverageIn != "" {
		notes = append(notes, "The rows are "+v.CoverageIn+".")
	}
	for _, n := range v.Notes {
		switch n.Code {
		case "early-look", "synthetic", "held", "no-closed-month": // said above, or on every page
		default:
			notes = append(notes, b.say(n.Text))
		}
	}
	return notes
}

// every says how often something of a monthly chance happens.
func every(perMonth float64) string {
	if perMonth <= 0.001 {
		return ""
	}
	if perMonth >= 1 {
		return ""
	}
	return fmt.Sprintf(": one in about %.0f months", 1/perMonth)
}

// further is one line a further measure: in the workbook only, page one is for
// the core ones.
func (b *builder) further() (reports.Section, bool) {
	var items []reports.Multiple
	for i := range b.view.Measures {
		if m := &b.view.Measures[i]; m.Definition.Tier != measure.Core {
			items = append(items, b.multiple(m))
		}
	}
	return reports.Section{
		ID: "further", Title: "Further measures", Sheet: "Further measures", Parent: "month", SheetOnly: true,
		Blocks: []reports.Block{reports.Multiples{Items: items}},
	}, len(items) > 0
}

func (b *builder) latest() string {
	if b.view.Latest == 0 {
		return b.month(b.view.Month)
	}
	return b.month(b.view.Latest)
}

// shown is how many months an overview line shows.
const shown = 24

func (b *builder) multiple(m *metrics.MeasureView) reports.Multiple {
	one := reports.Multiple{Title: m.Measured, Link: sectionID(&m.Definition), Words: b.brief(m), Direction: wished(m)}
	if m.Absent != "" {
		one.Words, one.Direction = m.Absent, ""
		return one
	}
	one.Latest = b.figure(m)
	if label := b.say(m.Latest.Label); m.Latest.Label != "" && label != b.latest() {
		one.Latest = label + ": " + one.Latest
	}
	if k := len(m.Points) - 1; b.view.EarlyLook && k >= 0 && m.Points[k].Open && m.Axis.Percent {
		one.Open = fmt.Sprintf("%s so far: %d of %d", b.label(m.Points[k], m.Period), m.Points[k].Met, m.Points[k].Known)
	}
	one.Known = m.Latest.KnownText
	if m.Latest.HasCentre {
		one.Centre = centreName(m) + " " + b.locale.Number(format(m), m.Latest.Centre)
	}
	if m.Drawn {
		one.Chart = last(b.model(m), shown)
	}
	return one
}

func centreName(m *metrics.MeasureView) string {
	switch m.Chart.Kind {
	case spc.Run, spc.G, spc.T:
		return "median"
	}
	return "mean"
}

// wished is the favourable direction of what is charted.
func wished(m *metrics.MeasureView) string {
	switch m.Chart.Favourable {
	case spc.Up:
		return "higher is favourable"
	case spc.Down:
		return "lower is favourable"
	}
	return "no favourable direction"
}

// last keeps a model's last n points and what belongs to them.
func last(m chart.Model, n int) chart.Model {
	cut := len(m.Points) - n
	if cut <= 0 {
		return m
	}
	m.Points = m.Points[cut:]
	var phases []chart.Phase
	for _, p := range m.Phases {
		if p.To >= cut {
			p.From, p.To = max(p.From-cut, 0), p.To-cut
			phases = append(phases, p)
		}
	}
	var marks []chart.Mark
	for _, x := range m.Marks {
		if x.At >= cut {
			x.At -= cut
			marks = append(marks, x)
		}
	}
	var signals []chart.Signal
	for _, x := range m.Signals {
		var points []int
		for _, p := range x.Points {
			if p >= cut {
				points = append(points, p-cut)
			}
		}
		if len(points) > 0 {
			x.Points = points
			signals = append(signals, x)
		}
	}
	var rows []chart.Row
	for _, r := range m.Rows {
		r.Texts = r.Texts[cut:]
		rows = append(rows, r)
	}
	m.Phases, m.Marks, m.Signals, m.Rows = phases, marks, signals, rows
	return m
}

func total(all []metrics.Count) int64 {
	var n int64
	for _, c := range all {
		n += c.Count
	}
	return n
}

// ruled names the rules by which something was kept out, with their counts.
func (b *builder) ruled(all []metrics.Count) string {
	var parts []string
	for _, c := range all {
		parts = append(parts, fmt.Sprintf("%s %d", c.Name, c.Count))
	}
	return strings.Join(parts, ", ")
}

func newborns(n int64) string {
	if n == 1 {
		return "1 newborn"
	}
	return fmt.Sprintf("%d newborns", n)
}

func areIs(n int64) string {
	if n == 1 {
		return "is"
	}
	return "are"
}
