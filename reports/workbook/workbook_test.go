package workbook_test

import (
	"bytes"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"chestrise/reports"
	"chestrise/reports/chart"
	"chestrise/reports/workbook"
)

func render(t *testing.T, d *reports.Document, s reports.Stamp) []byte {
	t.Helper()
	var buf bytes.Buffer
	require.NoError(t, workbook.Renderer{}.Render(&buf, d, s))
	return buf.Bytes()
}

func TestExtension(t *testing.T) { require.Equal(t, ".xlsx", workbook.Renderer{}.Ext()) }

// locate finds a table by its name and returns its sheet and range.
func locate(t *testing.T, f *excelize.File, name string) (sheet string, cells [][]string) {
	t.Helper()
	for _, sheet := range f.GetSheetList() {
		tables, err := f.GetTables(sheet)
		require.NoError(t, err)
		for _, tb := range tables {
			if tb.Name != name {
				continue
			}
			from, to, _ := strings.Cut(tb.Range, ":")
			c1, r1, err := excelize.CellNameToCoordinates(from)
			require.NoError(t, err)
			c2, r2, err := excelize.CellNameToCoordinates(to)
			require.NoError(t, err)
			for r := r1; r <= r2; r++ {
				var row []string
				for c := c1; c <= c2; c++ {
					name, err := excelize.CoordinatesToCellName(c, r)
					require.NoError(t, err)
					row = append(row, name)
				}
				cells = append(cells, row)
			}
			return sheet, cells
		}
	}
	require.Failf(t, "no table", "%q", name)
	return "", nil
}

func TestTablesHoldTheDocumentsNumbers(t *testing.T) {
	d, s := sample()
	b := render(t, d, s)
	f, raw := open(t, b), readCells(t, parts(t, b))
	seen := 0
	for _, sec := range d.Sections {
		for _, b := range sec.Blocks {
			table, ok := b.(reports.Table)
			if !ok || len(table.Rows) == 0 {
				continue
			}
			sheet, cells := locate(t, f, table.Name)
			require.Equal(t, sec.Sheet, sheet)
			require.Len(t, cells, len(table.Rows)+1)
			for r, row := range table.Rows {
				for c, want := range row {
					at := cells[r+1][c]
					if want.Number != nil {
						got, has := raw.number(t, sheet, at)
						require.True(t, has)
						require.Equal(t, *want.Number, got)
						require.Equal(t, shownAs(table.Columns[c].Format, got), raw.sheets[sheet][at].format)
					} else {
						require.Equal(t, want.Text, raw.sheets[sheet][at].text)
					}
					seen++
				}
			}
		}
	}
	require.Greater(t, seen, 200)
}

// shownAs is the number format that shows a value as the page does, with the
// minus sign, which is no character of the format language, in quotes.
func shownAs(f chart.Format, v float64) string {
	return strings.ReplaceAll(f.Pattern(v), "−", `"−"`)
}

