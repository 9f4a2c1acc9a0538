package metrics

import (
	"fmt"
	"slices"
	"strings"

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
		out.Text = fmt.Sprintf("Limits rest on %s to %s (%d %s) and do not move.", MonthName(out.From), MonthName(out.To), out.Points, plural(int64(out.Points), "point", "points"))
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
		l.Text = fmt.Sprintf("%s: %d of %d (%.0f%%)", l.Label, p.Met, p.Known, 100*cp.Value)
		l.KnownText = fmt.Sprintf("%d of %d known", p.Known, p.Eligible)
	default:
		l.Text = fmt.Sprintf("%s: %.3g %s", l.Label, cp.Value, b.d.Unit)
		l.KnownText = fmt.Sprintf("%d of %d known", p.Known, p.Eligible)
	}
	b.m.Latest = l
}

// pointName is a point's label as printed in a sentence.
func pointName(p Point, period Period) string {
	switch period {
	case Monthly:
		return MonthName(p.From)
	case Quarterly:
		return p.Label
	default:
		return p.Label
	}
}

// judge puts the signals into words and says what changed.
func (b *builder) judge() {
	m := b.m
	m.Change = Change{Measure: b.d.ID, Title: m.Measured, Kind: NoChange, Verdict: spc.Neither, Text: ""}
	if b.now < 0 {
		m.NotJudged = "no closed period has a known newborn"
	} else {
		m.NotJudged = b.tooThin()
	}
	if b.silent {
		m.NotJudged = fmt.Sprintf("the source never marks the section %q as charted, so that nothing tells \"not done\" from \"not written down\"", b.d.Limits.Section)
	}
	open := b.openBefore()
	var fresh, going, gone []Signal
	for _, sg := range m.Chart.Signals {
		last := sg.Members[len(sg.Members)-1]
		s := Signal{
			Rule: sg.Rule, Words: sg.Words, From: pointName(m.Points[sg.Members[0]], m.Period), To: pointName(m.Points[last], m.Period),
			Direction: sg.Direction, Verdict: sg.Verdict, New: false, Active: false, Text: "",
		}
		s.Active = b.now >= 0 && (last == b.now || last > b.now && sg.At[0] <= b.now)
		s.New = s.Active && sg.At[0] == b.now && m.Points[b.now].To == b.u.Latest && !open
		s.Text = b.sentence(sg, s)
		m.Signals = append(m.Signals, s)
		switch before := b.before(); {
		case s.New:
			fresh = append(fresh, s)
		case s.Active:
			going = append(going, s)
		case before >= 0 && last == before && m.Points[b.now].To == b.u.Latest:
			gone = append(gone, s)
		}
	}
	// A point beyond a limit on the way of a shift that was signalled before is no news.
	known := slices.Concat(going, gone)
	fresh = slices.DeleteFunc(fresh, func(s Signal) bool {
		old := slices.ContainsFunc(known, func(k Signal) bool { return k.Direction == s.Direction && s.Direction != spc.Level })
		if old {
			going = append(going, s)
			gone = slices.DeleteFunc(gone, func(k Signal) bool { return k.Direction == s.Direction })
		}
		return old
	})
	c := &m.Change
	switch {
	case m.NotJudged != "":
		c.Kind, c.Text = NotJudged, "Not judged: "+m.NotJudged+"."
	case len(fresh) > 0:
		c.Kind, c.Verdict, c.Text = Signalled, fresh[0].Verdict, texts(fresh)
	case len(going) > 0:
		c.Kind, c.Verdict, c.Text = Continues, going[0].Verdict, texts(going)
	case len(gone) > 0:
		c.Kind, c.Text = Stopped, "No longer signalled: "+texts(gone)
	}
	b.title(slices.Concat(fresh, going))
}

func texts(s []Signal) string {
	var out []string
	for _, x := range s {
		out = append(out, x.Text)
	}
	return strings.Join(out, " ")
}

// before is the last closed point with a value ahead of the latest; -1: none.
func (b *builder) before() int {
	for i := b.now - 1; i >= 0; i-- {
		if b.m.Chart.Points[i].Has {
			return i
		}
	}
	return -1
}

// openBefore says whether the open stretch of a g chart had passed the upper limit
// a month earlier already, so that it is nothing new.
func (b *builder) openBefore() bool {
	if b.plan.kind != spc.G || b.now < 0 || !b.m.Chart.Points[b.now].AtLeast {
		return false
	}
	t, ok := b.h[b.u.Latest]
	if !ok || len(t.events) > 0 {
		return false
	}
	p := b.m.Chart.Points[b.now]
	return p.Upper != nil && p.Value-float64(t.births) > *p.Upper
}

