package pdf

import (
	"fmt"
	"strings"

	"chestrise/reports"
	"chestrise/reports/chart"
)

// The page: A4 upright, for text and charts alike, so that a report is never
// turned while it is read.
const (
	pageW, pageH = 210.0, 297.0
	marginX      = 18.0
	bodyW        = pageW - 2*marginX
	marginTop    = 11.0
	marginBottom = 9.0
	measure      = 142.0 // the widest line of running text that reads well

	mostNoticeLines = 6
)

// Sizes of type, in points.
const (
	sizeTitle   = 17.0
	sizeSection = 14.0
	sizeHeading = 10.5
	sizeStrong  = 10.0
	sizeText    = 9.0
	sizeSmall   = 7.5
	sizeCard    = 7.0
	sizeFoot    = 6.5
)

func lead(size float64) float64 { return size * 25.4 / 72 * 1.36 }

// composer fills pages from top to bottom.
type composer struct {
	d       *reports.Document
	s       reports.Stamp
	f       *chart.Fonts
	n       chart.Numbers
	pages   []page
	anchors []anchor
	top     float64 // of the body
	bottom  float64
	y       float64
	notices []string   // too long for every page: in full on page one
	heads   []string   // lines of notices on every page
	foot    [][]string // lines of the footer
}

func compose(d *reports.Document, s reports.Stamp) ([]page, []anchor) {
	c := &composer{d: d, s: s, f: chart.DejaVu(), n: d.Locale.Numbers()}
	c.running()
	c.newPage()
	c.titleBlock()
	levels := map[string]int{}
	deepest := -1 // a bookmark is at most one level below the one before it
	first := true
	for _, sec := range d.Sections {
		if sec.SheetOnly {
			continue
		}
		if !first {
			c.newPage()
		}
		first = false
		level := 0
		if up, ok := levels[sec.Parent]; ok && sec.Parent != "" {
			level = min(up+1, deepest+1)
		}
		levels[sec.ID], deepest = level, level
		c.section(sec, level)
	}
	c.stampPages()
	return c.pages, c.anchors
}

func (c *composer) page() *page { return &c.pages[len(c.pages)-1] }

func (c *composer) newPage() {
	c.pages = append(c.pages, page{drawing: chart.Drawing{W: pageW, H: pageH, Title: c.d.Title}})
	c.y = c.top
}

func (c *composer) add(items ...chart.Item) {
	p := c.page()
	p.drawing.Items = append(p.drawing.Items, items...)
}

func (c *composer) link(b chart.Box, to string) {
	if to != "" {
		p := c.page()
		p.links = append(p.links, link{b, to})
	}
}

// room makes sure that so much height is left on the page.
func (c *composer) room(h float64) {
	if c.y+h > c.bottom && c.y > c.top {
		c.newPage()
	}
}

// words places one line whose top is y.
func (c *composer) words(role, words string, x, y, size float64, bold bool, col chart.Colour, a chart.Anchor) chart.Text {
	t := c.f.Text(role, words, size, bold, col)
	t.At, t.Anchor = chart.Pos{X: x, Y: y + t.Ascent}, a
	c.add(t)
	return t
}

// style is how a paragraph looks.
type style struct {
	role  string
	size  float64
	bold  bool
	c     chart.Colour
	width float64
	x     float64
}

// para places wrapped words, line by line over pages.
func (c *composer) para(words string, st style) {
	for _, line := range c.f.Wrap(words, st.size, st.bold, st.width) {
		c.room(lead(st.size))
		c.words(st.role, line, st.x, c.y, st.size, st.bold, st.c, chart.Start)
		c.y += lead(st.size)
	}
}

func (c *composer) rule(y, width float64, col chart.Colour) {
	c.add(chart.Line{From: chart.Pos{X: marginX, Y: y}, To: chart.Pos{X: pageW - marginX, Y: y}, Stroke: chart.Stroke{Colour: col, Width: width}})
}