func TestPointsTable(t *testing.T) {
	d, s := sample()
	b := render(t, d, s)
	f, raw := open(t, b), readCells(t, parts(t, b))
	m := shares(36, 1)
	sheet, cells := locate(t, f, "points_begun_by_60_s_1")
	require.Equal(t, "Begun by 60 s", sheet)
	var head []string
	for _, c := range cells[0] {
		v, err := f.GetCellValue(sheet, c)
		require.NoError(t, err)
		head = append(head, v)
	}
	require.Equal(t, []string{
		"period", "no.", "n", "known", "share begun by 60 s", "lowest possible", "highest possible", "centre (mean)",
		"lower limit", "upper limit", "signal", "note",
	}, head)
	opt := func(p *float64) (float64, bool) {
		if p == nil {
			return 0, false
		}
		return *p, true
	}
	for i, p := range m.Points {
		row := cells[i+1]
		text := func(c int) string {
			return raw.sheets[sheet][row[c]].text
		}
		require.Equal(t, p.Label, text(0))
		n, isNumber := raw.number(t, sheet, row[2])
		require.True(t, isNumber, "n is a number")
		require.Equal(t, m.Rows[0].Texts[i], chart.Count.Text(n))
		known, isNumber := raw.number(t, sheet, row[3])
		require.True(t, isNumber, "a percentage is a number")
		require.Equal(t, m.Rows[1].Texts[i], chart.Percent.Text(known))
		for c, want := range map[int]*float64{5: p.Low, 6: p.High, 7: p.Centre, 8: p.Lower, 9: p.Upper} {
			v, has := opt(want)
			got, gotHas := raw.number(t, sheet, row[c])
			require.Equal(t, has, gotHas)
			require.Equal(t, v, got)
			if has {
				require.Equal(t, shownAs(m.Y.Format, v), raw.sheets[sheet][row[c]].format, "shown as on the page")
			}
		}
		got, has := raw.number(t, sheet, row[4])
		require.Equal(t, p.Has, has)
		if has {
			require.Equal(t, p.Value, got)
		}
		require.Equal(t, p.Letter, text(10))
		if p.Why != "" {
			require.Contains(t, text(11), p.Why)
		}
	}
	for _, k := range m.Marks {
		v, err := f.GetCellValue(sheet, cells[k.At+1][11])
		require.NoError(t, err)
		require.Contains(t, v, k.Text)
	}
}

// Every signal is explained beneath its chart, with its letter and direction.
func TestSignalsAreExplained(t *testing.T) {
	d, s := sample()
	f := open(t, render(t, d, s))
	rows, err := f.GetRows("Begun by 60 s")
	require.NoError(t, err)
	text := ""
	var textSb168 strings.Builder
	for _, r := range rows {
		textSb168.WriteString(strings.Join(r, "\t") + "\n")
	}
	text += textSb168.String()
	m := shares(36, 1)
	for _, sig := range m.Signals {
		require.Contains(t, text, "Signal "+sig.Letter+"\t"+sig.Words+" (in the favourable direction)")
	}
	for _, n := range m.Notes {
		require.Contains(t, text, n)
	}
	rows, err = f.GetRows("Temperature")
	require.NoError(t, err)
	require.Contains(t, rows, []string{"Signals", "None marked on this chart."})
}

func TestOverviewRows(t *testing.T) {
	d, s := sample()
	f := open(t, render(t, d, s))
	rows, err := f.GetRows("Overview")
	require.NoError(t, err)
	items := d.Sections[0].Blocks[3].(reports.Multiples).Items
	for _, m := range items {
		require.Contains(t, rows, []string{m.Title, m.Latest, "", m.Centre, m.Words, m.Known})
	}
}

// Texts come back as they were given, apart from characters that no
// spreadsheet can hold; and no text becomes a formula.
func TestTextsStayTexts(t *testing.T) {
	d := documents()["nasty words"]
	b := render(t, d, reports.Stamp{})
	f, raw := open(t, b), readCells(t, parts(t, b))
	sheet, cells := locate(t, f, "words")
	for i, s := range nasty {
		want := strings.ToValidUTF8(s, "\uFFFD")
		want = regexp.MustCompile(`[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\x{FFFE}\x{FFFF}]`).ReplaceAllString(want, "\uFFFD")
		want = strings.ReplaceAll(want, "\t", " ")
		got := raw.sheets[sheet][cells[i+1][0]].text
		if len(s) > 32767 {
			require.True(t, strings.HasSuffix(got, "…"))
			require.Len(t, []rune(got), 32767)
			require.True(t, strings.HasPrefix(s, strings.TrimSuffix(got, "…")))
			continue
		}
		require.Equal(t, want, got)
		formula, err := f.GetCellFormula(sheet, cells[i+1][0])
		require.NoError(t, err)
		require.Empty(t, formula)
		kind, err := f.GetCellType(sheet, cells[i+1][0])
		require.NoError(t, err)
		require.Contains(t, []excelize.CellType{excelize.CellTypeSharedString, excelize.CellTypeInlineString}, kind)
	}
}

