package workbook

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"chestrise/reports"
	"chestrise/reports/chart"
)

// Sizes of the words of a chart in points.
const (
	plotTitle = 13.0
	plotSmall = 8.0
	plotTiny  = 7.0
	plotLabel = 8.5
)

// place says on which side of its point a label stands, as the file format
// names it.
type place string

const (
	above place = "t"
	below place = "b"
	right place = "r"
)

// blank is a line of a label without words.
const blank = "\u00a0"

// label is a text at a point of the plot.
type label struct {
	x, y   float64 // in the units of the axes
	lines  []string
	place  place
	pt     float64
	bold   bool
	of     string // the line that it names, where it stands at its end
	solid  bool   // on a white ground, so that no line runs through it
	colour string
}

// plot is the geometry of a chart: pixels, axes and the place of every word.
// Periods stand at 1, 2, 3, ... on the horizontal axis.
type plot struct {
	m                        *chart.Model
	locale                   reports.Locale
	w, h                     float64
	left, right, top, bottom float64 // the plot's edges in pixels from the top left
	xmin, xmax               float64
	ymin, ymax, ystep        float64
	title                    []string
	labels                   []label
	named                    map[string]bool // lines that carry their name at their end
}

func newPlot(m *chart.Model, l reports.Locale, w, h float64) *plot {
	p := &plot{m: m, locale: l, w: w, h: h, named: map[string]bool{}}
	p.ymin, p.ymax, p.ystep = valueAxis(m)
	p.title = wrapTo(m.Title, 2, w*0.7, plotTitle, true) // programs wrap wider ones themselves
	p.top = 12 + float64(len(p.title))*plotTitle*1.7

	ticks := 0.0
	for v := p.ymin; v <= p.ymax+p.ystep/2; v += p.ystep {
		ticks = max(ticks, width(l.Numbers().Tick(m.Y.Format, v, p.ystep), plotSmall, false))
	}
	p.left = 16 + ticks + 14
	if m.Y.Label != "" {
		p.left += 18
	}
	ends := p.ends()
	p.right = w - 14
	for _, e := range ends {
		p.right = min(p.right, w-20-widest(e.lines, plotLabel, e.bold))
	}
	p.horizontal()
	p.lanes()
	p.spread(ends)
	p.letters()
	return p
}

// X and Y turn units of the axes into pixels.
func (p *plot) X(x float64) float64 {
	return p.left + (x-p.xmin)/(p.xmax-p.xmin)*(p.right-p.left)
}

func (p *plot) Y(y float64) float64 {
	return p.bottom - (y-p.ymin)/(p.ymax-p.ymin)*(p.bottom-p.top)
}

func (p *plot) unitsPerPixel() float64 { return (p.ymax - p.ymin) / (p.bottom - p.top) }

// ends are the words at the right-hand end of the lines; their heights are
// settled later.
func (p *plot) ends() []label {
	m := p.m
	var out []label
	room := p.w * 0.2
	add := func(key, text string, v float64, bold bool, colour string) {
		if v < p.ymin || v > p.ymax {
			return
		}
		p.named[key] = true
		out = append(out, label{
			y: v, lines: wrapTo(text, 2, room, plotLabel, bold), place: right, pt: plotLabel, bold: bold, colour: colour, of: key,
		})
	}
	number := func(v float64) string { return p.locale.Number(m.Y.Format, v) }
	final := func(get func(chart.Point) *float64) (float64, bool) {
		for i := len(m.Points) - 1; i >= 0 && i >= len(m.Points)-4; i-- {
			if v := get(m.Points[i]); v != nil {
				return *v, true
			}
		}
		return 0, false
	}
	if v, ok := final(func(q chart.Point) *float64 { return q.Centre }); ok {
		name := m.CentreIs
		if name == "" {
			name = "centre"
		}
		add("centre", name+" "+number(v), v, true, ink)
	}
	if m.Target != nil {
		text := "aim " + number(m.Target.Value)
		if m.Target.Text != "" {
			text += ": " + m.Target.Text
		}
		add("aim", text, m.Target.Value, false, ink)
	}
	if v, ok := final(func(q chart.Point) *float64 { return q.Upper }); ok {
		add("upper", "upper limit "+number(v), v, false, soft)
	}
	if v, ok := final(func(q chart.Point) *float64 { return q.Lower }); ok {
		add("lower", "lower limit "+number(v), v, false, soft)
	}
	return out
}

