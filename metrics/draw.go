package metrics

import (
	"fmt"
	"slices"

	"chestrise/metrics/measure"
	"chestrise/metrics/spc"
)

// favourable is the good side of what the chart plots: where the chart shows the
// share of newborns with a short time, more is better although less time is.
func favourable(d measure.Definition) spc.Direction {
	dir := map[measure.Direction]spc.Direction{measure.Up: spc.Up, measure.Down: spc.Down, measure.None: spc.Level}[d.Direction]
	if d.Data == measure.Value && d.Chart.Kind == "p" {
		dir = -dir
	}
	return dir
}

// draw makes the series, holds what cannot be judged, and plots.
func (b *builder) draw() error {
	fav, rules := favourable(b.d), spc.RuleSet{Name: "", Rules: nil}
	if b.silent {
		fav, rules = spc.Level, spc.RuleSet{Name: "none", Rules: []spc.RuleID{}}
	}
	s, err := seriesOf(b.c, b.d, b.h, b.plan, b.c.first, b.last)
	if err != nil {
		return err
	}
	limits, err := b.plan.hold(&s, fav, rules)
	if err != nil {
		return err
	}
	chart, err := b.plan.plot(s, fav, rules)
	if err != nil {
		return err
	}
	unsay(&chart, limits)
	b.limits = limits
	b.drawn, b.m.Chart, b.m.Points, b.m.Period = s, chart, s.points, b.plan.period
	b.m.Drawn = slices.ContainsFunc(chart.Points, func(p spc.Point) bool { return p.Has })
	b.now = -1
	for i, p := range s.points {
		if !p.Open && p.To <= b.u.Latest && !s.obs[i].Missing {
			b.now = i
		}
	}
	b.m.Marks = b.marksOf(b.c, b.d, b.last)
	for i := range b.m.Marks {
		b.m.Marks[i].At = slices.IndexFunc(s.points, func(p Point) bool { return p.To >= b.m.Marks[i].Month })
	}
	b.baseline()
	return nil
}

// baseline says what the limits of the last phase rest on.
func (b *builder) baseline() {
	c := b.m.Chart
	out := Baseline{Stored: false, From: 0, To: 0, Centre: 0, HasCentre: false, Points: 0, Provisional: true, Chart: b.plan.kind.String(), Reason: b.plan.reason, Text: ""}
	if len(c.Phases) == 0 {
		b.m.Baseline = out
		return
	}
	ph := c.Phases[len(c.Phases)-1]
	out.Points, out.Provisional, out.HasCentre, out.Centre, out.Stored = ph.Baseline.Points, ph.Provisional, ph.Baseline.Points > 0 || ph.Stored, ph.Baseline.Centre, ph.Stored
	if ph.Stored {
		at := 0 // the plan's phase that the chart's last one is
		for k, q := range b.plan.phases {
			if k > 0 && ph.From < len(b.m.Points) && q.from <= b.m.Points[ph.From].From {
				at = k
			}
		}
		if st := b.plan.stored[at]; st != nil {
			out.From, out.To, out.Reason, out.Provisional = st.From, st.To, st.Reason, st.Provisional
		}
		words := "Limits rest on %s to %s (%d %s) and do not move."
		if b.plan.kind == spc.Run {
			words = "The median rests on %s to %s (%d %s) and does not move."
		}
		out.Text = fmt.Sprintf(words, MonthName(out.From), MonthName(out.To), out.Points, plural(int64(out.Points), "point", "points"))
		if out.Provisional {
			out.Text += " They are provisional: firm limits want more points."
		}
	} else if out.HasCentre {
		out.Text = fmt.Sprintf("Limits rest on all %d judged points so far and move until the baseline's months have closed.", out.Points)
	}
	b.m.Baseline = out
}

// latest is the figure of the latest closed point.
func (b *builder) latest() {
	if b.now < 0 {
		return
	}
	p, cp := b.m.Points[b.now], b.m.Chart.Points[b.now]
	l := Latest{
		Label: pointName(p, b.m.Period), Has: cp.Has, Met: p.Met, Known: p.Known, Eligible: p.Eligible, Value: cp.Value,
		Centre: 0, HasCentre: cp.Centre != nil, Lower: cp.Lower, Upper: cp.Upper, Bounds: p.Bounds, Text: "", KnownText: "",
	}
	if cp.Centre != nil {
		l.Centre = *cp.Centre
	}
	switch {
	case b.plan.kind == spc.G:
		t := b.h.over(months(max(b.c.first, b.u.Latest-11), b.u.Latest))
		l.Label = MonthName(b.u.Latest)
		since := "since the last event"
		if cp.AtLeast && len(b.m.Points) == 1 {
			since = "and no event so far"
		}
		if !cp.AtLeast {
			l.Value = 0
			l.Text = l.Label + ": the last birth was an event"
		} else {
			l.Text = fmt.Sprintf("%s: %d births %s", l.Label, int(cp.Value), since)
		}
		l.Met, l.Known, l.Eligible = t.met, t.known(), t.births
		n := b.u.Latest - max(b.c.first, b.u.Latest-11) + 1
		l.KnownText = fmt.Sprintf("%d %s in %d births of the last %d %s", t.met, plural(int64(t.met), "event", "events"), t.births, n, plural(int64(n), "month", "months"))
	case b.m.Axis.Percent:
		l.Text = fmt.Sprintf("%s: %d of %d (%.0f %%)", l.Label, p.Met, p.Known, 100*cp.Value)
		l.KnownText = fmt.Sprintf("%d of %d known", p.Known, p.Eligible)
	default:
		l.Text = fmt.Sprintf("%s: %.3g %s", l.Label, cp.Value, printedUnit(b.d.Unit))
		l.KnownText = fmt.Sprintf("%d of %d known", p.Known, p.Eligible)
	}
	b.m.Latest = l
}

// printedUnit is a UCUM code as a reader knows it.
func printedUnit(ucum string) string {
	if ucum == "Cel" {
		return "°C"
	}
	return ucum
}
