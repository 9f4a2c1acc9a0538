package chart

import "slices"

const tickLength = 1.2

var (
	axisStroke   = Stroke{Colour: Rule, Width: 0.2}
	limitStroke  = Stroke{Colour: Rule, Width: 0.2}
	centreStroke = Stroke{Colour: Soft, Width: 0.3}
	dataStroke   = Stroke{Colour: Ink, Width: 0.3}
	openStroke   = Stroke{Colour: Ink, Width: 0.2, Dash: []float64{0.8, 0.8}}
	aimStroke    = Stroke{Colour: Ink, Width: 0.25, Dash: []float64{3, 0.9, 0.5, 0.9}}
	breakStroke  = Stroke{Colour: Soft, Width: 0.2, Dash: []float64{0.25, 0.8}}
	stemStroke   = Stroke{Colour: Rule, Width: 0.15}
	whiskStroke  = Stroke{Colour: Rule, Width: 0.25}
)

// stretches groups the periods for which ok holds into runs of one phase.
func (l *layout) stretches(ok func(*Point) bool) [][2]int {
	var out [][2]int
	for i := range l.m.Points {
		p := &l.m.Points[i]
		if !ok(p) {
			continue
		}
		if n := len(out); n > 0 && out[n-1][1] == i-1 && l.m.Points[i-1].Phase == p.Phase {
			out[n-1][1] = i
			continue
		}
		out = append(out, [2]int{i, i})
	}
	return out
}

// steps is the stepped line of a limit over the periods from..to.
func (l *layout) steps(from, to int, v func(*Point) float64) []Pos {
	var out []Pos
	for i := from; i <= to; i++ {
		y := v(&l.m.Points[i])
		if n := len(out); n > 1 && out[n-1].Y == y {
			out[n-1].X = l.edge(i + 1)
			continue
		}
		out = append(out, Pos{l.edge(i), y}, Pos{l.edge(i + 1), y})
	}
	return out
}

// drawBand tints the room between the limits; where one limit is missing the
// tint goes on to the end of the scale, for nothing on that side is unusual.
func (l *layout) drawBand() {
	for _, s := range l.stretches(func(p *Point) bool { return p.Lower != nil || p.Upper != nil }) {
		upper := l.steps(s[0], s[1], func(p *Point) float64 {
			if p.Upper == nil {
				return l.sc.top
			}
			return l.sc.y(*p.Upper)
		})
		lower := l.steps(s[0], s[1], func(p *Point) float64 {
			if p.Lower == nil {
				return l.sc.bottom
			}
			return l.sc.y(*p.Lower)
		})
		slices.Reverse(lower)
		l.add(Polygon{Points: append(upper, lower...), Fill: Tint})
	}
}

func (l *layout) provisional(i int) bool {
	for _, p := range l.m.Phases {
		if i >= p.From && i <= p.To {
			return p.Provisional
		}
	}
	return false
}

func (l *layout) drawLimits() {
	for _, v := range []struct {
		value  func(*Point) *float64
		stroke Stroke
	}{
		{func(p *Point) *float64 { return p.Lower }, limitStroke},
		{func(p *Point) *float64 { return p.Upper }, limitStroke},
		{func(p *Point) *float64 { return p.Centre }, centreStroke},
	} {
		for _, s := range l.stretches(func(p *Point) bool { return v.value(p) != nil }) {
			stroke := v.stroke
			if l.provisional(s[0]) {
				stroke.Dash = []float64{1.4, 1}
			}
			path := l.steps(s[0], s[1], func(p *Point) float64 { return l.sc.y(*v.value(p)) })
			l.add(Polyline{Points: path, Stroke: stroke})
			l.paths = append(l.paths, path)
		}
	}
}

func (l *layout) drawTarget() {
	if l.m.Target == nil {
		return
	}
	y := l.sc.y(l.m.Target.Value)
	l.line(l.left, y, l.end(), y, aimStroke)
	l.paths = append(l.paths, []Pos{{l.left, y}, {l.end(), y}})
}

// radius of an ordinary point.
func (l *layout) radius() float64 { return min(max(l.dx*0.2, 0.42), 0.95) }

func (l *layout) drawData() {
	r := l.radius()
	for i := range l.m.Points {
		p := &l.m.Points[i]
		if p.Low != nil && p.High != nil && *p.Low < *p.High {
			x, lo, hi := l.x(i), l.sc.y(*p.Low), l.sc.y(*p.High)
			c := min(r*0.8, l.dx*0.3)
			l.line(x, lo, x, hi, whiskStroke)
			l.line(x-c, lo, x+c, lo, whiskStroke)
			l.line(x-c, hi, x+c, hi, whiskStroke)
			l.solid = append(l.solid, Box{x - 0.15, hi, 0.3, lo - hi}, Box{x - c, hi - 0.1, 2 * c, 0.2}, Box{x - c, lo - 0.1, 2 * c, 0.2})
		}
	}
	for i := 1; i < len(l.m.Points); i++ {
		a, b := &l.m.Points[i-1], &l.m.Points[i]
		if !a.Has || !b.Has || a.Phase != b.Phase {
			continue
		}
		stroke := dataStroke
		if a.Hollow || b.Hollow {
			stroke = openStroke
		}
		from, to := Pos{l.x(i - 1), l.sc.y(a.Value)}, Pos{l.x(i), l.sc.y(b.Value)}
		l.add(Line{From: from, To: to, Stroke: stroke})
		l.trace = append(l.trace, []Pos{from, to})
	}
	for i := range l.m.Points {
		p := &l.m.Points[i]
		if !p.Has {
			continue
		}
		at := Pos{l.x(i), l.sc.y(p.Value)}
		shape := l.shapeAt(i)
		if l.bare && shape == disc && !p.Hollow && l.joined(i) {
			continue
		}
		for _, it := range marker(shape, at, r, p.Hollow) {
			l.add(it)
		}
		l.solid = append(l.solid, Box{at.X, at.Y, 0, 0}.Grow(reach(shape, r)))
	}
}

// joined says whether a line leads to the point, so that it shows by itself.
func (l *layout) joined(i int) bool {
	p := &l.m.Points[i]
	for _, k := range []int{i - 1, i + 1} {
		if k >= 0 && k < len(l.m.Points) && l.m.Points[k].Has && l.m.Points[k].Phase == p.Phase {
			return true
		}
	}
	return false
}

func (l *layout) drawYAxis() {
	l.line(l.left, l.sc.top, l.left, l.sc.bottom, axisStroke)
	for _, v := range l.sc.ticks {
		y := l.sc.y(v)
		l.line(l.left-tickLength, y, l.left, y, axisStroke)
		t := l.f.Text("tick", l.n.Tick(l.m.Y.Format, v, l.sc.step), l.typ.base, false, Soft)
		l.put(t, l.left-tickLength-0.8, y+t.Ascent*0.48, End)
	}
}
