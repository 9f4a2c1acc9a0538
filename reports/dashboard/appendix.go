package dashboard

import (
	"fmt"
	"strings"

	"chestrise/metrics"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
	"chestrise/reports"
	"chestrise/reports/chart"
	"chestrise/reports/controlchart"
)

// missing says, measure by measure, what is not known and why.
func (b *builder) missing() reports.Section {
	t := reports.Table{
		Title: "Known and unknown, twelve closed months",
		Name:  "missing",
		Columns: []reports.Column{
			{Title: "Measure", Text: true, Weight: 3.2},
			{Title: "Eligible", Format: chart.Count},
			{Title: "Known", Format: chart.Count},
			{Title: "Not recorded", Format: chart.Count},
			{Title: "Undecided", Format: chart.Count},
			{Title: "Eligibility unknown", Format: chart.Count},
		},
		Empty: "No measure is computed here.",
	}
	for i := range b.view.Measures {
		m := &b.view.Measures[i]
		if m.Absent != "" {
			continue
		}
		by := map[string]int64{}
		for _, s := range m.Year.Steps {
			by[s.Kind] += s.Count
		}
		known := by["known"]
		t.Rows = append(t.Rows, []reports.Cell{
			{Text: m.Measured, Link: sectionID(&m.Definition)},
			count(known + by["unknown"] + by["undecided"]),
			count(known), count(by["unknown"]), count(by["undecided"]), count(by["eligibility-unknown"]),
		})
	}
	s := reports.Section{ID: "missing", Title: "What is missing", Sheet: "Missing data", Blocks: []reports.Block{t}}
	if len(b.view.SetAside) > 0 {
		s.Blocks = append(s.Blocks, reports.Text{Text: "Values set aside in the month, by rule: " + b.ruled(b.view.SetAside) +
			". The newborns stay in every denominator; what rests on the value is unknown."})
	}
	s.Blocks = append(s.Blocks, reports.Footnotes{Items: []string{
		"Undecided: the times as written down (for example to the half minute) allow both answers.",
		"Missing is not random: the busiest minutes are written down least. Read every share together with what is known.",
	}})
	return s
}

// restated lists the figures of the last issue that are no longer true: on the
// page those of the core measures' last twelve closed months, in the workbook all.
func (b *builder) restated() []reports.Section {
	all := b.restatedTable(func(*metrics.MeasureView, metrics.Restated) bool { return true })
	if len(all.Rows) == 0 {
		return nil
	}
	recent := b.restatedTable(func(m *metrics.MeasureView, r metrics.Restated) bool {
		return m.Definition.Tier == measure.Core && r.Month > b.view.Latest-12
	})
	recent.Empty = "No figure of a core measure changed in the last twelve closed months."
	page := reports.Section{ID: "restated", Title: "What the last issue's figures became", SinceLast: true, Blocks: []reports.Block{recent}}
	if more := len(all.Rows) - len(recent.Rows); more > 0 {
		page.Blocks = append(page.Blocks, reports.Footnotes{Items: []string{
			fmt.Sprintf("%d more figures changed, of earlier months or further measures: they are in the workbook.", more),
		}})
	}
	return []reports.Section{page, {
		ID: "restated-all", Title: "What the last issue's figures became", Sheet: "Restated", SinceLast: true, SheetOnly: true,
		Blocks: []reports.Block{all},
	}}
}

func (b *builder) restatedTable(which func(*metrics.MeasureView, metrics.Restated) bool) reports.Table {
	t := reports.Table{
		Title: "Figures that are no longer what was issued", Name: "restated",
		Columns: []reports.Column{{Title: "Measure", Text: true, Weight: 2}, {Title: "What it became", Text: true, Weight: 4}},
		Empty:   "No figure changed since the last issue.",
	}
	for i := range b.view.Measures {
		m := &b.view.Measures[i]
		for _, r := range m.Restated {
			if !which(m, r) {
				continue
			}
			t.Rows = append(t.Rows, []reports.Cell{{Text: m.Measured, Link: sectionID(&m.Definition)}, {Text: r.Text}})
		}
	}
	return t
}

// definitions prints every measure of a tier in full, with its worked examples.
func (b *builder) definitions(tier measure.Tier) reports.Section {
	s := reports.Section{ID: "definitions", Title: "Definitions and worked examples", Sheet: "Definitions"}
	if tier != measure.Core {
		s = reports.Section{ID: "definitions-further", Title: "Definitions of the further measures", Sheet: "Definitions, further", SheetOnly: true}
	}
	for i := range b.view.Measures {
		d := &b.view.Measures[i].Definition
		if d.Tier != tier {
			continue
		}
		s.Blocks = append(s.Blocks, reports.Heading{Text: fmt.Sprintf("%s (version %d)", d.Title, d.Version)},
			reports.Text{Text: d.Question}, reports.Facts{Pairs: b.inFull(&b.view.Measures[i])})
		t := reports.Table{
			Name: "examples_" + d.ID, Title: "Worked examples",
			Columns: []reports.Column{{Title: "Newborn", Text: true, Weight: 2}, {Title: "Comes out as", Text: true, Weight: 1.2}, {Title: "Why", Text: true, Weight: 3}},
			Empty:   "No worked example.",
		}
		for _, e := range d.Examples {
			t.Rows = append(t.Rows, []reports.Cell{{Text: e.Name}, {Text: b.outcome(d, e)}, {Text: e.Why}})
		}
		s.Blocks = append(s.Blocks, t)
		if len(d.Citations) > 0 {
			var c []string
			for _, x := range d.Citations {
				c = append(c, strings.TrimSpace(x.Text+" "+x.URL))
			}
			s.Blocks = append(s.Blocks, reports.Footnotes{Items: c})
		}
	}
	return s
}

