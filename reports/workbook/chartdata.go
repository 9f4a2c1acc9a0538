package workbook

import (
	"fmt"
	"math"
	"strconv"

	"github.com/xuri/excelize/v2"

	"chestrise/reports/chart"
)

// list is a column of numbers that a chart draws from, and where it stands.
type list struct {
	head  string
	nums  []float64
	has   []bool // false: an empty cell, a gap in the line
	texts []string
	name  span // the heading cell: the name of the series
	where span
}

func (l *list) add(v float64)   { l.nums, l.has = append(l.nums, v), append(l.has, true) }
func (l *list) gap()            { l.nums, l.has = append(l.nums, 0), append(l.has, false) }
func (l *list) len() int        { return max(len(l.nums), len(l.texts)) }
func (l *list) any() bool       { return anyTrue(l.has) }
func (l *list) put(v *float64)  { l.putIf(v != nil, v) }
func (l *list) label(s string)  { l.texts = append(l.texts, s) }
func anyTrue(flags []bool) bool { return indexTrue(flags) >= 0 }

func (l *list) putIf(has bool, v *float64) {
	if has {
		l.add(*v)
		return
	}
	l.gap()
}

func indexTrue(flags []bool) int {
	for i, f := range flags {
		if f {
			return i
		}
	}
	return -1
}

// group is a set of columns of equal length that belong together.
type group struct {
	title string
	lists []*list
}

// ranges are the columns that a chart draws from.
type ranges struct {
	no, value                        *list // on the measure's own sheet, or here for a small chart
	stepX, centre, lower, upper      *list
	targetX, target                  *list
	boundsX, bounds                  *list
	hollowX, hollow, signalX, signal *list
	marksX, marks, phasesX, phases   *list
	labelX, labelY, labelText        *list
	bare                             []bool // points that another list marks
	groups                           []group
}

// phaseGap is how far the lines of neighbouring phases stay apart, in periods.
const phaseGap = 0.12

func newRanges(m *chart.Model, p *plot, small bool) *ranges {
	r := &ranges{}
	n := len(m.Points)
	r.no, r.value = &list{head: "period"}, &list{head: valueName(m)}
	for i := range m.Points {
		q := &m.Points[i]
		r.no.add(float64(i + 1))
		r.value.putIf(q.Has, &q.Value)
	}
	if small {
		r.groups = append(r.groups, group{"points", []*list{r.no, r.value}})
	}
	r.steps(m)
	r.pick(m)
	if m.Target != nil {
		r.targetX, r.target = &list{head: "period"}, &list{head: "target"}
		r.targetX.nums, r.targetX.has = []float64{0.5, float64(n) + 0.5}, []bool{true, true}
		r.target.nums, r.target.has = []float64{m.Target.Value, m.Target.Value}, []bool{true, true}
		r.groups = append(r.groups, group{"target", []*list{r.targetX, r.target}})
	}
	if small {
		return r
	}
	vertical := func(title, head string, at []float64) (x, y *list) {
		x, y = &list{head: "period"}, &list{head: head}
		for i, v := range at {
			if i > 0 {
				x.gap()
				y.gap()
			}
			x.add(v)
			y.add(p.ymin)
			x.add(v)
			y.add(p.ymax)
		}
		if len(at) > 0 {
			r.groups = append(r.groups, group{title, []*list{x, y}})
		}
		return x, y
	}
	var marks, phases []float64
	for _, k := range m.Marks {
		if k.At >= 0 && k.At < n {
			marks = append(marks, float64(k.At+1))
		}
	}
	for _, ph := range m.Phases {
		if ph.From > 0 && ph.From < n {
			phases = append(phases, float64(ph.From)+0.5)
		}
	}
	r.marksX, r.marks = vertical("interventions: upright lines", "intervention", marks)
	r.phasesX, r.phases = vertical("new phases: upright lines", "new phase", phases)

	r.labelX, r.labelY, r.labelText = &list{head: "across"}, &list{head: "up"}, &list{head: "words"}
	for _, l := range p.labels {
		r.labelX.add(l.x)
		r.labelY.add(l.y)
		r.labelText.label(oneLine(join(l.lines)))
	}
	r.groups = append(r.groups, group{"words in the chart and where they stand", []*list{r.labelX, r.labelY, r.labelText}})
	return r
}

func valueName(m *chart.Model) string {
	if m.Y.Label == "" {
		return "value"
	}
	return cut(oneLine(m.Y.Label), 60) // it is a heading and a line of the legend
}

