package dashboard

import (
	"fmt"

	"chestrise/metrics"
	"chestrise/metrics/measure"
	"chestrise/reports"
	"chestrise/reports/chart"
)

// chartHeight leaves room on the page for what is said beneath, in millimetres.
const chartHeight = 82

// page is one measure: its chart, what it says, and how the newborns of the
// period come down to the figure.
func (b *builder) page(m *metrics.MeasureView) reports.Section {
	s := reports.Section{ID: sectionID(&m.Definition), Title: m.Measured, Sheet: sheetName(m.Measured), Parent: "month", SheetOnly: m.Definition.Tier != measure.Core}
	add := func(x reports.Block) { s.Blocks = append(s.Blocks, x) }
	switch {
	case m.Absent != "":
		add(reports.Text{Text: m.Absent, Strong: true})
	case m.Drawn:
		add(reports.Figure{Chart: b.model(m), Height: chartHeight})
	}
	if m.Absent == "" {
		if m.NotJudged != "" {
			add(reports.Text{Text: "Not judged: " + m.NotJudged + ".", Strong: true})
		}
		if m.Detectability != "" {
			add(reports.Text{Text: m.Detectability})
		}
	}
	add(b.small(m))
	if m.Absent == "" && m.Rolling != nil {
		add(b.rolling(m))
	}
	if notes := b.notes(m); len(notes) > 0 {
		add(reports.Footnotes{Items: notes})
	}
	return s
}

// small is what stands beneath the chart: how the newborns come down to the
// figure, the definition, and the counts by gestation, side by side on the page
// and as tables in the workbook.
func (b *builder) small(m *metrics.MeasureView) reports.Columns {
	var c reports.Columns
	if m.Absent == "" {
		if t, ok := b.flow(m); ok {
			c.Spelled = append(c.Spelled, t)
			c.Cards = append(c.Cards, b.flowCard(m, t))
		}
	}
	who, what := reports.Card{Title: "Who is counted"}, reports.Card{Title: "What is counted"}
	last := ""
	for _, p := range b.defined(m) {
		card := &what
		switch p[0] {
		case population, excluded, excepted:
			card = &who
		}
		if n := len(card.Lines); p[0] == last && n > 0 { // several exclusions make one line
			card.Lines[n-1] += "; " + p[1]
			continue
		}
		last = p[0]
		card.Lines = append(card.Lines, p[0]+": "+p[1])
	}
	c.Cards = append(c.Cards, who, what)
	if m.Absent == "" {
		for i := range m.Strata {
			c.Spelled = append(c.Spelled, b.stratum(m, &m.Strata[i], i))
			c.Cards = append(c.Cards, b.stratumCard(&m.Strata[i]))
		}
		if m.Newborns != nil && m.Newborns.Text != "" {
			c.Spelled = append(c.Spelled, reports.Text{Text: m.Newborns.Text})
			c.Cards = append(c.Cards, reports.Card{Title: "Newborn by newborn", Lines: []string{m.Newborns.Text}})
		}
	}
	c.Spelled = append(c.Spelled, reports.Facts{Pairs: b.defined(m)})
	if len(m.Beside) > 0 {
		beside := reports.Card{Title: "Read together with"}
		for _, x := range m.Beside {
			beside.Lines = append(beside.Lines, b.titleOf(x.Measure)+": "+x.Why)
		}
		c.Cards = append(c.Cards, beside)
		c.Spelled = append(c.Spelled, reports.Footnotes{Items: beside.Lines})
	}
	return c
}

func (b *builder) flowCard(m *metrics.MeasureView, t reports.Table) reports.Card {
	card := reports.Card{Title: m.Flow.Label + " (and twelve months)"}
	for _, row := range t.Rows {
		if zero(row[1]) && zero(row[2]) { // the workbook names every loss, also where nobody was lost
			continue
		}
		card.Lines = append(card.Lines, fmt.Sprintf("%s: %s (%s)", row[0].Text, b.whole(row[1]), b.whole(row[2])))
	}
	return card
}

func zero(c reports.Cell) bool { return c.Number == nil || *c.Number == 0 }

// whole writes a count, or a dash where there is none.
func (b *builder) whole(c reports.Cell) string {
	if c.Number == nil {
		return "–"
	}
	return b.locale.Number(chart.Count, *c.Number)
}

func (b *builder) stratumCard(s *metrics.Stratum) reports.Card {
	card := reports.Card{Title: fmt.Sprintf("%s, %s", s.Title, b.span(s.From, s.To))}
	for _, r := range s.Rows {
		line := fmt.Sprintf("%s: %d of %d known", r.Name, r.Met, r.Known)
		if r.Rate != nil {
			line += " (" + b.locale.Number(chart.Percent, *r.Rate) + ")"
		}
		card.Lines = append(card.Lines, line)
	}
	return card
}

