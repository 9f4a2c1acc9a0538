package pdf

import (
	"chestrise/reports"
	"chestrise/reports/chart"
)

// picture places a drawing on one page; only one that says where it may be cut is
// continued on the next.
func (c *composer) picture(p reports.Picture) {
	d := p.Drawing
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

// columns prints short lists side by side: each card goes whole into the column
// that ends highest. A card that is higher than a page is printed as a list.
func (c *composer) columns(k reports.Columns) {
	var cards []reports.Card
	for _, card := range k.Cards {
		if len(card.Lines) == 0 {
			continue
		}
		if c.cardHeight(card) > c.bottom-c.top {
			c.heading(card.Title)
			c.list(reports.List{Items: card.Lines})
			continue
		}
		cards = append(cards, card)
	}
	for len(cards) > 0 {
		start, ends := c.y, [columnCount]float64{}
		for i := range ends {
			ends[i] = start
		}
		placed := 0
		for _, card := range cards {
			best := 0
			for i := range ends {
				if ends[i] < ends[best]-1e-9 {
					best = i
				}
			}
			h := c.cardHeight(card)
			if ends[best]+h > c.bottom && (placed > 0 || start > c.top) {
				break
			}
			c.card(card, marginX+float64(best)*(columnWidth+columnGap), ends[best])
			ends[best] += h + cardGap
			placed++
		}
		for _, e := range ends {
			c.y = max(c.y, e)
		}
		cards = cards[placed:]
		if len(cards) > 0 {
			c.newPage()
		}
	}
	c.y += 0.8
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