// spread moves the words at the right-hand end apart, as little as it can.
// What finds no room is named in the legend instead.
func (p *plot) spread(ends []label) {
	total := 0.0
	for i, e := range ends {
		total += labelHeight(len(e.lines), e.pt)
		if total > p.bottom-p.top {
			for _, left := range ends[i:] {
				delete(p.named, left.of)
			}
			ends = ends[:i]
			break
		}
	}
	slices.SortStableFunc(ends, func(a, b label) int { return cmp.Compare(b.y, a.y) })
	mid, half := make([]float64, len(ends)), make([]float64, len(ends))
	for i, e := range ends {
		mid[i], half[i] = p.Y(e.y), labelHeight(len(e.lines), e.pt)/2
	}
	for range 40 { // each pair that touches gives way by halves
		for k := 1; k < len(mid); k++ {
			if over := mid[k-1] + half[k-1] - (mid[k] - half[k]); over > 0 {
				mid[k-1] -= over / 2
				mid[k] += over / 2
			}
		}
	}
	for k := range mid { // then none above the plot, and no rest of a touch
		lowest := p.top + half[k]
		if k > 0 {
			lowest = mid[k-1] + half[k-1] + half[k]
		}
		mid[k] = max(mid[k], lowest)
	}
	for k := len(mid) - 1; k >= 0; k-- { // and none under the axis
		most := p.bottom - half[k]
		if k+1 < len(mid) {
			most = mid[k+1] - half[k+1] - half[k]
		}
		mid[k] = min(mid[k], most)
	}
	for k := range ends {
		ends[k].x = p.xmax
		ends[k].y = min(p.ymin+(p.bottom-mid[k])*p.unitsPerPixel(), p.ymax)
	}
	p.labels = append(p.labels, ends...)
}

// labelHeight is the height of a label in pixels.
func labelHeight(lines int, pt float64) float64 { return float64(lines)*pt*1.66 + 2 }

// horizontal settles the axis of periods: which of them are labelled, whether
// the rows of n and known fit beneath, and the plot's lower edge.
func (p *plot) horizontal() {
	n := len(p.m.Points)
	plain := p.right - p.left
	pitch := plain / float64(n)
	short := make([]string, n)
	for i, q := range p.m.Points {
		if short[i] = cut(oneLine(q.Short), 14); short[i] == "" {
			short[i] = cut(oneLine(q.Label), 14)
		}
	}
	fit := func(pt float64) (names float64, rows []chart.Row, strip float64) {
		names = widest(short, pt, false) + 4
		rows, strip = p.rows(plain, names, pt)
		return names, rows, strip
	}
	pt := plotSmall
	names, rows, strip := fit(pt)
	// smaller words only where they save a label or a row
	if n, r, s := fit(plotTiny); n <= pitch && (names > pitch || len(r) > len(rows)) {
		pt, names, rows, strip = plotTiny, n, r, s
	}
	p.xmin, p.xmax = 0.5, float64(n)+0.5
	if len(rows) > 0 {
		pitch = (plain - strip) / float64(n)
		p.xmin -= strip / pitch
	}
	stride := 1
	for _, stride = range []int{1, 2, 3, 4, 6, 12, 24, 48, 96, 192} {
		if float64(stride)*pitch >= names {
			break
		}
	}
	offset, hasYears := 0, false
	for i, q := range p.m.Points {
		if q.Year != "" {
			hasYears = true
			if i > 0 && offset == 0 {
				offset = i % stride
			}
		}
	}
	depth := 1
	if hasYears {
		depth = 2
	}
	depth += len(rows)
	const legend = 30
	p.bottom = p.h - legend - labelHeight(depth, pt) - 6

	year, printed := "", ""
	for i, q := range p.m.Points {
		if q.Year != "" {
			year = oneLine(q.Year)
		}
		if i%stride != offset {
			continue
		}
		lines := []string{short[i]}
		if hasYears {
			if year != printed && (width(year, pt, false)+names)/2 <= float64(stride)*pitch { // its neighbours have none
				lines, printed = append(lines, year), year
			} else {
				lines = append(lines, blank)
			}
		}
		for _, r := range rows {
			t := blank
			if i < len(r.Texts) && r.Texts[i] != "" {
				t = r.Texts[i]
			}
			lines = append(lines, t)
		}
		p.labels = append(p.labels, label{
			x: float64(i + 1), y: p.ymin, lines: lines, place: below, pt: pt, colour: soft,
		})
	}
	if len(rows) > 0 {
		lines := []string{blank}
		if hasYears {
			lines = append(lines, blank)
		}
		for _, r := range rows {
			lines = append(lines, r.Label)
		}
		p.labels = append(p.labels, label{
			x: (p.xmin + 0.5) / 2, y: p.ymin, lines: lines, place: below, pt: pt, colour: ink,
		})
	}
}

