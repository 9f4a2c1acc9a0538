package workbook

import (
	"fmt"
	"strconv"

	"chestrise/reports"
)

// blocks writes a section's blocks; the tables of points behind its charts
// follow at the end, so that the words stay beside the charts.
func (s *sheet) blocks(blocks []reports.Block) error {
	var behind []*drawing
	for i, block := range blocks {
		if err := s.keep(s.atOnce(blocks[i:])); err != nil {
			return err
		}
		if i > 0 {
			if _, table := blocks[i-1].(reports.Table); table {
				if err := s.gap(4); err != nil {
					return err
				}
			}
		}
		var err error
		switch block := block.(type) {
		case reports.Heading:
			err = s.heading(block.Text)
		case reports.Text:
			l := textLook
			if block.Strong {
				l = strongLook
			}
			err = s.across(1, s.last(), l, block.Text)
		case reports.List:
			err = s.list(block)
		case reports.Facts:
			err = s.facts(block)
		case reports.Footnotes:
			for _, t := range block.Items {
				if err = s.across(1, s.last(), footnoteLook, t); err != nil {
					break
				}
			}
		case reports.Table:
			_, err = s.table(&block, i == len(blocks)-1 && len(behind) == 0)
		case reports.Figure:
			var d *drawing
			if d, err = s.figure(&block); d != nil {
				behind = append(behind, d)
			}
		case reports.Multiples:
			err = s.multiples(&block)
		default:
			err = fmt.Errorf("block %d: unknown kind %T", i+1, block)
		}
		if err != nil {
			return err
		}
	}
	for i, d := range behind {
		if err := s.behind(d, i == len(behind)-1); err != nil {
			return err
		}
		s.b.drawn = append(s.b.drawn, *d)
	}
	return nil
}

// atOnce is the height in points that the first of blocks wants on one page:
// a heading stays with what follows, a chart and a small table whole, a large
// table with its first rows.
func (s *sheet) atOnce(blocks []reports.Block) float64 {
	if len(blocks) == 0 {
		return 0
	}
	const row = bodySize*1.28 + 5
	switch b := blocks[0].(type) {
	case reports.Heading:
		return 30 + min(s.atOnce(blocks[1:]), 200)
	case reports.Table:
		rows := len(b.Rows)
		if rows > 12 {
			rows = 4
		}
		return 60 + row*float64(rows)
	case reports.Figure:
		h := figureHeight
		if b.Height > 0 {
			h = figureSize(b.Height)
		}
		return h/pxPerPoint + 30
	case reports.Facts:
		return row * float64(min(len(b.Pairs), 6))
	case reports.Multiples:
		return 20 + 3*(smallHeight+8)/pxPerPoint
	}
	return row
}

func (s *sheet) heading(text string) error {
	if s.row > s.frozen+1 {
		if err := s.gap(8); err != nil {
			return err
		}
	}
	if err := s.across(1, s.last(), headingLook, text); err != nil {
		return err
	}
	return s.height(s.row, s.high[s.row]+4)
}

func (s *sheet) list(l reports.List) error {
	for i, item := range l.Items {
		mark := "•  "
		if l.Ordered {
			mark = strconv.Itoa(i+1) + ".  "
		}
		indented := textLook
		indented.indent = 1
		if err := s.across(1, s.last(), indented, mark+item); err != nil {
			return err
		}
	}
	return nil
}

func (s *sheet) facts(f reports.Facts) error {
	for _, pair := range f.Pairs {
		if err := s.pair(pair[0], pair[1], nameLook, textLook); err != nil {
			return err
		}
	}
	return nil
}

// pair writes a name into the first column and what belongs to it beside it.
func (s *sheet) pair(name, value string, nl, vl look) error {
	if err := s.across(2, s.last(), vl, value); err != nil {
		return err
	}
	if err := s.setText(1, s.row, nl, oneLine(name)); err != nil {
		return err
	}
	need := float64(len(wrap(oneLine(name), s.px[0]-10, nl.size, nl.bold)))*lineHeight(nl.size) + 4
	have, err := s.b.f.GetRowHeight(s.name, s.row)
	if err != nil {
		return err
	}
	if need > have {
		return s.height(s.row, need)
	}
	return nil
}

// columnsFor works out widths that suit everything that stands in columns.
func (s *sheet) columnsFor(blocks []reports.Block) []float64 {
	px := []float64{110}
	need := func(i int, w float64) {
		for len(px) <= i {
			px = append(px, 0)
		}
		px[i] = max(px[i], w)
	}
	grow := -1 // a column of words that may take what is left of the page
	for _, block := range blocks {
		var t *reports.Table
		switch block := block.(type) {
		case reports.Table:
			t = &block
		case reports.Figure:
			for _, p := range block.Chart.Phases {
				need(0, min(220, width(phaseName(&block.Chart, p), bodySize, false)/0.97+14))
			}
			points, _ := pointsTable(&block.Chart)
			t = &points
		case reports.Facts:
			for _, p := range block.Pairs {
				need(0, min(220, width(oneLine(p[0]), bodySize, false)+14))
			}
			continue
		case reports.Multiples:
			for i, w := range overviewWidths(block.Items) {
				need(i, w)
			}
			grow = overviewWords
			continue
		default:
			continue
		}
		for i, w := range tableWidths(t) {
			need(i, w)
		}
		if n := len(t.Columns); n > 0 && t.Columns[n-1].Text && n >= len(px) {
			grow = n - 1
		}
	}
	var total float64
	for i := range px {
		px[i] = max(px[i], 40)
		total += px[i]
	}
	switch rest := pageWidth - total; {
	case rest <= 0:
	case grow >= 0 && grow < len(px) && (grow == len(px)-1 || grow == overviewWords):
		px[grow] += rest
	default:
		for rest > 130 {
			px = append(px, 90)
			rest -= 90
		}
		px = append(px, rest)
	}
	if len(px) == 1 {
		px = append(px, 90)
	}
	return px
}