// outcome says what a measure must make of a worked example.
func (b *builder) outcome(d *measure.Definition, e measure.Example) string {
	c := e.Expect.Code
	text := ""
	switch {
	case c == cell.Outside:
		text = "not in the population"
	case c == cell.EligibilityUnknown:
		text = "eligibility unknown"
	case c == cell.Unknown:
		text = "unknown"
	case c == cell.Undecided:
		text = "undecided"
	case c == cell.Met && d.Data == measure.RareEvent:
		text = "event"
	case c == cell.NotMet && d.Data == measure.RareEvent:
		text = "birth without the event"
	case c == cell.Met:
		text = "met"
	case c == cell.NotMet:
		text = "not met"
	case c == cell.Valued:
		text = b.valued(d, e.Expect)
	case c >= cell.FirstException && int(c-cell.FirstException) < len(d.Exceptions):
		text = "exception: " + d.Exceptions[c-cell.FirstException].Reason
	case c >= cell.FirstExclusion && int(c-cell.FirstExclusion) < len(d.Exclusions):
		text = "excluded: " + d.Exclusions[c-cell.FirstExclusion].Reason
	}
	if e.Expect.Presumed {
		text += ", presumed"
	}
	return text
}

func (b *builder) valued(d *measure.Definition, e measure.Expect) string {
	f := unitFormat(d.Unit)
	text := b.locale.Number(f, e.Low)
	if e.High != e.Low {
		text += " to " + b.locale.Number(f, e.High)
	}
	if words, ok := d.Ends[e.End]; ok {
		return words + ", " + text
	}
	return text
}

// methods says by what rules the charts were judged.
func (b *builder) methods() reports.Section {
	t := reports.Table{
		Title: "Charts, baselines and rules", Name: "methods",
		Columns: []reports.Column{
			{Title: "Measure", Text: true, Weight: 2.4},
			{Title: "Chart", Text: true, Weight: 1.2},
			{Title: "Baseline", Text: true, Weight: 3},
			{Title: "Why this chart", Text: true, Weight: 3.4},
			{Title: "Rules", Text: true, Weight: 3},
		},
		Empty: "No chart was drawn.",
	}
	for i := range b.view.Measures {
		m := &b.view.Measures[i]
		if !m.Drawn {
			continue
		}
		var rules []string
		for _, r := range m.Chart.Rules {
			rules = append(rules, r.Words)
		}
		t.Rows = append(t.Rows, []reports.Cell{
			{Text: m.Measured, Link: sectionID(&m.Definition)},
			{Text: controlchart.Name(m.Chart.Kind) + ", by " + string(m.Period)},
			{Text: b.say(m.Baseline.Text)},
			{Text: b.say(m.Baseline.Reason)},
			{Text: strings.Join(rules, "; ")},
		})
	}
	return reports.Section{ID: "methods", Title: "How the charts were made", Sheet: "Methods", Blocks: []reports.Block{
		t,
		reports.Heading{Text: "How to read a chart"},
		reports.List{Items: []string{
			"Square: a signal in the favourable direction. Diamond: one against it. Cross: a signal of a measure without one, or of a pattern without a direction. Letters name the signals; beneath the chart they are explained.",
			"Hollow point: an open month, or one whose verdict would hang on newborns without an answer. It is drawn and not judged.",
			"Whiskers: what the share would be had none or all of the newborns without an answer been met.",
			"Under the axis: n is the newborns that belong to the measure, known is those of them with an answer. Where figures would touch, every second or third is printed.",
			"Dashed limits are provisional: they rest on few points.",
			"A signal says that chance alone is an unlikely explanation. It does not say what the cause is, nor whether care was right.",
			"A point within the limits does not say that care was good. It says that the month looks like the others.",
		}},
		reports.Heading{Text: "How limits are made"},
		reports.List{Items: []string{
			"A limit belongs to its point: it follows from the centre and from how many newborns are known in that month. It lies three standard deviations from the centre; where fewer than five cases are expected on a side, at the 0.00135 quantile of the binomial distribution instead. A limit that would lie beyond none or all is no limit.",
			"The spread of values is the mean range from one point to the next, divided by 1.128379.",
			"Limits rest on a stored baseline that no later data move. New limits begin only where a person recorded a phase, or where a definition, a guideline edition or the way of recording changed.",
			"Interventions are labels on the axis; limits and rules run straight through them.",
			"How many charts signal by chance follows from each chart's own numbers of newborns and from how many months its centre rests on.",
		}},
	}}
}

// inFull is the whole definition as names and values.
func (b *builder) inFull(m *metrics.MeasureView) [][2]string {
	who, what := b.defined(m)
	return append(who, what...)
}