// tooThin says why no verdict is given, "" where one is: three of the last six
// closed points are hollow.
func (b *builder) tooThin() string {
	n, hollow := 0, 0
	for i := b.now; i >= 0 && n < 6; i-- {
		if !b.m.Chart.Points[i].Has {
			continue
		}
		n++
		if why := b.m.Points[i].Hollow; why != "" && why != withinBreak {
			hollow++
		}
	}
	if hollow >= 3 {
		return fmt.Sprintf("in %d of the last %d %ss the verdict would hang on newborns without an answer", hollow, n, b.m.Period)
	}
	return ""
}

// sentence says a signal with its months and its direction against the good one.
func (b *builder) sentence(sg spc.Signal, s Signal) string {
	where := s.From
	if s.To != s.From {
		where += " to " + s.To
	}
	text := capital(sg.Words) + ", " + where
	switch sg.Verdict {
	case spc.Better:
		text += ", in the favourable direction"
	case spc.Worse:
		text += ", against the favourable direction"
	default:
		if b.d.Direction == measure.None {
			text += "; this measure has no good direction"
		}
	}
	return text + "."
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// title says what was found where that is certain: a signal that holds, against
// limits that are firm.
func (b *builder) title(active []Signal) {
	m := b.m
	if m.NotJudged != "" || len(active) == 0 || m.Baseline.Provisional && !m.Baseline.Stored {
		return
	}
	s := active[0]
	for _, x := range active {
		if x.Rule != spc.BeyondLimits { // a shift says more than a point
			s = x
			break
		}
	}
	way := map[spc.Direction]string{spc.Up: "upward", spc.Down: "downward"}[s.Direction]
	switch {
	case b.plan.kind == spc.G && s.Rule == spc.BeyondLimits && b.m.Chart.Points[b.now].AtLeast:
		m.Title = "Longer than expected without an event: " + lower(m.Measured)
	case s.Rule == spc.BeyondLimits && s.Direction == spc.Up:
		m.Title = fmt.Sprintf("Above the upper limit in %s: %s", s.To, lower(m.Measured))
	case s.Rule == spc.BeyondLimits:
		m.Title = fmt.Sprintf("Below the lower limit in %s: %s", s.To, lower(m.Measured))
	case way != "":
		m.Title = fmt.Sprintf("Shift %s since %s: %s", way, s.From, lower(m.Measured))
	default:
		m.Title = fmt.Sprintf("Pattern since %s: %s", s.From, lower(m.Measured))
	}
}

// lower makes a title's first letter small, unless it belongs to a name or formula.
func lower(s string) string {
	if len(s) > 1 && s[1] >= 'a' && s[1] <= 'z' {
		return strings.ToLower(s[:1]) + s[1:]
	}
	return s
}

// conclude makes page one from the measures.
func (e *Engine) conclude(v *UnitView) {
	rank := map[ChangeKind]int{Signalled: 0, NotJudged: 2, Stopped: 3, Continues: 4}
	for _, m := range v.Measures {
		if m.Definition.Tier != measure.Core || m.Absent != "" || !m.Drawn {
			continue
		}
		if m.Change.Kind != NoChange {
			v.Changed = append(v.Changed, m.Change)
		}
		if m.NotJudged == "" {
			v.Charts++
			v.ByChance += m.chance
		}
	}
	slices.SortStableFunc(v.Changed, func(a, b Change) int {
		r := func(c Change) int {
			if c.Kind == Signalled && c.Verdict == spc.Worse {
				return -1
			}
			return rank[c.Kind]
		}
		return r(a) - r(b)
	})
	n, held := 0, 0
	for _, c := range v.Changed {
		switch c.Kind {
		case Signalled, Stopped:
			n++
		case NotJudged:
			held++
		default: // nothing new
		}
	}
	switch {
	case v.Latest == 0:
		v.Headline = "No month has closed yet."
	case n == 0 && held == 0:
		v.Headline = MonthName(v.Latest) + ": nothing to bring to the meeting."
	case n == 0:
		v.Headline = fmt.Sprintf("%s: no signal; %d %s could not be judged.", MonthName(v.Latest), held, plural(int64(held), "chart", "charts"))
	default:
		v.Headline = fmt.Sprintf("%s: %d %s to look at.", MonthName(v.Latest), n, plural(int64(n), "chart", "charts"))
	}
	if v.Charts > 0 {
		v.ByChanceIn = fmt.Sprintf("Of %d charts judged, about %.2f would signal this month by chance alone, or one in about %s.", v.Charts, v.ByChance, every(v.ByChance))
	}
}

// every says how often something of a monthly chance happens.
func every(perMonth float64) string {
	if perMonth <= 0 {
		return "never"
	}
	return fmt.Sprintf("%.0f months", 1/perMonth)
}
