// Package timeline lays out what is on record of one newborn: lanes over one axis
// of seconds, to scale from second zero. It decides every place and draws with the
// primitives of reports/chart, so that a PDF page and an SVG file show the same.
//
// Gaps stay gaps: readings far apart are not joined, what has no recorded end
// trails off, a time known only as an interval is drawn as one, and where nothing
// is on record for ten minutes the axis is cut and says so.
package timeline

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"chestrise/metrics/cases"
	"chestrise/reports/chart"
)

// Options say how large a drawing is.
type Options struct {
	W     float64 // millimetres; the drawing is exactly so wide
	H     float64 // a wish: plots grow, or give way a little, until the drawing is so high
	Type  float64 // size of type against that on a page
	Title string  // printed above; empty: the page says it
	Foot  string  // printed beneath, small; empty: nothing
}

// The sizes of a case page and of a slide of 16 to 9.
var (
	OnPage  = Options{W: 174, H: 0, Type: 1, Title: "", Foot: ""}
	OnSlide = Options{W: 254, H: 142.9, Type: 1.32, Title: "", Foot: ""}
)

// Laid is a drawing and what did not fit into it.
type Laid struct {
	Drawing chart.Drawing
	Bare    int // records drawn without their words, because there was no room
}

type layout struct {
	t     *cases.Timeline
	f     *chart.Fonts
	o     Options
	items []chart.Item
	back  []chart.Item // behind everything
	taken []chart.Box  // texts and marks of the lane in the making
	rows  [][2]float64 // heights between which something stands on the axis

	base, small       float64 // sizes of type in points
	left, right, full float64 // x: begin and end of the axis, end of the labels
	y                 float64
	a                 axis
	bare              int
	stretch           float64 // added to the height of every plot
}

// Lay decides the place of everything. The result depends on the arguments alone.
// A timeline without a time becomes a frame with its sentence, and the notes.
func Lay(t *cases.Timeline, alt string, o Options, f *chart.Fonts) Laid {
	l := newLayout(t, o, f, 0)
	l.lay()
	if plots := l.plots(); o.H > 0 && plots > 0 {
		l = newLayout(t, o, f, max(min((o.H-l.y)/float64(plots), 22), -5*o.Type))
		l.lay()
	}
	d := chart.Drawing{W: o.W, H: max(l.y, o.H), Title: o.Title, Alt: alt, Items: append(l.back, l.items...), Cuts: nil}
	return Laid{Drawing: d, Bare: l.bare}
}

func newLayout(t *cases.Timeline, o Options, f *chart.Fonts, stretch float64) *layout {
	l := &layout{t: t, f: f, o: o, base: 7 * o.Type, small: 6.2 * o.Type, stretch: stretch}
	l.left = 0
	for i := range t.Lanes {
		l.left = max(l.left, f.Longest(t.Lanes[i].Name, l.base, true))
	}
	l.left = max(l.left, f.Width("Compressions", l.base, true)) + 7*o.Type
	l.full = o.W
	l.right = o.W - 30*o.Type
	l.a = newAxis(l.times(), 0, l.left, l.right)
	if t.Zero == cases.OwnClock {
		l.a = newAxis(l.times(), l.first(), l.left, l.right)
	}
	return l
}

// times are the seconds of everything on the axis.
func (l *layout) times() []float64 {
	var out []float64
	for i := range l.t.Lanes {
		n := &l.t.Lanes[i]
		for _, m := range n.Marks {
			out = append(out, m.Time.Lo, m.Time.Hi)
		}
		for _, r := range n.Readings {
			out = append(out, r.Time.Lo, r.Time.Hi)
		}
		for _, s := range n.Spans {
			for _, e := range []*cases.Time{s.From, s.To} {
				if e != nil {
					out = append(out, e.Lo, e.Hi)
				}
			}
		}
	}
	return out
}

func (l *layout) first() float64 {
	if all := l.times(); len(all) > 0 {
		return slices.Min(all)
	}
	return 0
}

// plots is how many lanes have a scale of their own.
func (l *layout) plots() int {
	n := 0
	for i := range l.t.Lanes {
		if plotted(&l.t.Lanes[i]) {
			n++
		}
	}
	return n
}

