package metrics

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
	"chestrise/metrics/spc"
)

// Default windows. Sources: Provost & Murray 2011 (12 points, from memory); 24
// where months hold fewer than 30 known newborns, because a centre from 12 small
// months doubles the false runs of eight (own calculation).
const (
	window      = 12
	smallWindow = 24
	smallMonth  = 30
	// wantedGaps is how many whole gaps a g chart's baseline needs.
	wantedGaps = 12
)

// windowOf is the months that a phase's baseline rests on; false while they are not
// all closed, or the phase is too short.
func (e *Engine) windowOf(c calendar, d measure.Definition, h history, p plan, i int) (from, to record.Month, why string, ok bool) {
	begin := p.phases[i].from
	if p.period == Quarterly {
		begin = (begin + 2) / 3 * 3 // the first whole quarter
	}
	final := end(p.phases, i, c.latest(max(c.last, begin)))
	if w, declared := e.declared(c.unit, d.ID, p.phases[i].from, end(p.phases, i, 1<<30)); declared {
		from, to := w.From, w.To
		if p.period == Quarterly {
			to = (to+1)/3*3 - 1 // up to the last quarter that ends within it
		}
		return from, to, "Declared window: " + w.Reason, from <= to && c.allClosed(from, to)
	}
	length := record.Month(window)
	if p.kind == spc.G {
		for ; begin+length-1 <= final; length++ {
			if len(h.over(months(begin, begin+length-1)).events) > wantedGaps {
				return begin, begin + length - 1, fmt.Sprintf("The first %d months, which hold %d whole gaps.", length, wantedGaps), c.allClosed(begin, begin+length-1)
			}
		}
		return begin, begin + length - 1, "", false
	}
	first := months(begin, begin+window-1)
	known := h.over(first).counted(d).known()
	if float64(known)/window < smallMonth {
		length = smallWindow
	}
	why = fmt.Sprintf("The first %d months", length)
	if p.period == Quarterly {
		why += " of whole quarters"
	}
	if length == smallWindow {
		why += fmt.Sprintf(", because months hold fewer than %d known newborns", smallMonth)
	}
	to = begin + length - 1
	return begin, to, why + ".", to <= final && c.allClosed(begin, to)
}

// Freeze stores the baseline of every unit, measure and phase whose window has
// closed and that has none yet. It returns what it stored.
func (e *Engine) Freeze(ctx context.Context, units []string) ([]cell.Baseline, error) {
	var out []cell.Baseline
	for _, unit := range units {
		c, err := e.calendarOf(ctx, unit)
		if err != nil {
			return out, fmt.Errorf("unit %s: %w", unit, err)
		}
		if c.first == 0 {
			continue
		}
		stored, err := e.Store.Baselines(ctx, unit)
		if err != nil {
			return out, fmt.Errorf("baselines of %s: %w", unit, err)
		}
		for _, d := range e.Catalogue.Measures {
			cells, err := e.Store.Cells(ctx, []string{unit}, d.ID)
			if err != nil {
				return out, fmt.Errorf("cells of %s: %w", d.ID, err)
			}
			made, err := e.freeze(ctx, c, d, newHistory(d, cells), stored)
			out = append(out, made...)
			if err != nil {
				return out, fmt.Errorf("baseline of %s in %s: %w", d.ID, unit, err)
			}
		}
	}
	return out, nil
}

func (e *Engine) freeze(ctx context.Context, c calendar, d measure.Definition, h history, stored []cell.Baseline) ([]cell.Baseline, error) {
	var out []cell.Baseline
	if absent(c, d) != "" {
		return nil, nil
	}
	gen, err := e.Store.Generation(ctx)
	if err != nil {
		return nil, err
	}
	for i := 0; ; i++ {
		p := e.planOf(c, d, h, stored, c.latest(c.last))
		if i >= len(p.phases) {
			return out, nil
		}
		from, to, why, ok := e.windowOf(c, d, h, p, i)
		if p.stored[i] != nil || !ok {
			continue
		}
		b, ok, err := baselineOf(c, d, h, p, from, to)
		if err != nil {
			return out, err
		}
		if !ok {
			continue
		}
		b.Phase, b.Reason = p.phases[i].from, p.reason+" "+why
		b.Basis, b.Generation = e.basis(d), gen
		err = e.Store.Freeze(ctx, b)
		if errors.Is(err, cell.ErrFrozen) {
			continue
		}
		if err != nil {
			return out, err
		}
		stored = append(stored, b)
		out = append(out, b)
	}
}

// baselineOf computes the numbers of a window; false where it holds nothing to
// compute them from.
func baselineOf(c calendar, d measure.Definition, h history, p plan, from, to record.Month) (cell.Baseline, bool, error) {
	var none cell.Baseline
	s, err := seriesOf(c, d, h, p, from, to)
	if err != nil {
		return none, false, err
	}
	var defaults spc.Options
	chart, err := spc.Plot(p.kind, s.series(), nil, defaults)
	if err != nil {
		return none, false, err
	}
	ph := chart.Phases[0]
	if ph.Baseline.Points == 0 || p.kind == spc.G && ph.Baseline.Points < wantedGaps {
		return none, false, nil
	}
	period := p.period
	if p.kind == spc.G {
		period = Monthly // months are what the window is counted in
	}
	b := cell.Baseline{
		Unit: c.unit, Measure: d.ID, Phase: from, From: from, To: to,
		Chart: p.kind.String(), Period: string(period),
		Centre: ph.Baseline.Centre, Spread: ph.Baseline.Sigma, Points: ph.Baseline.Points,
		Denominator: 0, Provisional: ph.Provisional, Reason: "", Basis: cell.Basis{Definition: "", Derivation: 0}, Generation: 0,
	}
	for _, pt := range s.points {
		b.Denominator += int64(pt.Known)
	}
	return b, true, nil
}

// spcBaseline is a stored baseline as the chart takes it.
func spcBaseline(b *cell.Baseline) *spc.Baseline {
	if b == nil {
		return nil
	}
	return &spc.Baseline{
		Centre: b.Centre, Sigma: b.Spread, SigmaZ: 0, Points: b.Points,
		MeanN: float64(b.Denominator) / float64(cmp.Or(b.Points, 1)), From: b.From.String(), To: b.To.String(),
	}
}

// absent says why a measure cannot be computed from what the unit's sources send,
// "" where it can.
func absent(c calendar, d measure.Definition) string {
	cov := c.coverage()
	if len(d.Coverage.Needs) == 0 || slices.Contains(d.Coverage.Needs, cov) {
		return ""
	}
	words := "the coverage of its sources is not known"
	if cov != 0 {
		words = "the source sends " + coverageWords(cov)
	}
	return "Not computable here: " + words + ". " + d.Coverage.Words
}

func coverageWords(c record.Coverage) string {
	switch c {
	case record.EveryBirth:
		return "every birth"
	case record.NewbornTeamAttended:
		return "births attended by a newborn team"
	case record.NewbornHelped:
		return "newborns who were helped"
	}
	return "an unknown part of the births"
}
