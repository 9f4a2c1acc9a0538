package pdf

import (
	"chestrise/reports"
	"chestrise/reports/chart"
)

const (
	cellGap   = 3.4 // between two columns
	rowPad    = 0.5 // above and below the words of a row
	leastSize = 5.5

	mostHeaderLines = 12
)

// grid is a table with its widths and its size of type decided.
type grid struct {
	t      reports.Table
	cells  [][]string
	widths []float64
	xs     []float64
	size   float64
	right  []bool // numbers stand at the right of their column
	width  float64
}

// table sets a table with rules above, below and under its header, which is
// repeated on every page. Columns are as wide as their words where that fits;
// else words are wrapped, then the type is made smaller; nothing is cut off.
func (c *composer) table(t reports.Table) {
	if t.Title != "" {
		c.room(lead(sizeText) + 3*lead(sizeSmall) + 6)
		c.para(t.Title, style{role: "caption", size: sizeText, bold: true, c: chart.Ink, width: bodyW, x: marginX})
		c.y += 0.8
	}
	if len(t.Rows) == 0 {
		empty := t.Empty
		if empty == "" {
			empty = "No rows."
		}
		c.para(empty, style{role: "empty", size: sizeText, c: chart.Soft, width: measure, x: marginX})
		c.y += 2.4
		return
	}
	if len(t.Columns) == 0 {
		return
	}
	g := c.grid(t)
	head := g.header(c.f)
	c.room(c.rowHeight(g, head) + min(c.rowHeight(g, g.lines(c.f, g.cells[0], false)), 8*lead(g.size)) + 3)
	c.header(g, head)
	for i := range g.cells {
		c.row(g, head, i)
	}
	c.tableRule(g, 0.3, chart.Ink)
	c.y += 4
}

func (c *composer) grid(t reports.Table) grid {
	g := grid{t: t, right: make([]bool, len(t.Columns)), cells: make([][]string, len(t.Rows))}
	for i, row := range t.Rows {
		g.cells[i] = make([]string, len(t.Columns))
		for k := range t.Columns {
			if k < len(row) {
				g.cells[i][k] = row[k].Read(t.Columns[k].Format, c.d.Locale)
			}
		}
	}
	for k, col := range t.Columns {
		g.right[k] = !col.Text
	}
	room := bodyW - float64(len(t.Columns)-1)*cellGap
	for g.size = 8.5; g.size > leastSize; g.size -= 0.5 {
		if g.fit(c.f, room) {
			break
		}
	}
	if g.size <= leastSize {
		g.size = leastSize
		g.squeeze(c.f, room)
	}
	g.xs = make([]float64, len(g.widths))
	x := marginX
	for k, w := range g.widths {
		g.xs[k] = x
		x += w + cellGap
	}
	g.width = x - cellGap - marginX
	return g
}

// natural gives for every column the width of its longest text and of its
// longest piece that cannot be wrapped.
func (g *grid) natural(f *chart.Fonts) (full, least []float64) {
	full, least = make([]float64, len(g.t.Columns)), make([]float64, len(g.t.Columns))
	for k, col := range g.t.Columns {
		least[k] = f.Longest(col.Title, g.size, true)
		full[k] = least[k]
		for i := range g.cells {
			full[k] = max(full[k], f.Width(f.Clean(g.cells[i][k], false), g.size, false))
			if col.Text {
				least[k] = max(least[k], f.Longest(g.cells[i][k], g.size, false))
			} else {
				least[k] = max(least[k], f.Width(f.Clean(g.cells[i][k], false), g.size, false))
			}
		}
		if title := f.Width(f.Clean(col.Title, true), g.size, true); full[k] < title {
			full[k] = max(full[k], min(title, 24))
		}
	}
	return full, least
}

func sum(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x
	}
	return s
}

// fit gives every column the width it likes, or shares what is missing among
// those that can be wrapped, by their weights; false where even wrapping does
// not make room.
func (g *grid) fit(f *chart.Fonts, room float64) bool {
	full, least := g.natural(f)
	if sum(full) <= room {
		g.widths = full
		return true
	}
	if sum(least) > room {
		return false
	}
	// Start from the least and hand out the rest by weight, up to what a column likes.
	g.widths = append([]float64(nil), least...)
	for range len(full) {
		rest, weights := room-sum(g.widths), 0.0
		for k := range full {
			if g.widths[k] < full[k] {
				weights += g.weight(k)
			}
		}
		if rest < 0.01 || weights == 0 {
			break
		}
		for k := range full {
			if g.widths[k] < full[k] {
				g.widths[k] = min(full[k], g.widths[k]+rest*g.weight(k)/weights)
			}
		}
	}
	return true
}

func (g *grid) weight(k int) float64 {
	if w := g.t.Columns[k].Weight; w > 0 {
		return w
	}
	return 1
}

