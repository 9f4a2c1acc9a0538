package workbook_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/reports"
	"chestrise/reports/chart"
)

// figures are the charts of a document in the order in which it shows them.
func figures(d *reports.Document) (full, small []chart.Model) {
	for _, s := range d.Sections {
		if s.Sheet == "" {
			continue
		}
		for _, b := range s.Blocks {
			switch b := b.(type) {
			case reports.Figure:
				full = append(full, b.Chart)
			case reports.Multiples:
				for _, m := range b.Items {
					small = append(small, m.Chart)
				}
			}
		}
	}
	return full, small
}

func TestChartsDrawTheModel(t *testing.T) {
	d, s := sample()
	b := render(t, d, s)
	f := readCells(t, parts(t, b))
	full, small := figures(d)
	var gotFull, gotSmall []readChart
	for _, c := range charts(t, parts(t, b)) {
		if strings.HasPrefix(c.name, "Small") {
			gotSmall = append(gotSmall, c)
		} else {
			gotFull = append(gotFull, c)
		}
	}
	require.Len(t, gotFull, len(full))
	require.Len(t, gotSmall, len(small))
	for i, c := range gotFull {
		m := full[i]
		require.Equal(t, m.Title, strings.ReplaceAll(c.title, "|", " "))
		require.Equal(t, m.Alt, c.alt)
		drawn(t, f, c, m)
	}
	for i, c := range gotSmall {
		drawn(t, f, c, small[i])
		require.Empty(t, c.title)
	}
}

