package spc

import (
	"math"
)

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
		switch s := pts[i].side(); s {
		case Level:
			continue
		case side:
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
		switch d {
		case Level:
			run = []int{i}
		case -dir:
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
