package casereview

import (
	"chestrise/reports"
	"chestrise/reports/chart"
)

const (
	actionRows   = 3
	actionHeight = 6.6
)

// actions is room to write down what is decided: what, who in which role, until
// when, and what to measure. It is drawn, so that a pen has room.
func (b *builder) actions() reports.Picture {
	t := reports.Table{Title: "Actions", Name: "", Columns: nil, Rows: nil, Empty: ""}
	for _, h := range actionHeads {
		t.Columns = append(t.Columns, reports.Column{Title: h.words, Text: true, Weight: h.width, Format: chart.Plain})
	}
	for range actionRows {
		t.Rows = append(t.Rows, make([]reports.Cell, len(actionHeads)))
	}
	return reports.Picture{Drawing: b.lines(actionRows), Lower: []chart.Drawing{b.lines(actionRows - 1), b.lines(actionRows - 2)}, Table: t}
}

var actionHeads = []struct {
	words string
	width float64
}{{"What will change", 82}, {"Owner (role)", 28}, {"Until", 20}, {"Measure to watch", 44}}

// lines draws so many empty lines under their heads.
func (b *builder) lines(rows int) chart.Drawing {
	d := chart.Drawing{W: 174, H: 0, Title: "Actions", Alt: "An empty table for actions.", Items: nil, Cuts: nil}
	line := func(x1, y1, x2, y2 float64, s chart.Stroke) {
		d.Items = append(d.Items, chart.Line{From: chart.Pos{X: x1, Y: y1}, To: chart.Pos{X: x2, Y: y2}, Stroke: s})
	}
	hair := chart.Stroke{Colour: chart.Rule, Width: 0.15}
	const size = 7.5
	x, top := 0.0, 4.2
	for i, h := range actionHeads {
		t := b.f.Text("column", h.words, size, true, chart.Soft)
		t.At = chart.Pos{X: x, Y: t.Ascent}
		d.Items = append(d.Items, t)
		if i > 0 {
			line(x-1.5, top, x-1.5, top+float64(rows)*actionHeight, hair)
		}
		x += h.width
	}
	line(0, top, d.W, top, chart.Stroke{Colour: chart.Ink, Width: 0.3})
	for r := 1; r <= rows; r++ {
		y := top + float64(r)*actionHeight
		line(0, y, d.W, y, hair)
	}
	d.H = top + float64(rows)*actionHeight + 0.5
	return d
}