// drawn checks that a chart draws a model: every reference leads to cells that
// hold what the chart shows, and these are the model's numbers.
func drawn(t *testing.T, f readBook, c readChart, m chart.Model) {
	t.Helper()
	for _, s := range c.series {
		sheet, cells := follow(t, s.nameRef)
		require.Len(t, cells, 1, "the name of a series is one cell")
		name := f.sheets[sheet][cells[0]].text
		require.NotEmpty(t, name)
		require.Equal(t, name, s.name, "the legend says what the heading says")
		require.Equal(t, s.xCount, s.count, "%s: as many places as values", s.name)
		for _, axis := range []struct {
			ref    string
			values map[int]float64
		}{{s.xRef, s.xs}, {s.yRef, s.ys}} {
			sheet, cells := follow(t, axis.ref)
			require.Len(t, cells, s.count)
			for i, cell := range cells {
				v, has := f.number(t, sheet, cell)
				cached, hasCached := axis.values[i]
				require.Equal(t, has, hasCached, "%s %s!%s: a gap is a gap in both", s.name, sheet, cell)
				require.Equal(t, v, cached, "%s %s!%s", s.name, sheet, cell)
			}
		}
	}

	value := m.Y.Label
	if value == "" {
		value = "value"
	}
	line, ok := c.find(value)
	require.True(t, ok, "the values are a series named %q", value)
	require.Len(t, m.Points, line.count)
	for i, p := range m.Points {
		v, has := line.ys[i]
		require.Equal(t, p.Has, has, "point %d", i)
		if has {
			require.Equal(t, p.Value, v)
			require.InDelta(t, i+1, line.xs[i], 0)
		}
		// how the point differs from its series
		want := readPoint{symbol: line.symbol, line: "solid"}
		if p.Has && (p.Hollow || p.Letter != "") {
			want.symbol = "none" // another series marks it
		}
		if i > 0 {
			if p.Hollow || m.Points[i-1].Hollow {
				want.line = "sysDash"
			}
			if p.Phase != m.Points[i-1].Phase {
				want.line = "none" // no line leads from one phase to the next
			}
		}
		got, special := line.points[i]
		require.Equal(t, want != readPoint{line.symbol, "solid"}, special, "point %d", i)
		if special {
			require.Equal(t, want, got, "point %d", i)
		}
	}
	require.True(t, line.line)

	settledAt := func(i int) bool {
		for _, ph := range m.Phases {
			if ph.From <= i && i <= ph.To {
				return !ph.Provisional
			}
		}
		return true
	}
	steps := func(name string, settled bool, get func(chart.Point) *float64) {
		if !settled {
			name += ", provisional"
		}
		s, ok := c.find(name)
		var want []float64
		for i, p := range m.Points {
			if v := get(p); v != nil && settledAt(i) == settled {
				want = append(want, *v, *v) // two places a period
			}
		}
		require.Equal(t, len(want) > 0, ok, "series %q", name)
		if !ok {
			return
		}
		require.Equal(t, settled, s.dash == "", "provisional lines are broken, settled ones are not")
		var got []float64
		for i := range s.count {
			if v, has := s.ys[i]; has {
				got = append(got, v)
			}
		}
		require.Equal(t, want, got, "series %q", name)
		// between phases there is an empty row, and the lines stay apart
		row := 0
		for i, p := range m.Points {
			if i > 0 && p.Phase != m.Points[i-1].Phase {
				_, hasX := s.xs[row]
				require.False(t, hasX, "an empty row between the phases")
				require.Greater(t, s.xs[row+1], s.xs[row-1]+0.1)
				row++
			}
			require.InDelta(t, float64(i)+0.5, s.xs[row], 0.2)
			require.InDelta(t, float64(i)+1.5, s.xs[row+1], 0.2)
			row += 2
		}
		require.Equal(t, row, s.count)
	}
	centre := "centre"
	if m.CentreIs != "" {
		centre = "centre (" + m.CentreIs + ")"
	}
	for _, settled := range []bool{true, false} {
		steps(centre, settled, func(p chart.Point) *float64 { return p.Centre })
		steps("lower limit", settled, func(p chart.Point) *float64 { return p.Lower })
		steps("upper limit", settled, func(p chart.Point) *float64 { return p.Upper })
	}

	picked := func(name string, want func(chart.Point) bool) readSeries {
		s, ok := c.find(name)
		got := map[int]float64{}
		for i := range s.count {
			got[int(s.xs[i])-1] = s.ys[i]
		}
		n := 0
		for i, p := range m.Points {
			if p.Has && want(p) {
				require.Equal(t, p.Value, got[i], "%s: point %d", name, i)
				n++
			}
		}
		require.Len(t, got, n, name)
		require.Equal(t, n > 0, ok, name)
		return s
	}
	hollow := picked("open or thin: not judged", func(p chart.Point) bool { return p.Hollow })
	senses := map[string]chart.Sense{}
	for _, sig := range m.Signals {
		senses[sig.Letter] = sig.Sense
	}
	shapes := map[string]bool{line.symbol: true}
	for name, sense := range map[string]chart.Sense{
		"signal": chart.Neither, "signal, favourable": chart.Better, "signal, unfavourable": chart.Worse,
	} {
		signal := picked(name, func(p chart.Point) bool {
			return p.Letter != "" && (senses[p.Letter[:1]] == sense || len(m.Signals) == 0 && sense == chart.Neither)
		})
		if signal.count > 0 {
			require.NotContains(t, shapes, signal.symbol, "a signal differs by its shape, not by colour alone")
			shapes[signal.symbol] = true
			big, err := strconv.Atoi(signal.size)
			require.NoError(t, err)
			small, err := strconv.Atoi(line.size)
			require.NoError(t, err)
			require.Greater(t, big, small, "and is bigger")
		}
	}
	if hollow.count > 0 {
		require.Equal(t, "FFFFFF", hollow.fill)
	}
	if m.Target != nil {
		s, ok := c.find("aim")
		require.True(t, ok)
		require.Equal(t, map[int]float64{0: m.Target.Value, 1: m.Target.Value}, s.ys)
	}
	if strings.HasPrefix(c.name, "Small") {
		return
	}
	if s, ok := c.find("range if the unknown were known"); ok {
		row := 0
		for i, p := range m.Points {
			if p.Low == nil || p.High == nil {
				continue
			}
			require.InDelta(t, i+1, s.xs[row], 0)
			require.Equal(t, *p.Low, s.ys[row])
			require.Equal(t, *p.High, s.ys[row+1])
			row += 3 // two places and a gap
		}
	}
	if len(m.Marks) > 0 {
		s, ok := c.find("intervention")
		require.True(t, ok)
		for i, k := range m.Marks {
			require.InDelta(t, k.At+1, s.xs[3*i], 0)
			require.InDelta(t, k.At+1, s.xs[3*i+1], 0)
			require.Less(t, s.ys[3*i], s.ys[3*i+1], "an upright line")
		}
	}
	words, ok := c.find("up")
	require.True(t, ok, "the words of the chart are a series without lines and marks")
	require.False(t, words.line)
	require.Equal(t, "none", words.symbol)
	all := ""
	var allSb255 strings.Builder
	for _, l := range words.labels {
		allSb255.WriteString(l.text + "\n")
	}
	all += allSb255.String()
	for _, k := range m.Marks {
		require.Contains(t, strings.ReplaceAll(all, "|", " "), k.Text)
	}
	for _, p := range m.Points {
		if p.Letter != "" {
			require.Contains(t, all, p.Letter)
		}
	}
	for i, s := range c.series {
		if s.name == "up" || s.name == "intervention" || s.name == "new phase" {
			require.Contains(t, c.hiddenEntries, i, "what helps to draw is not in the legend")
		}
	}
}