// rows are the rows under the axis that fit between the periods, and the width
// that their names take. A row of percentages has its sign in its name.
func (p *plot) rows(plain, names, pt float64) (rows []chart.Row, strip float64) {
	for _, r := range p.m.Rows {
		r.Label, r.Texts = oneLine(r.Label), slices.Clone(r.Texts)
		percent := len(r.Texts) > 0
		for i := range r.Texts {
			r.Texts[i] = oneLine(r.Texts[i])
			percent = percent && (r.Texts[i] == "" || percentText.MatchString(r.Texts[i]))
		}
		cells := 0.0
		for i, t := range r.Texts {
			if percent {
				r.Texts[i] = strings.TrimRight(t, "% \u00a0\u202f")
			}
			cells = max(cells, width(r.Texts[i], pt, false)+4)
		}
		if percent {
			r.Label += " %"
		}
		wide := max(strip, width(r.Label, pt, false)+10)
		if wide < plain/6 && max(cells, names) <= (plain-wide)/float64(len(p.m.Points)) {
			rows, strip = append(rows, r), wide
		}
	}
	return rows, strip
}

// lanes places the words of interventions and phases above the plot, in as
// many lanes as they need. Where they would need more than three, numbers
// stand for them; the words are beneath the chart in any case.
func (p *plot) lanes() {
	type word struct {
		x    float64
		text string
	}
	var words []word
	for _, k := range p.m.Marks {
		if k.At >= 0 && k.At < len(p.m.Points) && oneLine(k.Text) != "" {
			words = append(words, word{float64(k.At + 1), oneLine(k.Text)})
		}
	}
	for _, ph := range p.m.Phases {
		if ph.From > 0 && ph.From < len(p.m.Points) && oneLine(ph.Label) != "" {
			words = append(words, word{float64(ph.From) + 0.5, oneLine(ph.Label)})
		}
	}
	for i := range words {
		for k := i; k > 0 && words[k].x < words[k-1].x; k-- {
			words[k], words[k-1] = words[k-1], words[k]
		}
	}
	var placed []label
	lanes := 0
	for _, most := range []float64{150, 96} {
		placed, lanes = placed[:0], 0
		tall := 1 // lines of the tallest label: the height of a lane
		for _, w := range words {
			tall = max(tall, len(wrapTo(w.text, 2, most, plotSmall, false)))
		}
		var ends [3]float64
		for _, w := range words {
			l := label{
				x: w.x, y: p.ymax, lines: wrapTo(w.text, 2, most, plotSmall, false),
				place: above, pt: plotSmall, colour: ink,
			}
			half := widest(l.lines, plotSmall, false)/2 + 5
			mid := max(half, min(p.X(w.x), p.w-half))
			lane := 0
			for lane < len(ends) && mid-half < ends[lane] {
				lane++
			}
			if lane == len(ends) {
				lanes = len(ends) + 1
				break
			}
			ends[lane] = mid + half
			for range tall * lane { // blank lines lift it above the lanes beneath
				l.lines = append(l.lines, blank)
			}
			lanes = max(lanes, lane+1)
			placed = append(placed, l)
		}
		if lanes <= len(ends) {
			break
		}
	}
	if lanes > 3 {
		placed = nil
	}
	deep := 0
	for _, l := range placed {
		deep = max(deep, len(l.lines))
	}
	if p.bottom-p.top-labelHeight(deep, plotSmall) < p.h*0.4 { // the plot comes first
		placed, deep = nil, 0
	}
	if deep > 0 {
		p.top += labelHeight(deep, plotSmall)
	} else {
		p.top += 6
	}
	p.labels = append(p.labels, placed...)
}

