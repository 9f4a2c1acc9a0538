package metrics

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
)

// Latest is the last closed month of a unit; 0: none has closed.
func (e *Engine) Latest(ctx context.Context, unit string) (record.Month, error) {
	c, err := e.calendarOf(ctx, unit)
	if err != nil {
		return 0, fmt.Errorf("unit %s: %w", unit, err)
	}
	return c.latest(c.last), nil
}

// Unit builds everything a report of the unit and month shows, from cells and
// baselines alone. issued are the figures of the report's last issue (nil: there is
// none); those that are no longer true come back as restated.
//
// Month 0 stands for the last month with data.
func (e *Engine) Unit(ctx context.Context, unit string, month record.Month, issued []Figure) (UnitView, error) {
	var v UnitView
	v.Unit, v.Month, v.Catalogue = e.name(unit), month, e.Catalogue.Version()
	c, err := e.calendarOf(ctx, unit)
	if err != nil {
		return v, fmt.Errorf("unit %s: %w", unit, err)
	}
	if month == 0 {
		v.Month = c.last
	}
	if v.Generation, err = e.Store.Generation(ctx); err != nil {
		return v, fmt.Errorf("generation: %w", err)
	}
	e.describe(&v, c)
	if err := e.intake(ctx, &v, c); err != nil {
		return v, err
	}
	baselines, err := e.Store.Baselines(ctx, unit)
	if err != nil {
		return v, fmt.Errorf("baselines of %s: %w", unit, err)
	}
	cells := map[string][]cell.Cell{}
	histories := map[string]history{}
	for _, d := range e.Catalogue.Measures {
		if cells[d.ID], err = e.Store.Cells(ctx, []string{unit}, d.ID); err != nil {
			return v, fmt.Errorf("cells of %s: %w", d.ID, err)
		}
		histories[d.ID] = newHistory(d, cells[d.ID])
	}
	for _, d := range e.Catalogue.Measures {
		m, err := e.page(c, d, histories, baselines, v, issued)
		if err != nil {
			return v, fmt.Errorf("%s in %s, %s: %w", d.ID, unit, v.Month, err)
		}
		addBands(&m, d, cells[d.ID], v.Latest)
		addPreterm(&m, d, cells[d.ID], v.Latest)
		v.Measures = append(v.Measures, m)
	}
	e.conclude(&v)
	return v, nil
}

// describe fills what concerns the unit as a whole.
func (e *Engine) describe(v *UnitView, c calendar) {
	v.Latest = c.latest(v.Month)
	v.Coverage, v.CoverageIn, v.Synthetic = c.coverage(), coverageWords(c.coverage()), c.synthetic()
	if c.first != 0 {
		for _, m := range months(c.first, min(v.Month, c.last)) {
			if !c.closed[m] {
				v.Open = append(v.Open, m)
			}
		}
	}
	v.EarlyLook = slices.Contains(v.Open, v.Month)
	missing := c.missing(v.Month)
	for _, name := range c.sources() {
		s := Source{Name: name, Coverage: 0, From: 0, To: 0, Sequence: 0, Missing: slices.Contains(missing, name)}
		for _, d := range c.deliveries {
			if d.Source != name {
				continue
			}
			if s.From == 0 || d.From < s.From {
				s.From = d.From
			}
			s.To, s.Coverage, s.Sequence = max(s.To, d.To), max(s.Coverage, d.Coverage), max(s.Sequence, d.Sequence)
		}
		v.Sources = append(v.Sources, s)
	}
	switch {
	case c.first == 0:
		v.Notes = append(v.Notes, Note{Code: "no-data", Text: "No newborn of this unit is on record.", Labels: nil})
	case v.Latest == 0:
		v.Notes = append(v.Notes, Note{Code: "no-closed-month", Text: "No month has closed yet; nothing is judged.", Labels: nil})
	case v.EarlyLook:
		v.Notes = append(v.Notes, Note{Code: "early-look", Text: fmt.Sprintf("Early look: %s has not closed. %s, the last closed month, is judged; the open month is shown apart.", MonthName(v.Month), MonthName(v.Latest)), Labels: nil})
	}
	if len(missing) > 0 && c.first != 0 {
		v.Notes = append(v.Notes, Note{Code: "sources-missing", Text: fmt.Sprintf("Not yet complete for %s: %s.", MonthName(v.Month), strings.Join(missing, ", ")), Labels: nil})
	}
	if v.Synthetic {
		v.Notes = append(v.Notes, Note{Code: "synthetic", Text: "Synthetic data. No baby, family or hospital is described.", Labels: nil})
	}
}

