// Package funnel lays out a funnel plot: units by their number of cases, the
// target, and the limits within which units lie when nothing differs but
// chance. It draws with the primitives of reports/chart, so that PDF and SVG
// show the same. Units are labelled, never ranked.
package funnel

import (
	"fmt"
	"math"
	"strings"

	"chestrise/reports/chart"
)

// Model is a funnel plot, complete: the layout computes no statistic.
type Model struct {
	Title    string
	Subtitle string
	Alt      string
	XLabel   string // "cases"
	YLabel   string
	Format   chart.Format
	Target   float64
	Limits   []Limit // inner first
	Units    []Unit
	Bands    []Banded // units whose figure is told by a range only, and no number of cases
	Notes    []string
}

// Banded is a unit of which only a range is told.
type Banded struct {
	Label     string
	Low, High float64
}

// Limit is a pair of curves over numbers of cases.
type Limit struct {
	Text  string // "95 %"
	Lower []Point
	Upper []Point
}

// Point is a value at a number of cases.
type Point struct{ Cases, Value float64 }

// Unit is one unit. Outside marks one beyond the outermost limits.
type Unit struct {
	Label   string
	Cases   float64
	Value   float64
	Outside bool
}

// The measures of the drawing, in millimetres and points.
const (
	left, right, foot = 16.0, 22.0, 12.0
	titleSize         = 11.5
	baseSize          = 7.5
	smallSize         = 6.5
	marker            = 0.9
	lineHeight        = 3.4
	stripGap          = 16.0
	bandStep          = 7.0
)

type layout struct {
	m     Model
	f     *chart.Fonts
	n     chart.Numbers
	w     float64
	items []chart.Item
	taken []chart.Box
	lines []chart.Pos // places on the drawn curves, which labels had better not cover
	// the plot
	box  chart.Box
	maxX float64
	low  float64
	high float64
	// strip is the width beside the plot for units without a number of cases.
	strip float64
}

// Lay decides every place. Labels of units that find no room beside their
// marks are named in a note beneath, with their figures.
func Lay(m Model, size chart.Size, fonts *chart.Fonts, n chart.Numbers) chart.Drawing {
	l := &layout{m: m, f: fonts, n: n, w: size.W}
	y := l.words("title", m.Title, titleSize, true, chart.Ink, 0)
	y = l.words("subtitle", m.Subtitle, baseSize, false, chart.Soft, y) + 1
	y = l.words("axis", m.YLabel, baseSize, false, chart.Soft, y) + 1.5
	if len(m.Units)+len(m.Bands) == 0 {
		y = l.words("empty", "No unit has a case in this period.", baseSize, false, chart.Ink, y+4) + 4
		return chart.Drawing{W: size.W, H: y, Title: m.Title, Alt: m.Alt, Items: l.items}
	}
	l.box = chart.Box{X: left, Y: y, W: size.W - left - right, H: max(size.H-y-foot, 40)}
	if len(m.Bands) > 0 {
		l.strip = stripGap + bandStep*float64(len(m.Bands))
		l.box.W -= l.strip
	}
	l.scale()
	l.axes()
	l.curves()
	l.units()
	l.bands()
	y = l.box.Bottom() + foot
	for _, note := range m.Notes {
		y = l.words("note", note, smallSize, false, chart.Soft, y)
	}
	return chart.Drawing{W: size.W, H: y, Title: m.Title, Alt: m.Alt, Items: l.items}
}

// words writes wrapped lines and returns the y beneath them.
func (l *layout) words(role, text string, size float64, bold bool, c chart.Colour, y float64) float64 {
	if text == "" {
		return y
	}
	for _, line := range l.f.Wrap(text, size, bold, l.w) {
		t := l.f.Text(role, line, size, bold, c)
		t.At = chart.Pos{X: 0, Y: y + t.Ascent}
		l.items = append(l.items, t)
		y += size * .3528 * 1.3
	}
	return y
}

// scale covers every unit, the target and, near the units, the limits.
func (l *layout) scale() {
	l.low, l.high = l.m.Target, l.m.Target
	for _, u := range l.m.Units {
		l.maxX = max(l.maxX, u.Cases)
		l.low, l.high = min(l.low, u.Value), max(l.high, u.Value)
	}
	if l.maxX == 0 { // no unit has a place
		l.maxX = 1
	}
	for _, b := range l.m.Bands {
		l.low, l.high = min(l.low, b.Low), max(l.high, b.High)
	}
	l.maxX *= 1.06
	fewest := math.Inf(1)
	for _, u := range l.m.Units {
		fewest = min(fewest, u.Cases)
	}
	for _, k := range l.m.Limits {
		for _, p := range append(append([]Point{}, k.Lower...), k.Upper...) {
			if p.Cases >= fewest {
				l.low, l.high = min(l.low, p.Value), max(l.high, p.Value)
			}
		}
	}
	pad := .06 * (l.high - l.low)
	if pad == 0 {
		pad = max(.1*math.Abs(l.high), .01)
	}
	if l.low >= 0 {
		l.low = max(l.low-pad, 0)
	} else {
		l.low -= pad
	}
	l.high += pad
	if l.m.Format == chart.Percent {
		l.high = min(l.high, 1)
	}
}