var cellName = regexp.MustCompile(`^\$?[A-Z]{1,3}\$?[0-9]+(:\$?[A-Z]{1,3}\$?[0-9]+)?$`)

// What holds for every workbook, however odd the document.
func TestEveryWorkbook(t *testing.T) {
	_, stamp := sample()
	for name, d := range documents() {
		t.Run(name, func(t *testing.T) {
			b := render(t, d, stamp)
			ps, f := parts(t, b), open(t, b)
			nodes := map[string]node{}
			for part, b := range ps {
				nodes[part] = parse(t, b)
			}
			sheets := f.GetSheetList()

			// well-formed, without formulas, without traces of the library or of persons
			for part, b := range ps {
				n := nodes[part]
				low := strings.ToLower(string(b))
				require.NotContains(t, low, "xuri", part)
				require.NotContains(t, low, "excelize", part)
				if strings.HasPrefix(part, "xl/worksheets/sheet") {
					require.Empty(t, n.all("c", "f"), "%s: a formula", part)
				}
				for _, tag := range []string{"externalReference", "oleObject", "dataValidation"} {
					require.Empty(t, n.all(tag), part)
				}
			}

			// nothing hidden
			for _, s := range nodes["xl/workbook.xml"].all("sheet") {
				require.Contains(t, []string{"", "visible"}, s.attr("state"))
			}
			for _, n := range nodes["xl/workbook.xml"].all("definedName") {
				require.NotEqual(t, "1", n.attr("hidden"))
				require.NotContains(t, n.Text, "#REF")
			}
			for part, sheet := range nodes {
				if strings.HasPrefix(part, "xl/worksheets/sheet") {
					for _, tag := range []string{"row", "col"} {
						for _, n := range sheet.all(tag) {
							require.NotContains(t, []string{"1", "true"}, n.attr("hidden"))
							require.NotEqual(t, "0", n.attr("ht"))
						}
					}
				}
			}

			// legal, distinct sheet names; one sheet a section with a sheet
			used := map[string]bool{}
			for _, s := range sheets {
				require.NotEmpty(t, strings.TrimSpace(s))
				require.NotContains(t, used, strings.ToLower(s))
				used[strings.ToLower(s)] = true
				require.False(t, strings.ContainsAny(s, `:\/?*[]`), s)
				require.False(t, strings.HasPrefix(s, "'") || strings.HasSuffix(s, "'"), s)
			}
			want := 1
			for i, s := range d.Sections {
				if s.Sheet != "" {
					want++
				}
				if i == 0 && name == "sample" {
					want-- // the overview shares the first sheet with the contents
				}
			}
			require.Contains(t, []int{want, want + 1}, len(sheets), "a sheet a section, and chart data")

			// links lead to sheets that exist; each sheet is listed and leads back
			for i, s := range sheets {
				targets := map[string]bool{}
				for _, link := range nodes["xl/worksheets/sheet"+strconv.Itoa(i+1)+".xml"].all("hyperlink") {
					require.Empty(t, link.attr("id"), "no link leaves the workbook")
					to, _ := follow(t, link.attr("location"))
					require.Contains(t, sheets, to)
					targets[to] = true
				}
				if i == 0 {
					for _, other := range sheets[1:] {
						require.Contains(t, targets, other, "contents lead everywhere")
					}
				} else {
					require.Contains(t, targets, sheets[0], "%s leads back", s)
				}
			}

			// tables: filters, distinct legal names, headings as the cells have them
			names := map[string]bool{}
			for part, n := range nodes {
				if !strings.HasPrefix(part, "xl/tables/") {
					continue
				}
				require.NotContains(t, names, strings.ToLower(n.attr("name")))
				names[strings.ToLower(n.attr("name"))] = true
				require.Regexp(t, `^[A-Za-z_][A-Za-z0-9_]*$`, n.attr("name"))
				require.False(t, cellName.MatchString(strings.ToUpper(n.attr("name"))))
				require.NotRegexp(t, `(?i)^(r|c|r[0-9]+c[0-9]+)$`, n.attr("name"))
				require.Equal(t, n.attr("ref"), n.child("autoFilter").attr("ref"))
				heads := map[string]bool{}
				for _, c := range n.all("tableColumn") {
					require.NotEmpty(t, c.attr("name"))
					require.NotContains(t, heads, strings.ToLower(c.attr("name")))
					heads[strings.ToLower(c.attr("name"))] = true
				}
			}
			raw := readCells(t, ps)
			for _, sheet := range sheets {
				tables, err := f.GetTables(sheet)
				require.NoError(t, err)
				for _, tb := range tables {
					_, cells := locate(t, f, tb.Name)
					for i, c := range columnNames(t, ps, tb.Name) {
						require.Equal(t, raw.sheets[sheet][cells[0][i]].text, c)
					}
				}
			}

			// print and screen
			for i, s := range sheets {
				n := nodes["xl/worksheets/sheet"+strconv.Itoa(i+1)+".xml"]
				setup := n.all("pageSetup")[0]
				require.Equal(t, "9", setup.attr("paperSize"), "A4")
				require.Equal(t, "landscape", setup.attr("orientation"))
				require.Equal(t, "1", setup.attr("fitToWidth"))
				require.Equal(t, "0", setup.attr("fitToHeight"))
				require.Contains(t, []string{"1", "true"}, n.all("pageSetUpPr")[0].attr("fitToPage"))
				require.NotEmpty(t, n.all("sheetView", "pane"), s)
				head, foot := n.all("oddHeader")[0].Text, n.all("oddFooter")[0].Text
				require.LessOrEqual(t, len([]rune(head)), 255)
				require.LessOrEqual(t, len([]rune(foot)), 255)
				require.Contains(t, foot, "page &P of &N")
				require.Contains(t, strings.ToLower(foot), "synthetic")
				require.Contains(t, foot, "issue 3, replaces issue 2")
				require.Contains(t, foot, "registry generation 812")
			}
			for _, kind := range []string{"_xlnm.Print_Titles", "_xlnm.Print_Area"} {
				n := 0
				for _, dn := range f.GetDefinedName() {
					if dn.Name == kind {
						n++
					}
				}
				require.Equal(t, len(sheets), n, kind)
			}

			// charts lie beside each other, not on each other, and inside the printed columns
			last := map[string]int{}
			for _, c := range charts(t, ps) {
				require.NotEmpty(t, c.alt)
				require.NotEmpty(t, c.series)
				followsSchema(t, c.root)
				if strings.HasPrefix(c.name, "Small") {
					continue
				}
				require.GreaterOrEqual(t, c.from[1], last[c.sheet], c.name)
				last[c.sheet] = c.to[1]
			}
		})
	}
}