// intake adds what was kept out of the figures.
func (e *Engine) intake(ctx context.Context, v *UnitView, c calendar) error {
	if c.first == 0 {
		return nil
	}
	month := v.Latest
	if month == 0 {
		month = v.Month
	}
	held, err := e.Ledger.Held(ctx, c.unit, month)
	if err != nil {
		return fmt.Errorf("held rows of %s: %w", c.unit, err)
	}
	aside, err := e.Ledger.SetAside(ctx, c.unit, month)
	if err != nil {
		return fmt.Errorf("values set aside of %s: %w", c.unit, err)
	}
	v.Held, v.SetAside = counts(held), counts(aside)
	n := int64(0)
	for _, h := range v.Held {
		n += h.Count
	}
	if n > 0 {
		v.Notes = append(v.Notes, Note{Code: "held", Text: fmt.Sprintf("%d %s of deliveries that cover %s held back and in no figure.", n, plural(n, "newborn", "newborns"), MonthName(month)+" "+plural(n, "is", "are")), Labels: nil})
	}
	return nil
}

func counts(m map[string]int64) []Count {
	var out []Count
	for _, k := range slices.Sorted(maps.Keys(m)) {
		if m[k] > 0 {
			out = append(out, Count{Name: k, Count: m[k]})
		}
	}
	return out
}

func plural(n int64, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// page builds the view of one measure.
func (e *Engine) page(c calendar, d measure.Definition, all map[string]history, baselines []cell.Baseline, u UnitView, issued []Figure) (MeasureView, error) {
	h := all[d.ID]
	var m MeasureView
	m.Definition, m.Measured, m.Title, m.Beside, m.Axis = d, d.Title, d.Title, d.Beside, axisOf(d)
	if c.first == 0 || u.Month < c.first {
		m.Absent = "No newborn on record up to this month."
		return m, nil
	}
	if m.Absent = absent(c, d); m.Absent != "" {
		m.Notes = notesOf(d)
		return m, nil
	}
	b := &builder{
		Engine: e, c: c, d: d, h: h, u: u, m: &m,
		plan: e.planOf(c, d, h, baselines, max(u.Latest, c.first)), last: min(u.Month, c.last),
		silent: false, drawn: drawn{kind: 0, obs: nil, points: nil, tally: nil}, now: -1, limits: nil,
	}
	if n := uncomputed(h, c, u.Month); n > 0 {
		m.Notes = append(m.Notes, Note{Code: "not-computed", Text: fmt.Sprintf("In %d %s this measure could not be computed; they are missing here.", n, plural(int64(n), "month", "months")), Labels: nil})
	}
	b.unmarked()
	if err := b.draw(); err != nil {
		if errors.Is(err, errNoOrder) {
			m.Absent = "Not computable here: the order of births is not known for every event."
			m.Notes = notesOf(d)
			return m, nil
		}
		return m, err
	}
	b.flows()
	b.latest()
	b.judge()
	if err := b.foresee(); err != nil {
		return m, err
	}
	b.newborns(all)
	b.rolling()
	b.restate(issued)
	b.footnotes()
	return m, nil
}

// uncomputed counts the months with documents for which the measure has no cell.
func uncomputed(h history, c calendar, to record.Month) int {
	n := 0
	for m, docs := range c.documents {
		if _, ok := h[m]; !ok && docs > 0 && m <= to {
			n++
		}
	}
	return n
}

// builder fills one measure's view step by step.
type builder struct {
	*Engine
	c      calendar
	d      measure.Definition
	h      history
	u      UnitView
	m      *MeasureView
	plan   plan
	last   record.Month // last month drawn
	silent bool         // no verdict is possible: the source never marks the section
	drawn  drawn
	now    int   // index of the latest closed point; -1: none
	limits []int // points that cannot be judged against the limits
}

// unmarked finds out that a source never marks the section whose blanks the measure
// reads: then only newborns with something on record are known, and nothing can be
// judged.
func (b *builder) unmarked() {
	if b.d.Limits.Section == record.NoSection || b.d.Limits.Title == "" {
		return
	}
	t := b.h.over(months(b.c.first, max(b.c.first, b.last)))
	if t.notMet == 0 && t.unknown > 0 {
		b.silent = true
		b.m.Title, b.m.Measured = b.d.Limits.Title, b.d.Limits.Title
	}
}

func axisOf(d measure.Definition) Axis {
	a := Axis{Title: "share of newborns", Percent: true, Unit: "", Aim: nil, AimText: d.Aim.Text}
	switch {
	case d.Chart.Kind == "g":
		a = Axis{Title: "births from one event to the next", Percent: false, Unit: d.UnitWords, Aim: nil, AimText: d.Aim.Text}
	case d.Data == measure.Value && d.Chart.Kind == "p":
		a.Title = fmt.Sprintf("share with a sign within %s %s", measure.Number(d.Chart.Within), d.UnitWords)
	case d.Data == measure.Value && d.Chart.Kind == "run":
		a = Axis{Title: "median, " + d.UnitWords, Percent: false, Unit: d.Unit, Aim: nil, AimText: d.Aim.Text}
	case d.Data == measure.Value:
		a = Axis{Title: "mean, " + d.UnitWords, Percent: false, Unit: d.Unit, Aim: nil, AimText: d.Aim.Text}
	}
	if d.Aim.Drawn {
		v := d.Aim.Value
		a.Aim = &v
	}
	return a
}
