package pdf

import (
	"math"
	"strings"

	"chestrise/reports"
	"chestrise/reports/chart"
)

// picture places a drawing on one page, in a lower form where that fits on what is
// left of it; only one that says where it may be cut is
// continued on the next.
func (c *composer) picture(p reports.Picture) {
	d := p.Drawing
	for i := 0; i < len(p.Lower) && c.y+d.H > c.bottom && c.y > c.top; i++ {
		if low := p.Lower[i]; c.y+low.H <= c.bottom {
			d = low
		}
	}
	if len(d.Items) == 0 {
		c.table(p.Table)
		return
	}
	if len(d.Cuts) == 0 {
		c.room(min(d.H, c.bottom-c.top))
		c.add(d.Moved(marginX, c.y)...)
		c.y += d.H + 3
		return
	}
	c.room(min(d.Cuts[0], c.bottom-c.top))
	for i, part := range d.Pages(c.bottom-c.y, c.bottom-c.top) {
		if i > 0 {
			c.newPage()
		}
		c.add(part.Moved(marginX, c.y)...)
		c.y += part.H
	}
	c.y += 3
}

const (
	columnCount = 3
	columnGap   = 4.5
	columnWidth = (bodyW - (columnCount-1)*columnGap) / columnCount
	cardGap     = 2.2
)

// columns prints short lists side by side, so that the columns together are as
// low as can be. What does not fit on a page goes on the next one; a card that is
// higher than a page is printed as a list.
func (c *composer) columns(k reports.Columns) {
	var cards []reports.Card
	for _, card := range k.Cards {
		switch {
		case len(card.Lines) == 0 && len(card.Rows) == 0 && card.Chart == nil:
		case c.cardHeight(card) > c.bottom-c.top:
			c.heading(card.Title)
			for _, r := range card.Rows {
				card.Lines = append(card.Lines, r.Name+": "+strings.Join(r.Figures, ", "))
			}
			c.list(reports.List{Items: card.Lines})
		default:
			cards = append(cards, card)
		}
	}
	for len(cards) > 0 {
		n := min(len(cards), mostCards)
		column, height := c.arrange(cards[:n])
		for height > c.bottom-c.y && n > 1 && c.y == c.top {
			n--
			column, height = c.arrange(cards[:n])
		}
		if height > c.bottom-c.y && c.y > c.top {
			c.newPage()
			continue
		}
		var ends [columnCount]float64
		for i, card := range cards[:n] {
			at := column[i]
			c.card(card, marginX+float64(at)*(columnWidth+columnGap), c.y+ends[at])
			ends[at] += c.cardHeight(card) + cardGap
		}
		c.y += height + cardGap
		cards = cards[n:]
	}
	c.y += 0.8
}

// mostCards is how many cards are arranged at once: every arrangement is tried.
const mostCards = 9

// arrange gives each card its column so that the highest column is lowest; of
// equal arrangements the one that keeps early cards left.
func (c *composer) arrange(cards []reports.Card) (column []int, height float64) {
	heights := make([]float64, len(cards))
	for i, card := range cards {
		heights[i] = c.cardHeight(card) + cardGap
	}
	all := 1
	for range cards {
		all *= columnCount
	}
	height = math.Inf(1)
	for a := range all {
		var ends [columnCount]float64
		try, rest := make([]int, len(cards)), a
		for i := len(cards) - 1; i >= 0; i-- {
			try[i] = rest % columnCount
			rest /= columnCount
		}
		for i, at := range try {
			ends[at] += heights[i]
		}
		if h := max(ends[0], ends[1], ends[2]) - cardGap; h < height-0.01 {
			column, height = try, h
		}
	}
	return column, height
}

// Heights and places in a card, in millimetres.
const (
	cardChartH  = 13.0
	figureWidth = 13.0 // of a column of figures in a card
	figureRoom  = 3.0  // beside the widest figure
	lossIndent  = 2.0
	lineGap     = 0.4
)