// letters places the letters of the signals above or below their points. A
// letter that would touch other words is left out: its point keeps its shape.
func (p *plot) letters() {
	taken := make([]box, len(p.labels), len(p.labels)+len(p.m.Points))
	for i, l := range p.labels {
		taken[i] = p.box(l)
	}
	said, at := "", 0.0 // the last letters and where they stand
	for i, q := range p.m.Points {
		text, _ := signalAt(p.m, i)
		// a long run in a dense chart need not repeat its letter at each point
		if !q.Has || text == "" || text == said && p.X(float64(i+1))-at < 24 {
			continue
		}
		// the label starts from a place off the point, clear of its shape
		const apart = 7
		for _, side := range []struct {
			place place
			y     float64
		}{{above, q.Value + apart*p.unitsPerPixel()}, {below, q.Value - apart*p.unitsPerPixel()}} {
			l := label{
				x: float64(i + 1), y: side.y, lines: []string{cut(text, 6)}, place: side.place,
				pt: plotLabel, bold: true, solid: true, colour: accent,
			}
			b := p.box(l)
			if b.y0 >= p.top && b.y1 <= p.bottom && !slices.ContainsFunc(taken, b.touches) {
				taken = append(taken, b)
				p.labels = append(p.labels, l)
				said, at = text, p.X(l.x)
				break
			}
		}
	}
}

// box is a rectangle in pixels.
type box struct{ x0, y0, x1, y1 float64 }

func (a box) touches(b box) bool { return a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1 }

// box is the room that a label takes.
func (p *plot) box(l label) box {
	w, h := widest(l.lines, l.pt, l.bold), labelHeight(len(l.lines), l.pt)
	x, y := p.X(l.x), p.Y(l.y)
	switch l.place {
	case above:
		lift := 0.0 // blank lines that lift it take no room
		for k := len(l.lines) - 1; k >= 0 && l.lines[k] == blank; k-- {
			lift += l.pt * 1.66
		}
		b := box{x - w/2, y - h + 2, x + w/2, y - lift}
		if over := b.x1 - p.w; over > 0 { // programs keep labels inside the chart
			b.x0, b.x1 = b.x0-over, b.x1-over
		}
		if b.x0 < 0 {
			b.x0, b.x1 = 0, b.x1-b.x0
		}
		return b
	case below:
		return box{x - w/2, y + 1, x + w/2, y + h}
	case right:
	}
	return box{x + 2, y - h/2 + 1, x + 2 + w, y + h/2 - 1}
}

// valueAxis chooses the ends of the vertical axis and the step of its ticks so
// that everything drawn lies inside.
func valueAxis(m *chart.Model) (lo, hi, step float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	see := func(v *float64) {
		if v != nil {
			lo, hi = min(lo, *v), max(hi, *v)
		}
	}
	for i := range m.Points {
		q := &m.Points[i]
		if q.Has {
			see(&q.Value)
		}
		for _, v := range []*float64{q.Low, q.High, q.Centre, q.Lower, q.Upper} {
			see(v)
		}
	}
	if m.Target != nil {
		see(&m.Target.Value)
	}
	see(m.Y.Min)
	see(m.Y.Max)
	share := m.Y.Format == chart.Percent && (lo >= 0 && hi <= 1 || lo > hi)
	if lo > hi { // nothing to draw
		lo, hi = 0, 1
		if !share {
			hi = 10
		}
	}
	if lo >= 0 && lo <= hi/2 && m.Y.Min == nil {
		lo = 0
	}
	if hi == lo {
		pad := math.Max(math.Abs(hi)*0.1, 0.1)
		if m.Y.Format != chart.Percent {
			pad = math.Max(pad, 1)
		}
		lo, hi = lo-pad, hi+pad
	}
	if m.Y.Max == nil {
		hi += (hi - lo) * 0.04
	}
	if m.Y.Min == nil && lo != 0 {
		lo -= (hi - lo) * 0.04
	}
	if share {
		lo, hi = max(lo, 0), min(hi, 1)
	}
	raw := (hi - lo) / 5
	power := math.Pow(10, math.Floor(math.Log10(raw)))
	step = 10 * power
	for _, k := range []float64{1, 2, 2.5, 5} {
		if k*power >= raw*0.999 {
			step = k * power
			break
		}
	}
	whole := m.Y.Format == chart.Count || m.Y.Format == chart.Births || m.Y.Format == chart.Seconds
	if whole && step < 1 && hi-lo >= 2 {
		step = 1
	}
	lo, hi = tidy(math.Floor(lo/step+1e-9)*step), tidy(math.Ceil(hi/step-1e-9)*step)
	return lo, hi, tidy(step)
}

// tidy removes the dust of binary fractions: 0.30000000000000004 is 0.3.
func tidy(v float64) float64 {
	if v == 0 {
		return 0
	}
	scale := math.Pow(10, 12-math.Ceil(math.Log10(math.Abs(v))))
	return math.Round(v*scale) / scale
}
