package chart_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/reports/chart"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func sound(t require.TestingT, d chart.Drawing, what string) {
	for _, p := range chart.Overlaps(d) {
		require.Fail(t, "texts collide", "%s: %s %q %v and %s %q %v", what, p.A.Role, p.A.Words, p.A.Box(), p.B.Role, p.B.Words, p.B.Box())
	}
	for _, o := range chart.Outside(d) {
		require.Fail(t, "text leaves the drawing", "%s: %s %q %v of %.1f x %.1f", what, o.Role, o.Words, o.Box(), d.W, d.H)
	}
	var b bytes.Buffer
	require.NoError(t, chart.Dump(&b, d))
	require.NotContains(t, b.String(), "NaN", what)
	require.NotContains(t, b.String(), "Inf", what)
}

func TestNothingCollides(t *testing.T) {
	for name, m := range adversarial() {
		for _, size := range []chart.Size{chart.OnPage, chart.OnSlide, {W: 120, H: 60}, {W: 250, H: 140}} {
			for _, comma := range []bool{false, true} {
				sound(t, chart.Lay(m, size, chart.DejaVu(), chart.Numbers{DecimalComma: comma}), fmt.Sprint(name, size, comma))
			}
		}
		for _, size := range []chart.Size{chart.InRow, {W: 24, H: 9}, {W: 60, H: 20}} {
			sound(t, chart.LaySmall(m, size, chart.DejaVu(), chart.Numbers{}), fmt.Sprint("small ", name, size))
		}
	}
}

// drawn makes any model that the types allow and a report might build. The
// counts are drawn, so that they shrink; the rest follows from a seed.
func drawn(t *rapid.T) chart.Model {
	n := rapid.IntRange(0, 120).Draw(t, "n")
	marks, signals, rows := rapid.IntRange(0, 14).Draw(t, "marks"), rapid.IntRange(0, 9).Draw(t, "signals"), rapid.IntRange(0, 3).Draw(t, "rows")
	phase := rapid.SampledFrom([]int{0, 3, 12, 50}).Draw(t, "phase length")
	calendar := rapid.Bool().Draw(t, "calendar")
	scale := math.Pow(10, float64(rapid.IntRange(-4, 6).Draw(t, "scale")))
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
	most := rapid.IntRange(0, 12).Draw(t, "words")
	words := func() string {
		var out []string
		for range r.IntN(most + 1) {
			out = append(out, strings.Repeat("Wordsmith1%"[r.IntN(10):], 1+r.IntN(2)))
		}
		return strings.Join(out, " ")
	}
	m := chart.Model{
		Title: words(), Kind: words(), CentreIs: rapid.SampledFrom([]string{"", "mean", "median"}).Draw(t, "centre"),
		Y: chart.Axis{Label: words(), Format: rapid.SampledFrom([]chart.Format{chart.Plain, chart.Percent, chart.Seconds, chart.Celsius, chart.Births, chart.Count}).Draw(t, "format")},
	}
	some := func(often float64) *float64 {
		if r.Float64() > often {
			return nil
		}
		return new(r.Float64() * scale)
	}
	short := words()
	centre, limits, bounds := some(0.8), r.Float64()*1.2, r.Float64()
	m.Points = months(n, 2019)
	for i := range m.Points {
		p := &m.Points[i]
		if !calendar {
			p.Year, p.Short = "", fmt.Sprint(short, i)
		}
		p.Value, p.Has, p.Hollow = r.Float64()*scale, r.Float64() > 0.1, r.Float64() < 0.1
		p.Centre, p.Lower, p.Upper, p.Low, p.High = centre, some(limits), some(limits), some(bounds), some(bounds)
		if phase > 0 {
			p.Phase = i / phase
		}
	}
	index := func() int { return r.IntN(n+2) - 1 }
	for range marks {
		m.Marks = append(m.Marks, chart.Mark{At: index(), Text: words()})
	}
	for k := range signals {
		s := chart.Signal{Letter: string(rune('A' + k)), Words: words(), Sense: chart.Sense(r.IntN(3))}
		for range r.IntN(12) {
			s.Points = append(s.Points, index())
		}
		m.Signals = append(m.Signals, s)
	}
	for i := 0; phase > 0 && i < n; i += phase {
		m.Phases = append(m.Phases, chart.Phase{From: i, To: i + phase - 1, Label: words(), Provisional: r.IntN(2) == 0})
	}
	for range rows {
		row, wide := chart.Row{Label: words()}, 1+r.IntN(100000)
		for range m.Points {
			row.Texts = append(row.Texts, strconv.Itoa(r.IntN(wide)))
		}
		m.Rows = append(m.Rows, row)
	}
	if v := some(0.5); v != nil {
		m.Target = &chart.Target{Value: *v, Text: words()}
	}
	return m
}

