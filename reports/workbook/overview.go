package workbook

import (
	"math"

	"chestrise/reports"
)

// The columns of an overview. The words take what is left of the page.
const (
	overviewName = iota
	overviewLatest
	overviewChart
	overviewCentre
	overviewWords
	overviewKnown
)

const (
	smallWidth  = 236.0 // pixels of a small chart
	smallHeight = 62.0
)

func overviewWidths(items []reports.Multiple) []float64 {
	out := []float64{130, 90, smallWidth + 8, 80, 200, 80}
	for _, m := range items {
		for i, text := range map[int]string{
			overviewName: m.Title, overviewLatest: m.Latest, overviewCentre: joined("; ", m.Centre, m.Direction), overviewKnown: m.Known,
		} {
			most := 130.0
			if i == overviewName {
				most = 300
			}
			out[i] = max(out[i], min(most, width(oneLine(text), bodySize, i == overviewName)*1.12+16))
		}
	}
	return out
}

// multiples writes an overview: a row a measure, with a small chart in it.
func (s *sheet) multiples(m *reports.Multiples) error {
	if len(m.Items) == 0 {
		return nil
	}
	if s.row > s.frozen+1 {
		if err := s.gap(6); err != nil {
			return err
		}
	}
	s.row++
	for i, title := range []string{"measure", "latest", "course", "centre", "what the chart says", "known"} {
		if err := s.setText(i+1, s.row, headLook, title); err != nil {
			return err
		}
	}
	if err := s.height(s.row, 20); err != nil {
		return err
	}
	for i := range m.Items {
		if err := s.multiple(&m.Items[i]); err != nil {
			return err
		}
	}
	return s.gap(6)
}

func (s *sheet) multiple(m *reports.Multiple) error {
	s.row++
	l := cellLook
	l.vertical = "center"
	strong := l
	strong.bold = true
	texts := map[int]string{
		overviewLatest: joined(". ", m.Latest, m.Open), overviewCentre: joined("; ", m.Centre, m.Direction), overviewWords: m.Words, overviewKnown: m.Known,
	}
	if err := s.linkTo(overviewName+1, s.row, strong, oneLine(m.Title), m.Link); err != nil {
		return err
	}
	high := len(wrap(oneLine(m.Title), s.px[overviewName]-12, bodySize, true))
	for i := overviewLatest; i <= overviewKnown; i++ {
		if err := s.setText(i+1, s.row, l, texts[i]); err != nil {
			return err
		}
		high = max(high, len(wrap(clean(texts[i]), s.px[i]-12, bodySize, false)))
	}
	points := math.Max((smallHeight+8)/pxPerPoint, float64(high)*lineHeight(bodySize)+6)
	if err := s.height(s.row, points); err != nil {
		return err
	}
	if len(m.Chart.Points) == 0 {
		return nil
	}
	s.b.drawn = append(s.b.drawn, drawing{
		sheet: s, row: s.row, col: overviewChart + 1, offset: 4, w: smallWidth, h: smallHeight,
		model: &m.Chart, title: m.Title, small: true,
	})
	return nil
}

// joined puts two texts into one where there are two.
func joined(by, a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + by + b
}
