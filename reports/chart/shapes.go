package chart

import "math"

// shape is the form of a point. Form, not colour, tells what a point is.
type shape uint8

const (
	disc    shape = iota // an ordinary point
	square               // signal, in the favourable direction
	diamond              // signal, against the favourable direction
	cross                // signal of a measure without a favourable direction
)

var senseShape = map[Sense]shape{Better: square, Worse: diamond, Neither: cross}

// shapeAt is the form of a point: of the signal that asks for most attention
// where several share it.
func (l *layout) shapeAt(i int) shape {
	out := disc
	for _, s := range l.m.Signals {
		for _, k := range s.Points {
			if k != i {
				continue
			}
			sh := senseShape[s.Sense]
			if out == disc || sh == diamond || sh == cross && out == square {
				out = sh
			}
		}
	}
	if out == disc && l.m.Points[i].Letter != "" {
		return cross
	}
	return out
}

// reach is half the width of a marker whose ordinary radius is r.
func reach(s shape, r float64) float64 {
	switch s {
	case disc:
		return r
	case square:
		return max(r*1.25, 0.75)
	case diamond:
		return max(r*1.75, 1.05)
	case cross:
		return max(r*1.5, 0.9)
	}
	return r
}

// marker draws a point; a hollow one is paper with an outline.
func marker(s shape, at Pos, r float64, hollow bool) []Item {
	colour := Ink
	if s != disc {
		colour = Accent
	}
	fill, outline := colour, Stroke{Colour: Paper, Width: 0.25}
	if r < 0.6 {
		outline = Stroke{} // small points would cut the line into dashes
	}
	if hollow {
		fill, outline = Paper, Stroke{Colour: colour, Width: 0.3}
	}
	q := reach(s, r)
	switch s {
	case disc:
		return []Item{Circle{Centre: at, Radius: q, Fill: fill, Stroke: outline}}
	case square:
		return []Item{Rect{Box: Box{at.X - q, at.Y - q, 2 * q, 2 * q}, Fill: fill, Stroke: outline}}
	case diamond:
		return []Item{Polygon{Points: ring(at, q, 4), Fill: fill, Stroke: outline}}
	case cross:
		return []Item{Polygon{Points: plus(at, q), Fill: fill, Stroke: outline}}
	}
	return nil
}

// plus gives the outline of an upright cross with thick arms.
func plus(at Pos, r float64) []Pos {
	a := r * 0.42
	out := make([]Pos, 0, 12)
	for _, p := range [12][2]float64{{-a, -r}, {a, -r}, {a, -a}, {r, -a}, {r, a}, {a, a}, {a, r}, {-a, r}, {-a, a}, {-r, a}, {-r, -a}, {-a, -a}} {
		out = append(out, at.moved(p[0], p[1]))
	}
	return out
}

// ring gives n places around a centre, the first one above it.
func ring(at Pos, r float64, n int) []Pos {
	out := make([]Pos, n)
	for i := range out {
		a := 2*math.Pi*float64(i)/float64(n) - math.Pi/2
		out[i] = Pos{at.X + r*math.Cos(a), at.Y + r*math.Sin(a)}
	}
	return out
}
