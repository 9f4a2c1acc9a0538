package pdf

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/reports"
	"chestrise/reports/chart"
)

var stamp = reports.Stamp{
	Created: time.Date(2026, 4, 2, 1, 0, 0, 0, time.UTC), Generation: 412, Issue: 3, Replaces: 2,
	Program: "0.1.0", Catalogue: "2026.1", Edition: "2025", Coverage: "births attended by a newborn team", Synthetic: true,
}

func model(n int) chart.Model {
	m := chart.Model{
		Title: "Ventilation begun by 60 s", Alt: "a p chart", Kind: "p chart, monthly", CentreIs: "mean",
		Y: chart.Axis{Label: "newborns ventilated by 60 s", Format: chart.Percent},
	}
	row := chart.Row{Label: "n"}
	for i := range n {
		v := 0.39 + 0.2*math.Sin(float64(i)*1.3)
		m.Points = append(m.Points, chart.Point{
			Label: fmt.Sprintf("month %d", i+1), Short: strconv.Itoa(i + 1), Value: v, Has: i != 5, Hollow: i == n-1,
			Centre: new(0.39), Lower: new(0.17), Upper: new(0.6123),
		})
		row.Texts = append(row.Texts, strconv.Itoa(20+i))
	}
	m.Rows = []chart.Row{row}
	m.Signals = []chart.Signal{{Letter: "A", Points: []int{1, 2, 3}, Words: "Three in a row.", Sense: chart.Better}}
	m.Marks = []chart.Mark{{At: 4, Text: "training"}}
	return m
}

func figures(n int) reports.Table {
	t := reports.Table{Title: "Figures of the chart", Columns: []reports.Column{
		{Title: "month", Text: true},
		{Title: "n", Format: chart.Count},
		{Title: "share", Format: chart.Percent},
		{Title: "median", Format: chart.Seconds},
		{Title: "temperature", Format: chart.Celsius},
		{Title: "what it says", Text: true, Weight: 3},
	}}
	for i := range n {
		t.Rows = append(t.Rows, []reports.Cell{
			{Text: fmt.Sprintf("month %d", i+1), Link: "first"},
			{Number: new(float64(1000 + i))},
			{Number: new(float64(i) / 123)},
			{Number: new(40.5 + float64(i))},
			{Number: new(35 + float64(i)/37)},
			{Text: strings.Repeat("words that wrap ", i%9)},
		})
	}
	return t
}

func document() *reports.Document {
	long := reports.Table{Name: "long", Columns: []reports.Column{{Title: "a", Text: true}, {Title: "b"}}, Rows: [][]reports.Cell{
		{{Text: strings.Repeat("a cell that is higher than a page ", 700)}, {Number: new(float64(7))}},
		{{Text: strings.Repeat("Donaudampfschifffahrtsgesellschaft", 40)}},
	}}
	wide := reports.Table{Title: "More columns than a page is wide"}
	var cells []reports.Cell
	for i := range 24 {
		wide.Columns = append(wide.Columns, reports.Column{Title: fmt.Sprintf("measurement %d", i), Format: chart.Plain})
		cells = append(cells, reports.Cell{Number: new(float64(i) * 12345)})
	}
	wide.Rows = [][]reports.Cell{cells}
	return &reports.Document{
		Title: "Delivery room \U0001F476 dashboard", Subject: "Monthly dashboard", Keywords: []string{"newborn", "ventilation"},
		Unit: "Birch Hospital", Period: "March 2026", Notices: []string{"Early look: the month is still open."},
		Sections: []reports.Section{
			{ID: "first", Title: "What changed", Blocks: []reports.Block{
				reports.Text{Text: "One thing to bring to the meeting.", Strong: true},
				reports.Text{Text: strings.Repeat("Words of an ordinary paragraph. ", 30)},
				reports.Multiples{Items: []reports.Multiple{
					{Title: "Ventilation begun", Link: "begun", Latest: "Mar 2026: 9 of 14", Centre: "mean 39 %", Words: "No signal.", Known: "97 % known", Chart: model(30)},
					{Title: "Nothing yet", Link: "nowhere", Latest: "no newborn", Words: strings.Repeat("many words ", 40), Chart: chart.Model{}},
				}},
				reports.List{Items: []string{"first of all", "", "last"}, Ordered: true},
				reports.List{Items: []string{"unordered"}},
			}},
			{ID: "begun", Title: "Ventilation begun", Parent: "first", Blocks: []reports.Block{
				reports.Figure{Chart: model(36)},
				reports.Heading{Text: "Definition"},
				reports.Facts{Pairs: [][2]string{{"population", "all who needed it"}, {strings.Repeat("a name that is long ", 5), strings.Repeat("and a value too ", 20)}, {"empty", ""}}},
				figures(90),
				reports.Footnotes{Items: []string{"A footnote.", strings.Repeat("a long one ", 60)}},
			}},
			{ID: "odd", Title: "Odd shapes", Parent: "begun", Blocks: []reports.Block{
				long, wide,
				reports.Table{Title: "Empty", Columns: long.Columns, Empty: "Nothing is missing."},
				reports.Table{},
				reports.Footnotes{},
				reports.Multiples{},
				reports.Facts{},
				reports.List{},
				reports.Figure{Chart: chart.Model{}, Height: 9999},
			}},
			{ID: "void"},
		},
	}
}

