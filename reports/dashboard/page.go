package dashboard

import (
	"fmt"
	"strings"

	"chestrise/metrics"
	"chestrise/metrics/measure"
	"chestrise/reports"
)

// chartHeight leaves room on the page for what is said beneath, in millimetres.
const chartHeight = 86

// page is one measure: its chart with its signals, what the limits rest on, and
// in columns beneath how the newborns come down to the figure, the definition,
// what to know of this chart, and the measures it is read together with.
func (b *builder) page(m *metrics.MeasureView) reports.Section {
	s := reports.Section{
		ID: sectionID(&m.Definition), Title: m.Measured, Headline: b.say(m.Title), Sheet: sheetName(m.Measured), Parent: "month",
		SheetOnly: m.Definition.Tier != measure.Core,
	}
	add := func(x ...reports.Block) { s.Blocks = append(s.Blocks, x...) }
	if m.Absent != "" {
		add(reports.Text{Text: m.Absent, Strong: true}, b.beneath(m))
		return s
	}
	if m.NotJudged != "" {
		add(reports.Text{Text: "Not judged: " + b.say(m.NotJudged) + ".", Strong: true})
	}
	if m.Drawn {
		add(reports.Figure{Chart: b.model(m), Height: chartHeight, Brief: true})
	}
	if text := b.rests(m); text != "" {
		add(reports.Text{Text: text})
	}
	if t, ok := b.sameNewborns(m); ok {
		add(t)
	}
	add(b.beneath(m))
	return s
}

// rests says in a line what the limits rest on and how long a change would take
// to show.
func (b *builder) rests(m *metrics.MeasureView) string {
	text := m.Baseline.Text
	if m.Detectability != "" {
		if text != "" {
			text += " "
		}
		text += m.Detectability
	}
	return b.say(text)
}

// beneath is what stands beneath a chart: small and side by side on the page,
// as tables and facts in the workbook.
func (b *builder) beneath(m *metrics.MeasureView) reports.Columns {
	var c reports.Columns
	card := func(k reports.Card) { c.Cards = append(c.Cards, k) }
	spell := func(x ...reports.Block) { c.Spelled = append(c.Spelled, x...) }
	if m.Absent == "" {
		if t, ok := b.flow(m); ok {
			spell(t)
			card(b.flowCard(m, t))
		}
	}
	who, what := b.defined(m)
	card(listed("Who is counted", who))
	card(listed("What is counted", what))
	if m.Absent == "" {
		for i := range m.Strata {
			spell(b.stratum(m, &m.Strata[i], i))
			card(b.stratumCard(m, &m.Strata[i]))
		}
		if m.Rolling != nil && len(m.Rolling.Rows) > 0 {
			spell(b.rolling(m))
			card(b.rollingCard(m))
		}
	}
	chart, care := b.notes(m)
	card(reports.Card{Title: "About this chart", Lines: chart})
	card(reports.Card{Title: "Read with care", Lines: care})
	spell(reports.Facts{Pairs: append(who, what...)})
	if m.Absent != "" || !m.Drawn { // with a chart they stand beneath it
		spell(reports.Footnotes{Items: append(chart, care...)})
	}
	beside, words := b.beside(m)
	for _, k := range beside {
		card(k)
	}
	spell(reports.Footnotes{Items: words})
	return c
}

// notes are the footnotes of a page: of its chart, and of the measure.
func (b *builder) notes(m *metrics.MeasureView) (chart, care []string) {
	for _, n := range m.Notes {
		switch n.Code {
		case "hollow", "baseline", "not-judged", "provisional", "few-points": // said beneath the chart
		case "choice", "exact-limits", "normal-limits-small-counts": // on the page of methods
		case "caution", "limits", "note":
			care = append(care, b.say(n.Text))
		case "mark": // the label stands on the axis
			chart = append(chart, b.say(strings.TrimSuffix(n.Text, " Limits and rules run straight through.")))
		case "held-limits":
			chart = append(chart, b.say(which(n.Labels)+": "+lower(n.Text)))
		default:
			chart = append(chart, b.say(n.Text))
		}
	}
	return chart, care
}

// which names a few points, or counts them.
func which(labels []string) string {
	if n := len(labels); n > 4 {
		return fmt.Sprintf("%d points", n)
	}
	return strings.Join(labels, ", ")
}

func lower(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// listed makes a card of names and values; several values of one name share a line.
func listed(title string, pairs [][2]string) reports.Card {
	k := reports.Card{Title: title}
	last := ""
	for _, p := range pairs {
		switch n := len(k.Lines); {
		case p[0] == last && n > 0:
			k.Lines[n-1] += "; " + p[1]
		case p[0] == population:
			k.Lines = append(k.Lines, p[1])
		default:
			k.Lines = append(k.Lines, p[0]+": "+p[1])
		}
		last = p[0]
	}
	return k
}
