// Package workbook renders a report as a spreadsheet (.xlsx): contents with
// the overview, a sheet a section with native, editable control charts and
// real tables, and one visible sheet with the ranges that the charts draw
// from. It is the only package that touches the spreadsheet library.
//
// No cell of the workbook holds a formula, nothing is hidden, and the bytes
// depend on the document and the stamp alone.
package workbook

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/xuri/excelize/v2"

	"chestrise/reports"
	"chestrise/reports/chart"
)

// Renderer writes a document as a workbook. The zero value is ready.
type Renderer struct{}

var _ reports.Renderer = Renderer{}

// Ext is the file name's extension, with its dot.
func (Renderer) Ext() string { return ".xlsx" }

// Render writes d to w in one piece, after the whole workbook was built: on an
// error nothing has been written. A number that is not finite is an error that
// names its place.
func (Renderer) Render(w io.Writer, d *reports.Document, s reports.Stamp) error {
	d = spelledOut(d)
	if err := finite(d); err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	b := newBook(d, s)
	defer b.f.Close()
	if err := b.build(); err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	var buf bytes.Buffer
	if err := b.pack(&buf); err != nil {
		return fmt.Errorf("workbook: %w", err)
	}
	if _, err := w.Write(buf.Bytes()); err != nil {
		return fmt.Errorf("workbook: write: %w", err)
	}
	return nil
}

// book is a workbook while it is built.
type book struct {
	f      *excelize.File
	doc    *reports.Document
	stamp  reports.Stamp
	styles map[look]int
	sheets names
	tables names
	goTo   map[string]string // section ID to sheet name
	first  *sheet            // contents
	data   *sheet            // chart data; nil where no chart is drawn
	drawn  []drawing
	charts int
}

func newBook(d *reports.Document, s reports.Stamp) *book {
	return &book{
		f: excelize.NewFile(), doc: d, stamp: s,
		styles: map[look]int{}, sheets: names{}, tables: names{}, goTo: map[string]string{},
	}
}

// drawing is a chart whose place on a sheet is known.
type drawing struct {
	sheet    *sheet
	row, col int
	offset   int // pixels from the cell's corner
	w, h     float64
	model    *chart.Model
	title    string
	small    bool
	points   span // the table of its points, heading row included; small: unused
	columns  pointColumns
}

func (b *book) build() error {
	if err := b.standardFont(); err != nil {
		return err
	}
	// the sheets exist, in order, before the first link points to one
	opening := b.opening()
	contents := "Contents"
	if opening >= 0 {
		contents = b.doc.Sections[opening].Sheet
	}
	first := b.sheets.sheet(contents)
	if err := b.f.SetSheetName("Sheet1", first); err != nil {
		return err
	}
	b.first = &sheet{b: b, name: first}
	var of []*sheet
	for i := range b.doc.Sections {
		s := &b.doc.Sections[i]
		if s.Sheet == "" {
			of = append(of, nil)
			continue
		}
		name := first
		if i != opening {
			name = b.sheets.sheet(s.Sheet)
			if _, err := b.f.NewSheet(name); err != nil {
				return err
			}
		}
		if _, taken := b.goTo[s.ID]; !taken && s.ID != "" {
			b.goTo[s.ID] = name
		}
		of = append(of, &sheet{b: b, name: name})
	}
	if hasCharts(b.doc) {
		name := b.sheets.sheet("Chart data")
		if _, err := b.f.NewSheet(name); err != nil {
			return err
		}
		b.data = &sheet{b: b, name: name}
	}
	if err := b.contents(opening, of); err != nil {
		return err
	}
	for i, s := range of {
		if s == nil || i == opening {
			continue
		}
		if err := s.section(&b.doc.Sections[i]); err != nil {
			return fmt.Errorf("sheet %q: %w", s.name, err)
		}
	}
	if b.data != nil {
		if err := b.data.chartData(); err != nil {
			return fmt.Errorf("sheet %q: %w", b.data.name, err)
		}
	}
	b.f.SetActiveSheet(0)
	return nil
}

// opening is the index of the section that opens the workbook together with
// the contents: the first one with a sheet, if it is an overview. Otherwise
// it is -1.
func (b *book) opening() int {
	for i, s := range b.doc.Sections {
		if s.Sheet == "" {
			continue
		}
		for _, bl := range s.Blocks {
			if _, ok := bl.(reports.Multiples); ok {
				return i
			}
		}
		return -1
	}
	return -1
}

func hasCharts(d *reports.Document) bool {
	for _, s := range d.Sections {
		if s.Sheet == "" {
			continue
		}
		for _, b := range s.Blocks {
			switch b := b.(type) {
			case reports.Figure:
				if len(b.Chart.Points) > 0 {
					return true
				}
			case reports.Multiples:
				for i := range b.Items {
					if len(b.Items[i].Chart.Points) > 0 {
						return true
					}
				}
			}
		}
	}
	return false
}

// notices are the document's, with the mark of synthetic data if it lacks it.
func (b *book) notices() []string {
	var out []string
	marked := !b.stamp.Synthetic
	for _, n := range b.doc.Notices {
		if n = oneLine(n); n != "" {
			out = append(out, n)
			marked = marked || strings.Contains(strings.ToLower(n), "synthetic")
		}
	}
	if !marked {
		out = append([]string{"Synthetic data."}, out...)
	}
	return out
}

// finite refuses numbers that a spreadsheet cannot hold, all at once.
func finite(d *reports.Document) error {
	var bad []error
	check := func(v float64, format string, args ...any) {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			bad = append(bad, fmt.Errorf("%s: not a finite number", fmt.Sprintf(format, args...)))
		}
	}
	model := func(section string, m *chart.Model) {
		for i, p := range m.Points {
			if p.Has {
				check(p.Value, "section %q: chart %q: point %d", section, m.ID, i+1)
			}
			for _, v := range []*float64{p.Low, p.High, p.Centre, p.Lower, p.Upper} {
				if v != nil {
					check(*v, "section %q: chart %q: lines at point %d", section, m.ID, i+1)
				}
			}
		}
		if m.Target != nil {
			check(m.Target.Value, "section %q: chart %q: target", section, m.ID)
		}
		for _, v := range []*float64{m.Y.Min, m.Y.Max} {
			if v != nil {
				check(*v, "section %q: chart %q: axis", section, m.ID)
			}
		}
	}
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			switch b := b.(type) {
			case reports.Table:
				for r, row := range b.Rows {
					for c, cell := range row {
						if cell.Number != nil {
							check(*cell.Number, "section %q: table %q: row %d, column %d", s.ID, b.Name, r+1, c+1)
						}
					}
				}
			case reports.Figure:
				model(s.ID, &b.Chart)
			case reports.Multiples:
				for i := range b.Items {
					model(s.ID, &b.Items[i].Chart)
				}
			}
		}
	}
	return errors.Join(bad...)
}
