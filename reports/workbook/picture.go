package workbook

import (
	"fmt"

	"chestrise/reports"
)

// spelledOut replaces what a sheet cannot show by what it can: a picture by the
// table behind it, short lists side by side by lists one after the other.
func spelledOut(d *reports.Document) *reports.Document {
	out := *d
	out.Sections = make([]reports.Section, len(d.Sections))
	for i, s := range d.Sections {
		var blocks []reports.Block
		for _, b := range s.Blocks {
			switch b := b.(type) {
			case reports.Picture:
				if len(b.Table.Columns) > 0 {
					blocks = append(blocks, b.Table)
				}
			case reports.Columns:
				if len(b.Spelled) > 0 {
					blocks = append(blocks, b.Spelled...)
					continue
				}
				for _, c := range b.Cards {
					if len(c.Rows) > 0 {
						blocks = append(blocks, cardTable(c))
					}
					if len(c.Lines) > 0 {
						blocks = append(blocks, reports.Heading{Text: c.Title}, reports.List{Items: c.Lines, Ordered: false})
					}
				}
			default:
				blocks = append(blocks, b)
			}
		}
		s.Blocks = blocks
		out.Sections[i] = s
	}
	return &out
}

// cardTable is a card's rows as a table.
func cardTable(c reports.Card) reports.Table {
	t := reports.Table{Title: c.Title, Columns: []reports.Column{{Title: c.Title, Text: true, Weight: 3}}}
	n := len(c.Heads)
	for _, r := range c.Rows {
		n = max(n, len(r.Figures))
	}
	for i := range n {
		head := fmt.Sprintf("figure %d", i+1)
		if i < len(c.Heads) {
			head = c.Heads[i]
		}
		t.Columns = append(t.Columns, reports.Column{Title: head, Text: true})
	}
	for _, r := range c.Rows {
		row := []reports.Cell{{Text: r.Name}}
		for i := range n {
			cell := reports.Cell{}
			if i < len(r.Figures) {
				cell.Text = r.Figures[i]
			}
			row = append(row, cell)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