func TestNothingCollidesInAnyModel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawn(t)
		size := chart.Size{W: rapid.Float64Range(80, 260).Draw(t, "w"), H: rapid.Float64Range(40, 150).Draw(t, "h")}
		n := chart.Numbers{DecimalComma: rapid.Bool().Draw(t, "comma")}
		sound(t, chart.Lay(m, size, chart.DejaVu(), n), "chart")
		sound(t, chart.LaySmall(m, chart.InRow, chart.DejaVu(), n), "small chart")
	})
}

// Nothing vanishes silently: whatever was thinned on the axis is told beneath.
func TestNothingVanishes(t *testing.T) {
	for name, m := range adversarial() {
		for _, size := range []chart.Size{chart.OnPage, chart.OnSlide} {
			d := chart.Lay(m, size, chart.DejaVu(), chart.Numbers{})
			var all strings.Builder
			letters := map[string]bool{}
			for _, x := range d.Texts() {
				all.WriteString(" " + x.Words)
				if x.Role == "letter" || x.Role == "key" {
					for _, r := range x.Words {
						letters[string(r)] = true
					}
				}
			}
			words := strings.Join(strings.Fields(all.String()), " ")
			for _, k := range m.Marks {
				require.Contains(t, words, k.Text, "%s: intervention", name)
			}
			for _, s := range m.Signals {
				require.Contains(t, words, strings.TrimSpace(s.Words), "%s: signal", name)
				require.True(t, letters[s.Letter], "%s: letter %s", name, s.Letter)
			}
			for _, note := range m.Notes {
				require.Contains(t, words, note, name)
			}
		}
	}
}

func TestEverySignalHasItsLetterInThePlot(t *testing.T) {
	for name, m := range adversarial() {
		d := chart.Lay(m, chart.OnPage, chart.DejaVu(), chart.Numbers{})
		seen := ""
		var seenSb162 strings.Builder
		for _, x := range d.Texts() {
			if x.Role == "letter" {
				seenSb162.WriteString(x.Words)
			}
		}
		seen += seenSb162.String()
		for _, s := range m.Signals {
			drawable := slices.ContainsFunc(s.Points, func(i int) bool { return i >= 0 && i < len(m.Points) })
			require.Equal(t, drawable, strings.Contains(seen, s.Letter), "%s: %s", name, s.Letter)
		}
	}
}

func TestGoldens(t *testing.T) {
	models := adversarial()
	for _, name := range []string{"ordinary", "medians", "one point", "nothing known", "births", "every month an intervention", "all signals at every point"} {
		for _, size := range []struct {
			name string
			lay  func() chart.Drawing
		}{
			{"page", func() chart.Drawing {
				return chart.Lay(models[name], chart.OnPage, chart.DejaVu(), chart.Numbers{})
			}},
			{"small", func() chart.Drawing {
				return chart.LaySmall(models[name], chart.InRow, chart.DejaVu(), chart.Numbers{})
			}},
		} {
			var got bytes.Buffer
			require.NoError(t, chart.Dump(&got, size.lay()))
			path := filepath.Join("testdata", strings.ReplaceAll(name, " ", "-")+"-"+size.name+".txt")
			if *update {
				require.NoError(t, os.WriteFile(path, got.Bytes(), 0o644))
			}
			want, err := os.ReadFile(path)
			require.NoError(t, err, "hint: go test ./reports/chart -update")
			if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got.String(), "\n")); diff != "" {
				t.Errorf("%s differs (-golden +now); look at the picture, then go test -update\n%s", path, diff)
			}
		}
	}
}

