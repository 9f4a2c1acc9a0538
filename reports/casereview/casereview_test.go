package casereview_test

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/metrics"
	"chestrise/metrics/cases"
	"chestrise/metrics/spc"
	"chestrise/reports"
	"chestrise/reports/casereview"
	"chestrise/reports/chart"
	"chestrise/reports/pdf"
	"chestrise/reports/workbook"
)

// texts are all words of a document, one a line.
func texts(d *reports.Document) string {
	var w []string
	for _, s := range d.Sections {
		w = append(w, s.Title)
		for _, b := range s.Blocks {
			switch b := b.(type) {
			case reports.Text:
				w = append(w, b.Text)
			case reports.List:
				w = append(w, b.Items...)
			case reports.Footnotes:
				w = append(w, b.Items...)
			case reports.Columns:
				for _, c := range b.Cards {
					w = append(w, c.Title)
					w = append(w, c.Lines...)
				}
			case reports.Picture:
				for _, t := range b.Drawing.Texts() {
					w = append(w, t.Words)
				}
				w = append(w, rows(b.Table)...)
			case reports.Table:
				w = append(w, rows(b)...)
			case reports.Multiples:
				for _, m := range b.Items {
					w = append(w, m.Title, m.Words)
				}
			}
		}
	}
	return strings.Join(append(w, d.Notices...), "\n")
}

func rows(t reports.Table) []string {
	w := []string{t.Title}
	for _, r := range t.Rows {
		for _, c := range r {
			w = append(w, c.Text)
		}
	}
	return w
}

func allEight(t testing.TB) *casereview.Packet {
	var keys []record.Key
	for c := byte('A'); c <= 'H'; c++ {
		keys = append(keys, record.Key{c})
	}
	return packet(t, asked("worked", march, march, keys...), readEight(t))
}

// months are three invented months: a centre, a general unit, and one whose times
// are typed afterwards.
func months(t testing.TB) map[string]*casereview.Packet {
	out := map[string]*casereview.Packet{"eight": allEight(t)}
	for unit, m := range map[string]record.Month{"alder": record.MonthOf(2026, 2), "cedar": record.MonthOf(2026, 2), "fern": record.MonthOf(2024, 11)} {
		out[unit] = packet(t, trained(unit, m, m, m-3), demo(t, unit, m, m))
	}
	return out
}

// Neither document nor outline nor figure blames, ranks or names.
func TestNoBlameNoDatesNoVerdict(t *testing.T) {
	blame := regexp.MustCompile(`(?i)\b(skipp|omitt|forgot|neglect|fault|blame|mistake|wrong|should have|too late|too slow|delayed|failed to|inadequate|poor|deviation|violat)`)
	dates := regexp.MustCompile(`\b20\d\d-\d\d|\b\d\d:\d\d:\d\d\b|(?i)\b(monday|sunday|night shift|weekend)\b`)
	for name, p := range months(t) {
		for _, words := range []string{texts(p.Document), p.Outline} {
			require.Empty(t, blame.FindString(words), name)
			require.Empty(t, dates.FindString(words), name)
		}
		for _, f := range p.Figures {
			for _, x := range f.Drawing.Texts() {
				require.Empty(t, blame.FindString(x.Words), "%s %s", name, f.Name)
			}
		}
	}
}

