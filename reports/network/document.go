package network

import (
	"fmt"

	"chestrise/metrics/benchmark"
	"chestrise/reports"
	"chestrise/reports/chart"
	"chestrise/reports/funnel"
)

// Options are the choices of the reader's house.
type Options struct{ Locale reports.Locale }

type builder struct {
	c *benchmark.Comparison
	l reports.Locale
}

// Build lays out the report of a comparison. Units stand in one order everywhere.
func Build(c *benchmark.Comparison, o Options) *reports.Document {
	b := builder{c: c, l: o.Locale}
	d := &reports.Document{
		Title:    "Units side by side: resuscitation at birth, " + span(b.l, c.From, c.To),
		Subject:  "Comparison of units with exact limits",
		Keywords: []string{"newborn", "ventilation", "funnel plot", Period(c.From, c.To)},
		Unit:     b.reader(),
		Period:   span(b.l, c.From, c.To),
		Notices:  b.notices(),
		Locale:   o.Locale,
	}
	d.Sections = append(d.Sections, b.front())
	for i := range c.Measures {
		d.Sections = append(d.Sections, b.page(&c.Measures[i]))
	}
	d.Sections = append(d.Sections, b.completeness(), b.moved())
	if len(c.Audit) > 0 {
		d.Sections = append(d.Sections, b.audit())
	}
	d.Sections = append(d.Sections, b.definitions())
	return d
}

// reader names who reads.
func (b *builder) reader() string {
	switch {
	case b.c.Reader != "":
		for _, u := range b.c.Units {
			if u.Own {
				return u.Label
			}
		}
	case b.c.Level == benchmark.Public:
		return b.c.Network + ", public"
	}
	return b.c.Network
}

func (b *builder) notices() []string {
	var all []string
	if b.c.Synthetic {
		all = append(all, "Synthetic data: invented newborns, for demonstration only.")
	}
	all = append(all, "For improvement of care. No ranking of units, no verdict on people. Local policy and licensed practice decide.")
	switch b.c.Level {
	case benchmark.Partner:
		all = append(all, "For partners of agreement "+b.c.Agreement+". Do not forward.")
	case benchmark.Inside:
		all = append(all, "For use inside the house: small counts are not hidden. Do not forward.")
	case benchmark.Public:
	}
	return all
}

func levelWords(l benchmark.Level) string {
	switch l {
	case benchmark.Inside:
		return "inside: nothing is hidden"
	case benchmark.Partner:
		return "partner under an agreement: nothing is hidden, units other than the reader's are coded"
	case benchmark.Public:
		return "public: small counts are hidden, with what would give them away"
	}
	return string(l)
}

func (b *builder) front() reports.Section {
	c := b.c
	s := reports.Section{ID: "network", Title: "What was compared", Sheet: "Overview"}
	deployment := "coordinating centre: every unit's records"
	if c.Deployment == benchmark.OwnUnit {
		deployment = "one hospital on its own, beside a returned reference"
	}
	facts := [][2]string{
		{"Network", c.Network}, {"Months", span(b.l, c.From, c.To)}, {"Whose records", deployment}, {"For whom", levelWords(c.Level)},
	}
	if c.Agreement != "" {
		facts = append(facts, [2]string{"Agreement", c.Agreement})
	}
	if r := c.Reference; r != nil {
		facts = append(facts, [2]string{"Reference", fmt.Sprintf("%s, version %s, dated %s, %s", r.Source, r.Version, r.Dated, span(b.l, r.From, r.To))})
	}
	s.Blocks = append(s.Blocks, b.overview(), reports.Facts{Pairs: facts}, reports.List{Items: c.Notes})
	return s
}