func render(t testing.TB, d *reports.Document) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Renderer{}.Render(&b, d, stamp))
	return b.Bytes()
}

// tool runs a program on the file and gives what it prints. The programs are
// not needed to build or run chestrise: a machine without them skips the test,
// the whole check (.ci/run) installs them.
func tool(t *testing.T, file []byte, name string, args ...string) string {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		if os.Getenv("CI") != "" {
			t.Fatalf("%s is not installed\nhint: apt-get install poppler-utils", name)
		}
		t.Skipf("%s is not installed", name)
	}
	path := filepath.Join(t.TempDir(), "x.pdf")
	require.NoError(t, os.WriteFile(path, file, 0o600))
	for i, a := range args {
		args[i] = strings.ReplaceAll(a, "FILE", path)
	}
	out, err := exec.Command(name, args...).CombinedOutput()
	require.NoError(t, err, "%s: %s", name, out)
	return string(out)
}

func TestNoTextsCollideOnAnyPage(t *testing.T) {
	pages, _ := compose(document(), stamp)
	require.Greater(t, len(pages), 8)
	for i, p := range pages {
		require.Empty(t, chart.Overlaps(p.drawing), "page %d", i+1)
		require.Empty(t, chart.Outside(p.drawing), "page %d", i+1)
	}
}

func TestNoTextsCollideInAnyDocument(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		most := rapid.IntRange(1, 30).Draw(t, "words")
		words := func() string {
			return strings.TrimSpace(strings.Repeat("needed 39 % "[r.IntN(6):], r.IntN(most)))
		}
		d := &reports.Document{Title: words(), Unit: words(), Period: words(), Notices: []string{words(), words()}}
		for i := range rapid.IntRange(0, 3).Draw(t, "sections") {
			s := reports.Section{ID: strconv.Itoa(i), Title: words()}
			for range r.IntN(8) {
				table := reports.Table{Title: words(), Empty: words()}
				for range r.IntN(14) {
					table.Columns = append(table.Columns, reports.Column{Title: words(), Text: r.IntN(2) == 0, Weight: r.Float64()})
				}
				for range r.IntN(12) {
					row := make([]reports.Cell, len(table.Columns))
					for k := range row {
						row[k] = reports.Cell{Number: new(r.Float64() * 1e5)}
						if r.IntN(3) == 0 {
							row[k] = reports.Cell{Text: words(), Link: "0"}
						}
					}
					table.Rows = append(table.Rows, row)
				}
				s.Blocks = append(s.Blocks, []reports.Block{
					reports.Heading{Text: words()},
					reports.Text{Text: words(), Strong: r.IntN(2) == 0},
					reports.List{Items: []string{words(), words()}},
					reports.Facts{Pairs: [][2]string{{words(), words()}}},
					reports.Footnotes{Items: []string{words()}},
					reports.Figure{Chart: model(7 + r.IntN(60)), Height: r.Float64() * 300},
					table,
					reports.Multiples{Items: []reports.Multiple{{Title: words(), Latest: words(), Words: words(), Known: words(), Chart: model(7)}}},
				}[r.IntN(8)])
			}
			d.Sections = append(d.Sections, s)
		}
		pages, _ := compose(d, stamp)
		for i, p := range pages {
			for _, o := range chart.Overlaps(p.drawing) {
				require.Fail(t, "texts collide", "page %d: %s %q %v, %s %q %v", i+1, o.A.Role, o.A.Words, o.A.Box(), o.B.Role, o.B.Words, o.B.Box())
			}
			for _, o := range chart.Outside(p.drawing) {
				require.Fail(t, "text leaves the page", "page %d: %s %q %v", i+1, o.Role, o.Words, o.Box())
			}
		}
	})
}

