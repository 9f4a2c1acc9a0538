package metrics

import (
	"fmt"

	"chestrise/metrics/measure"
	"chestrise/metrics/spc"
)

// footnotes gathers the warnings of the chart, the marks and the definition.
func (b *builder) footnotes() {
	m := b.m
	note := func(code, text string, labels ...string) {
		if text != "" {
			m.Notes = append(m.Notes, Note{Code: code, Text: text, Labels: labels})
		}
	}
	note("baseline", m.Baseline.Text)
	note("choice", m.Baseline.Reason)
	if b.plan.anew {
		note("redefined", "The definition, or how facts are derived, has changed: every month was worked out anew, and limits were computed anew from the same months.")
	}
	if w, ok := b.declared(b.c.unit, b.d.ID, b.plan.phases[0].from, end(b.plan.phases, 0, 1<<30)); ok && b.plan.stored[0] != nil && b.plan.period == Monthly && (w.From != b.plan.stored[0].From || w.To != b.plan.stored[0].To) {
		note("window-differs", fmt.Sprintf("The declared window (%s to %s) is not the one whose limits are stored; stored limits stay until a person records a new phase.", MonthName(w.From), MonthName(w.To)))
	}
	for _, k := range m.Marks {
		note("mark", k.Text)
	}
	for _, w := range m.Chart.Warnings {
		if w.Code == spc.HollowDrawn {
			continue // said point by point below
		}
		var labels []string
		for _, i := range w.Points {
			labels = append(labels, m.Points[i].Label)
		}
		note(string(w.Code), w.Text, labels...)
	}
	by := map[string][]string{}
	var order []string
	for _, p := range m.Points {
		if p.Hollow == "" {
			continue
		}
		if by[p.Hollow] == nil {
			order = append(order, p.Hollow)
		}
		by[p.Hollow] = append(by[p.Hollow], p.Label)
	}
	for _, h := range order {
		note("hollow", "Drawn hollow and not judged: "+h+".", by[h]...)
	}
	if len(b.limits) > 0 {
		var labels []string
		for _, i := range b.limits {
			labels = append(labels, m.Points[i].Label)
		}
		note("held-limits", "Not judged against the limits, because beyond or not would hang on newborns without an answer; judged for its side of the centre.", labels...)
	}
	if b.now >= 0 && b.plan.kind != spc.G {
		if n := m.Points[b.now].EligibilityUnknown; n > 0 {
			note("eligibility", fmt.Sprintf("%s: of %d %s it cannot be told whether they belong; they are in no share.", m.Latest.Label, n, plural(int64(n), "newborn", "newborns")))
		}
	}
	if p := m.latestBounds(); p != "" {
		note("bounds", p)
	}
	note("not-judged", sentenceIf("No verdict: ", m.NotJudged))
	m.Notes = append(m.Notes, notesOf(b.d)...)
}

func sentenceIf(head, s string) string {
	if s == "" {
		return ""
	}
	return head + s + "."
}

func (m *MeasureView) latestBounds() string {
	if m.Latest.Bounds == nil || !m.Latest.Has || !m.Axis.Percent {
		return ""
	}
	return fmt.Sprintf("%s: had none or all of the newborns without an answer been met, the share would lie between %.0f %% and %.0f %%.", m.Latest.Label, 100*m.Latest.Bounds.Low, 100*m.Latest.Bounds.High)
}

// notesOf are the cautions and notes of a definition.
func notesOf(d measure.Definition) []Note {
	var out []Note
	add := func(code, text string) {
		if text != "" {
			out = append(out, Note{Code: code, Text: text, Labels: nil})
		}
	}
	for _, s := range d.Cautions {
		add("caution", s)
	}
	add("limits", d.Limits.Words)
	for _, s := range d.Notes {
		add("note", s)
	}
	return out
}