func (l *layout) at(p Point) chart.Pos {
	return chart.Pos{
		X: l.box.X + p.Cases/l.maxX*l.box.W,
		Y: l.box.Bottom() - (p.Value-l.low)/(l.high-l.low)*l.box.H,
	}
}

// step is a round distance of ticks: 1, 2 or 5 times a power of ten.
func step(span, most float64) float64 {
	raw := span / most
	unit := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, k := range []float64{1, 2, 5} {
		if k*unit >= raw {
			return k * unit
		}
	}
	return 10 * unit
}

func (l *layout) axes() {
	l.items = append(l.items,
		chart.Line{From: chart.Pos{X: l.box.X, Y: l.box.Y}, To: chart.Pos{X: l.box.X, Y: l.box.Bottom()}, Stroke: chart.Stroke{Colour: chart.Rule, Width: .2}},
		chart.Line{From: chart.Pos{X: l.box.X, Y: l.box.Bottom()}, To: chart.Pos{X: l.box.Right(), Y: l.box.Bottom()}, Stroke: chart.Stroke{Colour: chart.Rule, Width: .2}})
	d := step(l.high-l.low, 6)
	for v := math.Ceil(l.low/d) * d; v <= l.high+1e-9*d; v += d {
		t := l.f.Text("tick", l.n.Tick(l.m.Format, v, d), smallSize, false, chart.Soft)
		p := l.at(Point{0, v})
		t.At, t.Anchor = chart.Pos{X: l.box.X - 1.5, Y: p.Y + t.Ascent*.38}, chart.End
		l.put(t)
	}
	d = step(l.maxX, 7)
	for v := 0.0; v <= l.maxX; v += d {
		t := l.f.Text("tick", l.n.Tick(chart.Count, v, d), smallSize, false, chart.Soft)
		p := l.at(Point{v, l.low})
		t.At, t.Anchor = chart.Pos{X: p.X, Y: l.box.Bottom() + 1.2 + t.Ascent}, chart.Middle
		l.put(t)
	}
	t := l.f.Text("axis", l.m.XLabel, baseSize, false, chart.Soft)
	t.At, t.Anchor = chart.Pos{X: l.box.X + l.box.W/2, Y: l.box.Bottom() + 5 + t.Ascent}, chart.Middle
	l.put(t)
}

func (l *layout) put(t chart.Text) {
	l.items = append(l.items, t)
	l.taken = append(l.taken, t.Box())
}

// curves draws the limits, each named at its right end, and the target.
func (l *layout) curves() {
	dashes := [][]float64{{1.2, .9}, nil}
	type end struct {
		y    float64
		text string
		bold bool
	}
	ends := []end{{l.at(Point{0, l.m.Target}).Y, l.n.Text(l.m.Format, l.m.Target), true}}
	l.items = append(l.items, chart.ClipTo{Box: l.box})
	for i, k := range l.m.Limits {
		for _, curve := range [][]Point{k.Lower, k.Upper} {
			var points []chart.Pos
			for _, p := range curve {
				if p.Cases <= l.maxX {
					points = append(points, l.at(p))
				}
			}
			if len(points) > 1 {
				l.sample(points)
				l.items = append(l.items, chart.Polyline{Points: points, Stroke: chart.Stroke{Colour: chart.Rule, Width: .25, Dash: dashes[i%2]}})
				ends = append(ends, end{points[len(points)-1].Y, k.Text, false})
			}
		}
	}
	centre := l.at(Point{0, l.m.Target}).Y
	l.items = append(l.items, chart.ClipEnd{}, chart.Line{
		From: chart.Pos{X: l.box.X, Y: centre}, To: chart.Pos{X: l.box.Right(), Y: centre}, Stroke: chart.Stroke{Colour: chart.Ink, Width: .3},
	})
	// The target keeps its place; the others give way.
	for _, e := range ends {
		t := l.f.Text("limit", e.text, smallSize, e.bold, chart.Soft)
		for _, shift := range []float64{0, 1, -1, 2, -2, 3, -3, 4, -4} {
			t.At = chart.Pos{X: l.box.Right() + 1.5, Y: e.y + t.Ascent*.38 + shift*lineHeight*.8}
			if l.free(t.Box()) {
				l.put(t)
				t.Words = ""
				break
			}
		}
		if t.Words != "" {
			l.m.Notes = append(l.m.Notes, "A limit without room for its label: "+e.text+".")
		}
	}
}

