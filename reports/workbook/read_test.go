package workbook_test

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"io"
	"path"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

// parts unzips a workbook.
func parts(t *testing.T, b []byte) map[string][]byte {
	t.Helper()
	zr, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	require.NoError(t, err)
	out := map[string][]byte{}
	for _, f := range zr.File {
		r, err := f.Open()
		require.NoError(t, err)
		out[f.Name], err = io.ReadAll(r)
		require.NoError(t, err)
	}
	return out
}

// node is an XML element, read without any knowledge of the format.
type node struct {
	XMLName xml.Name
	Attrs   []xml.Attr `xml:",any,attr"`
	Nodes   []node     `xml:",any"`
	Text    string     `xml:",chardata"`
}

func parse(t *testing.T, b []byte) node {
	t.Helper()
	var n node
	require.NoError(t, xml.Unmarshal(b, &n))
	return n
}

func (n node) attr(name string) string {
	for _, a := range n.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// all finds the descendants along a path of local names, each step at any
// depth.
func (n node) all(names ...string) []node {
	if len(names) == 0 {
		return []node{n}
	}
	var out []node
	for _, c := range n.Nodes {
		if c.XMLName.Local == names[0] {
			out = append(out, c.all(names[1:]...)...)
			continue
		}
		out = append(out, c.all(names...)...)
	}
	return out
}

// child is the first child of a name, or an empty node.
func (n node) child(names ...string) node {
	for _, name := range names {
		var next node
		for _, c := range n.Nodes {
			if c.XMLName.Local == name {
				next = c
				break
			}
		}
		n = next
	}
	return n
}

// readSeries is a series as a chart part has it.
type readSeries struct {
	nameRef, name string
	xRef, yRef    string
	xs, ys        map[int]float64
	xCount, count int
	symbol        string
	size          string
	fill          string
	dash          string
	line          bool
	points        map[int]readPoint
	labels        []readLabel
}

// readPoint is how a point differs from its series: its mark, and the line that
// leads to it ("none", "solid" or the name of a dash).
type readPoint struct{ symbol, line string }

type readLabel struct {
	index       int
	text, place string
}

type readChart struct {
	part, sheet   string
	name, alt     string
	title         string
	series        []readSeries
	hiddenEntries []int
	from, to      [2]int // column and row of the corners, from zero
	root          node
}

func (c readChart) find(name string) (readSeries, bool) {
	for _, s := range c.series {
		if s.name == name {
			return s, true
		}
	}
	return readSeries{}, false
}

func cache(t *testing.T, n node) (ref string, count int, values map[int]float64) {
	t.Helper()
	numRef := n.child("numRef")
	require.Equal(t, "numRef", numRef.XMLName.Local, "numbers are references to numbers")
	count, err := strconv.Atoi(numRef.child("numCache", "ptCount").attr("val"))
	require.NoError(t, err)
	values = map[int]float64{}
	for _, p := range numRef.child("numCache").all("pt") {
		i, err := strconv.Atoi(p.attr("idx"))
		require.NoError(t, err)
		v, err := strconv.ParseFloat(p.child("v").Text, 64)
		require.NoError(t, err)
		values[i] = v
	}
	return numRef.child("f").Text, count, values
}

func texts(n node) string {
	var lines []string
	for _, p := range n.all("p") {
		line := ""
		var lineSb152 strings.Builder
		for _, r := range p.all("t") {
			lineSb152.WriteString(r.Text)
		}
		line += lineSb152.String()
		lines = append(lines, line)
	}
	return strings.Join(lines, "|")
}

// charts reads every chart of a workbook, sheet by sheet, without the library
// that wrote it.
func charts(t *testing.T, ps map[string][]byte) []readChart {
	t.Helper()
	rels := func(part string) map[string]string {
		out := map[string]string{}
		b, ok := ps[path.Dir(part)+"/_rels/"+path.Base(part)+".rels"]
		if !ok {
			return out
		}
		for _, r := range parse(t, b).all("Relationship") {
			target := r.attr("Target")
			if !strings.HasPrefix(target, "/") {
				target = path.Join(path.Dir(part), target)
			}
			out[r.attr("Id")] = strings.TrimPrefix(target, "/")
		}
		return out
	}
	var out []readChart
	book := rels("xl/workbook.xml")
	for _, s := range parse(t, ps["xl/workbook.xml"]).all("sheet") {
		part := book[s.attr("id")]
		sheetRels := rels(part)
		for _, d := range parse(t, ps[part]).all("drawing") {
			drawing := sheetRels[d.attr("id")]
			chartRels := rels(drawing)
			for _, a := range parse(t, ps[drawing]).all("twoCellAnchor") {
				c := readChart{sheet: s.attr("name"), part: chartRels[a.all("chart")[0].attr("id")]}
				props := a.all("cNvPr")[0]
				c.name, c.alt = props.attr("name"), props.attr("descr")
				for i, corner := range []node{a.child("from"), a.child("to")} {
					col, err := strconv.Atoi(corner.child("col").Text)
					require.NoError(t, err)
					row, err := strconv.Atoi(corner.child("row").Text)
					require.NoError(t, err)
					if i == 0 {
						c.from = [2]int{col, row}
					} else {
						c.to = [2]int{col, row}
					}
				}
				c.root = parse(t, ps[c.part])
				c.read(t)
				out = append(out, c)
			}
		}
	}
	return out
}

func (c *readChart) read(t *testing.T) {
	t.Helper()
	c.title = texts(c.root.child("chart", "title", "tx"))
	for _, e := range c.root.all("legendEntry") {
		i, err := strconv.Atoi(e.child("idx").attr("val"))
		require.NoError(t, err)
		c.hiddenEntries = append(c.hiddenEntries, i)
	}
	for _, s := range c.root.all("scatterChart", "ser") {
		r := readSeries{points: map[int]readPoint{}}
		r.nameRef = s.child("tx", "strRef", "f").Text
		r.name = s.child("tx", "strRef", "strCache", "pt", "v").Text
		r.xRef, r.xCount, r.xs = cache(t, s.child("xVal"))
		r.yRef, r.count, r.ys = cache(t, s.child("yVal"))
		r.symbol, r.size = s.child("marker", "symbol").attr("val"), s.child("marker", "size").attr("val")
		r.fill = s.child("marker", "spPr", "solidFill", "srgbClr").attr("val")
		r.line = s.child("spPr", "ln", "noFill").XMLName.Local == ""
		r.dash = s.child("spPr", "ln", "prstDash").attr("val")
		for _, p := range s.Nodes {
			if p.XMLName.Local == "dPt" {
				i, err := strconv.Atoi(p.child("idx").attr("val"))
				require.NoError(t, err)
				at := readPoint{p.child("marker", "symbol").attr("val"), "solid"}
				if d := p.child("spPr", "ln", "prstDash").attr("val"); d != "" {
					at.line = d
				}
				if p.child("spPr", "ln", "noFill").XMLName.Local != "" {
					at.line = "none"
				}
				r.points[i] = at
			}
		}
		for _, l := range s.all("dLbl") {
			i, err := strconv.Atoi(l.child("idx").attr("val"))
			require.NoError(t, err)
			r.labels = append(r.labels, readLabel{i, texts(l.child("tx")), l.child("dLblPos").attr("val")})
		}
		require.Equal(t, "0", s.child("smooth").attr("val"), "lines of a control chart are straight")
		c.series = append(c.series, r)
	}
}

// open reads a workbook back with the library.
func open(t *testing.T, b []byte) *excelize.File {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(b))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, f.Close()) })
	return f
}