// Another program reads back every number of the table and of the chart.
func TestEveryNumberIsReadBack(t *testing.T) {
	d := document()
	text := tool(t, render(t, d), "pdftotext", "-layout", "FILE", "-")
	words := " " + strings.Join(strings.Fields(text), " ") + " "
	words = strings.ReplaceAll(words, " %", "%") // the reader drops the blank of "0 %" but not that of "39 %"
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			table, ok := b.(reports.Table)
			if !ok || table.Title == "More columns than a page is wide" || table.Name == "long" {
				continue
			}
			for _, row := range table.Rows {
				for k, c := range row {
					if c.Number != nil {
						want := c.Read(table.Columns[k].Format, d.Locale)
						if !strings.Contains(words, " "+strings.ReplaceAll(want, " %", "%")+" ") {
							t.Errorf("row %s: %q is not read back", row[0].Text, want)
						}
					}
				}
			}
		}
	}
	for _, w := range []string{"mean 39%", "upper limit 61%", "lower limit 17%", "training", "Three in a row.", "97% known"} {
		require.Contains(t, words, w)
	}
	require.NotContains(t, words, "\U0001F476")
	require.Contains(t, words, "Delivery room \uFFFD dashboard")
}

// In a table that must break words, nothing is lost all the same.
func TestWideAndLongTablesLoseNothing(t *testing.T) {
	pages, _ := compose(document(), stamp)
	var b strings.Builder
	for _, p := range pages {
		for _, x := range p.drawing.Texts() {
			if x.Role == "cell" {
				b.WriteString(strings.ReplaceAll(x.Words, " ", ""))
			}
		}
	}
	require.Equal(t, 700, strings.Count(b.String(), "acellthatishigherthanapage"))
	require.Contains(t, b.String(), strings.Repeat("Donaudampfschifffahrtsgesellschaft", 40))
	for i := range 24 {
		require.Contains(t, b.String(), chart.Plain.Text(float64(i)*12345))
	}
}

func TestEveryPageSaysWhatItIs(t *testing.T) {
	text := tool(t, render(t, document()), "pdftotext", "-layout", "FILE", "-")
	pages := strings.Split(strings.TrimSuffix(text, "\f"), "\f")
	for i, p := range pages {
		p = strings.Join(strings.Fields(p), " ")
		for _, want := range []string{
			"Birch Hospital", "March 2026", "Early look: the month is still open.", "Synthetic data", "issue 3, replaces issue 2",
			"registry generation 412", "births attended by a newborn team", "definitions 2026.1", "guideline edition 2025", "chestrise 0.1.0",
			"data as sent on 2026-04-02", fmt.Sprintf("page %d of %d", i+1, len(pages)),
		} {
			require.Contains(t, p, want, "page %d", i+1)
		}
	}
}

func TestTheHeaderOfATableIsRepeated(t *testing.T) {
	d := &reports.Document{Title: "t", Sections: []reports.Section{{ID: "s", Title: "s", Blocks: []reports.Block{figures(150)}}}}
	pages, _ := compose(d, stamp)
	require.Greater(t, len(pages), 2)
	for i, p := range pages {
		n := 0
		for _, x := range p.drawing.Texts() {
			if x.Role == "column" && x.Words == "median" {
				n++
			}
		}
		require.Equal(t, 1, n, "page %d", i+1)
	}
}

func TestFileIsSoundAndDescribesItself(t *testing.T) {
	file := render(t, document())
	if _, err := exec.LookPath("qpdf"); err == nil {
		require.Contains(t, tool(t, file, "qpdf", "--check", "FILE"), "No syntax or stream encoding errors")
	}
	info := tool(t, file, "pdfinfo", "-isodates", "FILE")
	for _, want := range []string{`Title: +Delivery room`, `Subject: +Monthly dashboard`, `Keywords: +newborn, ventilation`, `Creator: +chestrise 0.1.0`, `CreationDate: +2026-04-02T01:00:00`} {
		require.Regexp(t, want, info)
	}
	require.NotRegexp(t, `(?m)^Author`, info)
	require.Equal(t, 90+1, strings.Count(string(file), "/Subtype /Link /Rect"), "one for each row, one for the overview line; none to nowhere")
}

