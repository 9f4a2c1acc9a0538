package workbook

import (
	"fmt"
	"math"
	"strconv"

	"github.com/xuri/excelize/v2"
)

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
	printed, lock := true, false
	err := b.f.AddChart(d.sheet.name, at(d.col, d.row), &excelize.Chart{
		Type:      excelize.Scatter,
		Series:    []excelize.ChartSeries{{Name: r.value.name.String(), Categories: r.no.where.String(), Values: r.value.where.String()}},
		Dimension: excelize.ChartDimension{Width: uint(d.w), Height: uint(d.h)},
		Format: excelize.GraphicOptions{
			AltText: cut(alt, 2000), Name: chartName(d, b.charts), PrintObject: &printed, Locked: &lock,
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
