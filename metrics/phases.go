package metrics

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"chestrise/etl/record"
	"chestrise/metrics/measure"
)

// phase is a stretch of months with limits of its own. The first begins with the
// data; another only where a person recorded it or a way of recording changed.
type phase struct {
	from   record.Month
	reason string
	kind   MarkKind // empty: the beginning
}

// phasesOf are the phases of a unit's measure, at least one, ascending.
func (e *Engine) phasesOf(c calendar, d measure.Definition) []phase {
	out := []phase{{from: c.first, reason: "", kind: ""}}
	for _, p := range e.Settings.Phases {
		if (p.Unit == c.unit) && (p.Measure == "" || p.Measure == d.ID) {
			out = append(out, phase{from: p.From, reason: fmt.Sprintf("%s (decided by the %s, on: %s)", p.Reason, p.DecidedBy, p.Signal), kind: RecordedPhase})
		}
	}
	for _, ch := range c.changes() {
		if ch.moves(d) {
			out = append(out, phase{from: ch.from, reason: ch.text, kind: RecordingChange})
		}
	}
	slices.SortStableFunc(out[1:], func(a, b phase) int { return cmp.Compare(a.from, b.from) })
	kept := out[:1]
	for _, p := range out[1:] {
		switch {
		case p.from <= c.first || p.from > c.last && !c.closed[p.from]:
			// Before the data, or not begun: nothing to start.
		case p.from == kept[len(kept)-1].from:
			kept[len(kept)-1].reason += " " + p.reason
		default:
			kept = append(kept, p)
		}
	}
	return kept
}

// end is the last month before the next phase, or the given one.
func end(ps []phase, i int, last record.Month) record.Month {
	if i+1 < len(ps) {
		return min(last, ps[i+1].from-1)
	}
	return last
}

// marksOf are the labels of the axis.
func (e *Engine) marksOf(c calendar, d measure.Definition, last record.Month) []Mark {
	var out []Mark
	for _, l := range e.Settings.Interventions {
		if (l.Unit == "" || l.Unit == c.unit) && (len(l.Measures) == 0 || slices.Contains(l.Measures, d.ID)) {
			text := fmt.Sprintf("%s: %s. Limits and rules run straight through.", MonthName(l.From), strings.TrimSuffix(cmp.Or(l.Text, l.Label), "."))
			out = append(out, Mark{Month: l.From, At: -1, Kind: Intervention, Label: l.Label, Text: text, Break: false})
		}
	}
	for _, ch := range c.changes() {
		moves := ch.moves(d)
		text := ch.text + " This measure does not rest on it."
		if moves {
			text = ch.text + " Points before and after are not on the same footing; new limits begin."
		}
		out = append(out, Mark{Month: ch.from, At: -1, Kind: RecordingChange, Label: "recording changed", Text: text, Break: moves})
	}
	for _, p := range e.phasesOf(c, d)[1:] {
		if p.kind == RecordedPhase {
			out = append(out, Mark{Month: p.from, At: -1, Kind: RecordedPhase, Label: "new phase", Text: fmt.Sprintf("New limits from %s: %s.", MonthName(p.from), p.reason), Break: true})
		}
	}
	out = slices.DeleteFunc(out, func(m Mark) bool { return m.Month < c.first || m.Month > last })
	slices.SortStableFunc(out, func(a, b Mark) int { return cmp.Compare(a.Month, b.Month) })
	return out
}