// follow resolves 'Sheet'!$A$1:$A$9 to its cells in order.
func follow(t *testing.T, ref string) (sheet string, cells []string) {
	t.Helper()
	i := strings.LastIndex(ref, "!")
	require.Positive(t, i, ref)
	sheet = ref[:i]
	if strings.HasPrefix(sheet, "'") {
		sheet = strings.ReplaceAll(sheet[1:len(sheet)-1], "''", "'")
	}
	from, to, ranged := strings.Cut(strings.ReplaceAll(ref[i+1:], "$", ""), ":")
	if !ranged {
		to = from
	}
	c1, r1, err := excelize.CellNameToCoordinates(from)
	require.NoError(t, err)
	c2, r2, err := excelize.CellNameToCoordinates(to)
	require.NoError(t, err)
	for c := c1; c <= c2; c++ {
		for r := r1; r <= r2; r++ {
			name, err := excelize.CoordinatesToCellName(c, r)
			require.NoError(t, err)
			cells = append(cells, name)
		}
	}
	return sheet, cells
}

// number reads a number from a cell; absent where the cell is empty.
func (b readBook) number(t *testing.T, sheet, cell string) (float64, bool) {
	t.Helper()
	c := b.sheets[sheet][cell]
	require.Empty(t, c.kind, "%s!%s holds words where a number belongs", sheet, cell)
	return c.number, c.has
}
