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
	s.Blocks = append(s.Blocks, reports.Text{Text: v.Headline, Strong: true})
	var changes []string
	for _, c := range v.Changed {
		text := c.Text
		if m := b.view.Measure(c.Measure); m != nil && c.Kind == metrics.Continues {
			text = "continues. " + b.brief(m)
		}
		changes = append(changes, c.Title+": "+text)
	}
	if len(changes) > 0 {
		s.Blocks = append(s.Blocks, reports.List{Items: changes})
	}
	if v.EarlyLook {
		s.Blocks = append(s.Blocks, reports.Text{Text: fmt.Sprintf(
			"Early look: %s is not closed. %s is judged; open months are drawn hollow and judged later.",
			b.month(v.Month), b.latest())})
	}
	if n := total(v.Held); n > 0 {
		s.Blocks = append(s.Blocks, reports.Text{Text: fmt.Sprintf(
			"%s of these deliveries %s held back and in no figure: %s.", newborns(n), areIs(n), counts(v.Held))})
	}
	var core []reports.Multiple
	var further []string
	for i := range v.Measures {
		m := &v.Measures[i]
		one := b.multiple(m)
		if m.Definition.Tier == measure.Core {
			core = append(core, one)
		} else {
			further = append(further, one.Title)
		}
	}
	if len(core) > 0 {
		s.Blocks = append(s.Blocks, reports.Heading{Text: "Core measures"}, reports.Multiples{Items: core})
	}
	var notes []string
	if len(further) > 0 {
		notes = append(notes, fmt.Sprintf("%d further measures are in the workbook.", len(further)))
	}
	if v.ByChanceIn != "" {
		notes = append(notes, v.ByChanceIn)
	}
	notes = append(notes, "What the rows are: "+v.CoverageIn+".")
	for _, x := range v.Sources {
		if x.Missing {
			notes = append(notes, fmt.Sprintf("The source %s has sent nothing for this month.", x.Name))
		}
	}
	for _, n := range v.Notes {
		notes = append(notes, n.Text)
	}
	s.Blocks = append(s.Blocks, reports.Footnotes{Items: notes})
	return s
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
	one := reports.Multiple{Title: m.Measured, Link: sectionID(&m.Definition), Words: b.brief(m)}
	if m.Absent != "" {
		one.Words = m.Absent
		return one
	}
	one.Latest = m.Latest.Text
	one.Known = m.Latest.KnownText
	f := format(m)
	if m.Latest.HasCentre {
		one.Centre = b.locale.Number(f, m.Latest.Centre)
	}
	if m.Drawn {
		one.Chart = last(b.model(m), shown)
	}
	return one
}

// brief says in a few words what a measure's chart shows: the finding where it
// is certain, else the signal, else that there is none.
func (b *builder) brief(m *metrics.MeasureView) string {
	if m.NotJudged != "" {
		return "Not judged."
	}
	for _, s := range m.Signals {
		if !s.Active {
			continue
		}
		words := strings.TrimSuffix(s.Text, ".")
		if found, _, ok := strings.Cut(m.Title, ": "); ok && m.Title != m.Measured {
			words = found
		}
		switch s.Verdict {
		case spc.Better:
			words = strings.TrimSuffix(words, ", in the favourable direction") + ", favourable"
		case spc.Worse:
			words = strings.TrimSuffix(words, ", against the favourable direction") + ", unfavourable"
		}
		return words + "."
	}
	if m.Change.Kind == metrics.Stopped {
		return m.Change.Text
	}
	return "No signal."
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

func counts(all []metrics.Count) string {
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
