package chart

import "sort"

// Drawing is a chart, or a page, with every place decided: a list of
// primitives in the order in which they are drawn. Two renderers of one
// Drawing show the same picture.
type Drawing struct {
	W, H  float64 // millimetres; H may exceed the wish, for words are never cut off
	Title string  // for the title of a file and for readers who cannot see it
	Alt   string
	Items []Item
	Cuts  []float64 // heights at which the drawing may be continued on another page, ascending
}

// Item is one of Line, Polyline, Rect, Polygon, Circle, Text, ClipTo, ClipEnd.
type Item interface {
	draw(Surface)
	moved(dx, dy float64) Item
	top() float64
}

// ClipTo hides what is drawn outside the box until ClipEnd; clips do not nest.
type ClipTo struct{ Box Box }

// ClipEnd ends a ClipTo.
type ClipEnd struct{}

// Draw draws the items in order.
func (d Drawing) Draw(s Surface) {
	for _, it := range d.Items {
		it.draw(s)
	}
}

// Moved gives the items shifted to the right and down.
func (d Drawing) Moved(dx, dy float64) []Item {
	out := make([]Item, len(d.Items))
	for i, it := range d.Items {
		out[i] = it.moved(dx, dy)
	}
	return out
}

// Texts gives the texts of the drawing, in order.
func (d Drawing) Texts() []Text {
	var out []Text
	for _, it := range d.Items {
		if t, ok := it.(Text); ok {
			out = append(out, t)
		}
	}
	return out
}

// Pages splits a drawing at its cuts so that no part is higher than the first
// (for the first part) or than the others. A part that has no cut low enough
// stays whole and is then higher than asked.
func (d Drawing) Pages(first, others float64) []Drawing {
	var out []Drawing
	room, from := first, 0.0
	for d.H-from > room {
		to := -1.0
		for _, c := range d.Cuts {
			if c > from && (c-from <= room || to < 0) {
				to = c
			}
		}
		if to < 0 || to >= d.H {
			break
		}
		out = append(out, d.between(from, to))
		room, from = others, to
	}
	return append(out, d.between(from, d.H))
}

func (d Drawing) between(from, to float64) Drawing {
	part := Drawing{W: d.W, H: to - from, Title: d.Title, Alt: d.Alt}
	for _, it := range d.Items {
		if y := it.top(); from == 0 && y < to || y >= from && y < to {
			part.Items = append(part.Items, it.moved(0, -from))
		}
	}
	for _, c := range d.Cuts {
		if c > from && c < to {
			part.Cuts = append(part.Cuts, c-from)
		}
	}
	return part
}

// Footed gives the drawing with a small line of words beneath it, wrapped to
// its width; without words the drawing itself.
func Footed(d Drawing, words string, fonts *Fonts) Drawing {
	lines := fonts.Wrap(words, footSize, false, d.W)
	if len(lines) == 0 {
		return d
	}
	d.Items = append([]Item(nil), d.Items...)
	d.H += 3
	for _, line := range lines {
		t := fonts.Text("foot", line, footSize, false, Soft)
		t.At = Pos{0, d.H + t.Ascent}
		d.Items = append(d.Items, t)
		d.H += leading(footSize)
	}
	return d
}

const footSize = 6.0

// Pair is two texts whose boxes overlap.
type Pair struct{ A, B Text }

// touching is how far two text boxes may run into each other before a reader
// sees it: a tenth of a millimetre, less than the blank that every letter has.
const touching = 0.1

// Overlaps lists the pairs of texts that collide. A good drawing has none.
func Overlaps(d Drawing) []Pair {
	texts := d.Texts()
	sort.SliceStable(texts, func(i, j int) bool { return texts[i].Box().X < texts[j].Box().X })
	var out []Pair
	for i, a := range texts {
		box := a.Box().Grow(-touching / 2)
		for _, b := range texts[i+1:] {
			other := b.Box().Grow(-touching / 2)
			if other.X >= box.Right() {
				break
			}
			if box.Meets(other) {
				out = append(out, Pair{a, b})
			}
		}
	}
	return out
}

// Outside lists the texts that leave the drawing. A good drawing has none.
func Outside(d Drawing) []Text {
	var out []Text
	for _, t := range d.Texts() {
		b := t.Box().Grow(-touching / 2)
		if b.X < 0 || b.Y < 0 || b.Right() > d.W || b.Bottom() > d.H {
			out = append(out, t)
		}
	}
	return out
}

func (l Line) draw(s Surface)     { s.Line(l) }
func (l Polyline) draw(s Surface) { s.Polyline(l) }
func (r Rect) draw(s Surface)     { s.Rect(r) }
func (p Polygon) draw(s Surface)  { s.Polygon(p) }
func (c Circle) draw(s Surface)   { s.Circle(c) }
func (t Text) draw(s Surface)     { s.Text(t) }
func (c ClipTo) draw(s Surface)   { s.Clip(c.Box) }
func (ClipEnd) draw(s Surface)    { s.Unclip() }

func (p Pos) moved(dx, dy float64) Pos { return Pos{p.X + dx, p.Y + dy} }

func movedAll(ps []Pos, dx, dy float64) []Pos {
	out := make([]Pos, len(ps))
	for i, p := range ps {
		out[i] = p.moved(dx, dy)
	}
	return out
}

func (l Line) moved(dx, dy float64) Item {
	l.From, l.To = l.From.moved(dx, dy), l.To.moved(dx, dy)
	return l
}
func (l Polyline) moved(dx, dy float64) Item { l.Points = movedAll(l.Points, dx, dy); return l }
func (r Rect) moved(dx, dy float64) Item     { r.Box.X += dx; r.Box.Y += dy; return r }
func (p Polygon) moved(dx, dy float64) Item  { p.Points = movedAll(p.Points, dx, dy); return p }
func (c Circle) moved(dx, dy float64) Item   { c.Centre = c.Centre.moved(dx, dy); return c }
func (t Text) moved(dx, dy float64) Item     { t.At = t.At.moved(dx, dy); return t }
func (c ClipTo) moved(dx, dy float64) Item   { c.Box.X += dx; c.Box.Y += dy; return c }
func (c ClipEnd) moved(_, _ float64) Item    { return c }

func topOf(ps []Pos) float64 {
	y := ps[0].Y
	for _, p := range ps {
		y = min(y, p.Y)
	}
	return y
}

func (l Line) top() float64     { return min(l.From.Y, l.To.Y) }
func (l Polyline) top() float64 { return topOf(l.Points) }
func (r Rect) top() float64     { return r.Box.Y }
func (p Polygon) top() float64  { return topOf(p.Points) }
func (c Circle) top() float64   { return c.Centre.Y - c.Radius }
func (t Text) top() float64     { return t.Box().Y }
func (c ClipTo) top() float64   { return c.Box.Y }
func (ClipEnd) top() float64    { return 0 } // belongs to the first part, where the plot is