func plotted(n *cases.Lane) bool {
	return (n.ID == cases.HeartRateLane || n.ID == cases.SaturationLane) && len(n.Readings) > 0
}

func (l *layout) lay() {
	if l.o.Title != "" {
		l.para("title", l.o.Title, 0, l.o.W, l.base*1.5, true, chart.Ink)
		l.y += 1.5
	}
	if l.t.Caption != "" {
		l.para("caption", l.t.Caption, 0, l.o.W, l.base, true, chart.Accent)
		l.y += 0.8
	}
	if l.t.Nothing != "" {
		l.nothing()
	} else {
		l.axisLabels(true)
	}
	var absent []*cases.Lane
	for i := range l.t.Lanes {
		n := &l.t.Lanes[i]
		if n.Empty() && (l.t.Nothing != "" || n.ID != cases.HeartRateLane && n.ID != cases.SaturationLane) {
			absent = append(absent, n)
			continue
		}
		l.lane(n)
	}
	l.absent(absent)
	if l.t.Nothing == "" {
		l.grid()
		l.axisLabels(false)
	}
	l.foot()
}

// nothing is the frame of a newborn without a time on record.
func (l *layout) nothing() {
	const pad = 5.0
	from := l.y
	l.y += pad
	l.para("nothing", l.t.Nothing, 4, l.o.W-4, l.base*1.2, true, chart.Ink)
	l.y += pad
	l.back = append(l.back, chart.Rect{Box: chart.Box{X: 0.2, Y: from, W: l.o.W - 0.4, H: l.y - from}, Fill: chart.Tint, Stroke: chart.Stroke{Colour: chart.Hair, Width: 0.2}})
	l.y += 2
}

// absent says in words which lanes are empty, and why.
func (l *layout) absent(lanes []*cases.Lane) {
	var order []string
	names := map[string][]string{}
	for _, n := range lanes {
		if names[n.Absent] == nil {
			order = append(order, n.Absent)
		}
		names[n.Absent] = append(names[n.Absent], strings.ToLower(n.Name[:1])+n.Name[1:])
	}
	if len(order) == 0 {
		return
	}
	lane := cases.Lane{ID: 0, Name: "Empty lanes", Marks: nil, Spans: nil, Readings: nil, Notes: nil, Absent: ""}
	for _, why := range order {
		lane.Notes = append(lane.Notes, why+": "+strings.Join(names[why], ", "))
	}
	l.lane(&lane)
}

func (l *layout) foot() {
	l.y += 0.8
	var words []string
	if l.bare > 0 {
		words = append(words, fmt.Sprintf("%d records are drawn without words; the list of records holds them all.", l.bare))
	}
	if l.o.Foot != "" {
		words = append(words, l.o.Foot)
	}
	for _, w := range words {
		l.para("foot", w, 0, l.o.W, l.small, false, chart.Soft)
	}
}

// axisLabels writes the ticks, above the lanes or below them; below, the scales
// and what the seconds count from.
func (l *layout) axisLabels(top bool) {
	var boxes []chart.Box
	height := lead(l.small)
	put := func(words string, x float64, bold bool, y float64) {
		t := l.f.Text("tick", words, l.small, bold, chart.Soft)
		t.At, t.Anchor = chart.Pos{X: x, Y: y + t.Ascent}, chart.Middle
		box := t.Box().Grow(0.6)
		if box.X < 0 || box.Right() > l.o.W || slices.ContainsFunc(boxes, box.Meets) {
			return
		}
		boxes = append(boxes, box)
		l.items = append(l.items, t)
	}
	birth := l.t.Zero == cases.FromBirth && l.a.begin() <= 0
	if birth {
		put("birth", l.a.x(0), true, l.y)
	}
	for _, p := range l.a.pieces {
		for _, t := range p.ticks(11 * l.o.Type) {
			if t != 0 || !birth {
				put(clock(t), l.a.x(t), false, l.y)
			}
		}
	}
	l.y += height
	if top {
		l.y += 0.6
		return
	}
	words := upper(l.t.Axis) + ". " + l.scales()
	l.para("axis", words+".", l.left, l.o.W, l.small, false, chart.Soft)
}

