package workbook_test

import (
	"fmt"
	"strconv"
	"strings"

	"chestrise/reports"
	"chestrise/reports/chart"
)

// nasty are texts that spreadsheets are known to mistreat.
var nasty = []string{
	"=1+1", "+1", "-1", "@SUM(A1)", "\t=1+1", "=cmd|' /C calc'!A0", "'quoted", "_x0041_", "_x005F_x0041_", "_x0041_x0042_",
	"007", "1e5", "2026-01-02", "TRUE", "#N/A", "a\nb", " leading and trailing ", "newborn 👶🏽 and 𝄞", "<b>&amp;\"'", "٣٤", "naïve, façade, Zürich",
	"x\x00y\x01z\x1b[31m", "bad \xff\xfe utf-8", "\ufffe\uffff", strings.Repeat("long ", 8000),
}

func single(m chart.Model) *reports.Document {
	return &reports.Document{Title: "One chart", Sections: []reports.Section{
		{ID: "one", Title: m.Title, Sheet: "One", Blocks: []reports.Block{reports.Figure{Chart: m}}},
	}}
}

// documents are the sample and documents that a careful writer would not make.
func documents() map[string]*reports.Document {
	full, _ := sample()
	out := map[string]*reports.Document{
		"sample":      full,
		"empty":       {},
		"no sections": {Title: "Nothing", Unit: "Unit", Period: "January"},
		"paper only":  {Title: "Paper", Sections: []reports.Section{{ID: "a", Title: "A"}}},
		"no points":   single(shares(0, 2)),
		"one point":   single(shares(1, 2)),
		"two points":  single(shares(2, 2)),
		"120 months":  single(shares(120, 2)),
	}
	missing := shares(30, 2)
	for i := range missing.Points {
		missing.Points[i] = chart.Point{Label: missing.Points[i].Label, Short: missing.Points[i].Short, Year: missing.Points[i].Year, Why: "no births"}
	}
	missing.Signals, missing.Target = nil, nil
	out["all missing"] = single(missing)

	var tables []reports.Block
	for _, name := range []string{"A1", "R1C1", "c", "", "", "9 lives", "naïve table", strings.Repeat("n", 400)} {
		tables = append(tables, reports.Table{
			Title: "table " + name, Name: name,
			Columns: []reports.Column{{Title: "", Text: true}, {Title: "same"}, {Title: "Same"}, {Title: "_x0041_"}, {Title: "two\nlines"}, {Title: "2026"}},
			Rows:    [][]reports.Cell{{{Text: "short row"}}, {}, {{Text: "=1"}, {Number: new(0.0)}, {Number: new(-0.5)}, {Number: new(1e300)}, {Number: new(1e-300)}, {Number: new(1.0 / 3)}, {Text: "too many"}}},
		})
	}
	tables = append(tables, reports.Table{}, reports.Table{Title: "no rows", Columns: []reports.Column{{Title: "a"}}})
	out["odd tables"] = &reports.Document{Title: "Tables", Sections: []reports.Section{{ID: "t", Title: "T", Sheet: "T", Blocks: tables}}}

	words := &reports.Document{Title: nasty[0], Subject: nasty[3], Keywords: nasty[:9], Unit: "A & B &P &D 100 %", Period: "&C=1", Notices: []string{nasty[1], nasty[20], "", strings.Repeat("notice ", 60)}}
	rows := [][]reports.Cell{}
	for _, s := range nasty {
		rows = append(rows, []reports.Cell{{Text: s}, {Text: s, Link: "w"}})
	}
	words.Sections = []reports.Section{{ID: "w", Title: strings.Repeat("A very long title ", 30), Sheet: "=W", Blocks: []reports.Block{
		reports.Text{Text: strings.Join(nasty, " ")},
		reports.Heading{Text: ""},
		reports.Text{},
		reports.List{Items: nasty[:20]},
		reports.Footnotes{Items: nasty[:20]},
		reports.Facts{Pairs: [][2]string{{nasty[0], nasty[24]}, {nasty[18], nasty[0]}, {"", ""}}},
		reports.Table{Name: "words", Columns: []reports.Column{{Title: "=1+1", Text: true}, {Title: "plain"}}, Rows: rows},
	}}}
	out["nasty words"] = words

	var sections []reports.Section
	for i, sheet := range []string{
		"same", "Same", "SAME", "a/b", "a\\b", "a?b*c[d]:e", "'quote'", "it's", "History", "   ", strings.Repeat("long name ", 9),
		strings.Repeat("long name ", 9) + "2", "Chart data", "Contents", "👶👶👶👶👶👶👶👶👶👶👶👶👶👶👶👶👶", "=1+1",
	} {
		sections = append(sections, reports.Section{ID: strconv.Itoa(i), Title: sheet, Sheet: sheet, Parent: strconv.Itoa(i), Blocks: []reports.Block{
			reports.Table{Name: "t", Columns: []reports.Column{{Title: "to", Text: true}}, Rows: [][]reports.Cell{{{Text: "next", Link: strconv.Itoa((i + 1) % 16)}}}},
		}})
		if i%4 == 0 {
			s := &sections[i]
			s.Blocks = append(s.Blocks, reports.Figure{Chart: shares(5, uint64(i))})
		}
	}
	out["colliding sheets"] = &reports.Document{Title: "Sheets", Sections: sections}

	worst := shares(120, 9)
	worst.Title, worst.Alt = strings.Repeat("An endless title of a chart ", 12), ""
	worst.Y.Label = strings.Repeat("an endless axis ", 9)
	worst.Target.Text = strings.Repeat("an endless aim ", 9)
	worst.Marks, worst.Phases, worst.Signals = nil, nil, nil
	for i := range worst.Points {
		worst.Marks = append(worst.Marks, chart.Mark{At: i, Text: fmt.Sprintf("intervention number %d", i)})
		worst.Points[i].Letter, worst.Points[i].Phase = "ABCD", i/2
		worst.Points[i].Short = "September"
		if i%2 == 0 {
			worst.Phases = append(worst.Phases, chart.Phase{From: i, To: i + 1, Label: "phase"})
		}
	}
	worst.Signals = []chart.Signal{{Letter: "A", Words: strings.Repeat("words ", 300)}}
	out["everything at once"] = single(worst)
	wild := shares(24, 4)
	wild.Marks, wild.Phases = []chart.Mark{{At: -1, Text: "before"}, {At: 99, Text: "after"}}, []chart.Phase{{From: -3, To: 99}, {From: 9, To: 2}}
	wild.Y.Format, wild.Rows = chart.Plain, []chart.Row{{Label: "", Texts: []string{"1"}}, {Label: "n", Texts: nil}}
	for i := range wild.Points {
		wild.Points[i].Value *= 1e9
		wild.Points[i].Short, wild.Points[i].Label, wild.Points[i].Year = "", "", ""
	}
	out["wild indices"] = single(wild)
	flat := temperatures(12)
	for i := range flat.Points {
		flat.Points[i].Value, flat.Points[i].Centre, flat.Points[i].Lower, flat.Points[i].Upper = 0, new(0.0), new(0.0), new(0.0)
	}
	out["flat at zero"] = single(flat)
	return out
}