func TestBookmarksFollowTheSections(t *testing.T) {
	_, anchors := compose(document(), stamp)
	var got []string
	for _, a := range anchors {
		got = append(got, fmt.Sprint(a.level, " ", a.id))
	}
	require.Equal(t, []string{"0 first", "1 begun", "2 odd", "0 void"}, got)
	require.Contains(t, string(render(t, document())), "/Type /Outlines")
}

func TestABookmarkNeverSkipsALevel(t *testing.T) {
	d := &reports.Document{Sections: []reports.Section{{ID: "a"}, {ID: "b", Parent: "a"}, {ID: "c"}, {ID: "d", Parent: "b"}, {ID: "e", Parent: "unknown"}}}
	_, anchors := compose(d, reports.Stamp{})
	before := -1
	for _, a := range anchors {
		require.LessOrEqual(t, a.level, before+1)
		before = a.level
	}
	render(t, d)
}

// TestSameBytes renders in this process, in another one and in two goroutines.
func TestSameBytes(t *testing.T) {
	sum := func() string { return fmt.Sprintf("%x", sha256.Sum256(render(t, document()))) }
	if os.Getenv("CHESTRISE_PRINT_SUM") != "" {
		fmt.Println("sum:", sum())
		return
	}
	cmd := exec.Command(os.Args[0], "-test.run=^TestSameBytes$", "-test.v")
	cmd.Env = append(os.Environ(), "CHESTRISE_PRINT_SUM=1", "TZ=Pacific/Auckland", "LC_ALL=de_DE.UTF-8")
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	got := regexp.MustCompile(`sum: ([0-9a-f]{64})`).FindSubmatch(out)
	require.NotNil(t, got, "%s", out)
	want := sum()
	require.Equal(t, string(got[1]), want)
	var wg sync.WaitGroup
	sums := make([]string, 2)
	for i := range sums {
		wg.Go(func() { ; sums[i] = sum() })
	}
	wg.Wait()
	require.Equal(t, []string{want, want}, sums)
}

func TestChart(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, Chart(&b, model(24), chart.OnSlide, chart.Numbers{DecimalComma: true}, stamp))
	text := tool(t, b.Bytes(), "pdftotext", "-layout", "FILE", "-")
	require.Contains(t, text, "mean 39 %")
	require.Contains(t, text, "Synthetic data")
	require.Contains(t, tool(t, b.Bytes(), "pdfinfo", "FILE"), "Pages:           1")
	b.Reset()
	require.NoError(t, Chart(&b, chart.Model{}, chart.OnPage, chart.Numbers{}, reports.Stamp{}))
	require.NotContains(t, tool(t, b.Bytes(), "pdftotext", "FILE", "-"), "generation", "no stamp, no line")
}

type broken struct{ written int }

var errDisk = errors.New("disk is full")

func (b *broken) Write(p []byte) (int, error) { b.written += len(p); return 0, errDisk }

func TestErrorsAreReturned(t *testing.T) {
	require.ErrorIs(t, Renderer{}.Render(&broken{}, document(), stamp), errDisk)
	require.ErrorContains(t, Renderer{}.Render(io.Discard, nil, stamp), "no document")
	var b bytes.Buffer
	open := chart.Drawing{W: 10, H: 10, Items: []chart.Item{chart.ClipTo{Box: chart.Box{W: 1, H: 1}}}}
	require.ErrorContains(t, write(&b, []page{{drawing: open}}, nil, meta{}), "clip")
	require.Zero(t, b.Len(), "an error leaves nothing behind")
}

func BenchmarkRender(b *testing.B) {
	d := &reports.Document{Title: "bench", Unit: "unit", Period: "March 2026"}
	for i := range 10 {
		d.Sections = append(d.Sections, reports.Section{ID: strconv.Itoa(i), Title: fmt.Sprint("measure ", i), Blocks: []reports.Block{reports.Figure{Chart: model(48)}, figures(48)}})
	}
	b.ReportAllocs()
	for b.Loop() {
		if err := (Renderer{}).Render(io.Discard, d, stamp); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkChart(b *testing.B) {
	m := model(48)
	b.ReportAllocs()
	for b.Loop() {
		if err := Chart(io.Discard, m, chart.OnPage, chart.Numbers{}, stamp); err != nil {
			b.Fatal(err)
		}
	}
}
