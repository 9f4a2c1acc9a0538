package pdf

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/jung-kurt/gofpdf"

	"chestrise/reports/chart"
)

// page is one composed page: everything has its place before the first byte
// is written.
type page struct {
	drawing chart.Drawing
	links   []link
}

type link struct {
	box chart.Box
	to  string // ID of an anchor
}

// anchor is a place that links and bookmarks lead to.
type anchor struct {
	id    string
	title string
	level int // of the bookmark, from 0
	page  int // from 0
	y     float64
}

type meta struct {
	title, subject, keywords, program string
	created                           time.Time
}

const family = "dejavu"

// write turns composed pages into a file. It collects the whole file before
// it writes, so that an error leaves nothing behind.
func write(w io.Writer, pages []page, anchors []anchor, m meta) error {
	doc := gofpdf.NewCustom(&gofpdf.InitType{UnitStr: "mm", Size: gofpdf.SizeType{Wd: 210, Ht: 297}})
	doc.SetCatalogSort(true) // maps of fonts and resources in a fixed order
	created := m.created
	if created.IsZero() {
		created = time.Unix(0, 0) // the zero time would mean "now"
	}
	doc.SetCreationDate(created.UTC())
	doc.SetModificationDate(created.UTC())
	clean := func(s string) string { return chart.DejaVu().Clean(s, false) }
	doc.SetTitle(clean(m.title), true)
	doc.SetSubject(clean(m.subject), true)
	doc.SetKeywords(clean(m.keywords), true)
	doc.SetCreator(clean(m.program), true)
	doc.SetProducer(clean(m.program), true)
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	regular, bold := chart.DejaVuFiles()
	// The writer works on the font's bytes in place: each document has its own.
	regular, bold = bytes.Clone(regular), bytes.Clone(bold)
	doc.AddUTF8FontFromBytes(family, "", regular)
	doc.AddUTF8FontFromBytes(family, "B", bold)

	targets := map[string]int{}
	for _, a := range anchors {
		if _, ok := targets[a.id]; a.id != "" && !ok {
			targets[a.id] = doc.AddLink()
			doc.SetLink(targets[a.id], a.y, a.page+1)
		}
	}
	s := &surface{doc: doc}
	for i, p := range pages {
		doc.AddPageFormat("P", gofpdf.SizeType{Wd: p.drawing.W, Ht: p.drawing.H})
		doc.SetFont(family, "", 8)
		doc.SetLineJoinStyle("round")
		for _, a := range anchors {
			if a.page == i {
				doc.Bookmark(clean(a.title), a.level, a.y)
			}
		}
		p.drawing.Draw(s)
		if s.clipped {
			return fmt.Errorf("pdf: page %d: a clip is not closed", i+1)
		}
		for _, k := range p.links {
			if to, ok := targets[k.to]; ok {
				doc.Link(k.box.X, k.box.Y, k.box.W, k.box.H, to)
			}
		}
	}
	var b bytes.Buffer
	if err := doc.Output(&b); err != nil {
		return fmt.Errorf("pdf: %w", err)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// surface draws on the current page. It sets everything it relies on at every
// call, because the state of the writer persists from one to the next.
type surface struct {
	doc     *gofpdf.Fpdf
	clipped bool
}

func (s *surface) stroke(k chart.Stroke) {
	r, g, b := k.Colour.Parts()
	s.doc.SetDrawColor(int(r), int(g), int(b))
	s.doc.SetLineWidth(k.Width)
	s.doc.SetDashPattern(k.Dash, 0)
}

// style prepares filling and stroking and gives the letters for both.
func (s *surface) style(fill chart.Colour, k chart.Stroke) string {
	how := ""
	if fill.On() {
		r, g, b := fill.Parts()
		s.doc.SetFillColor(int(r), int(g), int(b))
		how = "F"
	}
	if k.On() {
		s.stroke(k)
		how += "D"
	}
	return how
}

func (s *surface) Line(l chart.Line) {
	if l.Stroke.On() {
		s.stroke(l.Stroke)
		s.doc.Line(l.From.X, l.From.Y, l.To.X, l.To.Y)
	}
}

func (s *surface) Polyline(l chart.Polyline) {
	if !l.Stroke.On() || len(l.Points) < 2 {
		return
	}
	s.stroke(l.Stroke)
	s.doc.MoveTo(l.Points[0].X, l.Points[0].Y)
	for _, p := range l.Points[1:] {
		s.doc.LineTo(p.X, p.Y)
	}
	s.doc.DrawPath("D")
}

func (s *surface) Rect(r chart.Rect) {
	if how := s.style(r.Fill, r.Stroke); how != "" {
		s.doc.Rect(r.Box.X, r.Box.Y, r.Box.W, r.Box.H, how)
	}
}

func (s *surface) Polygon(p chart.Polygon) {
	how := s.style(p.Fill, p.Stroke)
	if how == "" || len(p.Points) < 3 {
		return
	}
	points := make([]gofpdf.PointType, len(p.Points))
	for i, q := range p.Points {
		points[i] = gofpdf.PointType{X: q.X, Y: q.Y}
	}
	s.doc.Polygon(points, how)
}

func (s *surface) Circle(c chart.Circle) {
	if how := s.style(c.Fill, c.Stroke); how != "" {
		s.doc.Circle(c.Centre.X, c.Centre.Y, c.Radius, how)
	}
}

func (s *surface) Text(t chart.Text) {
	if strings.TrimSpace(t.Words) == "" {
		return
	}
	style := ""
	if t.Bold {
		style = "B"
	}
	s.doc.SetFont(family, style, t.Size)
	r, g, b := t.Colour.Parts()
	s.doc.SetTextColor(int(r), int(g), int(b))
	back := 0.0
	switch t.Anchor {
	case chart.Start:
	case chart.Middle:
		back = t.Width / 2
	case chart.End:
		back = t.Width
	}
	if t.Up {
		s.doc.TransformBegin()
		s.doc.TransformRotate(90, t.At.X, t.At.Y)
		s.doc.Text(t.At.X-back, t.At.Y, t.Words)
		s.doc.TransformEnd()
		return
	}
	s.doc.Text(t.At.X-back, t.At.Y, t.Words)
}

func (s *surface) Clip(b chart.Box) {
	s.doc.ClipRect(b.X, b.Y, b.W, b.H, false)
	s.clipped = true
}

func (s *surface) Unclip() {
	if s.clipped {
		s.doc.ClipEnd()
		s.clipped = false
	}
}
