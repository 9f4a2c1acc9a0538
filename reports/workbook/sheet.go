package workbook

import (
	"fmt"
	"math"
	"strings"

	"github.com/xuri/excelize/v2"

	"chestrise/reports"
)

// pageWidth is the width in pixels that a sheet fills: an A4 page on its side
// between margins of a centimetre, so that print is near life size.
const pageWidth = 1040.0

const (
	maxRowHeight = 400.0 // points; the format ends at 409
	chartRow     = 15.0  // points, of a row under a chart
	pxPerPoint   = 96.0 / 72
)

// sheet is a sheet while it is written, from the top down.
type sheet struct {
	b      *book
	name   string
	px     []float64 // widths of its columns in pixels
	row    int       // last row written; 0: none
	frozen int       // last row that stays in view
	repeat int       // row printed again on every page; 0: the first
	tables int
	high   map[int]float64 // heights of rows in points
	broken int             // last row before the last page break
}

// setColumns fixes the widths of the columns. It comes before everything else:
// the place of a chart is computed from them.
func (s *sheet) setColumns(px []float64) error {
	s.px = px
	for i, w := range px {
		col, err := excelize.ColumnNumberToName(i + 1)
		if err != nil {
			return err
		}
		if err := s.b.f.SetColWidth(s.name, col, col, chars(w)); err != nil {
			return err
		}
	}
	return nil
}

// chars turns pixels into the file's unit, widths of the digit 0 of the
// standard font (7 pixels) with 5 pixels of padding.
func chars(px float64) float64 { return math.Max(1, math.Round((px-5)/7*100)/100) }

func (s *sheet) total() float64 {
	var w float64
	for _, p := range s.px {
		w += p
	}
	return w
}

// wide is the width of the columns from to to, counted from one.
func (s *sheet) wide(from, to int) float64 {
	var w float64
	for _, p := range s.px[from-1 : to] {
		w += p
	}
	return w
}

func (s *sheet) height(row int, points float64) error {
	points = math.Min(maxRowHeight, math.Round(points*4)/4)
	if s.high == nil {
		s.high = map[int]float64{}
	}
	s.high[row] = points
	return s.b.f.SetRowHeight(s.name, row, points)
}

// gap leaves an empty row.
func (s *sheet) gap(points float64) error {
	s.row++
	return s.height(s.row, points)
}

func (s *sheet) setText(col, row int, l look, text string) error {
	id, err := s.b.style(l)
	if err != nil {
		return err
	}
	if text != "" {
		text = clean(text)
		put := s.b.f.SetCellStr
		if e := escape(text); e != text {
			// the library's store of shared texts confuses escaped ones; what
			// holds an underscore is never taken for a number here
			text, put = e, s.b.f.SetCellDefault
		}
		if err := put(s.name, at(col, row), text); err != nil {
			return err
		}
	}
	return s.b.f.SetCellStyle(s.name, at(col, row), at(col, row), id)
}

func (s *sheet) setNumber(col, row int, l look, v float64) error {
	id, err := s.b.style(l)
	if err != nil {
		return err
	}
	// the library's own way of writing a number cuts it off after 15 digits
	if err := s.b.f.SetCellDefault(s.name, at(col, row), number(v)); err != nil {
		return err
	}
	return s.b.f.SetCellStyle(s.name, at(col, row), at(col, row), id)
}

// link makes a cell lead to another sheet of the workbook.
func (s *sheet) link(col, row int, l look, text, sheetName string) error {
	l.colour, l.underline = accent, true
	if err := s.setText(col, row, l, text); err != nil {
		return err
	}
	tip := "to the sheet " + sheetName
	return s.b.f.SetCellHyperLink(s.name, at(col, row), quoted(sheetName)+"!A1", "Location",
		excelize.HyperlinkOpts{Tooltip: &tip})
}

// linkTo is link to a section by its ID, or plain text where that section has
// no sheet.
func (s *sheet) linkTo(col, row int, l look, text, id string) error {
	if name, ok := s.b.goTo[id]; ok && id != "" && text != "" {
		return s.link(col, row, l, text, name)
	}
	return s.setText(col, row, l, text)
}

