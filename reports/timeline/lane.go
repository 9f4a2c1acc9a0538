package timeline

import (
	"slices"
	"strings"

	"chestrise/metrics/cases"
	"chestrise/reports/chart"
)

const (
	barHeight = 1.9
	trackGap  = 0.7
	most      = 6 // lines of words above a lane at most
)

// label is words that stand beside a mark, to its right and above.
type label struct {
	x     float64
	lines []string
	width float64
	level float64 // of its lower edge above the base of the words
	drop  bool
	n     int // records it speaks of
}

// lane draws one lane: words on top, then marks or bars or a plot, notes last.
func (l *layout) lane(n *cases.Lane) {
	from := l.y
	l.back = append(l.back, chart.Line{From: chart.Pos{X: 0, Y: from}, To: chart.Pos{X: l.full, Y: from}, Stroke: chart.Stroke{Colour: chart.Hair, Width: 0.2}})
	l.y += 0.7
	name := l.y
	l.taken = nil
	for _, line := range l.f.Wrap(n.Name, l.base, true, l.left-6*l.o.Type) {
		t := l.f.Text("lane", line, l.base, true, chart.Ink)
		t.At = chart.Pos{X: 0, Y: name + t.Ascent}
		l.items = append(l.items, t)
		name += lead(l.base)
	}
	switch {
	case n.Empty():
		l.para("absent", n.Absent, l.left+1, l.full, l.small, false, chart.Soft)
	case plotted(n):
		l.plot(n)
	case n.Drawn():
		l.bars(n)
		l.rows = append(l.rows, [2]float64{from, max(l.y, name) + 0.3})
	}
	if len(n.Notes) > 0 {
		if n.Drawn() {
			l.y += 0.3
		}
		l.para("note", upper(strings.Join(n.Notes, "; "))+".", l.left+1, l.full, l.small, false, chart.Soft)
	}
	l.y = max(l.y, name) + 0.5
}

// labels gives every group of records at the same time its words.
func (l *layout) labels(n *cases.Lane) []label {
	type key struct{ at, lo, hi float64 }
	var order []key
	words, marks := map[key][]string{}, map[key]int{}
	add := func(t cases.Time, w string) {
		k := key{t.At, t.Lo, t.Hi}
		if words[k] == nil {
			order = append(order, k)
		}
		words[k] = append(words[k], w)
		marks[k]++
	}
	for _, m := range n.Marks {
		add(m.Time, m.Words)
	}
	var out []label
	for _, k := range order {
		t := cases.Time{At: k.at, Lo: k.lo, Hi: k.hi}
		out = append(out, l.label(l.a.x(k.at), t.Words()+" "+strings.Join(merged(words[k]), " · "), marks[k]))
	}
	for i := range n.Spans {
		s := &n.Spans[i]
		out = append(out, l.label(l.a.x(spanStart(s)), spanTime(s)+" "+detailed(s), 1))
	}
	if n.ID == cases.OxygenLane {
		for _, r := range n.Readings {
			out = append(out, l.label(l.a.x(r.Time.At), r.Time.Words()+" "+whole(r), 1))
		}
	}
	slices.SortStableFunc(out, func(a, b label) int {
		switch {
		case a.x < b.x:
			return -1
		case a.x > b.x:
			return 1
		}
		return 0
	})
	return out
}

// merged counts equal words instead of repeating them.
func merged(words []string) []string {
	var out []string
	n := map[string]int{}
	for _, w := range words {
		if n[w] == 0 {
			out = append(out, w)
		}
		n[w]++
	}
	for i, w := range out {
		if n[w] > 1 {
			out[i] = w + times(n[w])
		}
	}
	return out
}

func spanStart(s *cases.Span) float64 {
	if s.From != nil {
		return s.From.At
	}
	return s.To.At
}

func detailed(s *cases.Span) string {
	if s.Detail == "" {
		return s.Words
	}
	return s.Words + ": " + s.Detail
}

// spanTime writes from when to when, and which end is not on record.
func spanTime(s *cases.Span) string {
	switch {
	case s.From == nil:
		return "begin not recorded, to " + s.To.Words()
	case s.To == nil:
		return "from " + s.From.Words() + ", end not recorded:"
	case s.From.Exact() && s.To.Exact() && s.To.At < 600:
		return strings.TrimSuffix(s.From.Words(), " s") + "–" + s.To.Words()
	}
	return s.From.Words() + " to " + s.To.Words()
}

