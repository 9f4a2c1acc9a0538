package spc

import (
	"cmp"
	"math"
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

func (r Rule) single(pts []Point, ph int, phase Phase) []Signal {
	var out []Signal
	for i := phase.From; i <= phase.To; i++ {
		if d := pts[i].beyondLimit(); d != Level {
			out = append(out, Signal{Rule: r.ID, At: []int{i}, Members: []int{i}, Direction: d, Phase: ph})
		}
	}
	return out
}

// sideRuns finds k points in a row on one side; a point on the centre line neither
// counts nor breaks.
func (r Rule) sideRuns(idx []int, pts []Point) []find {
	var finds []find
	var run []int
	side := Level
	for _, i := range idx {
		switch s := pts[i].side(); {
		case s == Level:
			continue
		case s == side:
			run = append(run, i)
		default:
			side, run = s, []int{i}
		}
		if len(run) >= r.k {
			finds = append(finds, find{at: i, members: run[len(run)-r.k:], dir: side})
		}
	}
	return finds
}

// trends finds k points in a row that rise or fall at each step. Equal neighbours
// break the trend; for the run-chart rule they are passed over instead.
func (r Rule) trends(idx []int, pts []Point) []find {
	var finds []find
	var run []int
	dir := Level
	for _, i := range idx {
		if len(run) == 0 {
			run = []int{i}
			continue
		}
		last := run[len(run)-1]
		var d Direction
		switch diff := pts[i].Value - pts[last].Value; {
		case diff > pts[i].slack():
			d = Up
		case diff < -pts[i].slack():
			d = Down
		}
		switch {
		case d == Level && r.ties:
			continue
		case d == Level:
			run, dir = []int{i}, Level
		case d == dir:
			run = append(run, i)
		default:
			run, dir = []int{last, i}, d
		}
		if len(run) >= r.k {
			finds = append(finds, find{at: i, members: run[len(run)-r.k:], dir: dir})
		}
	}
	return finds
}

// zigzags finds k points in a row of which each step reverses the one before.
func (r Rule) zigzags(idx []int, pts []Point) []find {
	var finds []find
	var run []int
	dir := Level
	for n, i := range idx {
		if n == 0 {
			run = []int{i}
			continue
		}
		last := idx[n-1]
		var d Direction
		switch diff := pts[i].Value - pts[last].Value; {
		case diff > pts[i].slack():
			d = Up
		case diff < -pts[i].slack():
			d = Down
		}
		switch {
		case d == Level:
			run = []int{i}
		case d == -dir:
			run = append(run, i)
		default:
			run = []int{last, i}
		}
		dir = d
		if len(run) >= r.k {
			finds = append(finds, find{at: i, members: run[len(run)-r.k:], dir: Level})
		}
	}
	return finds
}

// zones finds k of m successive points beyond a zone on one side, the newest among
// them.
func (r Rule) zones(idx []int, pts []Point) []find {
	var finds []find
	for n, i := range idx {
		side := pts[i].zoneSide(r.zone)
		if side == Level {
			continue
		}
		var members []int
		for _, j := range idx[max(0, n-r.m+1) : n+1] {
			if pts[j].zoneSide(r.zone) == side {
				members = append(members, j)
			}
		}
		if len(members) >= r.k {
			finds = append(finds, find{at: i, members: members, dir: side})
		}
	}
	return finds
}

// bands finds k points in a row all strictly inside, or all strictly outside, a
// zone on either side.
func (r Rule) bands(idx []int, pts []Point) []find {
	var finds []find
	var run []int
	for _, i := range idx {
		z := pts[i].Z
		hit := z != nil
		if hit && r.class == inner {
			hit = math.Abs(*z) < r.zone-slack
		} else if hit {
			hit = math.Abs(*z) > r.zone+slack
		}
		if !hit {
			run = nil
			continue
		}
		run = append(run, i)
		if len(run) >= r.k {
			finds = append(finds, find{at: i, members: run[len(run)-r.k:], dir: Level})
		}
	}
	return finds
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