// cardRow is a row of a card with its words broken.
type cardRow struct {
	lines  []string
	indent float64
}

// rowsOf breaks the names of a card's rows so that they stay clear of the figures.
func (c *composer) rowsOf(k reports.Card) ([]cardRow, []float64) {
	n := len(k.Heads)
	for _, r := range k.Rows {
		n = max(n, len(r.Figures))
	}
	widths := make([]float64, n)
	for i := range widths {
		if i < len(k.Heads) {
			widths[i] = c.f.Width(k.Heads[i], sizeCard, false)
		}
		for _, r := range k.Rows {
			if i < len(r.Figures) {
				widths[i] = max(widths[i], c.f.Width(r.Figures[i], sizeCard, false))
			}
		}
		widths[i] = max(widths[i]+figureRoom, figureWidth*0.6)
	}
	taken := 0.0
	for _, w := range widths {
		taken += w
	}
	var rows []cardRow
	for _, r := range k.Rows {
		row := cardRow{}
		if r.Loss {
			row.indent = lossIndent
		}
		row.lines = c.f.Wrap(r.Name, sizeCard, false, max(12, columnWidth-taken-row.indent))
		rows = append(rows, row)
	}
	return rows, widths
}

func (c *composer) cardHeight(k reports.Card) float64 {
	h := float64(len(c.f.Wrap(k.Title, sizeCard, true, columnWidth)))*lead(sizeCard) + 0.8
	if k.Chart != nil {
		h += cardChartH + 1
	}
	if len(k.Heads) > 0 {
		h += lead(sizeCard)
	}
	rows, _ := c.rowsOf(k)
	for _, r := range rows {
		h += float64(max(1, len(r.lines)))*lead(sizeCard) + lineGap
	}
	for _, line := range k.Lines {
		h += float64(len(c.f.Wrap(line, sizeCard, false, columnWidth)))*lead(sizeCard) + lineGap
	}
	return h
}

func (c *composer) card(k reports.Card, x, y float64) {
	c.link(chart.Box{X: x, Y: y, W: columnWidth, H: c.cardHeight(k)}, k.Link)
	c.add(chart.Line{From: chart.Pos{X: x, Y: y}, To: chart.Pos{X: x + columnWidth, Y: y}, Stroke: chart.Stroke{Colour: chart.Rule, Width: 0.25}})
	y += 0.8
	for _, words := range c.f.Wrap(k.Title, sizeCard, true, columnWidth) {
		c.words("card", words, x, y, sizeCard, true, chart.Ink, chart.Start)
		y += lead(sizeCard)
	}
	if k.Chart != nil {
		d := chart.LaySmall(*k.Chart, chart.Size{W: columnWidth, H: cardChartH}, c.f, c.n)
		c.add(d.Moved(x, y+0.4)...)
		y += cardChartH + 1
	}
	rows, widths := c.rowsOf(k)
	figures := func(words []string, col chart.Colour) {
		right := x + columnWidth
		for i := len(widths) - 1; i >= 0; i-- {
			if i < len(words) {
				c.words("figure", words[i], right, y, sizeCard, false, col, chart.End)
			}
			right -= widths[i]
		}
	}
	if len(k.Heads) > 0 {
		figures(k.Heads, chart.Soft)
		y += lead(sizeCard)
	}
	for i, r := range rows {
		col := chart.Ink
		if k.Rows[i].Loss {
			col = chart.Soft
		}
		figures(k.Rows[i].Figures, col)
		for n, words := range r.lines {
			c.words("line", words, x+r.indent, y+float64(n)*lead(sizeCard), sizeCard, false, col, chart.Start)
		}
		y += float64(max(1, len(r.lines)))*lead(sizeCard) + lineGap
	}
	for _, line := range k.Lines {
		for _, words := range c.f.Wrap(line, sizeCard, false, columnWidth) {
			c.words("line", words, x, y, sizeCard, false, chart.Ink, chart.Start)
			y += lead(sizeCard)
		}
		y += lineGap
	}
}
