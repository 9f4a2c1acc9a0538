package spc

import (
	"cmp"
	"slices"
)

// slack is the share of sigma under which two numbers count as equal: rounding in
// the last digits must not turn a point on a limit into one beyond it.
const slack = 1e-9

func (p *Point) slack() float64 {
	if p.Sigma == nil {
		return 0
	}
	return slack * *p.Sigma
}

// beyondLimit gives the side on which the point lies strictly beyond a limit. A
// value that is a minimum only (AtLeast) can pass the upper limit, never the lower.
func (p *Point) beyondLimit() Direction {
	switch {
	case !p.Has || p.Hollow:
		return Level
	case p.Upper != nil && p.Value > *p.Upper+p.slack():
		return Up
	case p.Lower != nil && !p.AtLeast && p.Value < *p.Lower-p.slack():
		return Down
	default:
		return Level
	}
}

// side gives the side of the centre line on which the point lies.
func (p *Point) side() Direction {
	if p.Centre == nil {
		return Level
	}
	switch d := p.Value - *p.Centre; {
	case d > p.slack():
		return Up
	case d < -p.slack():
		return Down
	default:
		return Level
	}
}

// zoneSide gives the side on which the point lies strictly more than z sigma away.
func (p *Point) zoneSide(z float64) Direction {
	switch {
	case p.Z == nil:
		return Level
	case *p.Z > z+slack:
		return Up
	case *p.Z < -z-slack:
		return Down
	default:
		return Level
	}
}

// find is one completed pattern: the point that completes it and all its points.
type find struct {
	at      int
	members []int
	dir     Direction
}

// apply runs one rule over one phase and gives its signals, patterns that grow
// point by point merged into one.
func (r Rule) apply(pts []Point, ph int, phase Phase) []Signal {
	var finds []find
	switch r.class {
	case beyond, decision:
		return r.single(pts, ph, phase)
	case medianRun:
		return r.aboutMedian(pts, ph, phase)
	case sideRun:
		finds = r.sideRuns(judged(pts, phase), pts)
	case trend:
		finds = r.trends(judged(pts, phase), pts)
	case zigzag:
		finds = r.zigzags(judged(pts, phase), pts)
	case zone:
		finds = r.zones(judged(pts, phase), pts)
	case inner, outer:
		finds = r.bands(judged(pts, phase), pts)
	}
	return r.merge(finds, pts, ph)
}

func judged(pts []Point, phase Phase) []int {
	var idx []int
	for i := phase.From; i <= phase.To; i++ {
		if pts[i].judged() {
			idx = append(idx, i)
		}
	}
	return idx
}

// merge joins patterns that overlap and go the same way, so that a run of twenty is
// one signal with thirteen completing points and not thirteen signals.
func (r Rule) merge(finds []find, pts []Point, ph int) []Signal {
	var out []Signal
	for _, f := range finds {
		if n := len(out); n > 0 && out[n-1].Direction == f.dir && out[n-1].Members[len(out[n-1].Members)-1] >= f.members[0] {
			s := &out[n-1]
			s.At = append(s.At, f.at)
			for _, m := range f.members {
				if m > s.Members[len(s.Members)-1] {
					s.Members = append(s.Members, m)
				}
			}
			continue
		}
		out = append(out, Signal{Rule: r.ID, At: []int{f.at}, Members: slices.Clone(f.members), Direction: f.dir, Phase: ph})
	}
	for i := range out {
		out[i].Bridged = bridged(out[i].Members, pts)
	}
	return out
}

// bridged counts the points between the first and the last member that no rule
// judged: gaps, hollow points, points set aside.
func bridged(members []int, pts []Point) int {
	n := 0
	for i := members[0]; i <= members[len(members)-1]; i++ {
		if !pts[i].judged() {
			n++
		}
	}
	return n
}

// judge applies the rules to every phase, marks the points and sorts the signals.
func (c *Chart) judge() {
	for ph, phase := range c.Phases {
		for _, r := range c.Rules {
			c.Signals = append(c.Signals, r.apply(c.Points, ph, phase)...)
		}
	}
	for i := range c.Signals {
		s := &c.Signals[i]
		s.Verdict = Judge(s.Direction, c.Favourable)
		s.Words = s.words(c)
		for _, at := range s.At {
			c.Points[at].Signals = append(c.Points[at].Signals, s.Rule)
		}
		for _, m := range s.Members {
			c.Points[m].Member = append(c.Points[m].Member, s.Rule)
		}
	}
	slices.SortStableFunc(c.Signals, func(a, b Signal) int {
		return cmp.Or(cmp.Compare(a.At[0], b.At[0]), cmp.Compare(a.Rule, b.Rule))
	})
	for i := range c.Points {
		slices.Sort(c.Points[i].Signals)
		slices.Sort(c.Points[i].Member)
		c.Points[i].Member = slices.Compact(c.Points[i].Member)
	}
}