// label wraps words so that they fit to the right of their mark.
func (l *layout) label(x float64, words string, n int) label {
	room := min(max(l.full-x-0.6, 28*l.o.Type), 78*l.o.Type)
	lines := l.f.Wrap(words, l.small, false, room)
	w := 0.0
	for _, line := range lines {
		w = max(w, l.f.Width(line, l.small, false))
	}
	return label{x: x, lines: lines, width: w, level: 0, drop: false, n: n}
}

// stack gives each label its level, from right to left: a label stands above
// every label that begins under it, so that no thin line that joins words and mark
// runs through other words. It returns the height of the words. Words that would
// stand too high are left out and counted.
func (l *layout) stack(all []label) float64 {
	height := 0.0
	line := lead(l.small)
	for i := len(all) - 1; i >= 0; i-- {
		b := &all[i]
		for k := i + 1; k < len(all); k++ {
			if o := &all[k]; !o.drop && o.x < b.x+b.width+1.2 {
				b.level = max(b.level, o.level+float64(len(o.lines))*line+0.15)
			}
		}
		if b.level+float64(len(b.lines))*line > most*line*1.3 {
			b.drop = true
			l.bare += b.n
			continue
		}
		height = max(height, b.level+float64(len(b.lines))*line)
	}
	return height
}

// write draws the words of labels; base is the height of the lowest words' foot,
// to that of the marks.
func (l *layout) write(all []label, base, to float64) {
	line := lead(l.small)
	for i := range all {
		b := &all[i]
		if b.drop {
			continue
		}
		top := base - b.level - float64(len(b.lines))*line
		for k, words := range b.lines { // paper under the words, so that no line of the grid runs through them
			w := l.f.Width(words, l.small, false)
			l.back = append(l.back, chart.Rect{Box: chart.Box{X: b.x + 0.4, Y: top + float64(k)*line, W: w + 0.4, H: line}, Fill: chart.Paper, Stroke: chart.Stroke{}})
		}
		l.back = append(l.back, chart.Line{From: chart.Pos{X: b.x, Y: top + 0.4}, To: chart.Pos{X: b.x, Y: to}, Stroke: chart.Stroke{Colour: chart.Rule, Width: 0.15}})
		for k, words := range b.lines {
			t := l.f.Text("record", words, l.small, false, chart.Ink)
			t.At = chart.Pos{X: b.x + 0.6, Y: top + float64(k)*line + t.Ascent}
			l.items = append(l.items, t)
			l.taken = append(l.taken, t.Box())
		}
	}
}

// bars draws a lane of marks and spans.
func (l *layout) bars(n *cases.Lane) {
	all := l.labels(n)
	l.y += l.stack(all)
	base := l.y + 0.2
	spans := slices.Clone(n.Spans)
	for _, r := range n.Readings { // oxygen
		s := cases.Span{From: &r.Time, To: nil, Kind: 0, Words: "", Detail: "", Goes: false}
		if r.Until != nil {
			s.To = &cases.Time{At: *r.Until, Lo: *r.Until, Hi: *r.Until}
		}
		spans = append(spans, s)
	}
	tracks := l.tracks(spans)
	count := 0
	for _, k := range tracks {
		count = max(count, k+1)
	}
	top := base + 0.3
	height, marks := 0.0, 0.0
	if len(n.Marks) > 0 {
		marks = 2.2 * l.o.Type // above the bars, so that neither hides the other
	}
	if count > 0 {
		height = float64(count)*(barHeight+trackGap)*l.o.Type - trackGap*l.o.Type
	}
	l.write(all, base, top+marks+height-0.5)
	for i := range spans {
		l.bar(&spans[i], n.ID, top+marks+float64(tracks[i])*(barHeight+trackGap)*l.o.Type)
	}
	for _, m := range n.Marks {
		l.mark(m.Time, top+marks/2)
	}
	l.y = top + marks + height + 0.3
}

// tracks puts spans that share time into different tracks.
func (l *layout) tracks(spans []cases.Span) []int {
	out := make([]int, len(spans))
	var ends []float64
	for i := range spans {
		from, to := l.extent(&spans[i])
		k := slices.IndexFunc(ends, func(e float64) bool { return e <= from+1e-9 })
		if k < 0 {
			k = len(ends)
			ends = append(ends, 0)
		}
		ends[k], out[i] = to, k
	}
	return out
}

