package workbook

import (
	"strings"

	"github.com/xuri/excelize/v2"

	"chestrise/reports"
)

const (
	mostText   = 330.0 // pixels after which words wrap
	filterMark = 22.0  // pixels of the button of a filter
)

// tableWidths fits the columns of a table to its contents.
func tableWidths(t *reports.Table) []float64 {
	titles := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		titles[i] = c.Title
	}
	out := make([]float64, len(t.Columns))
	for i, title := range headers(titles) {
		// a heading wraps at blanks, its longest word does not
		out[i] = width(title, bodySize, true) / 2
		for word := range strings.FieldsSeq(title) {
			out[i] = max(out[i], width(word, bodySize, true))
		}
		out[i] = min(out[i], 150) + filterMark + 10
	}
	for _, row := range t.Rows {
		for i := range min(len(row), len(out)) {
			text := row[i].Read(t.Columns[i].Format, reports.Locale{})
			for line := range strings.SplitSeq(clean(text), "\n") {
				out[i] = max(out[i], min(mostText, width(line, bodySize, false)/0.97+18))
			}
		}
	}
	return out
}

// table writes a table with filters. Where it is the sheet's last block its
// headings are printed again on every page. It returns where the table
// stands, headings included; without rows, it writes the table's sentence.
func (s *sheet) table(t *reports.Table, last bool) (span, error) {
	if t.Title != "" {
		if err := s.heading(t.Title); err != nil {
			return span{}, err
		}
	} else if s.row > s.frozen+1 {
		if err := s.gap(8); err != nil {
			return span{}, err
		}
	}
	if len(t.Rows) == 0 || len(t.Columns) == 0 {
		text := t.Empty
		if text == "" {
			text = "No rows."
		}
		return span{}, s.across(1, s.last(), textLook, text)
	}
	s.row++
	top := s.row
	titles := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		titles[i] = c.Title
	}
	high := 1
	for i, title := range headers(titles) {
		l := headLook
		l.align, l.indent = aligned(i, t.Columns[i])
		if l.align == "right" {
			l.indent = 2 // clear of the button of the filter
		}
		if err := s.setText(i+1, top, l, title); err != nil {
			return span{}, err
		}
		high = max(high, len(wrap(title, s.px[i]-filterMark-8, bodySize, true)))
	}
	if err := s.height(top, float64(high)*lineHeight(bodySize)+8); err != nil {
		return span{}, err
	}
	for _, row := range t.Rows {
		s.row++
		if err := s.tableRow(t, row); err != nil {
			return span{}, err
		}
	}
	where := span{s.name, 1, top, len(t.Columns), s.row}
	stripes := false
	err := s.b.f.AddTable(s.name, &excelize.Table{
		Range: at(1, top) + ":" + at(len(t.Columns), s.row), Name: s.b.tables.table(t.Name), ShowRowStripes: &stripes,
	})
	if err != nil {
		return span{}, err
	}
	// words that look like numbers are meant as words: no green corners
	if err := s.b.f.AddIgnoredErrors(s.name, at(1, top)+":"+at(len(t.Columns), s.row),
		excelize.IgnoredErrorsNumberStoredAsText); err != nil {
		return span{}, err
	}
	s.tables++
	if s.tables == 1 && top <= 10 {
		s.frozen = top
	}
	if last {
		s.repeat = top
	}
	return where, nil
}

// aligned says how a column stands: numbers to the right, words to the left
// and clear of the numbers before them.
func aligned(i int, c reports.Column) (string, int) {
	switch {
	case !c.Text:
		return "right", 0
	case i > 0:
		return "left", 1
	}
	return "left", 0
}

func (s *sheet) tableRow(t *reports.Table, row []reports.Cell) error {
	high := 1
	for i, c := range t.Columns {
		l := cellLook
		l.align, l.indent = aligned(i, c)
		var cell reports.Cell
		if i < len(row) {
			cell = row[i]
		}
		var err error
		switch {
		case cell.Text == "" && cell.Number != nil:
			l.format = pattern(c.Format, *cell.Number)
			err = s.setNumber(i+1, s.row, l, *cell.Number)
		case cell.Link != "":
			err = s.linkTo(i+1, s.row, l, cell.Text, cell.Link)
		default:
			err = s.setText(i+1, s.row, l, cell.Text)
		}
		if err != nil {
			return err
		}
		if cell.Text != "" {
			high = max(high, len(wrap(clean(cell.Text), (s.px[i]-14)*0.97, bodySize, false)))
		}
	}
	return s.height(s.row, float64(high)*lineHeight(bodySize)+5)
}
