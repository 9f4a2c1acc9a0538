package metrics

import (
	"fmt"
	"slices"
	"strings"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
	"chestrise/metrics/spc"
)

// plan is how a unit's measure is charted: settled once, with the first baseline.
type plan struct {
	kind    spc.Kind
	period  Period
	reason  string
	settled bool
	anew    bool // a baseline of an earlier definition or derivation is stored too
	phases  []phase
	stored  []*cell.Baseline // by phase; nil: not stored
}

// planOf finds the chart of a measure: as stored with the first baseline, else as
// its numbers up to now propose.
func (e *Engine) planOf(c calendar, d measure.Definition, h history, baselines []cell.Baseline, last record.Month) plan {
	p := plan{kind: 0, period: "", reason: "", settled: false, anew: false, phases: e.phasesOf(c, d), stored: nil}
	basis := e.basis(d)
	for i, ph := range p.phases {
		// The first phase is the same phase also when earlier months are delivered
		// later: its stored limits stay.
		from, next := ph.from, ph.from+1
		if i == 0 {
			from, next = 0, 1<<30
			if len(p.phases) > 1 {
				next = p.phases[1].from
			}
		}
		var found *cell.Baseline
		for j := range baselines {
			b := &baselines[j]
			if b.Measure != d.ID || b.Phase < from || b.Phase >= next {
				continue
			}
			if b.Basis == basis && found == nil {
				found = b
			} else if b.Basis != basis {
				p.anew = true
			}
		}
		p.stored = append(p.stored, found)
		if found != nil && !p.settled {
			if k, err := spc.KindNamed(found.Chart); err == nil {
				p.kind, p.period, p.reason, p.settled = k, Period(found.Period), found.Reason, true
			}
		}
	}
	if !p.settled {
		from := c.first
		p.kind, p.period, p.reason = propose(d, h, months(from, min(last, from+smallWindow-1)), e.period(c.unit, d.ID))
	}
	if p.kind == spc.G {
		p.period = ByEvent
	}
	return p
}

// propose chooses chart and period from the numbers of some months.
func propose(d measure.Definition, h history, ms []record.Month, declared Period) (spc.Kind, Period, string) {
	ms = slices.DeleteFunc(slices.Clone(ms), func(m record.Month) bool { _, ok := h[m]; return !ok })
	t := h.over(ms).counted(d)
	n := float64(len(ms))
	v := spc.Volume{Type: spc.Proportion, PerMonth: 0, Centre: 0, Sequence: false, Months: len(ms)}
	if n > 0 {
		v.PerMonth = float64(t.known()) / n
	}
	if t.known() > 0 {
		v.Centre = float64(t.met) / float64(t.known())
	}
	kind, _ := spc.KindNamed(d.Chart.Kind)
	switch kind {
	case spc.G:
		return spc.G, ByEvent, d.Chart.Words
	case spc.Run:
		v.Type = spc.Duration
	case spc.XmR:
		v.Type = spc.Measurement
	default: // a share
	}
	p := spc.Propose(v)
	period := Period(p.Period)
	reason := p.Reason
	if !d.Chart.Newborns {
		reason = strings.Replace(reason, ", and every newborn is shown in order beside it", "", 1)
	}
	if p.Kind == spc.G {
		period = Quarterly
	}
	if declared != "" {
		period = declared
		reason += fmt.Sprintf(" A person declared one point a %s.", declared)
	}
	return kind, period, reason
}

// period is what a person declared for the unit's measure, "" if nothing.
func (e *Engine) period(unit, id string) Period {
	if w, ok := e.declared(unit, id, 0, 0); ok {
		return w.Period
	}
	return ""
}

// declared finds the most particular declared window within the months; zero months
// do not bound.
func (e *Engine) declared(unit, id string, from, to record.Month) (Window, bool) {
	var best Window
	score := -1
	for _, w := range e.Settings.Windows {
		if w.Unit != "" && w.Unit != unit || w.Measure != "" && w.Measure != id || from != 0 && (w.From < from || w.To > to) {
			continue
		}
		s := 0
		if w.Unit != "" {
			s++
		}
		if w.Measure != "" {
			s += 2
		}
		if s > score {
			best, score = w, s
		}
	}
	return best, score >= 0
}
