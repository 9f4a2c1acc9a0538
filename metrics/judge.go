package metrics

import (
	"fmt"
	"slices"
	"strings"

	"chestrise/metrics/measure"
	"chestrise/metrics/spc"
)

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
	// A point beyond a limit on the way of a shift that was signalled before is no
	// news; nor is a pattern without a direction, such as too few crossings, which a
	// shift brings about.
	known := slices.Concat(going, gone)
	shifted := slices.ContainsFunc(going, func(k Signal) bool { return k.Direction != spc.Level })
	fresh = slices.DeleteFunc(fresh, func(s Signal) bool {
		old := s.Direction == spc.Level && shifted || s.Direction != spc.Level &&
			slices.ContainsFunc(known, func(k Signal) bool { return k.Direction == s.Direction })
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
	// A shift says more than a point, a point more than a pattern without a direction.
	says := func(x Signal) int {
		switch {
		case x.Direction == spc.Level:
			return 0
		case x.Rule == spc.BeyondLimits:
			return 1
		}
		return 2
	}
	s := active[0]
	for _, x := range active[1:] {
		if says(x) > says(s) {
			s = x
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
