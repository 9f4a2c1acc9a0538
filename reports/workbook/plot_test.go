package workbook

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/reports"
	"chestrise/reports/chart"
)

type area struct {
	box
	text string
}

// areas are the rectangles that the words of a chart take, in pixels: the
// labels, the title and the legend's strip.
func (p *plot) areas() []area {
	var out []area
	for _, l := range p.labels {
		out = append(out, area{p.box(l), strings.Join(l.lines, "|")})
	}
	title := box{10, 8, 10 + widest(p.title, plotTitle, true), 8 + float64(len(p.title))*plotTitle*1.55}
	return append(out, area{title, "title"}, area{box{0, p.h - 26, p.w, p.h}, "legend"})
}

func checkPlacement(t require.TestingT, p *plot) {
	as := p.areas()
	for i, a := range as {
		require.GreaterOrEqual(t, a.x0, -1.0, "%q leaves the chart", a.text)
		require.LessOrEqual(t, a.x1, p.w+1, "%q leaves the chart", a.text)
		require.GreaterOrEqual(t, a.y0, 0.0, "%q leaves the chart", a.text)
		require.LessOrEqual(t, a.y1, p.h+1, "%q leaves the chart", a.text)
		for _, b := range as[:i] {
			require.False(t, a.touches(b.box), "%q and %q overlap: %v %v", a.text, b.text, a, b)
		}
	}
	require.Greater(t, p.right-p.left, p.w/3, "room for the plot")
	require.Greater(t, p.bottom-p.top, p.h/4, "room for the plot")
	for _, l := range p.labels {
		require.GreaterOrEqual(t, l.y, p.ymin-(p.ymax-p.ymin)*1e-9)
		require.LessOrEqual(t, l.y, p.ymax+(p.ymax-p.ymin)*1e-9)
		require.GreaterOrEqual(t, l.x, p.xmin)
		require.LessOrEqual(t, l.x, p.xmax)
	}
}

// anyModel makes charts of all lengths, formats and extremes.
func anyModel(t *rapid.T) chart.Model {
	n := rapid.IntRange(1, 120).Draw(t, "points")
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 5))
	words := func(most, long int) string {
		var out []string
		for range r.IntN(most + 1) {
			out = append(out, strings.Repeat("mi", long)[:1+r.IntN(long)])
		}
		return strings.Join(out, " ")
	}
	m := chart.Model{
		Title: words(40, 12), CentreIs: "mean",
		Y: chart.Axis{Label: words(9, 12), Format: chart.Format(r.IntN(6))},
	}
	scale := []float64{0.001, 1, 60, 4000}[r.IntN(4)]
	if m.Y.Format == chart.Percent {
		scale = 1
	}
	crowd := 1 + r.IntN(40) // one mark, phase or gap in so many
	m.Rows = []chart.Row{{Label: "n"}, {Label: "known"}}
	phase := 0
	for i := range n {
		p := chart.Point{Label: fmt.Sprintf("Month %d", i), Short: "Mar"}
		if i%12 == 0 {
			p.Year = strconv.Itoa(2020 + i/12)
		}
		if r.IntN(20) > 0 {
			p.Has, p.Value = true, scale*r.Float64()
			p.Letter = []string{"", "", "A", "B", "ABC"}[r.IntN(5)]
		}
		if r.IntN(crowd) == 0 && i > 0 {
			phase++
			m.Phases = append(m.Phases, chart.Phase{From: i, To: n - 1, Label: words(8, 9)})
		}
		p.Phase = phase
		lower, centre, upper := scale*r.Float64(), scale*r.Float64(), scale*r.Float64()
		p.Lower, p.Centre, p.Upper = &lower, &centre, &upper
		m.Rows[0].Texts = append(m.Rows[0].Texts, strconv.Itoa(r.IntN(200)))
		m.Rows[1].Texts = append(m.Rows[1].Texts, "95 %")
		if r.IntN(crowd) == 0 {
			m.Marks = append(m.Marks, chart.Mark{At: i, Text: words(6, 14)})
		}
		m.Points = append(m.Points, p)
	}
	if r.IntN(2) == 0 {
		m.Target = &chart.Target{Value: scale * r.Float64(), Text: words(8, 9)}
	}
	return m
}

func TestNoWordsOverlap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyModel(t)
		l := reports.Locale{DecimalComma: rapid.Bool().Draw(t, "comma")}
		h := rapid.SampledFrom([]float64{240, 430, 600}).Draw(t, "height")
		checkPlacement(t, newPlot(&m, l, pageWidth, h))
	})
}

