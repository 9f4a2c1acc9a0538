package metrics

import (
	"errors"
	"fmt"
	"slices"

	"chestrise/etl/record"
	"chestrise/metrics/measure"
	"chestrise/metrics/spc"
)

// drawn is a series with what a page says of each of its points.
type drawn struct {
	kind   spc.Kind
	obs    []spc.Observation
	points []Point
	tally  []tally // by point; nil for g charts
}

func (s drawn) series() spc.Series { return spc.Series{Points: s.obs, Ratio: false} }

// seriesOf makes the points of a chart from month to month: months or quarters, or
// the gaps between events.
func seriesOf(c calendar, d measure.Definition, h history, p plan, from, to record.Month) (drawn, error) {
	if p.kind == spc.G {
		return gapsOf(c, d, h, from, to)
	}
	s := drawn{kind: p.kind, obs: nil, points: nil, tally: nil}
	for _, ms := range stretches(from, to, p.period) {
		t := h.over(ms).counted(d)
		pt := Point{
			Label: label(ms, p.period), From: ms[0], To: ms[len(ms)-1],
			Open: !c.allClosed(ms[0], closes(ms, p.period, to)), Hollow: "",
			Met: t.met, Known: t.known(), Eligible: t.eligible(), Unknown: t.unknown, Undecided: t.undecided,
			EligibilityUnknown: t.eligibilityUnknown, Bounds: t.bounds(), Text: fmt.Sprintf("%d of %d", t.met, t.known()),
		}
		if pt.Open {
			pt.Hollow = notClosed
		}
		for _, ph := range p.phases[1:] {
			if ph.from > pt.From && ph.from <= pt.To {
				pt.Hollow = withinBreak
			}
		}
		o := spc.Observation{
			Label: pt.Label, Num: float64(t.met), N: float64(t.known()), Sub: nil, Missing: t.known() == 0,
			SetAside: false, Hollow: pt.Hollow != "", AtLeast: false, SetReason: "",
		}
		if p.kind == spc.Run || p.kind == spc.XmR {
			o.Num, o.Missing = level(p.kind, t)
			o.N = 0
		}
		s.obs, s.points, s.tally = append(s.obs, o), append(s.points, pt), append(s.tally, t)
	}
	return s, nil
}

// Why a point is hollow that nobody's missing answer is the reason of.
const (
	notClosed   = "not all its months have closed"
	withinBreak = "new limits begin within it"
)

// stretches cuts months into points; a quarter is a calendar quarter, cut off where
// the months begin or end within it.
func stretches(from, to record.Month, p Period) [][]record.Month {
	var out [][]record.Month
	for _, m := range months(from, to) {
		if n := len(out); p == Quarterly && n > 0 && out[n-1][0]/3 == m/3 {
			out[n-1] = append(out[n-1], m)
			continue
		}
		out = append(out, []record.Month{m})
	}
	return out
}

// closes is the last month that must have closed before a point is complete: the end
// of its quarter, also where the months drawn end within it.
func closes(ms []record.Month, p Period, to record.Month) record.Month {
	last := ms[len(ms)-1]
	if p == Quarterly && last == to {
		return last/3*3 + 2
	}
	return last
}

func label(ms []record.Month, p Period) string {
	if p == Quarterly {
		return fmt.Sprintf("%d Q%d", ms[0].Year(), (ms[0].Number()+2)/3)
	}
	return ms[0].String()
}

// level is the median (run chart) or the mean (individuals) of the values that are
// known to a point; true: there is none.
func level(k spc.Kind, t tally) (float64, bool) {
	var x []float64
	for _, it := range t.items {
		if it.Low == it.High {
			x = append(x, it.Low)
		}
	}
	if len(x) == 0 {
		return 0, true
	}
	if k == spc.Run {
		slices.Sort(x)
		return (x[(len(x)-1)/2] + x[len(x)/2]) / 2, false
	}
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x)), false
}

// gapsOf makes the points of a g chart from the closed months: the births between
// one event and the next, in order of birth.
func gapsOf(c calendar, d measure.Definition, h history, from, to record.Month) (drawn, error) {
	s := drawn{kind: spc.G, obs: nil, points: nil, tally: nil}
	to = min(to, c.latest(to))
	var positions []int
	var when []record.Month
	births := 0
	for _, m := range months(from, to) {
		for _, place := range h[m].events {
			if place == 0 {
				return s, fmt.Errorf("%w: %s has an event in %s without a birth sequence", errNoOrder, d.ID, m)
			}
			positions = append(positions, births+int(place))
			when = append(when, m)
		}
		births += int(h[m].births)
	}
	if births == 0 {
		return s, nil
	}
	gaps, err := spc.Gaps(positions, births)
	if err != nil {
		return s, err
	}
	s.obs = gaps.Points
	for i, o := range s.obs {
		pt := Point{
			Label: o.Label, From: to, To: to, Open: false, Hollow: "",
			Met: 0, Known: int32(o.Num), Eligible: int32(o.Num), Unknown: 0, Undecided: 0, EligibilityUnknown: 0,
			Bounds: nil, Text: fmt.Sprintf("%d births", int(o.Num)),
		}
		if i < len(when) {
			pt.From, pt.To, pt.Met = when[i], when[i], 1
		}
		if o.AtLeast {
			pt.Text = fmt.Sprintf("%d births or more", int(o.Num))
		}
		s.points = append(s.points, pt)
	}
	return s, nil
}