// flow prints the latest period beside the twelve months up to it.
func (b *builder) flow(m *metrics.MeasureView) (reports.Table, bool) {
	if len(m.Year.Steps) == 0 && len(m.Flow.Steps) == 0 {
		return reports.Table{}, false
	}
	t := reports.Table{
		Title: "How the newborns come down to the figure",
		Name:  "flow_" + m.Definition.ID,
		Columns: []reports.Column{
			{Title: "Step", Text: true, Weight: 4},
			{Title: m.Flow.Label, Format: chart.Count},
			{Title: m.Year.Label, Format: chart.Count},
		},
		Empty: "No newborn in these months.",
	}
	steps := m.Year.Steps
	if len(steps) == 0 {
		steps = m.Flow.Steps
	}
	for i, st := range steps {
		name := st.Name
		if st.Loss {
			name = "– " + name
		}
		row := []reports.Cell{{Text: name}, {}, {}}
		if i < len(m.Flow.Steps) && m.Flow.Steps[i].Name == st.Name {
			row[1] = count(m.Flow.Steps[i].Count)
		}
		if i < len(m.Year.Steps) {
			row[2] = count(m.Year.Steps[i].Count)
		}
		t.Rows = append(t.Rows, row)
	}
	return t, true
}

func count(n int64) reports.Cell {
	x := float64(n)
	return reports.Cell{Number: &x}
}

func (b *builder) rolling(m *metrics.MeasureView) reports.Table {
	r := m.Rolling
	t := reports.Table{
		Title: fmt.Sprintf("The last %d months, moved on month by month", r.Months),
		Name:  "rolling_" + m.Definition.ID,
		Columns: []reports.Column{
			{Title: "Months", Text: true, Weight: 2.4},
			{Title: "Newborns", Format: chart.Count},
		},
		Empty: "No newborn with a usable time.",
	}
	for _, l := range r.Limits {
		t.Columns = append(t.Columns, reports.Column{Title: "by " + b.locale.Number(unitFormat(r.Unit), l), Format: chart.Count})
	}
	t.Columns = append(t.Columns,
		reports.Column{Title: "Another end first", Format: chart.Count},
		reports.Column{Title: "Median", Text: true, Weight: 2})
	rows := r.Rows
	if len(rows) > 12 {
		rows = rows[len(rows)-12:]
	}
	for _, x := range rows {
		row := []reports.Cell{{Text: b.span(x.From, x.To)}, count(int64(x.Newborns))}
		for i := range r.Limits {
			row = append(row, count(int64(x.Within[i])))
		}
		t.Rows = append(t.Rows, append(row, count(total(x.OtherEnds)), reports.Cell{Text: x.Text}))
	}
	return t
}

func (b *builder) stratum(m *metrics.MeasureView, s *metrics.Stratum, i int) reports.Table {
	t := reports.Table{
		Title: fmt.Sprintf("%s, %s", s.Title, b.span(s.From, s.To)),
		Name:  fmt.Sprintf("stratum_%s_%d", m.Definition.ID, i+1),
		Columns: []reports.Column{
			{Title: s.Title, Text: true, Weight: 3},
			{Title: "Met", Format: chart.Count},
			{Title: "Known", Format: chart.Count},
			{Title: "In the population", Format: chart.Count},
			{Title: "Share", Format: chart.Percent},
		},
		Empty: "No newborn in these months.",
	}
	for _, r := range s.Rows {
		share := reports.Cell{Text: "–"}
		if r.Rate != nil {
			share = reports.Cell{Number: r.Rate}
		}
		t.Rows = append(t.Rows, []reports.Cell{{Text: r.Name}, count(int64(r.Met)), count(int64(r.Known)), count(int64(r.Eligible)), share})
	}
	return t
}

// The names of what a definition says of who is counted.
const (
	population = "Population"
	excluded   = "Excluded, counted"
	excepted   = "Exception, counted"
)

// defined is the definition in short, as a clinician reads it.
func (b *builder) defined(m *metrics.MeasureView) [][2]string {
	d := &m.Definition
	pairs := [][2]string{{population, d.Population.Words}}
	if d.Met.Present() {
		name := "Met"
		if m.Period == metrics.ByEvent {
			name = "Event"
		}
		pairs = append(pairs, [2]string{name, d.Met.Words})
	}
	if d.Low.Present() {
		pairs = append(pairs, [2]string{"Value", d.Low.Words})
	}
	for _, e := range d.Exclusions {
		pairs = append(pairs, [2]string{excluded, e.Reason})
	}
	for _, e := range d.Exceptions {
		pairs = append(pairs, [2]string{excepted, e.Reason})
	}
	if d.Missing.Words != "" {
		pairs = append(pairs, [2]string{"Missing", d.Missing.Words})
	}
	pairs = append(pairs, [2]string{"Favourable direction", direction(d.Direction)})
	if d.Aim.Text != "" {
		source := d.Aim.Source
		if source == "" {
			source = "common practice, no source"
		}
		pairs = append(pairs, [2]string{"Aim", d.Aim.Text + " (" + source + ")"})
	}
	return append(pairs, [2]string{"Definition", fmt.Sprintf("%s, version %d", d.ID, d.Version)})
}

// notes are the footnotes of a page without a chart; with one, they stand
// beneath it.
func (b *builder) notes(m *metrics.MeasureView) []string {
	if m.Absent == "" && m.Drawn {
		return nil
	}
	var all []string
	for _, n := range m.Notes {
		all = append(all, n.Text)
	}
	return append(all, m.Definition.Cautions...)
}

// titleOf is a measure's title, or its id where it is not in the report.
func (b *builder) titleOf(id string) string {
	if m := b.view.Measure(id); m != nil {
		return m.Definition.Title
	}
	return id
}