// columnNames are the headings as the part of the table repeats them.
func columnNames(t *testing.T, ps map[string][]byte, table string) (out []string) {
	t.Helper()
	for part, b := range ps {
		if !strings.HasPrefix(part, "xl/tables/") {
			continue
		}
		if n := parse(t, b); n.attr("name") == table {
			for _, c := range n.all("tableColumn") {
				out = append(out, c.attr("name"))
			}
		}
	}
	require.NotEmpty(t, out)
	return out
}

func TestPageHeaderKeepsItsCodesApartFromTexts(t *testing.T) {
	d := documents()["nasty words"]
	ps := parts(t, render(t, d, reports.Stamp{}))
	head := parse(t, ps["xl/worksheets/sheet1.xml"]).all("oddHeader")[0].Text
	require.Equal(t, "&L&8 A && B &&P &&D 100 %&C&8 =1+1&R&8 &&C=1", head)
}

func TestProperties(t *testing.T) {
	d, s := sample()
	f := open(t, render(t, d, s))
	p, err := f.GetDocProps()
	require.NoError(t, err)
	require.Equal(t, d.Title, p.Title)
	require.Equal(t, d.Subject, p.Subject)
	require.Equal(t, "newborn, ventilation, control chart", p.Keywords)
	require.Equal(t, "chestrise", p.Creator)
	require.Equal(t, "chestrise", p.LastModifiedBy)
	require.Equal(t, "2026-01-02T04:30:00Z", p.Created)
	require.Equal(t, "2026-01-02T04:30:00Z", p.Modified)
	a, err := f.GetAppProps()
	require.NoError(t, err)
	require.Equal(t, "chestrise", a.Application)
	require.Empty(t, a.Company)
}

