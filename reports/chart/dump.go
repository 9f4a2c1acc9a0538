package chart

import (
	"fmt"
	"io"
	"strings"
)

// Recorder is a Surface that writes one line of text for everything drawn on
// it: the drawing as positions and words, for golden files and for people who
// look for a mistake.
type Recorder struct {
	W   io.Writer
	err error
}

// Dump writes a drawing as text.
func Dump(w io.Writer, d Drawing) error {
	r := &Recorder{W: w}
	r.put("drawing %.2f x %.2f %q", d.W, d.H, d.Title)
	if len(d.Cuts) > 0 {
		r.put("cuts %.2f", d.Cuts)
	}
	d.Draw(r)
	return r.err
}

func (r *Recorder) put(format string, args ...any) {
	if r.err == nil {
		_, r.err = fmt.Fprintf(r.W, format+"\n", args...)
	}
}

func places(ps []Pos) string {
	var b strings.Builder
	for _, p := range ps {
		fmt.Fprintf(&b, " %.2f,%.2f", p.X, p.Y)
	}
	return b.String()
}

func (s Stroke) String() string {
	if !s.On() {
		return ""
	}
	out := fmt.Sprintf(" stroke %s %.2f", s.Colour.Hex(), s.Width)
	if len(s.Dash) > 0 {
		out += fmt.Sprintf(" dash %.1f", s.Dash)
	}
	return out
}

func filled(c Colour) string {
	if !c.On() {
		return ""
	}
	return " fill " + c.Hex()
}

// Line records a line.
func (r *Recorder) Line(l Line) { r.put("line%s%s", places([]Pos{l.From, l.To}), l.Stroke) }

// Polyline records a chain.
func (r *Recorder) Polyline(l Polyline) { r.put("polyline%s%s", places(l.Points), l.Stroke) }

// Rect records a rectangle.
func (r *Recorder) Rect(q Rect) {
	r.put("rect %.2f,%.2f %.2f x %.2f%s%s", q.Box.X, q.Box.Y, q.Box.W, q.Box.H, filled(q.Fill), q.Stroke)
}

// Polygon records a polygon.
func (r *Recorder) Polygon(p Polygon) {
	r.put("polygon%s%s%s", places(p.Points), filled(p.Fill), p.Stroke)
}

// Circle records a circle.
func (r *Recorder) Circle(c Circle) {
	r.put("circle %.2f,%.2f r %.2f%s%s", c.Centre.X, c.Centre.Y, c.Radius, filled(c.Fill), c.Stroke)
}

// Text records words, their role and their box.
func (r *Recorder) Text(t Text) {
	b := t.Box()
	style := ""
	if t.Bold {
		style += " bold"
	}
	if t.Up {
		style += " up"
	}
	r.put("text %s %q %.1fpt%s %s box %.2f,%.2f %.2f x %.2f", t.Role, t.Words, t.Size, style, t.Colour.Hex(), b.X, b.Y, b.W, b.H)
}

// Clip records the beginning of a clip.
func (r *Recorder) Clip(b Box) { r.put("clip %.2f,%.2f %.2f x %.2f", b.X, b.Y, b.W, b.H) }

// Unclip records its end.
func (r *Recorder) Unclip() { r.put("unclip") }