func TestAxisHoldsEverything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyModel(t)
		if rapid.Bool().Draw(t, "shifted") && m.Y.Format != chart.Percent {
			shift := rapid.Float64Range(-1e6, 1e6).Draw(t, "shift")
			for i := range m.Points {
				m.Points[i].Value += shift
				for _, v := range []*float64{m.Points[i].Centre, m.Points[i].Lower, m.Points[i].Upper} {
					*v += shift
				}
			}
			if m.Target != nil {
				m.Target.Value += shift
			}
		}
		lo, hi, step := valueAxis(&m)
		require.Less(t, lo, hi)
		slack := (hi - lo) * 1e-6
		for _, p := range m.Points {
			if p.Has {
				require.GreaterOrEqual(t, p.Value, lo-slack)
				require.LessOrEqual(t, p.Value, hi+slack)
			}
			for _, v := range []*float64{p.Centre, p.Lower, p.Upper} {
				require.GreaterOrEqual(t, *v, lo-slack)
				require.LessOrEqual(t, *v, hi+slack)
			}
		}
		ticks := (hi - lo) / step
		require.InDelta(t, math.Round(ticks), ticks, 1e-6, "the axis ends at ticks")
		require.GreaterOrEqual(t, ticks, 1.0)
		require.LessOrEqual(t, ticks, 12.0)
		if m.Y.Format == chart.Percent {
			require.GreaterOrEqual(t, lo, 0.0)
			require.LessOrEqual(t, hi, 1.0, "a share has no room above all")
		}
	})
}

func TestSheetNames(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := names{}
		for _, want := range rapid.SliceOfN(rapid.String(), 1, 12).Draw(t, "names") {
			want = strings.Repeat(want, rapid.IntRange(1, 9).Draw(t, "times"))
			before := len(n)
			got := n.sheet(want)
			require.Len(t, n, before+1, "a new name")
			require.True(t, utf8.ValidString(got))
			require.LessOrEqual(t, utf16Len(got), 31)
			require.NotEmpty(t, strings.TrimSpace(got))
			require.False(t, strings.ContainsAny(got, `:\/?*[]`))
			require.False(t, strings.HasPrefix(got, "'") || strings.HasSuffix(got, "'"))
			require.False(t, strings.EqualFold(got, "history"))
		}
	})
}

func TestSheetNameExamples(t *testing.T) {
	n := names{}
	for _, c := range [][2]string{
		{"Overview", "Overview"},
		{"overview", "overview (2)"},
		{"a/b", "a-b"},
		{"[x]", "(x)"},
		{"History", "Sheet History"},
		{"", "Sheet"},
		{"'q'", "q"},
		{"a name that is longer than thirty-one characters", "a name that is longer than thi…"},
		{"a name that is longer than thirty-one characters", "a name that is longer than…"},
	} {
		got := n.sheet(c[0])
		if before, ok := strings.CutSuffix(got, " (2)"); ok {
			got = before
			c[1] = strings.TrimSuffix(c[1], " (2)")
		}
		require.Equal(t, c[1], got)
	}
}

func TestWrap(t *testing.T) {
	require.Equal(t, []string{""}, wrap("", 100, 10, false))
	require.Equal(t, []string{"one", "two"}, wrap("one\ntwo", 100, 10, false))
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "text")
		px := rapid.Float64Range(1, 400).Draw(t, "width")
		lines := wrap(s, px, 10, false)
		for _, l := range lines {
			require.True(t, width(l, 10, false) <= px || utf8.RuneCountInString(l) == 1, "%q", l)
		}
		squeeze := func(s string) string { return strings.Join(strings.Fields(s), "") }
		require.Equal(t, squeeze(s), squeeze(strings.Join(lines, " ")), "no character is lost")
	})
}

// The widths of Arial are those of Helvetica; Adobe's metrics of Helvetica
// give these sums for two strings of thousandths: "Hamburg" 722+556+833+556+556+333+556,
// digits 556 each.
func TestWidth(t *testing.T) {
	require.InDelta(t, 4112.0/1000*12*96/72, width("Hamburg", 12, false), 1e-9)
	require.InDelta(t, 10*556.0/1000*10*96/72, width("0123456789", 10, false), 1e-9)
}

func TestEscape(t *testing.T) {
	require.Equal(t, "_x005F_x0041_", escape("_x0041_"))
	require.Equal(t, "_x005F_x0041_x005F_x0042_", escape("_x0041_x0042_"))
	require.Equal(t, "a_x_b _x12_", escape("a_x_b _x12_"))
}

func TestRowsBecomeNumbersOnlyTogether(t *testing.T) {
	n, f := rowCells(chart.Row{Texts: []string{"12", "", "7"}}, 3)
	require.Equal(t, chart.Count, f)
	require.InDelta(t, 12, *n[0].Number, 0)
	require.Nil(t, n[1].Number)
	p, f := rowCells(chart.Row{Texts: []string{"95 %", "100 %"}}, 2)
	require.Equal(t, chart.Percent, f)
	require.InDelta(t, 0.95, *p[0].Number, 1e-15)
	w, _ := rowCells(chart.Row{Texts: []string{"12", "9 of 14"}}, 3)
	require.Equal(t, []reports.Cell{{Text: "12"}, {Text: "9 of 14"}, {}}, w)
}
