// Package pdf renders a reports.Document, or one chart, as a PDF. It is the
// only package that knows the PDF writer. Pages are composed completely before
// they are written: header, footer, tables and charts are chart primitives
// with decided places, so that one check finds colliding words anywhere.
package pdf

import (
	"errors"
	"io"
	"strings"

	"chestrise/reports"
	"chestrise/reports/chart"
)

// Renderer writes Documents as PDF. The zero value is ready for use, by
// several goroutines at once.
type Renderer struct{}

var _ reports.Renderer = Renderer{}

// Ext is the extension of the files.
func (Renderer) Ext() string { return ".pdf" }

// Render writes the document whole or returns an error and writes nothing.
// The same document and stamp give the same bytes. A link to a section that
// the document has not is drawn as plain words.
func (Renderer) Render(w io.Writer, d *reports.Document, s reports.Stamp) error {
	if d == nil {
		return errors.New("pdf: no document")
	}
	pages, anchors := compose(d, s)
	return write(w, pages, anchors, meta{
		title: d.Title, subject: d.Subject, keywords: strings.Join(d.Keywords, ", "),
		program: strings.TrimSpace("chestrise " + s.Program), created: s.Created,
	})
}

// Chart writes one chart as a page of its own, with a line beneath that says
// from what it was made; an empty stamp writes no line.
func Chart(w io.Writer, m chart.Model, size chart.Size, n chart.Numbers, s reports.Stamp) error {
	const margin = 6.0
	d := chart.Footed(chart.Lay(m, size, chart.DejaVu(), n), s.Foot(), chart.DejaVu())
	p := chart.Drawing{W: d.W + 2*margin, H: d.H + 2*margin, Title: d.Title, Alt: d.Alt, Items: d.Moved(margin, margin)}
	return write(w, []page{{drawing: p}}, nil, meta{
		title: m.Title, subject: m.Alt, program: strings.TrimSpace("chestrise " + s.Program), created: s.Created,
	})
}