// options are the phases of a plan as the chart takes them, with the first phase's
// stored baseline.
func (p plan) options(s drawn, favourable spc.Direction, rules spc.RuleSet) (*spc.Baseline, spc.Options) {
	var o spc.Options
	o.Rules, o.Favourable, o.Reason = rules, favourable, p.reason
	var first *spc.Baseline
	for i, ph := range p.phases {
		if i == 0 {
			first = spcBaseline(p.stored[0])
			continue
		}
		at := slices.IndexFunc(s.points, func(pt Point) bool { return pt.From >= ph.from })
		if at < 0 {
			continue
		}
		start := spc.PhaseStart{From: at, Reason: ph.reason, Baseline: spcBaseline(p.stored[i]), First: 0}
		if at == 0 {
			// Nothing is left of the phase before.
			first = start.Baseline
			continue
		}
		if n := len(o.Phases); n > 0 && o.Phases[n-1].From == at {
			o.Phases[n-1] = start
			continue
		}
		o.Phases = append(o.Phases, start)
	}
	return first, o
}

// plot computes the chart of a series under a plan.
func (p plan) plot(s drawn, favourable spc.Direction, rules spc.RuleSet) (spc.Chart, error) {
	b, o := p.options(s, favourable, rules)
	return spc.Plot(p.kind, s.series(), b, o)
}

// hold finds the points whose verdict would be another had all, or none, of the
// newborns without an answer been met. It compares, for each point whose bounds
// straddle the centre or a limit, the signals that the point belongs to at its lowest
// and at its highest; bounds of other points are not combined.
//
//   - Where a run on one side of the centre hangs on it, the point is drawn hollow and
//     rules pass over it.
//   - Where only "beyond a limit" hangs on it, the point keeps its side of the centre,
//     and is named so that no signal is taken from the limit alone.
func (p plan) hold(s *drawn, favourable spc.Direction, rules spc.RuleSet) (limits []int, err error) {
	if p.kind != spc.P {
		return nil, nil
	}
	chart, err := p.plot(*s, favourable, rules)
	if err != nil {
		return nil, err
	}
	var held []int
	for i, pt := range chart.Points {
		t := s.tally[i]
		b := s.points[i].Bounds
		if !pt.Has || pt.Hollow || b == nil || pt.Centre == nil || !straddles(pt, *b) {
			continue
		}
		low, err := p.member(*s, i, t.met, t, favourable, rules)
		if err != nil {
			return nil, err
		}
		high, err := p.member(*s, i, t.met+t.open(), t, favourable, rules)
		if err != nil {
			return nil, err
		}
		switch {
		case !slices.Equal(low.runs, high.runs):
			held = append(held, i)
		case !slices.Equal(low.limits, high.limits):
			limits = append(limits, i)
		}
	}
	for _, i := range held {
		t := s.tally[i]
		s.obs[i].Hollow = true
		s.points[i].Hollow = fmt.Sprintf("%d of %d newborns have no answer, and the verdict would hang on them", t.open(), t.eligible())
	}
	return limits, nil
}

// membership are the signals that a point belongs to, as rule and side.
type membership struct{ runs, limits []string }

// member finds the signals that a point belongs to when it counts met of everyone
// who belongs.
func (p plan) member(s drawn, i int, met int32, t tally, favourable spc.Direction, rules spc.RuleSet) (membership, error) {
	var out membership
	s.obs = slices.Clone(s.obs)
	s.obs[i].Num, s.obs[i].N = float64(met), float64(t.eligible())
	chart, err := p.plot(s, favourable, rules)
	if err != nil {
		return out, err
	}
	for _, sg := range chart.Signals {
		if !slices.Contains(sg.Members, i) {
			continue
		}
		name := string(sg.Rule) + " " + sg.Direction.String()
		if sg.Rule == spc.BeyondLimits {
			out.limits = append(out.limits, name)
		} else {
			out.runs = append(out.runs, name)
		}
	}
	slices.Sort(out.runs)
	return out, nil
}

// unsay takes the signals beyond a limit of the given points out of a chart.
func unsay(c *spc.Chart, points []int) {
	if len(points) == 0 {
		return
	}
	c.Signals = slices.DeleteFunc(c.Signals, func(s spc.Signal) bool {
		return s.Rule == spc.BeyondLimits && slices.Contains(points, s.At[0])
	})
	for _, i := range points {
		isLimit := func(r spc.RuleID) bool { return r == spc.BeyondLimits }
		c.Points[i].Signals = slices.DeleteFunc(c.Points[i].Signals, isLimit)
		c.Points[i].Member = slices.DeleteFunc(c.Points[i].Member, isLimit)
	}
}

// straddles says whether a limit or the centre lies within the bounds, ends
// included.
func straddles(pt spc.Point, b Bounds) bool {
	for _, l := range []*float64{pt.Lower, pt.Centre, pt.Upper} {
		if l != nil && b.Low <= *l && *l <= b.High {
			return true
		}
	}
	return false
}

// errNoOrder: the order of births is not known, so that no gap can be counted.
var errNoOrder = errors.New("order of births is not known")
