package workbook

import "chestrise/reports"

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
