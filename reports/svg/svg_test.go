package svg_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/reports"
	"chestrise/reports/chart"
	"chestrise/reports/svg"
)

func model() chart.Model {
	m := chart.Model{
		Title: `Share <60 s & "more" ]]>`, Alt: "Four months, one above the limit.", Kind: "p chart", CentreIs: "mean",
		Y:       chart.Axis{Label: "newborns", Format: chart.Percent},
		Signals: []chart.Signal{{Letter: "A", Points: []int{3}, Words: "Above the limit.", Sense: chart.Worse}},
		Marks:   []chart.Mark{{At: 1, Text: "timer & form"}},
		Notes:   []string{"control \x01, not UTF-8 \xff, emoji \U0001F476"},
	}
	for i, v := range []float64{0.31, 0.42, 0.38, 0.8} {
		m.Points = append(m.Points, chart.Point{Label: "month", Short: "Jan", Value: v, Has: true, Hollow: i == 1, Centre: new(0.37), Lower: new(0.1), Upper: new(0.64), Low: new(v - 0.05), High: new(v + 0.05)})
	}
	return m
}

// read parses a file strictly and gives its texts, by element.
func read(t *testing.T, b []byte) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	d := xml.NewDecoder(bytes.NewReader(b))
	var open []string
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		switch tok := tok.(type) {
		case xml.StartElement:
			open = append(open, tok.Name.Local)
			require.Equal(t, "http://www.w3.org/2000/svg", tok.Name.Space)
			for _, a := range tok.Attr {
				require.NotContains(t, a.Value, "NaN")
				require.NotRegexp(t, `\d[eE][-+]?\d`, a.Value, "%s: no exponents", a.Name.Local)
			}
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if s := strings.TrimSpace(string(tok)); s != "" {
				out[open[len(open)-1]] = append(out[open[len(open)-1]], s)
			}
		}
	}
	require.Empty(t, open)
	return out
}

func TestWriteIsWellFormedAndSaysEverything(t *testing.T) {
	d := chart.Lay(model(), chart.OnSlide, chart.DejaVu(), chart.Numbers{})
	var b bytes.Buffer
	require.NoError(t, svg.Write(&b, d))
	got := read(t, b.Bytes())
	require.Equal(t, []string{model().Title}, got["title"])
	require.Equal(t, []string{model().Alt}, got["desc"])
	var want []string
	for _, x := range d.Texts() {
		want = append(want, x.Words)
	}
	require.Equal(t, want, got["text"], "the same words as the drawing, in its order")
	require.Contains(t, b.String(), "sans-serif", "a generic fallback")
	require.Contains(t, b.String(), "textLength=", "words keep to their room in any typeface")
}

func TestTheSameDrawingIsTheSameBytes(t *testing.T) {
	var a, b bytes.Buffer
	require.NoError(t, svg.Chart(&a, model(), chart.OnPage, chart.Numbers{}))
	require.NoError(t, svg.Chart(&b, model(), chart.OnPage, chart.Numbers{}))
	require.Equal(t, a.String(), b.String())
	var comma bytes.Buffer
	require.NoError(t, svg.Chart(&comma, model(), chart.OnPage, chart.Numbers{DecimalComma: true}))
	require.NotContains(t, comma.String(), `width="174,`, "the decimal comma is for words, never for attributes")
}

func TestStampedSaysFromWhat(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, svg.Stamped(&b, model(), chart.OnSlide, chart.Numbers{}, reports.Stamp{Generation: 7, Synthetic: true}))
	require.Contains(t, strings.Join(read(t, b.Bytes())["text"], " "), "Synthetic data · registry generation 7")
}

func TestClipsAreClosed(t *testing.T) {
	box := chart.Box{W: 5, H: 5}
	line := chart.Line{To: chart.Pos{X: 9, Y: 9}, Stroke: chart.Stroke{Colour: chart.Ink, Width: 1}}
	var b bytes.Buffer
	require.NoError(t, svg.Write(&b, chart.Drawing{W: 9, H: 9, Items: []chart.Item{chart.ClipTo{Box: box}, line, chart.ClipEnd{}, line}}))
	read(t, b.Bytes())
	b.Reset()
	require.ErrorContains(t, svg.Write(&b, chart.Drawing{Items: []chart.Item{chart.ClipTo{Box: box}}}), "not closed")
	require.Zero(t, b.Len(), "an error leaves nothing behind")
}

func BenchmarkWrite(b *testing.B) {
	d := chart.Lay(model(), chart.OnPage, chart.DejaVu(), chart.Numbers{})
	b.ReportAllocs()
	for b.Loop() {
		if err := svg.Write(io.Discard, d); err != nil {
			b.Fatal(err)
		}
	}
}