// steps writes centre and limits with two places a period, so that they are
// drawn as steps, and a gap between phases.
func (r *ranges) steps(m *chart.Model) {
	r.stepX = &list{head: "period"}
	r.centre = &list{head: centreTitle(m)}
	r.lower, r.upper = &list{head: "lower limit"}, &list{head: "upper limit"}
	all := []*list{r.stepX, r.centre, r.lower, r.upper}
	for i := range m.Points {
		q := &m.Points[i]
		from, to := float64(i)+0.5, float64(i)+1.5
		if i > 0 && q.Phase != m.Points[i-1].Phase {
			for _, l := range all {
				l.gap()
			}
			from += phaseGap
		}
		if i+1 < len(m.Points) && q.Phase != m.Points[i+1].Phase {
			to -= phaseGap
		}
		for _, x := range []float64{from, to} {
			r.stepX.add(x)
			r.centre.put(q.Centre)
			r.lower.put(q.Lower)
			r.upper.put(q.Upper)
		}
	}
	g := group{"centre and limits: two places a period, drawn as steps", []*list{r.stepX}}
	for _, l := range all[1:] {
		if l.any() {
			g.lists = append(g.lists, l)
		}
	}
	if len(g.lists) > 1 {
		r.groups = append(r.groups, g)
	}
}

// pick writes the points that are drawn differently.
func (r *ranges) pick(m *chart.Model) {
	r.boundsX, r.bounds = &list{head: "period"}, &list{head: "range if the unknown were known"}
	r.hollowX, r.hollow = &list{head: "period"}, &list{head: "open or thin: not judged"}
	r.signalX, r.signal = &list{head: "period"}, &list{head: "signal"}
	r.bare = make([]bool, len(m.Points))
	for i := range m.Points {
		q := &m.Points[i]
		x := float64(i + 1)
		if q.Low != nil && q.High != nil {
			if r.boundsX.len() > 0 {
				r.boundsX.gap()
				r.bounds.gap()
			}
			r.boundsX.add(x)
			r.bounds.add(*q.Low)
			r.boundsX.add(x)
			r.bounds.add(*q.High)
		}
		if !q.Has {
			continue
		}
		r.bare[i] = q.Hollow || q.Letter != ""
		if q.Hollow {
			r.hollowX.add(x)
			r.hollow.add(q.Value)
		}
		if q.Letter != "" {
			r.signalX.add(x)
			r.signal.add(q.Value)
		}
	}
	for _, g := range []group{
		{"lowest and highest possible: two places a period", []*list{r.boundsX, r.bounds}},
		{"hollow points", []*list{r.hollowX, r.hollow}},
		{"points of a signal", []*list{r.signalX, r.signal}},
	} {
		if g.lists[1].any() {
			r.groups = append(r.groups, g)
		}
	}
}

const dataWidth = 92.0 // pixels of a column of chart data

// chartData writes the ranges of all charts, one block a chart from the top
// down, and then draws the charts.
func (s *sheet) chartData() error {
	var plots []*plot
	var of []*ranges
	columns := 10
	for i := range s.b.drawn {
		d := &s.b.drawn[i]
		p := newPlot(d.model, s.b.doc.Locale, d.w, d.h)
		r := newRanges(d.model, p, d.small)
		n := 0
		for _, g := range r.groups {
			n += len(g.lists)
		}
		columns = max(columns, n)
		plots, of = append(plots, p), append(of, r)
	}
	px := make([]float64, columns)
	for i := range px {
		px[i] = dataWidth
	}
	if err := s.setColumns(px); err != nil {
		return err
	}
	if err := s.head("Chart data", true); err != nil {
		return err
	}
	if err := s.across(1, s.last(), textLook, "What the charts draw besides the tables of points. "+
		"Period 1 is the first period of a chart; lines that run in steps have two places a period, and an empty row is a gap."); err != nil {
		return err
	}
	for i := range s.b.drawn {
		if err := s.dataBlock(&s.b.drawn[i], of[i]); err != nil {
			return err
		}
	}
	if err := s.finish(); err != nil {
		return err
	}
	for i := range s.b.drawn {
		if err := s.b.draw(&s.b.drawn[i], plots[i], of[i]); err != nil {
			return err
		}
	}
	return nil
}

