package workbook

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"chestrise/reports"
	"chestrise/reports/chart"
)

const figureHeight = 430.0 // pixels, where the document leaves it open

// figure keeps the place of a chart and writes, beneath it, what its signals,
// labels and notes mean.
func (s *sheet) figure(f *reports.Figure) (*drawing, error) {
	m := &f.Chart
	if len(m.Points) == 0 {
		return nil, s.across(1, s.last(), textLook, "The chart has no points.")
	}
	if m.Subtitle != "" {
		if err := s.across(1, s.last(), textLook, m.Subtitle); err != nil {
			return nil, err
		}
	}
	h := figureHeight
	if f.Height > 0 {
		h = figureSize(f.Height)
	}
	d := &drawing{sheet: s, row: s.row + 1, col: 1, offset: 2, w: s.total() - 6, h: h, model: m, title: m.Title}
	for range int(math.Ceil((h + 8) / (chartRow * pxPerPoint))) {
		s.row++
		if err := s.height(s.row, chartRow); err != nil {
			return nil, err
		}
	}
	if err := s.gap(4); err != nil {
		return nil, err
	}
	return d, s.explain(m)
}

// figureSize turns millimetres on the page into pixels on the sheet.
func figureSize(mm float64) float64 { return math.Max(240, math.Min(600, mm/25.4*96)) }

// explain writes the signals in words, then phases, interventions and notes.
func (s *sheet) explain(m *chart.Model) error {
	letter := textLook
	letter.bold, letter.colour = true, accent
	for _, sig := range m.Signals {
		words := sig.Words
		if t := senseText(sig.Sense); t != "" {
			words += " (" + t + ")"
		}
		if err := s.pair("Signal "+sig.Letter, words, letter, strongBody); err != nil {
			return err
		}
	}
	if len(m.Signals) == 0 {
		if err := s.pair("Signals", "None marked on this chart.", nameLook, textLook); err != nil {
			return err
		}
	}
	for _, p := range m.Phases {
		name := phaseName(m, p)
		if name == "" {
			continue
		}
		words := p.Label
		if p.Provisional {
			words += " (provisional)"
		}
		if err := s.pair(name, words, nameLook, textLook); err != nil {
			return err
		}
	}
	for _, k := range m.Marks {
		if k.At < 0 || k.At >= len(m.Points) {
			continue
		}
		if err := s.pair(m.Points[k.At].Label, k.Text, nameLook, textLook); err != nil {
			return err
		}
	}
	if m.Target != nil {
		text := s.b.doc.Locale.Number(m.Y.Format, m.Target.Value)
		if m.Target.Text != "" {
			text += ": " + m.Target.Text
		}
		if err := s.pair("Aim", text, nameLook, textLook); err != nil {
			return err
		}
	}
	if err := s.reasons(m, "Open", func(p *chart.Point) bool { return p.Has && p.Hollow }); err != nil {
		return err
	}
	if err := s.reasons(m, "Gap", func(p *chart.Point) bool { return !p.Has }); err != nil {
		return err
	}
	for _, n := range m.Notes {
		if err := s.across(1, s.last(), footnoteLook, n); err != nil {
			return err
		}
	}
	return nil
}

// reasons writes why points are open or missing, those of one reason together.
func (s *sheet) reasons(m *chart.Model, name string, of func(*chart.Point) bool) error {
	var order []string
	points := map[string][]string{}
	for i := range m.Points {
		p := &m.Points[i]
		why := oneLine(p.Why)
		if !of(p) || why == "" {
			continue
		}
		if points[why] == nil {
			order = append(order, why)
		}
		points[why] = append(points[why], oneLine(p.Label))
	}
	for _, why := range order {
		const most = 6
		labels := points[why]
		if more := len(labels) - most; more > 0 {
			labels = append(labels[:most:most], fmt.Sprintf("and %d more (see the note at each point)", more))
		}
		if err := s.pair(name, why+": "+strings.Join(labels, ", "), nameLook, textLook); err != nil {
			return err
		}
	}
	return nil
}

// phaseName says from when to when a phase is; empty for one without words or
// without points.
func phaseName(m *chart.Model, p chart.Phase) string {
	if p.Label == "" || p.From < 0 || p.To >= len(m.Points) || p.From > p.To {
		return ""
	}
	name := oneLine(m.Points[p.From].Label)
	if to := oneLine(m.Points[p.To].Label); to != name {
		name += " to " + to
	}
	return name
}

var strongBody = look{size: bodySize, bold: true, colour: ink, vertical: "top", wrap: true}

func senseText(s chart.Sense) string {
	switch s {
	case chart.Better:
		return "in the favourable direction"
	case chart.Worse:
		return "in the unfavourable direction"
	case chart.Neither:
	}
	return ""
}

// behind writes the table of the points of a chart.
func (s *sheet) behind(d *drawing, last bool) error {
	t, cols := pointsTable(d.model)
	if err := s.newPage(); err != nil {
		return err
	}
	where, err := s.table(&t, last)
	d.points, d.columns = where, cols
	return err
}

