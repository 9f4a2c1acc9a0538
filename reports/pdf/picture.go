package pdf

import (
	"math"

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
		case len(card.Lines) == 0:
		case c.cardHeight(card) > c.bottom-c.top:
			c.heading(card.Title)
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
const mostCards = 8

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

func (c *composer) cardHeight(k reports.Card) float64 {
	h := lead(sizeSmall) + 0.8
	for _, line := range k.Lines {
		h += float64(len(c.f.Wrap(line, sizeSmall, false, columnWidth)))*lead(sizeSmall) + 0.5
	}
	return h
}

func (c *composer) card(k reports.Card, x, y float64) {
	c.add(chart.Line{From: chart.Pos{X: x, Y: y}, To: chart.Pos{X: x + columnWidth, Y: y}, Stroke: chart.Stroke{Colour: chart.Rule, Width: 0.25}})
	y += 0.8
	c.words("card", c.fit(k.Title, sizeSmall, true, columnWidth), x, y, sizeSmall, true, chart.Ink, chart.Start)
	y += lead(sizeSmall)
	for _, line := range k.Lines {
		for _, words := range c.f.Wrap(line, sizeSmall, false, columnWidth) {
			c.words("line", words, x, y, sizeSmall, false, chart.Ink, chart.Start)
			y += lead(sizeSmall)
		}
		y += 0.5
	}
}