func TestLayChangesNoModel(t *testing.T) {
	m, same := ordinary(), ordinary()
	chart.Lay(m, chart.OnPage, chart.DejaVu(), chart.Numbers{})
	chart.LaySmall(m, chart.InRow, chart.DejaVu(), chart.Numbers{})
	require.Empty(t, cmp.Diff(same, m))
}

func TestEmptyModelsAreASentence(t *testing.T) {
	for _, c := range []struct {
		m    chart.Model
		says string
	}{
		{chart.Model{}, "There is no period to draw yet."},
		{chart.Model{Points: months(1, 2026)}, "No value for Jan 2026."},
		{chart.Model{Points: months(3, 2026)}, "No value in any period from Jan 2026 to Mar 2026."},
	} {
		d := chart.Lay(c.m, chart.OnPage, chart.DejaVu(), chart.Numbers{})
		require.Equal(t, c.says, d.Texts()[0].Words)
	}
}

// Limits and centre run straight through an intervention.
func TestAMarkMovesNoLine(t *testing.T) {
	lines := func(marks []chart.Mark) []int {
		m := shares(24, 99)
		m.Marks = marks
		var out []int
		for _, it := range chart.Lay(m, chart.OnPage, chart.DejaVu(), chart.Numbers{}).Items {
			if p, ok := it.(chart.Polyline); ok {
				out = append(out, len(p.Points))
			}
		}
		return out
	}
	require.Equal(t, lines(nil), lines([]chart.Mark{{At: 5, Text: "training"}, {At: 6, Text: "timer"}}))
}

func TestAGapBreaksTheLine(t *testing.T) {
	joins := func(m chart.Model) int {
		n := 0
		for _, it := range chart.Lay(m, chart.OnPage, chart.DejaVu(), chart.Numbers{}).Items {
			if l, ok := it.(chart.Line); ok && l.Stroke.Colour == chart.Ink && l.Stroke.Width == 0.3 {
				n++
			}
		}
		return n
	}
	m := shares(24, 99)
	m.Rows = nil
	require.Equal(t, 23, joins(m))
	m.Points[9].Has = false
	require.Equal(t, 21, joins(m))
	for i := 16; i < 24; i++ {
		m.Points[i].Phase = 1
	}
	require.Equal(t, 20, joins(m), "a phase break is a break")
}

func TestPagesKeepEverything(t *testing.T) {
	d := chart.Lay(crowded(), chart.OnPage, chart.DejaVu(), chart.Numbers{})
	require.Greater(t, d.H, 260.0)
	var words []string
	for i, p := range d.Pages(150, 260) {
		room := 260.0
		if i == 0 {
			room = 150
		}
		require.LessOrEqual(t, p.H, room)
		sound(t, p, fmt.Sprint("part ", i))
		for _, x := range p.Texts() {
			words = append(words, x.Words)
		}
	}
	var all []string
	for _, x := range d.Texts() {
		all = append(all, x.Words)
	}
	require.ElementsMatch(t, all, words)
}

func BenchmarkLay(b *testing.B) {
	for _, c := range []struct {
		name string
		m    chart.Model
	}{{"36 months", ordinary()}, {"120 months crowded", crowded()}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				chart.Lay(c.m, chart.OnPage, chart.DejaVu(), chart.Numbers{})
			}
		})
	}
	b.Run("small", func(b *testing.B) {
		m := ordinary()
		b.ReportAllocs()
		for b.Loop() {
			chart.LaySmall(m, chart.InRow, chart.DejaVu(), chart.Numbers{})
		}
	})
}