// No text meets another or leaves its figure, and every figure is valid XML.
func TestFiguresAreCleanAndStandAlone(t *testing.T) {
	for name, p := range months(t) {
		dir := t.TempDir()
		files, err := p.Save(filepath.Join(dir, "packet"), stamp, pdf.Renderer{}, workbook.Renderer{})
		require.NoError(t, err)
		require.Subset(t, files, []string{"packet.pdf", "packet.xlsx", "outline.txt", "figures/case-1-timeline.svg", "figures/pathway.svg"})
		for _, f := range p.Figures {
			require.Empty(t, chart.Overlaps(f.Drawing), "%s %s", name, f.Name)
			require.Empty(t, chart.Outside(f.Drawing), "%s %s", name, f.Name)
			require.InDelta(t, 254, f.Drawing.W, 0.1, "as wide as a slide")
			require.LessOrEqual(t, f.Drawing.H, 143.0, "%s %s: no higher than a slide", name, f.Name)
			var said []string
			for _, x := range f.Drawing.Texts() {
				said = append(said, x.Words)
			}
			require.Contains(t, strings.Join(said, " "), "Synthetic data", "%s %s", name, f.Name)
			text, err := os.ReadFile(filepath.Join(dir, "packet", "figures", f.Name+".svg"))
			require.NoError(t, err)
			x := xml.NewDecoder(bytes.NewReader(text))
			for {
				_, err := x.Token()
				if errors.Is(err, io.EOF) {
					break
				}
				require.NoError(t, err)
			}
		}
	}
}

// Folders can be entered and files read by owner and group alone.
func TestModes(t *testing.T) {
	old := syscall.Umask(0)
	defer syscall.Umask(old)
	dir := filepath.Join(t.TempDir(), "packet")
	require.NoError(t, os.MkdirAll(dir, 0o777))
	_, err := allEight(t).Save(dir, stamp, pdf.Renderer{})
	require.NoError(t, err)
	require.NoError(t, filepath.Walk(dir, func(path string, i os.FileInfo, err error) error {
		require.NoError(t, err)
		want := os.FileMode(0o640)
		if i.IsDir() {
			want = 0o750
		}
		require.Equal(t, want, i.Mode().Perm(), path)
		return nil
	}))
}

// A renderer that fails leaves nothing behind.
type broken struct{ reports.Renderer }

func (broken) Render(io.Writer, *reports.Document, reports.Stamp) error { return errors.New("no ink") }
func (broken) Ext() string                                              { return ".pdf" }

func TestNothingIsLeftAfterAFailure(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "packet")
	_, err := allEight(t).Save(dir, stamp, broken{})
	require.ErrorContains(t, err, "no ink")
	require.NoDirExists(t, dir)
}

// Each hard newborn of the worked delivery with the sentences of its page.
func TestPagesOfTheEight(t *testing.T) {
	p := allEight(t)
	page := func(n int) string {
		for _, s := range p.Document.Sections {
			if s.ID == "case-"+string(rune('0'+n)) {
				return texts(&reports.Document{Sections: []reports.Section{s}})
			}
		}
		return ""
	}
	for n, want := range map[int][]string{
		1: {"Chosen by hand.", "15 s not breathing"},
		2: {"65 s chest not moving", "70 s mask seal", "48–150 s ventilation: mask, T-piece"},
		3: {"from 130 s, end not recorded: CPAP: mask, T-piece"},
		4: {"150–185 s tube failed: mask ventilation failing", "Of 3 basic steps counted here, 2 are on record before the airway."},
		5: {"Order known, seconds not: these times are from a timer started at the warmer, and when it started after birth is not recorded."},
		6: {"7 of 7 times are intervals: each happened at some moment of the stretch drawn.", "Not kept where the newborn was born: T-piece and flow-inflating bag."},
		7: {"Help was needed again, or first, more than 20 minutes after birth."},
		8: {"Comfort care was planned before birth.", "A decision was awaited, documented at 90 s."},
	} {
		for _, w := range want {
			require.Contains(t, page(n), w, "case %d", n)
		}
		require.Contains(t, page(n), "One case cannot show a rate.")
		require.Contains(t, page(n), "The rule: was there one, did it fit?")
		require.NotContains(t, page(n), "local aim", "off unless the hospital decides otherwise")
	}
}

// The PDF holds every case's words and the caption of the pathway.
func TestOnePageACase(t *testing.T) {
	p := allEight(t)
	for i, s := range p.Document.Sections {
		if !strings.HasPrefix(s.ID, "case-") {
			continue
		}
		d := *p.Document
		d.Title, d.Unit = "", "A unit"
		d.Sections = p.Document.Sections[i : i+1]
		var b bytes.Buffer
		require.NoError(t, pdf.Renderer{}.Render(&b, &d, stamp))
		require.Equal(t, 1, bytes.Count(b.Bytes(), []byte("/Type /Page\n")), s.Title)
	}
	require.Contains(t, texts(p.Document), "Order reflects habit. This page cannot show which step works.")
}

