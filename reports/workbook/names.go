package workbook

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode"

	"github.com/xuri/excelize/v2"
)

const sheetNameUnits = 31

// names hands out names that are unique without regard to case, as
// spreadsheet programs compare them.
type names map[string]bool

// sheet makes a legal, free sheet name of at most 31 UTF-16 units.
func (n names) sheet(want string) string {
	want = strings.Map(func(r rune) rune {
		switch r {
		case ':', '\\', '/', '?', '*':
			return '-'
		case '[':
			return '('
		case ']':
			return ')'
		}
		return r
	}, oneLine(want))
	want = strings.TrimSpace(strings.Trim(want, "' "))
	if want == "" || strings.EqualFold(want, "history") { // a reserved name
		want = strings.TrimSpace("Sheet " + want)
	}
	name := strings.TrimRight(cut(want, sheetNameUnits), "' ")
	for i := 2; n[strings.ToLower(name)]; i++ {
		suffix := " (" + strconv.Itoa(i) + ")"
		name = strings.TrimRight(cut(want, sheetNameUnits-len(suffix)), "' ") + suffix
	}
	n[strings.ToLower(name)] = true
	return name
}

var (
	likeCell = regexp.MustCompile(`(?i)^([a-z]{1,3}[0-9]+|r[0-9]*|c[0-9]*|r[0-9]*c[0-9]*)$`)
	notName  = regexp.MustCompile(`[^A-Za-z0-9_]+`)
)

// table makes a legal, free name of a table: letters, digits and underscores,
// nothing that could be read as a cell.
func (n names) table(want string) string {
	want = strings.Trim(notName.ReplaceAllString(want, "_"), "_")
	if want == "" {
		want = "table"
	}
	if unicode.IsDigit(rune(want[0])) || likeCell.MatchString(want) {
		want = "t_" + want
	}
	if len(want) > 60 {
		want = want[:60]
	}
	name := want
	for i := 2; n[strings.ToLower(name)]; i++ {
		name = want + "_" + strconv.Itoa(i)
	}
	n[strings.ToLower(name)] = true
	return name
}

// headers makes the titles of a table's columns unique and non-empty, as a
// table with filters needs them.
func headers(titles []string) []string {
	used := names{}
	out := make([]string, len(titles))
	for i, t := range titles {
		// a table repeats its titles in a part of its own, where the format's
		// escapes are not applied: such a sequence is broken up
		t = strings.ReplaceAll(oneLine(t), "_x", "_ x")
		if t == "" {
			t = "column " + strconv.Itoa(i+1)
		}
		t = cut(t, 240)
		name := t
		for k := 2; used[strings.ToLower(name)]; k++ {
			name = fmt.Sprintf("%s (%d)", t, k)
		}
		used[strings.ToLower(name)] = true
		out[i] = name
	}
	return out
}

// quoted is a sheet's name as a reference writes it.
func quoted(sheet string) string { return "'" + strings.ReplaceAll(sheet, "'", "''") + "'" }

// at is a cell's name; col and row count from one.
func at(col, row int) string {
	name, err := excelize.CoordinatesToCellName(col, row)
	if err != nil { // more columns or rows than a sheet has
		panic(err)
	}
	return name
}

// span is a range of cells of one sheet, counted from one, both ends included.
type span struct {
	sheet      string
	col, row   int
	col2, row2 int
}

// column is a range within one column.
func column(sheet string, col, from, to int) span { return span{sheet, col, from, col, to} }

// String is the absolute reference: 'Chart data'!$B$5:$B$40.
func (s span) String() string {
	a, err := excelize.CoordinatesToCellName(s.col, s.row, true)
	if err != nil {
		panic(err)
	}
	if s.col == s.col2 && s.row == s.row2 {
		return quoted(s.sheet) + "!" + a
	}
	b, err := excelize.CoordinatesToCellName(s.col2, s.row2, true)
	if err != nil {
		panic(err)
	}
	return quoted(s.sheet) + "!" + a + ":" + b
}