func TestNoticesStandOnEverySheet(t *testing.T) {
	d, s := sample()
	d.Notices = nil // the stamp alone says that the data are synthetic
	f := open(t, render(t, d, s))
	for _, sheet := range f.GetSheetList() {
		rows, err := f.GetRows(sheet)
		require.NoError(t, err)
		require.Contains(t, rows[:4], []string{"Synthetic data."}, sheet)
	}
}

func TestMonthsByLocale(t *testing.T) {
	d, s := sample()
	d.Locale.Months = []string{"Jän", "Feb", "Mär", "Apr", "Mai", "Jun", "Jul", "Aug", "Sep", "Okt", "Nov", "Dez"}
	d.Locale.DecimalComma = true
	b := render(t, d, s)
	rows, err := open(t, b).GetRows("Overview")
	require.NoError(t, err)
	require.Contains(t, rows, []string{"Data as of", "2 Jän 2026, 04:30 UTC"})
	for _, c := range charts(t, parts(t, b)) {
		if c.sheet != "Temperature" {
			continue
		}
		words, _ := c.find("up")
		var all []string
		for _, l := range words.labels {
			all = append(all, l.text)
		}
		require.Contains(t, all, "mean 36,6 °C", "words follow the locale; numbers are left to the program")
	}
}

func TestNumbersMustBeFinite(t *testing.T) {
	bad := shares(3, 1)
	bad.Points[1] = chart.Point{Has: true, Value: math.NaN(), Centre: new(math.Inf(1))}
	d := &reports.Document{Sections: []reports.Section{{ID: "s", Sheet: "S", Blocks: []reports.Block{
		reports.Figure{Chart: bad},
		reports.Table{Name: "tab", Columns: []reports.Column{{}}, Rows: [][]reports.Cell{{{Number: new(math.Inf(-1))}}}},
	}}}}
	var buf bytes.Buffer
	err := workbook.Renderer{}.Render(&buf, d, reports.Stamp{})
	require.ErrorContains(t, err, `section "s": chart "begun_by_60_s_1": point 2: not a finite number`)
	require.ErrorContains(t, err, `section "s": chart "begun_by_60_s_1": lines at point 2: not a finite number`)
	require.ErrorContains(t, err, `section "s": table "tab": row 1, column 1: not a finite number`)
	require.Zero(t, buf.Len(), "nothing is written on an error")
	bad.Points[1].Has, bad.Points[1].Centre = false, nil // a gap may hold anything
	require.NoError(t, workbook.Renderer{}.Render(io.Discard, single(bad), reports.Stamp{}))
}

type failing struct{ calls int }

func (f *failing) Write([]byte) (int, error) {
	f.calls++
	return 0, errors.New("disk full")
}

func TestWritesInOnePiece(t *testing.T) {
	d, s := sample()
	w := &failing{}
	require.ErrorContains(t, workbook.Renderer{}.Render(w, d, s), "disk full")
	require.Equal(t, 1, w.calls)
}
