package workbook

import (
	"errors"
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"

	"chestrise/reports/chart"
)

// The colours are the chart's own, as the file format writes them.
var (
	ink    = hex(chart.Ink)
	soft   = hex(chart.Soft)
	line   = hex(chart.Rule)
	hair   = hex(chart.Hair)
	pale   = hex(chart.Tint)
	accent = hex(chart.Accent)
	white  = hex(chart.Paper)
)

func hex(c chart.Colour) string { return strings.ToUpper(strings.TrimPrefix(c.Hex(), "#")) }

// face is the workbook's one typeface. Its widths are known (text.go) and a
// free face of the same widths stands in for it where it is missing, so that
// column widths and wrapped rows come out alike everywhere.
const face = "Arial"

const (
	bodySize  = 10.0
	smallSize = 8.5
)

// look is a cell's style. Equal looks share one style in the file.
type look struct {
	size            float64
	bold, underline bool
	colour, fill    string
	align, vertical string
	indent          int
	wrap            bool
	format          string // number format code
	top, bottom     string // colour of the border; empty: none
	left            string
}

// The looks of what stands outside tables.
var (
	titleLook    = look{size: 16, bold: true, colour: ink, vertical: "center", wrap: true}
	subLook      = look{size: smallSize, colour: soft, vertical: "center", wrap: true}
	headingLook  = look{size: 12, bold: true, colour: ink, vertical: "center", wrap: true}
	textLook     = look{size: bodySize, colour: ink, vertical: "top", wrap: true}
	strongLook   = look{size: 11.5, bold: true, colour: ink, vertical: "top", wrap: true}
	noticeLook   = look{size: bodySize, bold: true, colour: accent, vertical: "center", wrap: true}
	footnoteLook = look{size: smallSize, colour: soft, vertical: "top", wrap: true}
	nameLook     = look{size: bodySize, colour: soft, vertical: "top", wrap: true}
	linkLook     = look{size: bodySize, colour: accent, underline: true, vertical: "top", wrap: true}
	headLook     = look{size: bodySize, bold: true, colour: ink, fill: pale, vertical: "center", wrap: true, top: line, bottom: line}
	cellLook     = look{size: bodySize, colour: ink, vertical: "center", wrap: true, bottom: hair}
)

// standardFont sets the font whose digits are the unit of column widths.
func (b *book) standardFont() error {
	if err := b.f.SetDefaultFont(face); err != nil {
		return err
	}
	fonts := b.f.Styles.Fonts
	if fonts == nil || len(fonts.Font) == 0 || fonts.Font[0].Sz == nil {
		return errors.New("style: the library's template has no standard font")
	}
	size := bodySize
	fonts.Font[0].Sz.Val = &size
	return nil
}

func (b *book) style(l look) (int, error) {
	if id, ok := b.styles[l]; ok {
		return id, nil
	}
	s := &excelize.Style{
		Font:      &excelize.Font{Family: face, Size: l.size, Bold: l.bold, Color: l.colour},
		Alignment: &excelize.Alignment{Horizontal: l.align, Vertical: l.vertical, WrapText: l.wrap, Indent: l.indent},
	}
	if l.underline {
		s.Font.Underline = "single"
	}
	if l.fill != "" {
		s.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{l.fill}}
	}
	if l.format != "" {
		s.CustomNumFmt = &l.format
	}
	if l.top != "" {
		s.Border = append(s.Border, excelize.Border{Type: "top", Color: l.top, Style: 1})
	}
	if l.left != "" {
		s.Border = append(s.Border, excelize.Border{Type: "left", Color: l.left, Style: 1})
	}
	if l.bottom != "" {
		s.Border = append(s.Border, excelize.Border{Type: "bottom", Color: l.bottom, Style: 1})
	}
	id, err := b.f.NewStyle(s)
	if err != nil {
		return 0, fmt.Errorf("style: %w", err)
	}
	b.styles[l] = id
	return id, nil
}

// pattern is the number format that shows v just as the page does; the
// decimal mark is left to the program that opens the file.
func pattern(f chart.Format, v float64) string {
	// a character outside the format language has to stand in quotes
	return strings.ReplaceAll(f.Pattern(v), "\u2212", "\"\u2212\"")
}

// axisPattern is the number format of an axis whose ticks are step apart.
func axisPattern(f chart.Format, step float64) string {
	tick := chart.Numbers{}.Tick(f, step, step)
	digits := "0"
	if _, after, ok := strings.Cut(tick, "."); ok {
		n := 0
		for n < len(after) && after[n] >= '0' && after[n] <= '9' {
			n++
		}
		digits += "." + strings.Repeat("0", n)
	}
	switch f {
	case chart.Percent:
		return digits + `" "%`
	case chart.Seconds:
		return digits + `" s"`
	case chart.Celsius:
		return digits + `" °C"`
	case chart.Plain, chart.Births, chart.Count:
	}
	return digits
}