// squeeze is for tables that do not fit even in the smallest type: words are
// broken inside.
func (g *grid) squeeze(f *chart.Fonts, room float64) {
	_, least := g.natural(f)
	total := sum(least)
	g.widths = make([]float64, len(least))
	for k := range least {
		g.widths[k] = room * least[k] / total
	}
}

func (g *grid) lines(f *chart.Fonts, cells []string, bold bool) [][]string {
	out := make([][]string, len(cells))
	for k, words := range cells {
		out[k] = f.Wrap(words, g.size, bold, g.widths[k]+0.01)
	}
	return out
}

func (g *grid) header(f *chart.Fonts) [][]string {
	titles := make([]string, len(g.t.Columns))
	for k, col := range g.t.Columns {
		titles[k] = col.Title
	}
	lines := g.lines(f, titles, true)
	for k, l := range lines {
		if len(l) > mostHeaderLines { // a header that fills the page would leave no room for rows
			lines[k] = append(l[:mostHeaderLines-1:mostHeaderLines-1], "…")
		}
	}
	return lines
}

func (c *composer) rowHeight(g grid, lines [][]string) float64 {
	most := 1
	for _, l := range lines {
		most = max(most, len(l))
	}
	return float64(most)*lead(g.size) + 2*rowPad
}

func (c *composer) tableRule(g grid, width float64, col chart.Colour) {
	c.add(chart.Line{From: chart.Pos{X: marginX, Y: c.y}, To: chart.Pos{X: marginX + g.width, Y: c.y}, Stroke: chart.Stroke{Colour: col, Width: width}})
}

func (c *composer) header(g grid, head [][]string) {
	c.tableRule(g, 0.3, chart.Ink)
	h := c.rowHeight(g, head)
	for k, lines := range head {
		// titles of several lines stand on a common last line
		y := c.y + h - rowPad - float64(len(lines))*lead(g.size)
		c.cell("column", g, k, lines, y, true, chart.Soft)
	}
	c.y += h
	c.tableRule(g, 0.2, chart.Rule)
}

func (c *composer) cell(role string, g grid, k int, lines []string, y float64, bold bool, col chart.Colour) {
	x, a := g.xs[k], chart.Start
	if g.right[k] {
		x, a = x+g.widths[k], chart.End
	}
	for i, line := range lines {
		c.words(role, line, x, y+float64(i)*lead(g.size), g.size, bold, col, a)
	}
}

// row sets a row; one higher than the rest of the page moves to the next, one
// higher than a whole page is continued.
func (c *composer) row(g grid, head [][]string, i int) {
	lines := g.lines(c.f, g.cells[i], false)
	next := func() {
		c.tableRule(g, 0.2, chart.Rule)
		c.newPage()
		c.header(g, head)
	}
	full := c.bottom - c.top - c.rowHeight(g, head)
	if h := c.rowHeight(g, lines); h <= full && c.y+h > c.bottom {
		next()
	}
	for {
		fits := int((c.bottom - c.y - 2*rowPad) / lead(g.size))
		if fits < 1 {
			next()
			fits = max(1, int((c.bottom-c.y-2*rowPad)/lead(g.size)))
		}
		now, later := make([][]string, len(lines)), make([][]string, len(lines))
		more := false
		for k, l := range lines {
			now[k], later[k] = l[:min(fits, len(l))], l[min(fits, len(l)):]
			more = more || len(later[k]) > 0
		}
		c.rowLines(g, now, i)
		if !more {
			return
		}
		lines = later
		next()
	}
}

func (c *composer) rowLines(g grid, lines [][]string, i int) {
	h := c.rowHeight(g, lines)
	for k, l := range lines {
		c.cell("cell", g, k, l, c.y+rowPad, false, chart.Ink)
		if row := g.t.Rows[i]; k < len(row) && row[k].Link != "" && len(l) > 0 {
			c.link(chart.Box{X: g.xs[k], Y: c.y, W: g.widths[k], H: h}, row[k].Link)
			y := c.y + rowPad + float64(len(l)-1)*lead(g.size) + g.size*25.4/72*0.92
			from, to := g.xs[k], g.xs[k]+min(g.widths[k], c.f.Width(l[len(l)-1], g.size, false))
			if g.right[k] {
				from, to = g.xs[k]+g.widths[k]-(to-from), g.xs[k]+g.widths[k]
			}
			c.add(chart.Line{From: chart.Pos{X: from, Y: y}, To: chart.Pos{X: to, Y: y}, Stroke: chart.Stroke{Colour: chart.Rule, Width: 0.15, Dash: []float64{0.4, 0.6}}})
		}
	}
	c.y += h
	if i+1 < len(g.cells) {
		c.tableRule(g, 0.1, chart.RGB(0xdfe2e5))
	}
}