// running works out what stands on every page and how much room it takes.
func (c *composer) running() {
	c.notices = c.d.Notices
	if c.s.Synthetic && !strings.Contains(strings.ToLower(strings.Join(c.notices, " ")), "synthetic") {
		c.notices = append([]string{"Synthetic data: no newborn in this report exists."}, c.notices...)
	}
	c.top = marginTop + lead(sizeSmall) + 2.4
	for _, n := range c.notices {
		c.heads = append(c.heads, c.f.Wrap(n, sizeSmall, true, bodyW)...)
	}
	if len(c.heads) > mostNoticeLines { // in full on page one
		c.heads = append(c.heads[:mostNoticeLines-1], "… in full on page 1")
	} else {
		c.notices = nil
	}
	c.top += float64(len(c.heads))*lead(sizeSmall) + 5
	c.foot = [][]string{c.f.Wrap(strings.Join(c.s.Words(), " · "), sizeFoot, false, bodyW-26)}
	c.bottom = pageH - marginBottom - float64(max(1, len(c.foot[0])))*lead(sizeFoot) - 5
}

// stampPages writes header and footer once the number of pages is known.
func (c *composer) stampPages() {
	all := c.pages
	for i := range all {
		c.pages = all[:i+1]
		y := marginTop
		unit := c.words("unit", c.fit(c.d.Unit, sizeSmall, true, bodyW*0.62), marginX, y, sizeSmall, true, chart.Soft, chart.Start)
		c.words("period", c.fit(c.d.Period, sizeSmall, false, bodyW-unit.Width-6), pageW-marginX, y, sizeSmall, false, chart.Soft, chart.End)
		y += lead(sizeSmall)
		c.rule(y+0.4, 0.2, chart.Hair)
		y += 2
		for _, line := range c.heads {
			c.words("notice", line, marginX, y, sizeSmall, true, chart.Accent, chart.Start)
			y += lead(sizeSmall)
		}
		lines := c.foot[0]
		y = pageH - marginBottom - float64(max(1, len(lines)))*lead(sizeFoot)
		c.rule(y-1.4, 0.2, chart.Hair)
		for k, line := range lines {
			c.words("stamp", line, marginX, y+float64(k)*lead(sizeFoot), sizeFoot, false, chart.Soft, chart.Start)
		}
		c.words("page", fmt.Sprintf("page %d of %d", i+1, len(all)), pageW-marginX, y, sizeFoot, false, chart.Soft, chart.End)
	}
	c.pages = all
}

// fit shortens a running head that is too long for its line; the title block
// of page one has it whole.
func (c *composer) fit(words string, size float64, bold bool, width float64) string {
	lines := c.f.Wrap(words, size, bold, width)
	if len(lines) < 2 {
		return words
	}
	return c.f.Wrap(words, size, bold, width-3)[0] + " …"
}

func (c *composer) titleBlock() {
	c.para(c.d.Title, style{role: "title", size: sizeTitle, bold: true, c: chart.Ink, width: bodyW, x: marginX})
	var under []string
	for _, w := range []string{c.d.Unit, c.d.Period} {
		if w != "" && !strings.Contains(c.d.Title, w) {
			under = append(under, w)
		}
	}
	if len(under) > 0 {
		c.y += 0.6
		c.para(strings.Join(under, " · "), style{role: "under", size: sizeStrong, c: chart.Soft, width: bodyW, x: marginX})
	}
	if c.s.Issue > 0 && c.s.Replaces > 0 {
		c.para(fmt.Sprintf("Issue %d, replaces issue %d.", c.s.Issue, c.s.Replaces), style{role: "issue", size: sizeStrong, c: chart.Soft, width: bodyW, x: marginX})
	}
	if c.d.Title != "" {
		c.y += 0.8
		c.add(chart.Rect{Box: chart.Box{X: marginX, Y: c.y, W: 24, H: 0.7}, Fill: chart.Accent})
		c.y += 3.6
	}
	for _, n := range c.notices {
		c.text(reports.Text{Text: n})
	}
}

func (c *composer) section(s reports.Section, level int) {
	c.room(lead(sizeSection) + 12)
	c.anchors = append(c.anchors, anchor{id: s.ID, title: s.Title, level: level, page: len(c.pages) - 1, y: c.y})
	head := s.Title
	if s.Headline != "" {
		head = s.Headline
	}
	if head != "" {
		c.para(head, style{role: "section", size: sizeSection, bold: true, c: chart.Ink, width: bodyW, x: marginX})
		c.y += 1.8
	}
	for _, b := range s.Blocks {
		if f, ok := b.(reports.Figure); ok && f.Chart.Title == head {
			f.Chart.Title = "" // the page has said it
			b = f
		}
		c.block(b)
	}
}
