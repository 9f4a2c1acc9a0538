package chart

import "slices"

// endGap is the room between the plot and the labels at its right.
const endGap = 2.4

// endLabel is a line's name and value, written where the line ends.
type endLabel struct {
	text  Text
	value float64
	from  int // the last period in which the line is drawn
}

// makeEnds writes the labels of centre, limits and target: in full where that
// leaves the plot four fifths of the width, else in short, but never a value
// without its name.
func (l *layout) makeEnds() {
	type line struct {
		role, long, short string
		colour            Colour
		bold              bool
		of                func(*Point) *float64
	}
	centre := l.m.CentreIs
	if centre == "" {
		centre = "centre"
	}
	lines := []line{
		{"upper", "upper limit", "upper", Soft, false, func(p *Point) *float64 { return p.Upper }},
		{"centre", centre, centre, Ink, true, func(p *Point) *float64 { return p.Centre }},
		{"lower", "lower limit", "lower", Soft, false, func(p *Point) *float64 { return p.Lower }},
	}
	if l.m.Target != nil {
		lines = append(lines, line{"target", "aim", "aim", Ink, false, func(*Point) *float64 { return &l.m.Target.Value }})
	}
	for _, form := range []func(line, string) string{
		func(n line, v string) string { return n.long + " " + v },
		func(n line, v string) string { return n.short + " " + v },
	} {
		l.ends = nil
		widest := 0.0
		for _, n := range lines {
			for i := len(l.m.Points) - 1; i >= 0; i-- {
				if v := n.of(&l.m.Points[i]); v != nil {
					t := l.f.Text(n.role, form(n, l.n.bare(l.m.Y.Format, *v)), l.typ.base, n.bold, n.colour)
					l.ends = append(l.ends, endLabel{text: t, value: *v, from: i})
					widest = max(widest, t.Width)
					break
				}
			}
		}
		if widest <= 0.19*l.size.W {
			return
		}
	}
}

// drawEnds places the labels at the height of their lines, apart from each
// other by a line at least, with a leader where one had to give way.
func (l *layout) drawEnds() {
	ends := slices.Clone(l.ends)
	slices.SortStableFunc(ends, func(a, b endLabel) int {
		ya, yb := l.sc.y(a.value), l.sc.y(b.value)
		switch {
		case ya < yb:
			return -1
		case ya > yb:
			return 1
		}
		return 0
	})
	want := make([]float64, len(ends))
	for i, e := range ends {
		want[i] = l.sc.y(e.value)
	}
	gap := leading(l.typ.base)
	got := spread(want, gap, l.sc.top, l.sc.bottom)
	x := l.end() + endGap
	for i, e := range ends {
		from := Pos{l.edge(e.from + 1), want[i]}
		if e.text.Role == "target" {
			from.X = l.end()
		}
		if from.X < l.end()-1e-9 {
			l.line(from.X, want[i], l.end(), want[i], stemStroke)
			from.X = l.end()
		}
		if d := got[i] - want[i]; d > 0.25 || d < -0.25 {
			l.add(Polyline{Points: []Pos{{from.X + 0.2, want[i]}, {x - 0.5, got[i]}}, Stroke: stemStroke})
		}
		l.put(e.text, x, got[i]+e.text.Ascent*0.48, Start)
	}
}

// spread moves ascending places apart so that neighbours are gap away from
// each other, as little as possible in the sum of squares, within lo..hi as
// far as they fit (pool-adjacent-violators on the places less their rank).
func spread(want []float64, gap, lo, hi float64) []float64 {
	type block struct {
		sum float64
		n   int
	}
	var blocks []block
	mean := func(b block) float64 { return b.sum / float64(b.n) }
	for i, w := range want {
		blocks = append(blocks, block{w - float64(i)*gap, 1})
		for k := len(blocks) - 1; k > 0 && mean(blocks[k-1]) > mean(blocks[k]); k-- {
			blocks[k-1] = block{blocks[k-1].sum + blocks[k].sum, blocks[k-1].n + blocks[k].n}
			blocks = blocks[:k]
		}
	}
	out := make([]float64, 0, len(want))
	top, bottom := lo, hi-float64(len(want)-1)*gap // of the places less their rank
	for _, b := range blocks {
		at := max(min(mean(b), bottom), top)
		for range b.n {
			out = append(out, at+float64(len(out))*gap)
		}
	}
	return out
}
