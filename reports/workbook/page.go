package workbook

import (
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"
)

// finish sets what a sheet looks like on the screen and on paper, after its
// last row.
func (s *sheet) finish() error {
	f := s.b.f
	off, on := false, true
	if err := f.SetSheetView(s.name, 0, &excelize.ViewOptions{ShowGridLines: &off}); err != nil {
		return err
	}
	if s.frozen > 0 {
		err := f.SetPanes(s.name, &excelize.Panes{
			Freeze: true, YSplit: s.frozen, TopLeftCell: at(1, s.frozen+1), ActivePane: "bottomLeft",
			Selection: []excelize.Selection{{SQRef: at(1, s.frozen+1), ActiveCell: at(1, s.frozen+1), Pane: "bottomLeft"}},
		})
		if err != nil {
			return err
		}
	}
	props := &excelize.SheetPropsOptions{FitToPage: &on}
	if s == s.b.first {
		props.TabColorRGB = &accent
	}
	if err := f.SetSheetProps(s.name, props); err != nil {
		return err
	}
	a4, wide, one, asMany := 9, "landscape", 1, 0
	if err := f.SetPageLayout(s.name, &excelize.PageLayoutOptions{
		Size: &a4, Orientation: &wide, FitToWidth: &one, FitToHeight: &asMany,
	}); err != nil {
		return err
	}
	side, ends, edge := 0.4, 0.75, 0.3
	if err := f.SetPageMargins(s.name, &excelize.PageLayoutMarginsOptions{
		Left: &side, Right: &side, Top: &ends, Bottom: &ends, Header: &edge, Footer: &edge,
		Horizontally: &on,
	}); err != nil {
		return err
	}
	header, footer := s.b.margins()
	if err := f.SetHeaderFooter(s.name, &excelize.HeaderFooterOptions{OddHeader: header, OddFooter: footer}); err != nil {
		return err
	}
	repeat := s.repeat
	if repeat == 0 {
		repeat = 1
	}
	for _, n := range []excelize.DefinedName{
		{Name: "_xlnm.Print_Area", RefersTo: span{s.name, 1, 1, s.last(), s.row}.String(), Scope: s.name},
		{Name: "_xlnm.Print_Titles", RefersTo: fmt.Sprintf("%s!$%d:$%d", quoted(s.name), repeat, repeat), Scope: s.name},
	} {
		if err := f.SetDefinedName(&n); err != nil {
			return err
		}
	}
	return nil
}

// pageHeight is the height in points between the margins of a page.
const pageHeight = 595 - 2*0.75*72

// keep starts a new page unless so many points are left on this one. It walks
// through the rows as the printer will, whose page is fitted to the width of
// the sheet. What is higher than a page is left alone.
func (s *sheet) keep(points float64) error {
	room := pageHeight * max(1, s.total()/pageWidth)
	used := 0.0
	for row := s.broken + 1; row <= s.row; row++ {
		h, ok := s.high[row]
		if !ok {
			h = chartRow
		}
		if used += h; used > room {
			used = s.high[1] + h
		}
	}
	if used == 0 || used+points <= room || points > room-s.high[1] {
		return nil
	}
	return s.newPage()
}

// newPage starts a new page after the last row.
func (s *sheet) newPage() error {
	s.broken = s.row
	return s.b.f.InsertPageBreak(s.name, at(1, s.row+1))
}

// margins are the header and the footer of every page: unit and period above,
// notices, state of the registry and page below.
func (b *book) margins() (header, footer string) {
	part := func(s string, units int) string {
		s = cut(oneLine(s), units)
		for utf16Len(strings.ReplaceAll(s, "&", "&&")) > units { // each & counts twice
			s = cut(s, utf16Len(s)-1)
		}
		return strings.ReplaceAll(s, "&", "&&")
	}
	const small = "&8 " // the blank keeps the size apart from digits that follow
	header = "&L" + small + part(b.doc.Unit, 70) + "&C" + small + part(b.doc.Title, 90) + "&R" + small + part(b.doc.Period, 60)
	// two lines, so that long notices have the whole width
	footer = "&L" + small + part(strings.Join(b.notices(), " "), 130) + "\n " + part(b.issueText(), 70) +
		"&R" + small + "\npage &P of &N"
	return header, footer
}