func (s *sheet) dataBlock(d *drawing, r *ranges) error {
	if err := s.gap(12); err != nil {
		return err
	}
	title := "Chart: " + oneLine(d.title)
	if d.small {
		title = "Small chart: " + oneLine(d.title)
	}
	s.row++
	l := headingLook
	l.wrap = false
	if err := s.link(1, s.row, l, title, d.sheet.name); err != nil {
		return err
	}
	if err := s.height(s.row, 20); err != nil {
		return err
	}
	top := s.row + 1 // titles of the groups, then headings, then numbers
	col, deepest, high := 1, 0, 1
	for _, g := range r.groups {
		gl := subLook
		gl.vertical, gl.left = "bottom", line
		if err := s.merged(col, col+len(g.lists)-1, top, gl, g.title); err != nil {
			return err
		}
		high = max(high, len(wrap(g.title, float64(len(g.lists))*dataWidth-10, smallSize, false)))
		for k, li := range g.lists {
			if err := s.dataColumn(d, li, col, top+1, k == 0); err != nil {
				return err
			}
			deepest = max(deepest, li.len())
			col++
		}
	}
	if err := s.height(top, float64(high)*lineHeight(smallSize)+4); err != nil {
		return err
	}
	if err := s.height(top+1, 3*lineHeight(smallSize)+4); err != nil {
		return err
	}
	s.row = top + 1 + deepest
	return nil
}

func (s *sheet) dataColumn(d *drawing, l *list, col, head int, first bool) error {
	hl := headLook
	hl.size, hl.align = smallSize, "right"
	if len(l.texts) > 0 {
		hl.align, hl.indent = "left", 1
	}
	l.name = span{s.name, col, head, col, head}
	l.where = column(s.name, col, head+1, head+max(1, l.len()))
	cell := look{size: smallSize, colour: ink, align: "right", vertical: "center"}
	if first { // groups are told apart
		hl.left, cell.left = line, line
	}
	if err := s.setText(col, head, hl, l.head); err != nil {
		return err
	}
	words := cell
	words.align, words.indent = "left", 1
	for i := range l.len() {
		row := head + 1 + i
		var err error
		switch {
		case i < len(l.texts):
			err = s.setText(col, row, words, l.texts[i])
		case l.has[i]:
			nl := cell
			nl.format = "0.##"
			if l.isValue() {
				nl.format = pattern(d.model.Y.Format, l.nums[i])
			} else if l.nums[i] == math.Trunc(l.nums[i]) {
				nl.format = "0"
			}
			err = s.setNumber(col, row, nl, l.nums[i])
		default:
			err = s.setText(col, row, cell, "")
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// isValue tells values from places on the axis of periods.
func (l *list) isValue() bool { return l.head != "period" && l.head != "across" }

// draw adds a chart to its sheet. The library makes the frame, its relations
// and its place; what is in the chart is written here, because the library
// leaves out most of what a control chart needs.
func (b *book) draw(d *drawing, p *plot, r *ranges) error {
	if !d.small {
		no, value := d.columns.no, d.columns.value
		from, to := d.points.row+1, d.points.row2
		r.no.where, r.no.name = column(d.sheet.name, no, from, to), span{d.sheet.name, no, from - 1, no, from - 1}
		r.value.where = column(d.sheet.name, value, from, to)
		r.value.name = span{d.sheet.name, value, from - 1, value, from - 1}
	}
	b.charts++
	alt := oneLine(d.model.Alt)
	if alt == "" {
		alt = oneLine(d.model.Title)
	}
	print, lock := true, false
	err := b.f.AddChart(d.sheet.name, at(d.col, d.row), &excelize.Chart{
		Type:      excelize.Scatter,
		Series:    []excelize.ChartSeries{{Name: r.value.name.String(), Categories: r.no.where.String(), Values: r.value.where.String()}},
		Dimension: excelize.ChartDimension{Width: uint(d.w), Height: uint(d.h)},
		Format: excelize.GraphicOptions{
			AltText: cut(alt, 2000), Name: chartName(d, b.charts), PrintObject: &print, Locked: &lock,
			OffsetX: d.offset, OffsetY: 4, Positioning: "oneCell",
		},
	})
	if err != nil {
		return fmt.Errorf("chart %q: %w", d.model.ID, err)
	}
	part := "xl/charts/chart" + strconv.Itoa(b.charts) + ".xml"
	if _, ok := b.f.Pkg.Load(part); !ok {
		return fmt.Errorf("chart %q: the library did not write %s", d.model.ID, part)
	}
	var xml []byte
	if d.small {
		xml = smallChart(p, r)
	} else {
		xml = controlChart(p, r)
	}
	b.f.Pkg.Store(part, xml)
	return nil
}

func chartName(d *drawing, n int) string {
	kind := "Chart"
	if d.small {
		kind = "Small chart"
	}
	name := fmt.Sprintf("%s %d", kind, n)
	if id := oneLine(d.model.ID); id != "" {
		name += " " + id
	}
	return cut(name, 100)
}
