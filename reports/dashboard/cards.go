package dashboard

import (
	"fmt"

	"chestrise/metrics"
	"chestrise/metrics/measure"
	"chestrise/metrics/spc"
	"chestrise/reports"
	"chestrise/reports/chart"
)

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
			{Title: b.say(m.Flow.Label), Format: chart.Count},
			{Title: b.say(m.Year.Label), Format: chart.Count},
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
			name = loss + name
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

// loss stands before a line of a flow whose newborns leave it there.
const loss = "– "

// flowCard is the same in short: losses of nobody stand in the workbook only.
func (b *builder) flowCard(m *metrics.MeasureView, t reports.Table) reports.Card {
	card := reports.Card{Title: t.Title, Heads: []string{b.say(m.Flow.Label), "12 months"}}
	for _, row := range t.Rows {
		if zero(row[1]) && zero(row[2]) {
			continue
		}
		name, isLoss := row[0].Text, false
		if len(name) > len(loss) && name[:len(loss)] == loss {
			name, isLoss = name[len(loss):], true
		}
		card.Rows = append(card.Rows, reports.CardRow{Name: name, Figures: []string{b.whole(row[1]), b.whole(row[2])}, Loss: isLoss})
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

func count(n int64) reports.Cell {
	x := float64(n)
	return reports.Cell{Number: &x}
}

// stratum is a small table of counts; a share only where enough newborns are known.
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
	valued := valuesOnly(m)
	if valued {
		t.Columns = []reports.Column{t.Columns[0], t.Columns[2], t.Columns[3]}
	}
	for _, r := range s.Rows {
		share := reports.Cell{Text: "–"}
		if r.Rate != nil {
			share = reports.Cell{Number: r.Rate}
		}
		row := []reports.Cell{{Text: r.Name}, count(int64(r.Met)), count(int64(r.Known)), count(int64(r.Eligible)), share}
		if valued {
			row = []reports.Cell{row[0], row[2], row[3]}
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// valuesOnly says that a measure has values and no share: nobody meets anything.
func valuesOnly(m *metrics.MeasureView) bool {
	return m.Definition.Data == measure.Value && m.Chart.Kind != spc.P
}

func (b *builder) stratumCard(m *metrics.MeasureView, s *metrics.Stratum) reports.Card {
	card := reports.Card{Title: fmt.Sprintf("%s, %s", s.Title, b.span(s.From, s.To)), Heads: []string{"met of known", "share"}}
	valued := valuesOnly(m)
	if valued {
		card.Heads = []string{"known", "of"}
	}
	for _, r := range s.Rows {
		figures := []string{fmt.Sprintf("%d of %d", r.Met, r.Known), "–"}
		if r.Rate != nil {
			figures[1] = b.locale.Number(chart.Percent, *r.Rate)
		}
		if valued {
			figures = []string{b.whole(count(int64(r.Known))), b.whole(count(int64(r.Eligible)))}
		}
		card.Rows = append(card.Rows, reports.CardRow{Name: r.Name, Figures: figures})
	}
	return card
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
	for _, x := range r.Rows {
		row := []reports.Cell{{Text: b.span(x.From, x.To)}, count(int64(x.Newborns))}
		for i := range r.Limits {
			row = append(row, count(int64(x.Within[i])))
		}
		t.Rows = append(t.Rows, append(row, count(total(x.OtherEnds)), reports.Cell{Text: b.say(x.Text)}))
	}
	return t
}

// rollingCard is the last of the rolling rows beside the one a year before.
func (b *builder) rollingCard(m *metrics.MeasureView) reports.Card {
	r := m.Rolling
	x := r.Rows[len(r.Rows)-1]
	card := reports.Card{Title: fmt.Sprintf("The %d months %s", r.Months, b.span(x.From, x.To)), Heads: []string{"these", "the year before"}}
	var before *metrics.RollingRow
	if k := len(r.Rows) - 1 - r.Months; k >= 0 {
		before = &r.Rows[k]
	} else {
		card.Heads = []string{"these"}
	}
	add := func(name string, of func(*metrics.RollingRow) string) {
		figures := []string{of(&x)}
		if before != nil {
			figures = append(figures, of(before))
		}
		card.Rows = append(card.Rows, reports.CardRow{Name: name, Figures: figures})
	}
	whole := func(n int64) string { return b.locale.Number(chart.Count, float64(n)) }
	f := unitFormat(r.Unit)
	add("newborns", func(x *metrics.RollingRow) string { return whole(int64(x.Newborns)) })
	for i, l := range r.Limits {
		add("sign by "+b.locale.Number(f, l), func(x *metrics.RollingRow) string { return whole(int64(x.Within[i])) })
	}
	add("another end first", func(x *metrics.RollingRow) string { return whole(total(x.OtherEnds)) })
	add("half had a sign by", func(x *metrics.RollingRow) string {
		if x.Median == nil {
			return "not reached"
		}
		return b.locale.Number(f, *x.Median)
	})
	return card
}

// The names of what a definition says of who is counted.
const (
	population = "Population"
	excluded   = "Excluded, counted"
	excepted   = "Exception, counted"
)

// defined is the definition in short, as a clinician reads it: who is counted,
// and what of them.
func (b *builder) defined(m *metrics.MeasureView) (who, what [][2]string) {
	d := &m.Definition
	who = append(who, [2]string{population, d.Population.Words})
	for _, e := range d.Exclusions {
		who = append(who, [2]string{excluded, e.Reason})
	}
	for _, e := range d.Exceptions {
		who = append(who, [2]string{excepted, e.Reason})
	}
	if d.Met.Present() {
		name := "Met"
		if m.Period == metrics.ByEvent {
			name = "Event"
		}
		what = append(what, [2]string{name, d.Met.Words})
	}
	if d.Low.Present() {
		what = append(what, [2]string{"Value", d.Low.Words})
	}
	if d.Missing.Words != "" {
		what = append(what, [2]string{"Missing", d.Missing.Words})
	}
	what = append(what, [2]string{"Favourable direction", direction(d.Direction)})
	if d.Aim.Text != "" {
		source := d.Aim.Source
		if source == "" {
			source = "common practice, no source"
		}
		what = append(what, [2]string{"Aim", d.Aim.Text + " (" + source + ")"})
	}
	return who, append(what, [2]string{"Definition", fmt.Sprintf("%s, version %d", d.ID, d.Version)})
}

// direction says which way is better.
func direction(d measure.Direction) string {
	switch d {
	case measure.Up:
		return "up"
	case measure.Down:
		return "down"
	case measure.None:
	}
	return "none: look, do not judge"
}

// beside are the measures to be read together with this one: a card each with
// its own small chart, and the same in words.
func (b *builder) beside(m *metrics.MeasureView) (cards []reports.Card, words []string) {
	for _, x := range m.Beside {
		words = append(words, "Read together with: "+b.titleOf(x.Measure)+". "+x.Why)
		o := b.view.Measure(x.Measure)
		if o == nil || !o.Drawn || o.Absent != "" || same(m, o) {
			continue
		}
		small := last(b.model(o), shown)
		k := reports.Card{Title: "Read together with: " + o.Measured, Chart: &small, Lines: []string{
			b.say(o.Latest.Label) + ": " + b.figure(o) + ". " + b.brief(o), x.Why,
		}}
		if o.Definition.Tier == measure.Core {
			k.Link = sectionID(&o.Definition)
		}
		cards = append(cards, k)
	}
	return cards, words
}

// same says that a measure is a share of the very values of another.
func same(m, o *metrics.MeasureView) bool {
	return valuesOnly(m) && o.Axis.Percent && o.Definition.Population.Condition.Text == m.Definition.Population.Condition.Text
}

// sameNewborns are the shares of the same newborns that are read together with
// a measure, in one table.
func (b *builder) sameNewborns(m *metrics.MeasureView) (reports.Table, bool) {
	t := reports.Table{
		Title: "Shares of the same newborns", Name: "same_" + m.Definition.ID,
		Columns: []reports.Column{
			{Title: "Measure", Text: true, Weight: 3.4},
			{Title: b.say(m.Latest.Label), Text: true, Weight: 1.6},
			{Title: "Share", Format: chart.Percent},
			{Title: "12 months", Text: true, Weight: 1.6},
			{Title: "Share", Format: chart.Percent},
			{Title: "Under 32 weeks", Text: true, Weight: 1.4},
			{Title: "32 weeks or more", Text: true, Weight: 1.4},
			{Title: "Signal", Text: true, Weight: 2.2},
		},
	}
	for _, x := range m.Beside {
		o := b.view.Measure(x.Measure)
		if o == nil || o.Absent != "" || !o.Drawn || !same(m, o) {
			continue
		}
		t.Rows = append(t.Rows, b.sameRow(o))
	}
	return t, len(t.Rows) > 0
}

func (b *builder) sameRow(o *metrics.MeasureView) []reports.Cell {
	row := []reports.Cell{{Text: o.Measured, Link: sectionID(&o.Definition)}, {Text: "–"}, {Text: "–"}, {Text: "–"}, {Text: "–"}, {Text: "–"}, {Text: "–"}, {Text: b.brief(o)}}
	share := func(i int, met, known int64) {
		row[i] = reports.Cell{Text: fmt.Sprintf("%d of %d", met, known)}
		if known > 0 && i+1 < len(row)-1 && (i == 1 || i == 3) {
			v := float64(met) / float64(known)
			row[i+1] = reports.Cell{Number: &v}
		}
	}
	if o.Latest.Has {
		share(1, int64(o.Latest.Met), int64(o.Latest.Known))
	}
	var met, known int64
	for _, s := range o.Year.Steps {
		switch s.Kind {
		case "met":
			met += s.Count
		case "known":
			known += s.Count
		}
	}
	share(3, met, known)
	if s := o.Preterm; s != nil {
		share(5, int64(s.Under.Met), int64(s.Under.Known))
		share(6, int64(s.From.Met), int64(s.From.Known))
	}
	return row
}

// titleOf is a measure's title, or its id where it is not in the report.
func (b *builder) titleOf(id string) string {
	if m := b.view.Measure(id); m != nil {
		return m.Measured
	}
	return id
}
