package workbook_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

var update = flag.Bool("update", false, "write the golden files anew")

// dump writes down what a workbook says: cells with their formats, links and
// charts, but no styles and no bytes.
func dump(t *testing.T, b []byte) string {
	t.Helper()
	ps := parts(t, b)
	book := readCells(t, ps)
	cs := charts(t, ps)
	var out strings.Builder
	for _, sheet := range book.order {
		fmt.Fprintf(&out, "== %s\n", sheet)
		n := parse(t, ps[book.part[sheet]])
		for _, l := range n.all("hyperlink") {
			fmt.Fprintf(&out, "link %s -> %s\n", l.attr("ref"), l.attr("location"))
		}
		for _, p := range n.all("sheetView", "pane") {
			fmt.Fprintf(&out, "frozen above %s\n", p.attr("topLeftCell"))
		}
		for _, br := range n.all("rowBreaks", "brk") {
			fmt.Fprintf(&out, "new page after row %s\n", br.attr("id"))
		}
		cells := book.sheets[sheet]
		type place struct {
			row, col int
			name     string
		}
		var order []place
		for name, c := range cells {
			if !c.has {
				continue
			}
			col, row, err := excelize.CellNameToCoordinates(name)
			require.NoError(t, err)
			order = append(order, place{row, col, name})
		}
		slices.SortFunc(order, func(a, b place) int {
			if a.row != b.row {
				return a.row - b.row
			}
			return a.col - b.col
		})
		for _, p := range order {
			c := cells[p.name]
			if c.kind == "" {
				fmt.Fprintf(&out, "%s %.12g [%s]\n", p.name, c.number, c.format)
				continue
			}
			fmt.Fprintf(&out, "%s %q\n", p.name, c.text)
		}
		for _, c := range cs {
			if c.sheet != sheet {
				continue
			}
			fmt.Fprintf(&out, "chart %q at row %d to %d\n  title %q\n  alt %q\n", c.name, c.from[1]+1, c.to[1]+1, c.title, c.alt)
			for i, s := range c.series {
				legend := "in the legend"
				if slices.Contains(c.hiddenEntries, i) || strings.HasPrefix(c.name, "Small") {
					legend = "not in the legend"
				}
				line := "no line"
				if s.line {
					line = strings.TrimSpace("line " + s.dash)
				}
				fmt.Fprintf(&out, "  %s: %s over %s, %s, %s %s, %s\n", s.nameRef, s.yRef, s.xRef, line, s.symbol, s.size, legend)
				for _, l := range s.labels {
					fmt.Fprintf(&out, "    %s %q at %.6g, %.6g\n", l.place, l.text, s.xs[l.index], s.ys[l.index])
				}
			}
		}
	}
	for _, name := range []string{"xl/tables/table1.xml", "xl/tables/table2.xml", "xl/tables/table3.xml", "xl/tables/table4.xml"} {
		if b, ok := ps[name]; ok {
			n := parse(t, b)
			fmt.Fprintf(&out, "table %s %s\n", n.attr("name"), n.attr("ref"))
		}
	}
	return out.String()
}

func TestGolden(t *testing.T) {
	d, s := sample()
	got := dump(t, render(t, d, s))
	file := filepath.Join("testdata", "sample.golden")
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err, "hint: go test ./reports/workbook -update writes it")
	was, is := strings.Split(string(want), "\n"), strings.Split(got, "\n")
	for i := range min(len(was), len(is)) {
		require.Equal(t, was[i], is[i], "line %d of %s; hint: if the change is meant, run the test with -update and read the difference", i+1, file)
	}
	require.Len(t, is, len(was))
}

// TestWriteForTheEye writes the workbooks of the tests into the folder that
// WORKBOOK_OUT names, to be looked at.
func TestWriteForTheEye(t *testing.T) {
	to := os.Getenv("WORKBOOK_OUT")
	if to == "" {
		t.Skip("WORKBOOK_OUT names no folder")
	}
	_, s := sample()
	for name, d := range documents() {
		require.NoError(t, os.WriteFile(filepath.Join(to, name+".xlsx"), render(t, d, s), 0o644))
	}
}