// overview has a line a measure: the target, this reader's own figure, and how many
// units there are. It says where figures lie outside, and of nobody that it is worse.
func (b *builder) overview() reports.Table {
	t := reports.Table{
		Title: "Measures", Name: "overview",
		Columns: []reports.Column{
			{Title: "Measure", Text: true, Weight: 4}, {Title: "All", Format: chart.Percent}, {Title: "Known", Format: chart.Count},
			{Title: "Units", Format: chart.Count}, {Title: "Outside 99.8 %", Format: chart.Count},
		},
		Empty: "No measure is compared.",
	}
	if b.c.Reader != "" {
		t.Columns = append(t.Columns, reports.Column{Title: "Own figure", Text: true, Weight: 2.6})
	}
	for i := range b.c.Measures {
		m := &b.c.Measures[i]
		units, outside, own := 0, 0, "–"
		for j, f := range m.Figures {
			if f.Absent == "" {
				units++
			}
			if f.Outside {
				outside++
			}
			if b.c.Units[j].Own && f.Share != nil {
				own = fmt.Sprintf("%s: %s", percentIn(b.l, *f.Share), against(f.Place))
			}
		}
		all, known := words(tooFew), words(tooFew)
		if !m.Pooled.Hidden {
			all, known = optional(m.Pooled.Share), count(m.Pooled.Known())
		}
		row := []reports.Cell{{Text: m.Title, Link: sectionID(m)}, all, known, count(units), count(outside)}
		if b.c.Reader != "" {
			row = append(row, words(own))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// against spells a place out.
func against(place string) string {
	switch place {
	case "", "within":
		return "within the limits"
	}
	return place + " limit"
}

func sectionID(m *benchmark.Measure) string { return "measure-" + m.Definition.ID }

// sheetName cuts a title to what a workbook allows.
func sheetName(title string) string {
	r := []rune(title)
	if len(r) > 31 {
		r = r[:31]
	}
	return string(r)
}

// page is one measure.
func (b *builder) page(m *benchmark.Measure) reports.Section {
	s := reports.Section{ID: sectionID(m), Title: m.Title, Sheet: sheetName(m.Title), Parent: "network"}
	add := func(x ...reports.Block) { s.Blocks = append(s.Blocks, x...) }
	if model := b.Funnel(m); model != nil {
		add(reports.Picture{
			Drawing: funnel.Lay(*model, chart.Size{W: 174, H: 84}, chart.DejaVu(), b.l.Numbers()),
			Lower:   []chart.Drawing{funnel.Lay(*model, chart.Size{W: 174, H: 66}, chart.DejaVu(), b.l.Numbers())},
		})
	}
	add(b.table(m))
	notes := []string{m.Spread.Text}
	if m.ByChance != "" {
		notes = append(notes, m.ByChance)
	}
	if m.Target != nil {
		notes = append(notes, "Target: "+m.Target.Text+". Limits: exact binomial, interpolated between counts.")
	}
	if n := m.Definition.Direction; n == "none" {
		notes = append(notes, "This measure has no favourable direction: look, do not judge.")
	}
	notes = append(notes, m.Notes...)
	notes = append(notes, m.Definition.Cautions...)
	if b.c.Level != benchmark.Public && m.Why != "" {
		notes = append(notes, "Adjustment: "+m.Why)
	}
	add(reports.Footnotes{Items: notes})
	if m.Adjusted != nil {
		add(b.adjusted(m)...)
	}
	if m.Sums != nil {
		add(b.sums(m)...)
	}
	return s
}

// Funnel is the funnel plot of a measure; nil where there is no target.
func (b *builder) Funnel(m *benchmark.Measure) *funnel.Model {
	if m.Target == nil {
		return nil
	}
	f := &funnel.Model{XLabel: "newborns with an answer", YLabel: "share", Format: chart.Percent, Target: m.Target.Value, Title: ""}
	if m.Definition.Data == "rare-event" {
		f.XLabel, f.YLabel = "births", "births with the event"
	}
	outside := 0
	for i, x := range m.Figures {
		switch {
		case x.Band != nil:
			f.Bands = append(f.Bands, funnel.Banded{Label: b.c.Units[i].Label, Low: x.Band.Low, High: x.Band.High})
		case x.Absent == "" && !x.Hidden && x.Share != nil:
			f.Units = append(f.Units, funnel.Unit{Label: b.c.Units[i].Label, Cases: float64(x.Known()), Value: *x.Share, Outside: x.Outside})
			if x.Outside {
				outside++
			}
		}
	}
	for _, l := range m.Limits {
		k := funnel.Limit{Text: l.Text}
		for _, p := range l.Points {
			k.Lower = append(k.Lower, funnel.Point{Cases: float64(p.Cases), Value: p.Lower})
			k.Upper = append(k.Upper, funnel.Point{Cases: float64(p.Cases), Value: p.Upper})
		}
		f.Limits = append(f.Limits, k)
	}
	f.Alt = fmt.Sprintf("%s. Funnel plot of %d units about %s; outside the 99.8 %% limits: %d.", m.Title, len(f.Units), percentIn(b.l, m.Target.Value), outside)
	if len(f.Bands) > 0 {
		f.Notes = append(f.Notes, "Bars beside the plot: units with too few newborns to be shown; the bar is a range, its place says nothing.")
	}
	return f
}

// table has a line a unit.
func (b *builder) table(m *benchmark.Measure) reports.Table {
	t := reports.Table{
		Title: "Units", Name: "units_" + m.Definition.ID,
		Columns: []reports.Column{
			{Title: "Unit", Text: true, Weight: 2.3}, {Title: "Met", Format: chart.Count}, {Title: "Known", Format: chart.Count},
			{Title: "Share", Format: chart.Percent}, {Title: "99.8 % from", Format: chart.Percent}, {Title: "95 % from", Format: chart.Percent},
			{Title: "95 % to", Format: chart.Percent}, {Title: "99.8 % to", Format: chart.Percent}, {Title: "Against limits", Text: true, Weight: 2.1},
			{Title: "Known of eligible", Text: true, Weight: 3}, {Title: "Bounds with the unknown", Text: true, Weight: 2.6},
		},
		Empty: "No unit.",
	}
	for i, f := range m.Figures {
		t.Rows = append(t.Rows, b.row(b.c.Units[i].Label, f))
	}
	if b.c.Reference == nil {
		row := b.row("all units together", m.Pooled)
		row[8] = words("")
		t.Rows = append(t.Rows, row)
	}
	return t
}

func (b *builder) row(label string, f benchmark.Figure) []reports.Cell {
	switch {
	case f.Absent != "":
		return append([]reports.Cell{words(label), words("–"), words("–"), words("–"), words("–"), words("–"), words("–"), words("–")},
			words("not computable here"), words(""), words(""))
	case f.Hidden:
		share := words(tooFew)
		if f.Band != nil {
			share = words(percentIn(b.l, f.Band.Low) + " to " + percentIn(b.l, f.Band.High))
		}
		return append([]reports.Cell{words(label), words(tooFew), words(tooFew), share, words("–"), words("–"), words("–"), words("–")},
			words("not shown"), words(""), words(""))
	}
	known := f.CompletenessIn
	if f.Completeness != nil {
		known = fmt.Sprintf("%d of %d", f.Known(), f.Eligible())
	}
	bounds := ""
	if f.Bounds != nil {
		bounds = percentIn(b.l, f.Bounds.Low) + " to " + percentIn(b.l, f.Bounds.High)
	}
	return []reports.Cell{
		words(label), count(f.Met), count(f.Known()), optional(f.Share), optional(f.Lower998), optional(f.Lower95), optional(f.Upper95), optional(f.Upper998),
		words(f.Place), words(known), words(bounds),
	}
}

func (b *builder) adjusted(m *benchmark.Measure) []reports.Block {
	a := m.Adjusted
	if a.Against == "" {
		return []reports.Block{reports.Footnotes{Items: a.Notes}}
	}
	p := funnel.Ratios{Title: "Observed against expected", Axis: "observed over expected, with its exact 95 % interval; read each line against 1", Alt: m.Title + ": observed against expected, one line a unit."}
	t := reports.Table{
		Title: "Observed against expected", Name: "expected_" + m.Definition.ID,
		Columns: []reports.Column{
			{Title: "Unit", Text: true, Weight: 2.2}, {Title: "Observed", Format: chart.Count}, {Title: "Expected", Format: chart.Count},
			{Title: "Ratio", Format: chart.Plain}, {Title: "from", Format: chart.Plain}, {Title: "to", Format: chart.Plain},
			{Title: "Against the limits about 1", Text: true, Weight: 2.4}, {Title: "Without a comparable band", Format: chart.Count},
		},
		Empty: "No unit.",
	}
	for i, r := range a.Lines {
		label := b.c.Units[i].Label
		if r.Absent != "" || r.Ratio == nil {
			p.Lines = append(p.Lines, funnel.RatioLine{Label: label, Absent: r.Absent})
			t.Rows = append(t.Rows, []reports.Cell{words(label), words("–"), words("–"), words("–"), words("–"), words("–"), words(r.Absent), words("–")})
			continue
		}
		p.Lines = append(p.Lines, funnel.RatioLine{
			Label: label, Ratio: *r.Ratio, Low: *r.Low, High: *r.High, Apart: r.Outside,
			Words: fmt.Sprintf("%d seen, %s expected", r.Observed, b.l.Number(chart.Plain, r.Expected)),
		})
		t.Rows = append(t.Rows, []reports.Cell{
			words(label), count(r.Observed), number(r.Expected), optional(r.Ratio), optional(r.Low), optional(r.High), words(r.Place), count(r.Left),
		})
	}
	notes := append([]string{"Expected from: " + a.Against + ". Interval: exact Poisson, the others' rates taken as known."}, a.Notes...)
	return []reports.Block{reports.Picture{Drawing: funnel.LayRatios(p, 174, chart.DejaVu(), b.l.Numbers())}, t, reports.Footnotes{Items: notes}}
}

// sums draw the units whose events suffice, and name the others.
func (b *builder) sums(m *benchmark.Measure) []reports.Block {
	sums := m.Sums
	out := []reports.Block{reports.Heading{Text: "Followed month by month"}, reports.Text{Text: fmt.Sprintf(
		"A cumulative sum watches for odds %s times those expected from the other units in %s, gestation by gestation. It signals falsely about once in %s years.",
		b.l.Numbers().Tick(chart.Plain, sums.Odds, 0.1), span(b.l, sums.From, sums.To), b.l.Number(chart.Count, sums.Years))}}
	var short []string
	for i, line := range sums.Lines {
		label := b.c.Units[i].Label
		if line.Absent != "" {
			short = append(short, label+": "+line.Absent)
			continue
		}
		limit := line.Limit
		model := chart.Model{
			ID: "sum-" + m.Definition.ID + "-" + fmt.Sprint(i+1), Title: label, Subtitle: line.Text, Kind: "cumulative sum",
			Alt: label + ": cumulative sum. " + line.Text, Y: chart.Axis{Label: "evidence of the change watched for", Format: chart.Plain},
		}
		for k, at := range line.Months {
			model.Points = append(model.Points, chart.Point{
				Label: monthIn(b.l, at), Short: english[at.Number()-1], Year: fmt.Sprint(at.Year()), Value: line.Values[k], Has: true, Upper: &limit,
			})
		}
		if len(line.Signals) > 0 {
			model.Signals = []chart.Signal{{Letter: "A", Points: line.Signals, Words: "The sum passed its limit and began again."}}
		}
		out = append(out, reports.Figure{Chart: model, Height: 58})
	}
	if len(short) > 0 {
		out = append(out, reports.Footnotes{Items: short})
	}
	return out
}

// completeness has a line a measure and a column a unit.
func (b *builder) completeness() reports.Section {
	t := reports.Table{Title: "Known of eligible", Name: "completeness", Columns: []reports.Column{{Title: "Measure", Text: true, Weight: 3}}, Empty: "No measure."}
	for _, u := range b.c.Units {
		t.Columns = append(t.Columns, reports.Column{Title: u.Label, Text: true, Weight: 1.4})
	}
	for i := range b.c.Measures {
		m := &b.c.Measures[i]
		row := []reports.Cell{{Text: m.Title, Link: sectionID(m)}}
		for _, f := range m.Figures {
			switch {
			case f.Absent != "":
				row = append(row, words("–"))
			case f.Hidden:
				row = append(row, words(tooFew))
			case f.Completeness != nil:
				row = append(row, words(fmt.Sprintf("%d of %d", f.Known(), f.Eligible())))
			default:
				row = append(row, words(f.CompletenessIn))
			}
		}
		t.Rows = append(t.Rows, row)
	}
	return reports.Section{ID: "completeness", Title: "How complete", Sheet: "Completeness", Blocks: []reports.Block{t, reports.Footnotes{Items: []string{
		"Missing is not random: the busiest minutes are written down least. Units that record more may look different for that alone.",
	}}}}
}

// moved says what no unit can know, and what each unit's sources send.
func (b *builder) moved() reports.Section {
	s := reports.Section{ID: "moved", Title: "Moved, held back, covered", Sheet: "Moved and held"}
	t := reports.Table{
		Title: "Units", Name: "moved",
		Columns: []reports.Column{
			{Title: "Unit", Text: true, Weight: 2}, {Title: "Sends", Text: true, Weight: 3}, {Title: "Months not closed", Format: chart.Count},
			{Title: "Held back", Format: chart.Count}, {Title: "Moved within 24 h", Format: chart.Count}, {Title: "of births here", Format: chart.Count},
		},
		Empty: "No unit.",
	}
	for i, u := range b.c.Units {
		row := []reports.Cell{words(u.Label), words(u.Coverage), count(u.Open), words("–"), words("–"), words("–")}
		if b.c.Level != benchmark.Public {
			row[3] = count(int(u.Held))
			if i < len(b.c.Moved) {
				row[4], row[5] = count(b.c.Moved[i].Moved), count(b.c.Moved[i].Of)
			}
		}
		t.Rows = append(t.Rows, row)
	}
	s.Blocks = append(s.Blocks, reports.Text{Text: b.c.MovedAll.Text + ".", Strong: true}, t)
	return s
}

// audit prints what was found of the hidden cells.
func (b *builder) audit() reports.Section {
	t := reports.Table{
		Title: "What a reader could work out of hidden counts", Name: "audit",
		Columns: []reports.Column{
			{Title: "Measure", Text: true, Weight: 3.4}, {Title: "Units", Format: chart.Count}, {Title: "Too few", Format: chart.Count},
			{Title: "Hidden to protect", Format: chart.Count}, {Title: "Hidden as linked", Format: chart.Count}, {Title: "Totals", Text: true},
			{Title: "Least range", Text: true, Weight: 1.4}, {Title: "Needed", Format: chart.Count}, {Title: "Protected", Text: true},
		},
		Empty: "Nothing is hidden.",
	}
	for i, a := range b.c.Audit {
		totals, least, ok := "shown", "nothing hidden", "yes"
		if a.NoTotals {
			totals = "hidden"
		}
		if a.Cells > 0 {
			least = "unbounded"
			if a.Least >= 0 {
				least = fmt.Sprintf("%d", a.Needed)
				if a.Least > a.Needed {
					least = fmt.Sprintf("more than %d", a.Needed)
				}
			}
		}
		if !a.Protected {
			ok = "no"
		}
		t.Rows = append(t.Rows, []reports.Cell{
			words(b.c.Measures[i].Title), count(a.Rows), count(a.Primary), count(a.Secondary), count(a.Linked), words(totals), words(least), count(a.Needed), words(ok),
		})
	}
	return reports.Section{ID: "audit", Title: "Disclosure audit", Sheet: "Disclosure audit", Blocks: []reports.Block{t, reports.Footnotes{Items: []string{
		"For every hidden count the range of values that agrees with all that is shown was computed exactly; it must hold at least as many further values as the rule hides.",
		"Linked: measures of the same newborns hide the same units, for one could be worked out from the others.",
	}}}}
}

func (b *builder) definitions() reports.Section {
	s := reports.Section{ID: "definitions", Title: "Definitions", Sheet: "Definitions"}
	for i := range b.c.Measures {
		d := &b.c.Measures[i].Definition
		pairs := [][2]string{{"Population", d.Population.Words}}
		if d.Met.Present() {
			pairs = append(pairs, [2]string{"Met", d.Met.Words})
		}
		if d.Low.Present() {
			pairs = append(pairs, [2]string{"Value", d.Low.Words})
		}
		for _, x := range d.Exclusions {
			pairs = append(pairs, [2]string{"Excluded", x.Reason})
		}
		for _, x := range d.Exceptions {
			pairs = append(pairs, [2]string{"Exception", x.Reason})
		}
		pairs = append(pairs, [2]string{"Missing", d.Missing.Words}, [2]string{"Hash", d.Hash})
		s.Blocks = append(s.Blocks, reports.Heading{Text: fmt.Sprintf("%s (version %d)", d.Title, d.Version)}, reports.Text{Text: d.Question}, reports.Facts{Pairs: pairs})
	}
	return s
}