// tail is how far a span without a recorded end trails off.
func (l *layout) tail() float64 { return 7 * l.o.Type }

// extent is the room of a span on the axis.
func (l *layout) extent(s *cases.Span) (from, to float64) {
	switch {
	case s.From == nil:
		x := l.a.x(s.To.Hi)
		return max(x-l.tail(), l.left), max(x, l.a.x(s.To.Lo))
	case s.To == nil:
		return l.a.x(s.From.Lo), l.a.x(s.From.Hi) + l.tail()
	}
	a, b := l.a.x(min(s.From.Lo, s.To.Lo)), l.a.x(max(s.From.Hi, s.To.Hi))
	return a, max(b, a+0.8)
}

// bar draws a span: solid where it went on for certain, outlined where it may
// have, dotted where an end is not on record.
func (l *layout) bar(s *cases.Span, id cases.LaneID, y float64) {
	h := barHeight * l.o.Type
	mid := y + h/2
	fill := chart.Soft
	if id == cases.SupportLane && s.Kind != supportPPV || id == cases.OxygenLane {
		fill = chart.Rule
		h *= 0.62
	}
	rect := func(a, b float64, solid bool) {
		if b < a {
			a, b = b, a
		}
		r := chart.Rect{Box: chart.Box{X: a, Y: mid - h/2, W: max(b-a, 0.5), H: h}, Fill: fill, Stroke: chart.Stroke{}}
		if !solid {
			r.Fill, r.Stroke = chart.Paper, chart.Stroke{Colour: fill, Width: 0.2}
		}
		l.items = append(l.items, r)
	}
	dots := func(a, b float64) {
		if a >= b {
			return
		}
		l.items = append(l.items, chart.Line{From: chart.Pos{X: a, Y: mid}, To: chart.Pos{X: b, Y: mid}, Stroke: chart.Stroke{Colour: fill, Width: 0.6, Dash: []float64{0.6, 0.6}}})
	}
	switch {
	case s.From == nil:
		x := l.a.x(s.To.At)
		dots(max(x-l.tail(), l.left), x-1)
		rect(max(x-1, l.left), x, true)
	case s.To == nil:
		x := l.a.x(s.From.At)
		if !s.From.Exact() {
			rect(l.a.x(s.From.Lo), l.a.x(s.From.Hi), false)
			dots(l.a.x(s.From.Hi)+0.3, l.a.x(s.From.Hi)+l.tail())
			return
		}
		rect(x, x+1, true)
		dots(x+1.2, x+l.tail())
	default:
		if !s.From.Exact() || !s.To.Exact() {
			a, b := l.extent(s)
			rect(a, b, false)
		}
		if s.From.Hi <= s.To.Lo {
			rect(l.a.x(s.From.Hi), l.a.x(s.To.Lo), true)
		}
		if s.From.At > s.To.At { // typed the other way round
			rect(l.a.x(s.To.At), l.a.x(s.From.At), false)
		}
	}
}

const supportPPV = 2

// mark draws a moment: a filled circle where it is exact, a bar with an open
// circle where it is an interval.
func (l *layout) mark(t cases.Time, y float64) {
	r := 0.75 * l.o.Type
	at := chart.Pos{X: l.a.x(t.At), Y: y}
	if t.Exact() {
		l.items = append(l.items, chart.Circle{Centre: at, Radius: r, Fill: chart.Ink, Stroke: chart.Stroke{Colour: chart.Paper, Width: 0.2}})
		return
	}
	l.whisker(t, y)
	l.items = append(l.items, chart.Circle{Centre: at, Radius: r, Fill: chart.Paper, Stroke: chart.Stroke{Colour: chart.Ink, Width: 0.3}})
}

// whisker draws the stretch in which a moment lies.
func (l *layout) whisker(t cases.Time, y float64) {
	s := chart.Stroke{Colour: chart.Ink, Width: 0.3}
	a, b := l.a.x(t.Lo), l.a.x(t.Hi)
	l.items = append(l.items, chart.Line{From: chart.Pos{X: a, Y: y}, To: chart.Pos{X: b, Y: y}, Stroke: s})
	for _, x := range []float64{a, b} {
		l.items = append(l.items, chart.Line{From: chart.Pos{X: x, Y: y - 0.8}, To: chart.Pos{X: x, Y: y + 0.8}, Stroke: s})
	}
}
