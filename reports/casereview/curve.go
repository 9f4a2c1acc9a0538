package casereview

import (
	"fmt"

	"chestrise/reports"
	"chestrise/reports/chart"
)

// curveEnd is how many seconds of ventilation the curve shows.
const curveEnd = 180.0

// curveDrawing draws the curves over seconds of ventilation, both to the same
// scale; the later side is the darker line. false: nothing to draw.
func curveDrawing(all []curve, size chart.Size, scale float64, f *chart.Fonts, foot []string, l reports.Locale) (chart.Drawing, bool) {
	some := false
	for i := range all {
		some = some || all[i].n > 0
	}
	d := chart.Drawing{W: size.W, H: size.H, Title: "How soon ventilation was on record as working", Alt: "Cumulative share of newborns with a sign of effective ventilation by seconds of ventilation.", Items: nil, Cuts: nil}
	if !some {
		return d, false
	}
	base := 7.5 * scale
	lead := base * 25.4 / 72 * 1.32
	y := 0.0
	put := func(role, words string, x, y, size float64, bold bool, c chart.Colour, a chart.Anchor) {
		t := f.Text(role, words, size, bold, c)
		t.At, t.Anchor = chart.Pos{X: x, Y: y + t.Ascent}, a
		d.Items = append(d.Items, t)
	}
	if foot != nil {
		put("title", d.Title, 0, 0, base*1.5, true, chart.Ink, chart.Start)
		y += lead * 1.9
	}
	put("axis", "share of newborns with a sign on record", 0, y, base, false, chart.Soft, chart.Start)
	y += lead * 1.5
	var notes []string
	for _, w := range foot {
		notes = append(notes, f.Wrap(w, base*0.8, false, size.W)...)
	}
	bottom := size.H - float64(len(notes))*lead*0.8 - 2*lead - 2
	left := f.Width("100 %", base, false) + 2
	// The words at the right take what the longest of them needs.
	words := make([][]string, len(all))
	column := 0.0
	for i := range all {
		words[i] = []string{all[i].name, plural(all[i].n, "newborn", "newborns")}
		for _, s := range curveLimits {
			if all[i].n > 0 {
				words[i] = append(words[i], fmt.Sprintf("by %.0f s: %s", s, all[i].share(s, l)))
			}
		}
		for k, w := range words[i] {
			column = max(column, f.Width(w, base, k == 0))
		}
	}
	right := size.W - column - 6
	x := func(s float64) float64 { return left + min(s, curveEnd)/curveEnd*(right-left) }
	h := func(share float64) float64 { return bottom - share*(bottom-y) }
	for _, v := range []float64{0, 0.25, 0.5, 0.75, 1} {
		d.Items = append(d.Items, chart.Line{From: chart.Pos{X: left, Y: h(v)}, To: chart.Pos{X: right, Y: h(v)}, Stroke: chart.Stroke{Colour: chart.Hair, Width: 0.15}})
		t := f.Text("tick", fmt.Sprintf("%.0f %%", v*100), base, false, chart.Soft)
		t.At, t.Anchor = chart.Pos{X: left - 1, Y: h(v) + t.Ascent*0.48}, chart.End
		d.Items = append(d.Items, t)
	}
	for s := 0.0; s <= curveEnd; s += 30 {
		d.Items = append(d.Items, chart.Line{From: chart.Pos{X: x(s), Y: bottom}, To: chart.Pos{X: x(s), Y: bottom + 1}, Stroke: chart.Stroke{Colour: chart.Rule, Width: 0.2}})
		anchor := chart.Middle
		if s == 0 {
			anchor = chart.Start // clear of the lowest share
		}
		put("tick", fmt.Sprintf("%.0f s", s), x(s), bottom+1.2, base, false, chart.Soft, anchor)
	}
	put("axis", "seconds from the first inflation", left, bottom+1.2+lead, base, false, chart.Soft, chart.Start)
	at := y
	for i := range all {
		c := &all[i]
		stroke := chart.Stroke{Colour: chart.Ink, Width: 0.55 * scale, Dash: nil}
		if i < len(all)-1 {
			stroke = chart.Stroke{Colour: chart.Rule, Width: 0.45 * scale, Dash: []float64{1.6, 0.9}}
		}
		if c.n > 0 {
			line := []chart.Pos{{X: x(0), Y: h(0)}}
			share := 0.0
			for _, st := range c.in.Steps {
				if st.At > curveEnd {
					break
				}
				line = append(line, chart.Pos{X: x(st.At), Y: h(share)}, chart.Pos{X: x(st.At), Y: h(st.Share)})
				share = st.Share
			}
			if end := min(c.in.Last, curveEnd); x(end) > line[len(line)-1].X {
				line = append(line, chart.Pos{X: x(end), Y: h(share)})
			}
			if len(line) > 1 {
				d.Items = append(d.Items, chart.Polyline{Points: line, Stroke: stroke})
			}
		}
		d.Items = append(d.Items, chart.Line{From: chart.Pos{X: right + 1, Y: at + lead*0.4}, To: chart.Pos{X: right + 5, Y: at + lead*0.4}, Stroke: stroke})
		for k, w := range words[i] {
			put("side", w, right+6, at, base, k == 0, chart.Ink, chart.Start)
			at += lead
		}
		at += lead * 0.7
	}
	yy := bottom + 1.2 + 2*lead + 0.6
	for _, w := range notes {
		put("foot", w, 0, yy, base*0.8, false, chart.Soft, chart.Start)
		yy += lead * 0.8
	}
	d.H = max(size.H, yy)
	return d, true
}
