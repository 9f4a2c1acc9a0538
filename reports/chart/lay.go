package chart

import (
	"math"
	"slices"
	"strings"
)

// Size is a wish in millimetres. A drawing is exactly as wide as wished; H is
// the height of titles, plot and axis, without what is explained beneath, and
// grows where long titles would leave no plot.
type Size struct{ W, H float64 }

// Common sizes: the width of a page, a figure for a slide, one of many small
// charts side by side.
var (
	OnPage  = Size{W: 174, H: 96}
	OnSlide = Size{W: 90, H: 58}
	InRow   = Size{W: 40, H: 14}
)

// The sizes of type, in points.
type sizes struct{ title, subtitle, base, small float64 }

func sizesFor(w float64) sizes {
	if w < 120 {
		return sizes{title: 9.5, subtitle: 7.5, base: 7, small: 6.2}
	}
	return sizes{title: 11.5, subtitle: 8.5, base: 7.5, small: 6.5}
}

// leading is the distance of two baselines in a paragraph.
func leading(size float64) float64 { return size * pointMM * 1.27 }

// layout is one drawing in the making.
type layout struct {
	m     Model
	f     *Fonts
	n     Numbers
	size  Size
	typ   sizes
	items []Item
	texts []Box   // of texts already placed
	solid []Box   // of markers and whiskers, which no letter may cover
	paths [][]Pos // lines of limits, centre and aim
	trace [][]Pos // lines between points

	left, right float64 // x of the two ends of the plot
	dx          float64 // width of a period
	sc          scale
	ends        []endLabel
	bare        bool // ordinary points are only the bends of the line
	lanes       bool // letters of signals in lanes above the plot instead of beside the points
	notes       []note
	numbered    int // notes with a number, so far
}

// Lay decides the place of everything in a control chart or run chart. The
// result depends on the arguments alone. A model in which no period has a
// value becomes a frame with a sentence.
func Lay(m Model, size Size, fonts *Fonts, n Numbers) Drawing {
	m = tidy(m)
	fresh := func(left float64, lanes bool) *layout {
		return &layout{m: m, f: fonts, n: n, size: size, typ: sizesFor(size.W), left: left, lanes: lanes}
	}
	if !slices.ContainsFunc(m.Points, func(p Point) bool { return p.Has }) {
		return fresh(0, false).empty()
	}
	left, lanes := 0.0, false
	for {
		d, need, ok := fresh(left, lanes).lay()
		switch {
		case need > left: // the ticks of the plot are wider than was guessed
			left = need
		case !ok:
			lanes = true
		default:
			return d
		}
	}
}

// lay gives the drawing; the left margin that it should have had, where that is
// more than it had; and false where letters of signals found no room beside
// their points.
func (l *layout) lay() (d Drawing, left float64, ok bool) {
	y := l.titles()
	y = l.headline(y)
	l.makeEnds()
	l.setMargins(newScale(l.m, l.plotHeight(y)))
	heads := l.phaseHeads()
	lanes := l.signalLanes()
	marks := l.markLanes()
	axis := l.axisLabels()
	rows := l.rowTexts()
	l.explain(true, marks, rows)
	foot := marks.height() + axis.height + rows.height
	height := max(l.size.H-y-heads.height()-lanes.height()-foot, l.leastPlot())

	top := y + heads.height() + lanes.height()
	l.sc = newScale(l.m, height)
	l.sc.top, l.sc.bottom = top, top+height
	if need := l.leftFor(l.sc); need > l.left {
		return Drawing{}, need, false
	}
	base := l.sc.bottom + marks.height()

	l.drawBand()
	l.drawPhases(heads, y, base)
	l.drawYAxis()
	l.drawMarks(marks, base)
	l.drawLimits()
	l.drawTarget()
	l.drawData()
	l.drawAxis(axis, base)
	l.drawRows(rows, base+axis.height)
	l.drawEnds()
	l.drawLanes(lanes, top)
	ok = l.lanes || l.drawLetters()
	return l.finish(base + axis.height + rows.height), 0, ok
}