// scales says how long a minute is drawn in each piece, and what is cut out.
func (l *layout) scales() string {
	var w, cut []string
	for i, p := range l.a.pieces {
		if i > 0 && l.a.pieces[i-1].to < p.from {
			from := l.a.pieces[i-1].to
			cut = append(cut, fmt.Sprintf("%s to %s (%s)", clock(from), clock(p.from), length(p.from-from)))
		}
		w = append(w, fmt.Sprintf("%.3g mm from %s to %s", p.scale()*60, clock(p.from), clock(p.to)))
	}
	words := "A minute is drawn " + strings.Join(w, ", ")
	if len(cut) > 0 {
		words += ". Cut out, where nothing is on record: " + strings.Join(cut, ", ")
	}
	return words
}

func upper(s string) string {
	if s == "" {
		return s
	}
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// grid draws the vertical lines behind what stands on the axis, the second zero,
// the ends of scales and the cuts. Notes are left clear.
func (l *layout) grid() {
	var g []chart.Item
	vertical := func(x float64, s chart.Stroke) {
		for _, r := range l.rows {
			g = append(g, chart.Line{From: chart.Pos{X: x, Y: r[0]}, To: chart.Pos{X: x, Y: r[1]}, Stroke: s})
		}
	}
	for i, p := range l.a.pieces {
		for _, t := range p.ticks(11 * l.o.Type) {
			vertical(l.a.x(t), chart.Stroke{Colour: chart.Hair, Width: 0.12})
		}
		if i == 0 {
			continue
		}
		if q := l.a.pieces[i-1]; q.to < p.from {
			for _, r := range l.rows {
				g = append(g, chart.Rect{Box: chart.Box{X: q.x1, Y: r[0], W: p.x0 - q.x1, H: r[1] - r[0]}, Fill: chart.Tint, Stroke: chart.Stroke{}})
			}
			dashed := chart.Stroke{Colour: chart.Rule, Width: 0.2, Dash: []float64{0.8, 0.6}}
			vertical(q.x1, dashed)
			vertical(p.x0, dashed)
			l.cutWords(length(p.from-q.to)+" cut out", (q.x1+p.x0)/2)
			continue
		}
		vertical(p.x0-0.35, chart.Stroke{Colour: chart.Rule, Width: 0.2})
		vertical(p.x0+0.35, chart.Stroke{Colour: chart.Rule, Width: 0.2})
	}
	if l.t.Zero == cases.FromBirth && l.a.begin() <= 0 {
		vertical(l.a.x(0), chart.Stroke{Colour: chart.Ink, Width: 0.4})
	}
	l.back = append(g, l.back...)
}

// cutWords writes upwards in a cut, in the lowest free place beside the lanes.
func (l *layout) cutWords(words string, x float64) {
	t := l.f.Text("cut", words, l.small, false, chart.Soft)
	t.Up, t.Anchor = true, chart.Start
	taken := l.words()
	for _, row := range slices.Backward(l.rows) {
		for y := row[1] - 0.4; y-t.Width > row[0]; y-- {
			t.At = chart.Pos{X: x + t.Ascent/2 - t.Descent/2, Y: y}
			box := t.Box().Grow(0.3)
			if !slices.ContainsFunc(taken, box.Meets) {
				l.items = append(l.items, t)
				return
			}
		}
	}
}

// words are the boxes of all texts so far.
func (l *layout) words() []chart.Box {
	var out []chart.Box
	for _, it := range l.items {
		if t, ok := it.(chart.Text); ok {
			out = append(out, t.Box())
		}
	}
	return out
}

func lead(size float64) float64 { return size * 25.4 / 72 * 1.24 }

// para writes wrapped lines from x to the given right edge.
func (l *layout) para(role, words string, x, right, size float64, bold bool, c chart.Colour) {
	for _, line := range l.f.Wrap(words, size, bold, right-x) {
		t := l.f.Text(role, line, size, bold, c)
		t.At = chart.Pos{X: x, Y: l.y + t.Ascent}
		l.items = append(l.items, t)
		l.y += lead(size)
	}
}