// lineHeight is the height in points of a line of text.
func lineHeight(pt float64) float64 { return pt * 1.28 }

// across writes a paragraph over the columns from to to of the next row; a
// very long one is carried on over several rows, so that none is cut off.
func (s *sheet) across(from, to int, l look, text string) error {
	lines := wrap(clean(text), (s.wide(from, to)-14-float64(l.indent)*9)*0.97, l.size, l.bold)
	const most = 24
	for len(lines) > 0 {
		n := min(most, len(lines))
		s.row++
		part := clean(text)
		if n < len(lines) || part == "" || len(lines) > most {
			part = join(lines[:n])
		}
		if err := s.merged(from, to, s.row, l, part); err != nil {
			return err
		}
		if err := s.height(s.row, float64(n)*lineHeight(l.size)+4); err != nil {
			return err
		}
		lines = lines[n:]
		if len(lines) > 0 {
			text = join(lines)
		}
	}
	return nil
}

func join(lines []string) string {
	out := ""
	var outSb170 strings.Builder
	for i, l := range lines {
		if i > 0 {
			outSb170.WriteString(" ")
		}
		outSb170.WriteString(l)
	}
	out += outSb170.String()
	return out
}

// merged writes text into one cell made of the columns from to to of row.
func (s *sheet) merged(from, to, row int, l look, text string) error {
	if err := s.setText(from, row, l, text); err != nil {
		return err
	}
	if from == to {
		return nil
	}
	id, err := s.b.style(l)
	if err != nil {
		return err
	}
	if err := s.b.f.SetCellStyle(s.name, at(from, row), at(to, row), id); err != nil {
		return err
	}
	return s.b.f.MergeCell(s.name, at(from, row), at(to, row))
}

func (s *sheet) last() int { return len(s.px) }

// head writes the sheet's title, the way back and what every page says.
func (s *sheet) head(title string, back bool) error {
	if err := s.across(1, s.last(), titleLook, oneLine(title)); err != nil {
		return err
	}
	if err := s.height(s.row, float64(len(wrap(oneLine(title), s.total()-14, titleLook.size, true)))*21+6); err != nil {
		return err
	}
	s.row++
	line := s.b.whose()
	from := 1
	if back {
		from = 2
		if err := s.link(1, s.row, subLook, "← "+s.b.first.name, s.b.first.name); err != nil {
			return err
		}
	}
	if err := s.merged(from, s.last(), s.row, subLook, line); err != nil {
		return err
	}
	if err := s.height(s.row, 16); err != nil {
		return err
	}
	for _, n := range s.b.notices() {
		if err := s.across(1, s.last(), noticeLook, n); err != nil {
			return err
		}
	}
	s.frozen = s.row
	return s.gap(6)
}

// whose names the unit, the period and the state of the registry.
func (b *book) whose() string {
	out := ""
	for _, part := range []string{oneLine(b.doc.Unit), oneLine(b.doc.Period), b.issueText()} {
		if part == "" {
			continue
		}
		if out != "" {
			out += "  ·  "
		}
		out += part
	}
	return out
}

func (b *book) issueText() string {
	out := ""
	if b.stamp.Issue > 0 {
		out = fmt.Sprintf("issue %d", b.stamp.Issue)
		if b.stamp.Replaces > 0 {
			out += fmt.Sprintf(", replaces issue %d", b.stamp.Replaces)
		}
	}
	if b.stamp.Generation > 0 {
		if out != "" {
			out += "  ·  "
		}
		out += fmt.Sprintf("registry generation %d", b.stamp.Generation)
	}
	return out
}

// section writes a whole section.
func (s *sheet) section(sec *reports.Section) error {
	if err := s.setColumns(s.columnsFor(sec.Blocks)); err != nil {
		return err
	}
	if err := s.head(sec.Title, true); err != nil {
		return err
	}
	if err := s.blocks(sec.Blocks); err != nil {
		return err
	}
	return s.finish()
}