func (l *layout) leastPlot() float64 { return max(24, 0.24*l.size.W) }

// plotHeight is a first estimate, for the number of ticks only.
func (l *layout) plotHeight(y float64) float64 {
	return max(l.size.H-y-22, l.leastPlot())
}

// leftFor is the room that the tick labels and the names of the rows need.
func (l *layout) leftFor(s scale) float64 {
	w := 0.0
	for _, v := range s.ticks {
		w = max(w, l.f.Width(l.n.Tick(l.m.Y.Format, v, s.step), l.typ.base, false))
	}
	for _, r := range l.m.Rows {
		for _, line := range l.f.Wrap(r.Label, l.typ.small, false, 0.2*l.size.W) {
			w = max(w, l.f.Width(line, l.typ.small, false))
		}
	}
	if l.lanes {
		for _, sig := range l.m.Signals {
			w = max(w, l.f.Width(sig.Letter, l.typ.base, true))
		}
	}
	return w + tickLength + 1.2
}

func (l *layout) setMargins(s scale) {
	l.left = max(l.left, l.leftFor(s))
	l.right = l.size.W - 0.5
	for _, e := range l.ends {
		l.right = min(l.right, l.size.W-e.text.Width-endGap-0.2)
	}
	l.dx = (l.right - l.left) / float64(max(len(l.m.Points), 8))
}

// x is the middle of a period.
func (l *layout) x(i int) float64 { return l.left + (float64(i)+0.5)*l.dx }

// edge is the left edge of a period.
func (l *layout) edge(i int) float64 { return l.left + float64(i)*l.dx }

// end is where the periods end; with few of them, before the plot does.
func (l *layout) end() float64 { return l.edge(len(l.m.Points)) }

func (l *layout) add(it Item) { l.items = append(l.items, it) }

func (l *layout) line(x1, y1, x2, y2 float64, s Stroke) {
	l.add(Line{From: Pos{x1, y1}, To: Pos{x2, y2}, Stroke: s})
}

// put places a measured text and remembers its box.
func (l *layout) put(t Text, x, y float64, a Anchor) {
	t.At, t.Anchor = Pos{x, y}, a
	l.add(t)
	l.texts = append(l.texts, t.Box())
}

// para places wrapped lines below y and gives the y below them.
func (l *layout) para(role, words string, x, y, width, size float64, bold bool, c Colour) float64 {
	for _, line := range l.f.Wrap(words, size, bold, width) {
		t := l.f.Text(role, line, size, bold, c)
		l.put(t, x, y+t.Ascent, Start)
		y += leading(size)
	}
	return y
}

func (l *layout) titles() float64 {
	y := l.para("title", l.m.Title, 0, 0, l.size.W, l.typ.title, true, Ink)
	if l.m.Subtitle != "" {
		y = l.para("subtitle", l.m.Subtitle, 0, y+0.4, l.size.W, l.typ.subtitle, false, Soft)
	}
	if y > 0 {
		y += 2.2
	}
	return y
}

// headline says above the plot what the vertical axis is (left) and what
// chart this is (right, or below where both do not fit).
func (l *layout) headline(y float64) float64 {
	if l.m.Y.Label == "" && l.m.Kind == "" {
		return max(y, 1.6) // half a tick label stands above the plot
	}
	label := l.f.Wrap(l.m.Y.Label, l.typ.base, false, l.size.W)
	kind := l.f.Text("kind", l.m.Kind, l.typ.base, false, Soft)
	for i, line := range label {
		t := l.f.Text("axis", line, l.typ.base, false, Soft)
		l.put(t, 0, y+t.Ascent, Start)
		if i == len(label)-1 && kind.Words != "" && t.Width+kind.Width+4 <= l.size.W {
			l.put(kind, l.size.W, y+t.Ascent, End)
			kind.Words = ""
		}
		y += leading(l.typ.base)
	}
	if kind.Words != "" {
		y = l.para("kind", l.m.Kind, 0, y, l.size.W, l.typ.base, false, Soft)
	}
	return y + 1.6
}

