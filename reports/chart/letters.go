package chart

import "slices"

// mostLetters is how many letters are still read as one label at a point.
const mostLetters = 3

// drawLetters writes the letters of the signals beside their points: at both
// ends of a stretch of points with the same letters, at one of them at least.
// It reports false where a stretch found no room; the drawing is then laid
// out again with lanes.
func (l *layout) drawLetters() bool {
	for i := 0; i < len(l.m.Points); {
		letters := l.m.Points[i].Letter
		k := i
		for k+1 < len(l.m.Points) && l.m.Points[k+1].Letter == letters {
			k++
		}
		if letters != "" && !l.letterStretch(letters, i, k) {
			return false
		}
		i = k + 1
	}
	return true
}

func (l *layout) letterStretch(letters string, from, to int) bool {
	if len(letters) > mostLetters {
		return false
	}
	done := l.letterAt(letters, to)
	if to-from >= 2 || !done {
		done = l.letterAt(letters, from) || done
	}
	for i := from + 1; i < to && !done; i++ {
		done = l.letterAt(letters, i)
	}
	return done
}

// letterAt tries the places around a point and takes the one that crosses the
// fewest lines; a place on other words or on another marker is never taken.
func (l *layout) letterAt(letters string, i int) bool {
	p := &l.m.Points[i]
	if !p.Has {
		return false
	}
	t := l.f.Text("letter", letters, l.typ.base, true, Accent)
	x, y, r := l.x(i), l.sc.y(p.Value), reach(l.shapeAt(i), l.radius())+0.5
	above := p.Centre == nil || p.Value >= *p.Centre
	type place struct {
		x, base float64
		a       Anchor
		cost    int
	}
	up, down := y-r-0.2, y+r+t.Ascent
	first, second := up, down
	if !above {
		first, second = down, up
	}
	mid := y + t.Ascent*0.48
	places := []place{
		{x, first, Middle, 0},
		{x, first + 1.2*sign(first-y), Middle, 1},
		{x, second, Middle, 4},
		{x + r + 0.2, mid, Start, 5},
		{x - r - 0.2, mid, End, 5},
		{x + r, first, Start, 7},
		{x - r, first, End, 7},
		{x + r, second, Start, 9},
		{x - r, second, End, 9},
		{x, first + 2.8*sign(first-y), Middle, 9},
	}
	best, bestCost := -1, 0
	for k, pl := range places {
		t.At, t.Anchor = Pos{pl.x, pl.base}, pl.a
		box := t.Box()
		if !l.free(box) {
			continue
		}
		if cost := pl.cost + 3*crossings(l.trace, box) + crossings(l.paths, box); best < 0 || cost < bestCost {
			best, bestCost = k, cost
		}
	}
	if best < 0 {
		return false
	}
	l.put(t, places[best].x, places[best].base, places[best].a)
	return true
}

func sign(v float64) float64 {
	if v < 0 {
		return -1
	}
	return 1
}

// free says whether a box lies inside the plot and on nothing solid.
func (l *layout) free(b Box) bool {
	if b.X < l.left+0.3 || b.Right() > l.right || b.Y < l.sc.top-1 || b.Bottom() > l.sc.bottom+0.3 {
		return false
	}
	meets := b.Meets
	return !slices.ContainsFunc(l.texts, meets) && !slices.ContainsFunc(l.solid, meets)
}

// crossings counts the lines that run through a box.
func crossings(paths [][]Pos, b Box) int {
	n := 0
	for _, p := range paths {
		for i := 1; i < len(p); i++ {
			if b.crosses(p[i-1], p[i]) {
				n++
				break
			}
		}
	}
	return n
}

// laneSet is a track above the plot in which every signal has a bar from its
// first to its last point, its letter in front: the form for charts in which
// letters do not fit beside the points.
type laneSet struct {
	lane   []int // of each signal, 0 at the bottom; -1: a signal without points
	letter []Text
	count  int
}

const laneHeight = 3.4

func (s laneSet) height() float64 {
	if s.count == 0 {
		return 0
	}
	return float64(s.count)*laneHeight + 1
}

// laneSpan is the room that a signal takes in its lane, letter included.
func (l *layout) laneSpan(s Signal, t Text) (from, to float64) {
	return l.x(s.Points[0]) - l.dx/2 - t.Width - 1, l.x(s.Points[len(s.Points)-1]) + l.dx/2
}

// signalLanes packs the bars into as few lanes as they need, in the order of
// their beginnings.
func (l *layout) signalLanes() laneSet {
	var set laneSet
	if !l.lanes {
		return set
	}
	order := make([]int, len(l.m.Signals))
	set.lane, set.letter = make([]int, len(order)), make([]Text, len(order))
	for k := range order {
		order[k] = k
		set.lane[k] = -1
		set.letter[k] = l.f.Text("letter", l.m.Signals[k].Letter, l.typ.base, true, Accent)
	}
	order = slices.DeleteFunc(order, func(k int) bool { return len(l.m.Signals[k].Points) == 0 })
	slices.SortStableFunc(order, func(a, b int) int { return l.m.Signals[a].Points[0] - l.m.Signals[b].Points[0] })
	var ends []float64
	for _, k := range order {
		from, to := l.laneSpan(l.m.Signals[k], set.letter[k])
		lane := slices.IndexFunc(ends, func(e float64) bool { return e+0.8 <= from })
		if lane < 0 {
			lane = len(ends)
			ends = append(ends, 0)
		}
		ends[lane], set.lane[k] = to, lane
	}
	set.count = len(ends)
	return set
}

func (l *layout) drawLanes(set laneSet, top float64) {
	for k, lane := range set.lane {
		if lane < 0 {
			continue
		}
		s, t := l.m.Signals[k], set.letter[k]
		y := top - 1.6 - float64(lane)*laneHeight - laneHeight/2 + 0.6
		from, to := l.laneSpan(s, t)
		from += t.Width + 1
		l.line(from+0.2, y, to-0.2, y, Stroke{Colour: Accent, Width: 0.15})
		for i := 0; i < len(s.Points); {
			j := i
			for j+1 < len(s.Points) && s.Points[j+1] == s.Points[j]+1 {
				j++
			}
			l.line(l.edge(s.Points[i])+0.2, y, l.edge(s.Points[j]+1)-0.2, y, Stroke{Colour: Accent, Width: 0.8})
			i = j + 1
		}
		l.put(t, from-0.6, y+t.Ascent*0.48, End)
	}
}