// The hospital's own wording stands on every page; without it the packet says that
// there is none.
func TestWording(t *testing.T) {
	build := func(wording string) *casereview.Packet {
		set := settings(t)
		set.Confidentiality = wording
		q := asked("worked", march, march)
		q.Settings = set
		sel, err := cases.Select(context.Background(), readEight(t), q)
		require.NoError(t, err)
		return casereview.Build(casereview.Input{Selection: sel, Settings: set})
	}
	require.Equal(t, []string{"The hospital has supplied no confidentiality wording. The software makes no document confidential."}, build("").Document.Notices)
	p := build("Our own words.")
	require.Equal(t, []string{"Our own words."}, p.Document.Notices)
	require.Contains(t, p.Outline, "Our own words.")
	require.Equal(t, "worked", p.Document.Unit)
}

func TestNothingToBring(t *testing.T) {
	p := packet(t, asked("worked", march+1, march+1), readEight(t))
	require.Contains(t, texts(p.Document), "No newborn is on record for this period.")
	quiet := readEight(t)[:1]
	p = packet(t, asked("worked", march, march), quiet)
	require.Contains(t, texts(p.Document), "No case to bring: of 1 newborns, 0 were helped and no trigger holds for any.")
	_, err := p.Save(filepath.Join(t.TempDir(), "p"), stamp, pdf.Renderer{}, workbook.Renderer{})
	require.NoError(t, err)
}

// The unit's charts that belong to the triggers, and no others.
func TestLinkedCharts(t *testing.T) {
	var s spc.Series
	for i := range 18 {
		var o spc.Observation
		o.Label, o.Num, o.N = record.Month(24300+i).String(), float64(3+i%4), 12
		s.Points = append(s.Points, o)
	}
	s.Ratio = true
	var o spc.Options
	c, err := spc.Plot(spc.P, s, nil, o)
	require.NoError(t, err)
	var view metrics.UnitView
	add := func(id, measured, absent string) {
		var m metrics.MeasureView
		m.Definition.ID, m.Measured, m.Absent = id, measured, absent
		if absent == "" {
			m.Chart, m.Drawn, m.Axis.Percent = c, true, true
		}
		view.Measures = append(view.Measures, m)
	}
	add("seconds-to-effective-ventilation", "Time to a sign", "")
	add("cord", "An unrelated measure", "")
	add("births-between-compressions", "Births between compressions", "not computable here")
	set := settings(t)
	q := asked("worked", march, march)
	q.Settings = set
	sel, err := cases.Select(context.Background(), readEight(t), q)
	require.NoError(t, err)
	p := casereview.Build(casereview.Input{Selection: sel, Settings: set, Charts: &view, Synthetic: true})
	words := texts(p.Document)
	require.Contains(t, words, "Time to a sign: No signal in the latest closed period: it looks like the others.")
	require.Contains(t, words, "Births between compressions: not computable here")
	require.NotContains(t, words, "An unrelated measure")
	var names []string
	for _, f := range p.Figures {
		names = append(names, f.Name)
		require.Empty(t, chart.Overlaps(f.Drawing), f.Name)
	}
	require.Contains(t, names, "chart-seconds-to-effective-ventilation")
	var b bytes.Buffer
	require.NoError(t, pdf.Renderer{}.Render(&b, p.Document, stamp))
}

// The same selection gives the same bytes.
func TestSamePacketTwice(t *testing.T) {
	bytesOf := func() []byte {
		p := allEight(t)
		var b bytes.Buffer
		require.NoError(t, pdf.Renderer{}.Render(&b, p.Document, stamp))
		return append(b.Bytes(), p.Outline...)
	}
	require.True(t, bytes.Equal(bytesOf(), bytesOf()))
}
