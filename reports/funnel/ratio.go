package funnel

import (
	"math"

	"chestrise/reports/chart"
)

// Ratios is a picture of observed against expected: one line a unit, each to be read
// against 1 and never against another line. Complete: the layout computes nothing but
// places.
type Ratios struct {
	Title    string
	Subtitle string
	Alt      string
	Axis     string // what the ratio is
	Lines    []RatioLine
	Notes    []string
}

// RatioLine is one unit's ratio with its exact interval, or why there is none.
type RatioLine struct {
	Label  string
	Absent string
	Ratio  float64
	Low    float64
	High   float64
	Words  string // "12 seen, 14.3 expected"
	Apart  bool   // the interval of limits about 1 does not hold the ratio
}

const (
	rowHeight  = 6.2
	labelWidth = 34.0
	wordsWidth = 44.0
)

// ratioTicks are the ratios at which an axis may have a tick.
var ratioTicks = []float64{0.1, 0.2, 0.5, 1, 2, 5, 10}

// LayRatios decides every place. The axis is logarithmic: half and double are equally
// far from 1. An interval that leaves the axis ends in an arrow head.
func LayRatios(m Ratios, width float64, fonts *chart.Fonts, n chart.Numbers) chart.Drawing {
	l := &layout{m: Model{}, f: fonts, n: n, w: width}
	y := l.words("title", m.Title, titleSize, true, chart.Ink, 0)
	y = l.words("subtitle", m.Subtitle, baseSize, false, chart.Soft, y) + 1
	y = l.words("axis", m.Axis, baseSize, false, chart.Soft, y) + 1.5
	top, x0, x1 := y, labelWidth, width-wordsWidth
	low, high := math.Log(0.5), math.Log(2)
	for _, r := range m.Lines {
		if r.Absent != "" {
			continue
		}
		for _, v := range []float64{r.Ratio, r.Low, r.High} {
			if v > 0 {
				low, high = min(low, math.Log(v)), max(high, math.Log(v))
			}
		}
	}
	low, high = max(low, math.Log(0.08))-.05, min(high, math.Log(12))+.05
	at := func(v float64) float64 {
		return x0 + (math.Log(v)-low)/(high-low)*(x1-x0)
	}
	bottom := top + rowHeight*float64(max(len(m.Lines), 1))
	for _, v := range ratioTicks {
		if math.Log(v) < low || math.Log(v) > high {
			continue
		}
		stroke := chart.Stroke{Colour: chart.Hair, Width: .15}
		if v == 1 {
			stroke = chart.Stroke{Colour: chart.Ink, Width: .3}
		}
		l.items = append(l.items, chart.Line{From: chart.Pos{X: at(v), Y: top}, To: chart.Pos{X: at(v), Y: bottom}, Stroke: stroke})
		t := fonts.Text("tick", n.Tick(chart.Plain, v, math.Min(v, 1)), smallSize, v == 1, chart.Soft)
		t.At, t.Anchor = chart.Pos{X: at(v), Y: bottom + 1.2 + t.Ascent}, chart.Middle
		l.put(t)
	}
	for i, r := range m.Lines {
		l.ratio(r, top+rowHeight*(float64(i)+.5), x0, x1, at)
	}
	y = bottom + 6.5
	for _, note := range m.Notes {
		y = l.words("note", note, smallSize, false, chart.Soft, y)
	}
	return chart.Drawing{W: width, H: y, Title: m.Title, Alt: m.Alt, Items: l.items}
}

func (l *layout) ratio(r RatioLine, y, x0, x1 float64, at func(float64) float64) {
	t := l.f.Text("unit", l.f.Elide(r.Label, baseSize, r.Apart, labelWidth-2), baseSize, r.Apart, chart.Ink)
	t.At = chart.Pos{X: 0, Y: y + t.Ascent*.38}
	l.put(t)
	if r.Absent != "" {
		t := l.f.Text("absent", l.f.Elide(r.Absent, smallSize, false, l.w-x0), smallSize, false, chart.Soft)
		t.At = chart.Pos{X: x0, Y: y + t.Ascent*.38}
		l.put(t)
		return
	}
	w := l.f.Text("words", l.f.Elide(r.Words, smallSize, false, wordsWidth-3), smallSize, false, chart.Soft)
	w.At = chart.Pos{X: x1 + 3, Y: y + w.Ascent*.38}
	l.put(w)
	clip := func(v float64) (x float64, cut bool) {
		if v <= 0 || at(v) < x0 {
			return x0, true
		}
		return min(at(v), x1), at(v) > x1
	}
	a, cutLow := clip(r.Low)
	b, cutHigh := clip(r.High)
	line := chart.Stroke{Colour: chart.Rule, Width: .5}
	l.items = append(l.items, chart.Line{From: chart.Pos{X: a, Y: y}, To: chart.Pos{X: b, Y: y}, Stroke: line})
	for _, e := range []struct {
		x   float64
		cut bool
		dir float64
	}{{a, cutLow, 1}, {b, cutHigh, -1}} {
		if e.cut {
			l.items = append(l.items, chart.Polygon{Points: []chart.Pos{{X: e.x, Y: y}, {X: e.x + 1.4*e.dir, Y: y - .8}, {X: e.x + 1.4*e.dir, Y: y + .8}}, Fill: chart.Rule})
		} else {
			l.items = append(l.items, chart.Line{From: chart.Pos{X: e.x, Y: y - .9}, To: chart.Pos{X: e.x, Y: y + .9}, Stroke: line})
		}
	}
	if x, cut := clip(r.Ratio); !cut {
		p := chart.Pos{X: x, Y: y}
		if r.Apart {
			l.items = append(l.items, chart.Rect{Box: chart.Box{X: p.X, Y: p.Y}.Grow(marker * 1.25), Fill: chart.Accent})
		} else {
			l.items = append(l.items, chart.Circle{Centre: p, Radius: marker, Fill: chart.Ink})
		}
	}
}
