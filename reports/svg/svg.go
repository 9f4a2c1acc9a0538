// Package svg writes a chart.Drawing as a standalone SVG file: valid XML, the
// same bytes for the same drawing, readable by a screen reader.
package svg

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"

	"chestrise/reports"
	"chestrise/reports/chart"
)

// Write writes a drawing. Words are kept as words in the typeface that
// measured them, with a generic fallback; every text carries its width, so
// that another typeface is squeezed into the room that was kept for it and
// runs into nothing.
func Write(w io.Writer, d chart.Drawing) error {
	s := &surface{}
	s.put(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	s.put(`<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="%smm" height="%smm" viewBox="0 0 %s %s" role="img" aria-labelledby="title desc" font-family="'%s', 'DejaVu Sans', Verdana, sans-serif">`+"\n",
		num(d.W), num(d.H), num(d.W), num(d.H), chart.Family)
	s.put(`<title id="title">%s</title>`+"\n", escape(d.Title))
	s.put(`<desc id="desc">%s</desc>`+"\n", escape(d.Alt))
	s.put(`<rect width="%s" height="%s" fill="%s"/>`+"\n", num(d.W), num(d.H), chart.Paper.Hex())
	d.Draw(s)
	if s.clips > s.closed {
		return fmt.Errorf("svg: a clip of %q is not closed", d.Title)
	}
	s.put("</svg>\n")
	_, err := w.Write(s.b.Bytes())
	return err
}

// Stamped lays a model out and writes it with a line beneath that says from
// what it was made.
func Stamped(w io.Writer, m chart.Model, size chart.Size, n chart.Numbers, s reports.Stamp) error {
	f := chart.DejaVu()
	return Write(w, chart.Footed(chart.Lay(m, size, f, n), s.Foot(), f))
}

// Chart lays a model out and writes it.
func Chart(w io.Writer, m chart.Model, size chart.Size, n chart.Numbers) error {
	return Write(w, chart.Lay(m, size, chart.DejaVu(), n))
}

type surface struct {
	b             bytes.Buffer
	clips, closed int
}

func (s *surface) put(format string, args ...any) { fmt.Fprintf(&s.b, format, args...) }

// num writes a length with two decimals at most: a hundredth of a millimetre.
func num(v float64) string {
	out := strconv.FormatFloat(v, 'f', 2, 64)
	out = strings.TrimSuffix(strings.TrimRight(out, "0"), ".")
	if out == "-0" {
		return "0"
	}
	return out
}

// escape makes words safe in XML; what XML cannot hold becomes U+FFFD.
func escape(words string) string {
	var b bytes.Buffer
	if err := xml.EscapeText(&b, []byte(words)); err != nil {
		return "" // a bytes.Buffer does not fail
	}
	return b.String()
}

func points(ps []chart.Pos) string {
	out := make([]string, len(ps))
	for i, p := range ps {
		out[i] = num(p.X) + "," + num(p.Y)
	}
	return strings.Join(out, " ")
}

func stroke(k chart.Stroke) string {
	if !k.On() {
		return ""
	}
	out := fmt.Sprintf(` stroke="%s" stroke-width="%s"`, k.Colour.Hex(), num(k.Width))
	if len(k.Dash) > 0 {
		dash := make([]string, len(k.Dash))
		for i, d := range k.Dash {
			dash[i] = num(d)
		}
		out += ` stroke-dasharray="` + strings.Join(dash, " ") + `"`
	}
	return out
}

func (s *surface) Line(l chart.Line) {
	s.put(`<line x1="%s" y1="%s" x2="%s" y2="%s"%s/>`+"\n", num(l.From.X), num(l.From.Y), num(l.To.X), num(l.To.Y), stroke(l.Stroke))
}

func (s *surface) Polyline(l chart.Polyline) {
	s.put(`<polyline points="%s" fill="none" stroke-linejoin="round"%s/>`+"\n", points(l.Points), stroke(l.Stroke))
}

func (s *surface) Rect(r chart.Rect) {
	s.put(`<rect x="%s" y="%s" width="%s" height="%s" fill="%s"%s/>`+"\n", num(r.Box.X), num(r.Box.Y), num(r.Box.W), num(r.Box.H), r.Fill.Hex(), stroke(r.Stroke))
}

func (s *surface) Polygon(p chart.Polygon) {
	s.put(`<polygon points="%s" fill="%s"%s/>`+"\n", points(p.Points), p.Fill.Hex(), stroke(p.Stroke))
}

func (s *surface) Circle(c chart.Circle) {
	s.put(`<circle cx="%s" cy="%s" r="%s" fill="%s"%s/>`+"\n", num(c.Centre.X), num(c.Centre.Y), num(c.Radius), c.Fill.Hex(), stroke(c.Stroke))
}

var anchors = map[chart.Anchor]string{chart.Start: "start", chart.Middle: "middle", chart.End: "end"}

func (s *surface) Text(t chart.Text) {
	if strings.TrimSpace(t.Words) == "" {
		return
	}
	extra := ""
	if t.Bold {
		extra = ` font-weight="bold"`
	}
	if t.Anchor != chart.Start {
		extra += ` text-anchor="` + anchors[t.Anchor] + `"`
	}
	if t.Up {
		extra += fmt.Sprintf(` transform="rotate(-90 %s %s)"`, num(t.At.X), num(t.At.Y))
	}
	if t.Width > 0 {
		extra += ` textLength="` + num(t.Width) + `" lengthAdjust="spacingAndGlyphs"`
	}
	s.put(`<text x="%s" y="%s" font-size="%s" fill="%s"%s>%s</text>`+"\n",
		num(t.At.X), num(t.At.Y), num(t.Size*25.4/72), t.Colour.Hex(), extra, escape(t.Words))
}

func (s *surface) Clip(b chart.Box) {
	s.clips++
	s.put(`<clipPath id="clip%d"><rect x="%s" y="%s" width="%s" height="%s"/></clipPath><g clip-path="url(#clip%d)">`+"\n",
		s.clips, num(b.X), num(b.Y), num(b.W), num(b.H), s.clips)
}

func (s *surface) Unclip() {
	if s.closed < s.clips {
		s.closed++
		s.put("</g>\n")
	}
}