// empty is the frame of a chart in which nothing can be drawn.
func (l *layout) empty() Drawing {
	y := l.headline(l.titles())
	l.explain(false, markSet{}, rowSet{})
	height := max(l.size.H-y, l.leastPlot())
	l.add(Rect{Box: Box{0.1, y, l.size.W - 0.2, height}, Stroke: Stroke{Colour: Hair, Width: 0.2}})
	lines := l.f.Wrap(nothing(l.m), l.typ.subtitle, false, l.size.W-8)
	at := y + (height-float64(len(lines))*leading(l.typ.subtitle))/2
	for _, line := range lines {
		t := l.f.Text("nothing", line, l.typ.subtitle, false, Soft)
		l.put(t, l.size.W/2, at+t.Ascent, Middle)
		at += leading(l.typ.subtitle)
	}
	return l.finish(y + height)
}

func nothing(m Model) string {
	switch n := len(m.Points); n {
	case 0:
		return "There is no period to draw yet."
	case 1:
		return "No value for " + m.Points[0].Label + "."
	default:
		return "No value in any period from " + m.Points[0].Label + " to " + m.Points[n-1].Label + "."
	}
}

// finish adds what is explained beneath and closes the drawing.
func (l *layout) finish(y float64) Drawing {
	cuts := []float64{}
	if len(l.notes) > 0 {
		y, cuts = l.drawNotes(y)
	}
	return Drawing{W: l.size.W, H: max(y, l.size.H), Title: l.m.Title, Alt: l.m.Alt, Items: l.items, Cuts: cuts}
}

// tidy makes a model safe to draw: what is not finite is missing, what points
// outside the periods is left out, letters of signals stand at their points.
func tidy(m Model) Model {
	finite := func(v *float64) *float64 {
		if v == nil || math.IsNaN(*v) || math.IsInf(*v, 0) {
			return nil
		}
		return v
	}
	m.Points = slices.Clone(m.Points)
	for i := range m.Points {
		p := &m.Points[i]
		p.Has = p.Has && finite(&p.Value) != nil
		p.Low, p.High = finite(p.Low), finite(p.High)
		p.Centre, p.Lower, p.Upper = finite(p.Centre), finite(p.Lower), finite(p.Upper)
	}
	m.Y.Min, m.Y.Max = finite(m.Y.Min), finite(m.Y.Max)
	if m.Target != nil && finite(&m.Target.Value) == nil {
		m.Target = nil
	}
	m.Signals = slices.Clone(m.Signals)
	for k := range m.Signals {
		s := &m.Signals[k]
		s.Points = slices.DeleteFunc(slices.Clone(s.Points), func(i int) bool { return i < 0 || i >= len(m.Points) })
		slices.Sort(s.Points)
		s.Points = slices.Compact(s.Points)
		for _, i := range s.Points {
			if p := &m.Points[i]; !strings.Contains(p.Letter, s.Letter) {
				p.Letter += s.Letter
			}
		}
	}
	for i := range m.Points {
		p := &m.Points[i]
		var strays []Signal
		for _, r := range p.Letter {
			has := func(s Signal) bool { return strings.ContainsRune(s.Letter, r) }
			if k := slices.IndexFunc(m.Signals, has); k < 0 {
				strays = append(strays, Signal{Letter: string(r), Points: []int{i}})
			} else if m.Signals[k].Words == "" && !slices.Contains(m.Signals[k].Points, i) {
				m.Signals[k].Points = append(m.Signals[k].Points, i)
			}
		}
		m.Signals = append(m.Signals, strays...)
	}
	m.Phases = slices.DeleteFunc(slices.Clone(m.Phases), func(p Phase) bool {
		return p.From < 0 || p.From >= len(m.Points) || p.To < p.From
	})
	slices.SortStableFunc(m.Phases, func(a, b Phase) int { return a.From - b.From })
	m.Marks = slices.Clone(m.Marks)
	slices.SortStableFunc(m.Marks, func(a, b Mark) int { return a.At - b.At })
	return m
}
