package metrics

import (
	"fmt"

	"chestrise/etl/record"
	"chestrise/metrics/measure"
)

// restate compares what was issued with what is known now.
func (b *builder) restate(issued []Figure) {
	for _, m := range months(b.c.first, b.last) {
		t, ok := b.h[m]
		if !ok || !b.c.closed[m] {
			continue
		}
		b.m.Figures = append(b.m.Figures, b.figure(m, t.counted(b.d)))
	}
	for _, old := range issued {
		if old.Measure != b.d.ID {
			continue
		}
		now := b.figure(old.Month, b.h[old.Month].counted(b.d))
		if old.Met == now.Met && old.Known == now.Known && old.Eligible == now.Eligible {
			continue
		}
		r := Restated{Month: old.Month, Before: old, After: now, Reason: "late, corrected or withdrawn records", Text: ""}
		if old.Basis != now.Basis {
			r.Reason = "the definition, or how facts are derived, changed"
		}
		r.Text = fmt.Sprintf("%s: %d of %d was issued, %d of %d now (%s).", MonthName(old.Month), old.Met, old.Known, now.Met, now.Known, r.Reason)
		b.m.Restated = append(b.m.Restated, r)
	}
}

func (b *builder) figure(m record.Month, t tally) Figure {
	basis := b.basis(b.d)
	f := Figure{Measure: b.d.ID, Month: m, Met: t.met, Known: t.known(), Eligible: t.eligible(), Value: nil, Basis: fmt.Sprintf("%s:%d", basis.Definition, basis.Derivation)}
	if b.d.Data == measure.RareEvent {
		f.Known, f.Eligible = t.births, t.births
	}
	if f.Known > 0 {
		v := float64(f.Met) / float64(f.Known)
		f.Value = &v
	}
	return f
}