// sample remembers places along a curve, half a millimetre apart.
func (l *layout) sample(curve []chart.Pos) {
	for i := range curve[1:] {
		a, b := curve[i], curve[i+1]
		n := math.Ceil(math.Hypot(b.X-a.X, b.Y-a.Y) / .5)
		for k := 0.0; k < n; k++ {
			l.lines = append(l.lines, chart.Pos{X: a.X + (b.X-a.X)*k/n, Y: a.Y + (b.Y-a.Y)*k/n})
		}
	}
}

// clear says whether a box covers no curve.
func (l *layout) clear(b chart.Box) bool {
	for _, p := range l.lines {
		if p.X > b.X && p.X < b.Right() && p.Y > b.Y && p.Y < b.Bottom() {
			return false
		}
	}
	return true
}

func (l *layout) free(b chart.Box) bool {
	for _, o := range l.taken {
		if o.Meets(b) {
			return false
		}
	}
	return b.X >= 0 && b.Right() <= l.w && b.Y >= 0
}

// bands draws, beside the plot, an upright bar for each unit of which only a range is
// told; where it stands says nothing.
func (l *layout) bands() {
	if len(l.m.Bands) == 0 {
		return
	}
	x := l.box.Right() + stripGap
	for _, b := range l.m.Bands {
		top, foot := l.at(Point{0, b.High}).Y, l.at(Point{0, b.Low}).Y
		l.items = append(l.items, chart.Rect{
			Box:  chart.Box{X: x + bandStep/2 - 1.1, Y: top, W: 2.2, H: foot - top},
			Fill: chart.Tint, Stroke: chart.Stroke{Colour: chart.Rule, Width: .25},
		})
		t := l.f.Text("unit", b.Label, smallSize, false, chart.Ink)
		t.At, t.Anchor, t.Up = chart.Pos{X: x + bandStep/2 + t.Ascent*.38, Y: (top + foot) / 2}, chart.Middle, true
		l.put(t)
		x += bandStep
	}
	t := l.f.Text("axis", "range only", smallSize, false, chart.Soft)
	t.At, t.Anchor = chart.Pos{X: l.box.Right() + stripGap + bandStep*float64(len(l.m.Bands))/2, Y: l.box.Bottom() + 1.2 + t.Ascent}, chart.Middle
	l.put(t)
}

// units draws the marks: a filled circle inside, a larger square outside.
func (l *layout) units() {
	for _, u := range l.m.Units {
		p := l.at(Point{u.Cases, u.Value})
		l.taken = append(l.taken, chart.Box{X: p.X, Y: p.Y}.Grow(marker))
		if u.Outside {
			l.items = append(l.items, chart.Rect{Box: chart.Box{X: p.X, Y: p.Y}.Grow(marker * 1.25), Fill: chart.Accent})
		} else {
			l.items = append(l.items, chart.Circle{Centre: p, Radius: marker, Fill: chart.Ink})
		}
	}
	var unnamed []string
	for _, u := range l.m.Units {
		t := l.f.Text("unit", u.Label, smallSize, u.Outside, chart.Ink)
		p := l.at(Point{u.Cases, u.Value})
		if !l.beside(t, p, true) && !l.beside(t, p, false) {
			unnamed = append(unnamed, fmt.Sprintf("%s (%s of %s)", u.Label, l.n.Text(l.m.Format, u.Value), l.n.Text(chart.Count, u.Cases)))
		}
	}
	if len(unnamed) > 0 {
		l.m.Notes = append(l.m.Notes, "Without room for a label: "+strings.Join(unnamed, ", ")+".")
	}
}

// beside finds room for a label about its mark; clear of the curves where asked.
func (l *layout) beside(t chart.Text, p chart.Pos, clear bool) bool {
	const gap = 1.6
	for _, at := range []struct {
		dx, dy float64
		anchor chart.Anchor
	}{
		{gap, .38 * t.Ascent, chart.Start},
		{-gap, .38 * t.Ascent, chart.End},
		{0, -gap, chart.Middle},
		{0, gap + t.Ascent, chart.Middle},
		{gap, -gap, chart.Start},
		{-gap, -gap, chart.End},
		{gap, gap + t.Ascent, chart.Start},
		{-gap, gap + t.Ascent, chart.End},
	} {
		t.At, t.Anchor = chart.Pos{X: p.X + at.dx, Y: p.Y + at.dy}, at.anchor
		b := t.Box()
		if l.free(b) && (!clear || l.clear(b)) && b.X > l.box.X && b.Right() < l.box.Right() && b.Bottom() < l.box.Bottom() {
			l.put(t)
			return true
		}
	}
	return false
}
