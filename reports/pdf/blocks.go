package pdf

import (
	"strconv"

	"chestrise/reports"
	"chestrise/reports/chart"
)

func (c *composer) block(b reports.Block) {
	switch b := b.(type) {
	case reports.Heading:
		c.heading(b.Text)
	case reports.Text:
		c.text(b)
	case reports.List:
		c.list(b)
	case reports.Facts:
		c.facts(b)
	case reports.Footnotes:
		c.footnotes(b)
	case reports.Figure:
		c.figure(b)
	case reports.Multiples:
		c.multiples(b)
	case reports.Table:
		c.table(b)
	case reports.Picture:
		c.picture(b)
	case reports.Columns:
		c.columns(b)
	}
}

func (c *composer) heading(words string) {
	if c.y > c.top {
		c.y += 2.6
	}
	c.room(lead(sizeHeading) + 14) // not alone at the foot of a page
	c.para(words, style{role: "heading", size: sizeHeading, bold: true, c: chart.Ink, width: bodyW, x: marginX})
	c.y += 0.8
}

// text sets a paragraph; one to be read first is larger, with a bar in front.
func (c *composer) text(t reports.Text) {
	if !t.Strong {
		c.para(t.Text, style{role: "text", size: sizeText, c: chart.Ink, width: measure, x: marginX})
		c.y += 1.8
		return
	}
	lines := c.f.Wrap(t.Text, sizeStrong, true, measure)
	for _, line := range lines {
		c.room(lead(sizeStrong))
		c.add(chart.Rect{Box: chart.Box{X: marginX, Y: c.y - 0.3, W: 0.7, H: lead(sizeStrong)}, Fill: chart.Accent})
		c.words("strong", line, marginX+3, c.y+0.3, sizeStrong, true, chart.Ink, chart.Start)
		c.y += lead(sizeStrong)
	}
	c.y += 2.2
}

func (c *composer) list(l reports.List) {
	const indent = 5.0
	for i, item := range l.Items {
		key := "–"
		if l.Ordered {
			key = strconv.Itoa(i+1) + "."
		}
		c.room(lead(sizeText))
		c.words("bullet", key, marginX, c.y, sizeText, false, chart.Soft, chart.Start)
		if item == "" {
			c.y += lead(sizeText)
			continue
		}
		c.para(item, style{role: "item", size: sizeText, c: chart.Ink, width: measure - indent, x: marginX + indent})
		c.y += 0.7
	}
	c.y += 1.4
}

// facts sets names in a column of their own, as wide as the widest.
func (c *composer) facts(f reports.Facts) {
	widest := 0.0
	for _, p := range f.Pairs {
		widest = max(widest, c.f.Width(p[0], sizeText, false))
	}
	column := min(widest, 46) + 4
	for _, p := range f.Pairs {
		names := c.f.Wrap(p[0], sizeText, false, column-4)
		values := c.f.Wrap(p[1], sizeText, false, measure-column)
		for k := range max(len(names), len(values)) {
			c.room(lead(sizeText))
			if k < len(names) {
				c.words("fact", names[k], marginX, c.y, sizeText, false, chart.Soft, chart.Start)
			}
			if k < len(values) {
				c.words("value", values[k], marginX+column, c.y, sizeText, false, chart.Ink, chart.Start)
			}
			c.y += lead(sizeText)
		}
		c.y += 0.5
	}
	c.y += 1.6
}

func (c *composer) footnotes(f reports.Footnotes) {
	if len(f.Items) == 0 {
		return
	}
	c.room(lead(sizeSmall)*2 + 2)
	c.y += 0.6
	c.add(chart.Line{From: chart.Pos{X: marginX, Y: c.y}, To: chart.Pos{X: marginX + 24, Y: c.y}, Stroke: chart.Stroke{Colour: chart.Hair, Width: 0.2}})
	c.y += 1.4
	for _, item := range f.Items {
		c.para(item, style{role: "footnote", size: sizeSmall, c: chart.Soft, width: measure, x: marginX})
		c.y += 0.4
	}
	c.y += 1.6
}