// The order of elements is part of the file format; a spreadsheet program
// refuses a chart that breaks it. The sequences are those of the schema
// dml-chart.xsd of ECMA-376, part 1 (Office Open XML), without the elements
// that are not used here.
var schemaOrder = map[string]string{
	"chartSpace":    "date1904 lang roundedCorners style clrMapOvr pivotSource protection chart spPr txPr externalData printSettings userShapes",
	"chart":         "title autoTitleDeleted pivotFmts view3D floor sideWall backWall plotArea legend plotVisOnly dispBlanksAs",
	"title":         "tx layout overlay spPr txPr",
	"manualLayout":  "layoutTarget xMode yMode wMode hMode x y w h",
	"plotArea":      "layout scatterChart valAx dTable spPr",
	"scatterChart":  "scatterStyle varyColors ser dLbls axId",
	"ser":           "idx order tx spPr marker dPt dLbls trendline errBars xVal yVal smooth",
	"marker":        "symbol size spPr",
	"dPt":           "idx invertIfNegative marker bubble3D explosion spPr pictureOptions",
	"dLbls":         "dLbl delete numFmt spPr txPr dLblPos showLegendKey showVal showCatName showSerName showPercent showBubbleSize separator showLeaderLines",
	"dLbl":          "idx delete layout tx numFmt spPr txPr dLblPos showLegendKey showVal showCatName showSerName showPercent showBubbleSize separator",
	"numRef":        "f numCache",
	"numCache":      "formatCode ptCount pt",
	"strRef":        "f strCache",
	"valAx":         "axId scaling delete axPos majorGridlines minorGridlines title numFmt majorTickMark minorTickMark tickLblPos spPr txPr crossAx crosses crossesAt crossBetween majorUnit minorUnit dispUnits",
	"scaling":       "logBase orientation max min",
	"legend":        "legendPos legendEntry layout overlay spPr txPr",
	"printSettings": "headerFooter pageMargins pageSetup",
	"ln":            "noFill solidFill prstDash custDash round bevel miter",
	"rPr":           "ln noFill solidFill effectLst latin ea cs sym",
}

// followsSchema checks the order of elements all the way down.
func followsSchema(t *testing.T, n node) {
	t.Helper()
	if allowed, ok := schemaOrder[n.XMLName.Local]; ok {
		names, at := strings.Fields(allowed), 0
		for _, c := range n.Nodes {
			i := slices.Index(names, c.XMLName.Local)
			if i < at { // not require, which is slow for the many elements of a chart
				require.Failf(t, "order of elements", "%s does not belong there in %s", c.XMLName.Local, n.XMLName.Local)
			}
			at = i
		}
	}
	for _, c := range n.Nodes {
		followsSchema(t, c)
	}
}

func TestAxisShowsTheNumbersAsThePageDoes(t *testing.T) {
	d, s := sample()
	for _, c := range charts(t, parts(t, render(t, d, s))) {
		if strings.HasPrefix(c.name, "Small") {
			continue
		}
		format := c.root.all("valAx")[1].child("numFmt").attr("formatCode")
		switch c.sheet {
		case "Begun by 60 s":
			require.Equal(t, `0" "%`, format)
		case "Temperature":
			require.Equal(t, `0.0" °C"`, format)
		default:
			t.Errorf("unexpected chart on %s", c.sheet)
		}
	}
}