// pointColumns says in which columns of the table of points the chart finds
// its numbers, counted from one.
type pointColumns struct{ no, value int }

// pointsTable is the table of points behind a chart. Columns that hold nothing
// for any point are left out.
func pointsTable(m *chart.Model) (reports.Table, pointColumns) {
	t := reports.Table{
		Title: "The figures behind the chart", Name: "points_" + m.ID,
		Empty: "The chart has no points.",
		Rows:  make([][]reports.Cell, len(m.Points)),
	}
	add := func(c reports.Column, cell func(i int) reports.Cell) int {
		t.Columns = append(t.Columns, c)
		for i := range t.Rows {
			t.Rows[i] = append(t.Rows[i], cell(i))
		}
		return len(t.Columns)
	}
	number := func(title string, get func(p *chart.Point) *float64) {
		for i := range m.Points {
			if get(&m.Points[i]) != nil {
				add(reports.Column{Title: title, Format: m.Y.Format}, func(i int) reports.Cell {
					return reports.Cell{Number: get(&m.Points[i])}
				})
				return
			}
		}
	}
	var cols pointColumns
	add(reports.Column{Title: "period", Text: true}, func(i int) reports.Cell {
		return reports.Cell{Text: m.Points[i].Label}
	})
	cols.no = add(reports.Column{Title: "no.", Format: chart.Count}, func(i int) reports.Cell {
		v := float64(i + 1)
		return reports.Cell{Number: &v}
	})
	for _, r := range m.Rows {
		cells, format := rowCells(r, len(m.Points))
		add(reports.Column{Title: r.Label, Format: format}, func(i int) reports.Cell { return cells[i] })
	}
	cols.value = add(reports.Column{Title: valueName(m), Format: m.Y.Format}, func(i int) reports.Cell {
		if p := &m.Points[i]; p.Has {
			return reports.Cell{Number: &p.Value}
		}
		return reports.Cell{}
	})
	number("lowest possible", func(p *chart.Point) *float64 { return p.Low })
	number("highest possible", func(p *chart.Point) *float64 { return p.High })
	number(centreTitle(m), func(p *chart.Point) *float64 { return p.Centre })
	number("lower limit", func(p *chart.Point) *float64 { return p.Lower })
	number("upper limit", func(p *chart.Point) *float64 { return p.Upper })
	add(reports.Column{Title: "signal", Text: true}, func(i int) reports.Cell {
		letters, _ := signalAt(m, i)
		return reports.Cell{Text: letters}
	})
	add(reports.Column{Title: "note", Text: true}, func(i int) reports.Cell {
		return reports.Cell{Text: pointNote(m, i)}
	})
	return t, cols
}

func centreTitle(m *chart.Model) string {
	if m.CentreIs == "" {
		return "centre"
	}
	return "centre (" + m.CentreIs + ")"
}

// pointNote says why a point is hollow or missing and what happened there.
func pointNote(m *chart.Model, i int) string {
	p := &m.Points[i]
	var parts []string
	switch {
	case p.Why != "":
		parts = append(parts, p.Why)
	case !p.Has:
		parts = append(parts, "no value")
	case p.Hollow:
		parts = append(parts, "not judged")
	}
	for _, ph := range m.Phases {
		if ph.From == i && i > 0 && ph.Label != "" {
			parts = append(parts, ph.Label)
		}
	}
	for _, k := range m.Marks {
		if k.At == i {
			parts = append(parts, k.Text)
		}
	}
	return strings.Join(parts, "; ")
}

var (
	wholeText   = regexp.MustCompile(`^[0-9]{1,9}$`)
	percentText = regexp.MustCompile(`^[0-9]{1,3}[ \x{00A0}\x{202F}]?%$`)
)

// rowCells turns the texts of a row under the axis back into numbers where
// every one of them is a whole number or a whole percentage; else they stay
// words.
func rowCells(r chart.Row, n int) ([]reports.Cell, chart.Format) {
	cells := make([]reports.Cell, n)
	whole, percent := true, true
	for i := range cells {
		if i < len(r.Texts) {
			cells[i].Text = r.Texts[i]
			if t := strings.TrimSpace(r.Texts[i]); t != "" {
				whole = whole && wholeText.MatchString(t)
				percent = percent && percentText.MatchString(t)
			}
		}
	}
	if !whole && !percent {
		return cells, chart.Plain
	}
	for i := range cells {
		digits := strings.TrimRight(strings.TrimSpace(cells[i].Text), "% \u00a0\u202f")
		v, err := strconv.ParseFloat(digits, 64)
		if err != nil { // empty
			continue
		}
		if !whole {
			v /= 100
		}
		cells[i] = reports.Cell{Number: &v}
	}
	if whole {
		return cells, chart.Count
	}
	return cells, chart.Percent
}