// figure sets a chart. One that does not fit moves to a new page; one that is
// higher than a page, because of what is explained beneath it, goes on there.
func (c *composer) figure(f reports.Figure) {
	size := chart.Size{W: bodyW, H: f.Height}
	if size.H <= 0 {
		size.H = chart.OnPage.H
	}
	size.H = min(size.H, c.bottom-c.top)
	if f.Brief {
		f.Chart.Notes, f.Chart.Terse = nil, true
	}
	d := chart.Lay(f.Chart, size, c.f, c.n)
	plot := d.H
	if len(d.Cuts) > 0 && d.H > c.bottom-c.top {
		plot = d.Cuts[0]
	}
	c.room(plot)
	for i, part := range d.Pages(c.bottom-c.y, c.bottom-c.top) {
		if i > 0 {
			c.newPage()
		}
		c.add(part.Moved(marginX, c.y)...)
		c.y += part.H
	}
	c.y += 3
}

// The columns of an overview line, in millimetres from the left margin.
const (
	overLatest = 52.0
	overChart  = 91.0
	overWords  = 134.0
	overGap    = 3.0
	overHeight = 12.5 // of the small chart
)

// multiples sets one line a measure: name, last figures, small chart, words,
// completeness.
func (c *composer) multiples(m reports.Multiples) {
	if len(m.Items) == 0 {
		return
	}
	head := func() {
		for _, h := range []struct {
			words string
			x     float64
		}{{"measure", 0}, {"latest, and centre line", overLatest}, {"last 24 periods", overChart}, {"what it says", overWords}} {
			c.words("column", h.words, marginX+h.x, c.y, sizeSmall, false, chart.Soft, chart.Start)
		}
		c.y += lead(sizeSmall) + 0.6
		c.rule(c.y, 0.3, chart.Ink)
		c.y += 1.6
	}
	c.room(lead(sizeSmall) + 22)
	head()
	for _, item := range m.Items {
		beneath := ""
		if words := c.f.Wrap(item.Words, sizeOver, false, bodyW-overWords); len(words) > mostOverLines {
			item.Words, beneath = "", item.Words // too long for the column: across the page, under the line
		}
		cells := []overCell{
			{0, overLatest - overGap, []overWord{{item.Title, true, chart.Ink}, {item.Direction, false, chart.Soft}}},
			{overLatest, overChart - overLatest - overGap, []overWord{{item.Latest, true, chart.Ink}, {item.Centre, false, chart.Soft}, {item.Open, false, chart.Soft}}},
			{overWords, bodyW - overWords, []overWord{{item.Words, false, chart.Ink}, {item.Known, false, chart.Soft}}},
		}
		height := overHeight
		for _, cell := range cells {
			height = max(height, c.overHeight(cell))
		}
		if c.y+height+3 > c.bottom && c.y > c.top {
			c.newPage()
			head()
		}
		for _, cell := range cells {
			c.overCell(cell)
		}
		d := chart.LaySmall(item.Chart, chart.Size{W: chart.InRow.W, H: height}, c.f, c.n)
		c.add(d.Moved(marginX+overChart, c.y)...)
		c.link(chart.Box{X: marginX, Y: c.y, W: bodyW, H: height}, item.Link)
		c.y += height
		if beneath != "" {
			c.y++
			c.para(beneath, style{role: "overview", size: sizeOver, c: chart.Ink, width: measure, x: marginX})
		}
		c.y += 0.9
		c.rule(c.y, 0.15, chart.Hair)
		c.y += 1.1
	}
	c.y += 2.5
}

type overWord struct {
	words string
	bold  bool
	c     chart.Colour
}

type overCell struct {
	x, width float64
	words    []overWord
}

const (
	sizeOver      = 7.5
	mostOverLines = 8
)

func (c *composer) overHeight(cell overCell) float64 {
	h := 0.0
	for _, w := range cell.words {
		h += float64(len(c.f.Wrap(w.words, sizeOver, w.bold, cell.width))) * lead(sizeOver)
	}
	return h
}

func (c *composer) overCell(cell overCell) {
	y := c.y
	for _, w := range cell.words {
		for _, line := range c.f.Wrap(w.words, sizeOver, w.bold, cell.width) {
			c.words("overview", line, marginX+cell.x, y, sizeOver, w.bold, w.c, chart.Start)
			y += lead(sizeOver)
		}
	}
}
