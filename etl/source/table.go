package source

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"chestrise/etl/record"
	"chestrise/etl/rule"
)

// Row is one row of a file. Its cells are in the order of the contract,
// whatever the order in the file, and are valid until the next row is read.
type Row struct {
	Line  int
	Cells [][]byte
	Fault string // the rule by which the row cannot be read at all; then Cells is nil
	Key   record.Key
	Keyed bool // a faulty row holds a key somewhere, this one
}

// Rows are the rows of a file.
type Rows interface {
	// Next returns the next row, or io.EOF. Any other error is a
	// record.Problem that refuses the file.
	Next() (*Row, error)
	// Column says in which column of the file, from 1, the contract's column
	// i stands; 0 where it is not taken from one.
	Column(i int) int
}

// table reads a CSV file with a header by the names of its columns.
type table struct {
	name  string
	lines *lines
	width int   // columns of the file
	from  []int // for each wanted column the place in the file
	row   Row
	out   [][]byte
}

var utf8BOM = []byte{0xEF, 0xBB, 0xBF}

// header reads the first line of a file and returns its column names. A UTF-8
// byte order mark is dropped: spreadsheet programs write one.
func header(name string, l *lines) ([]string, []record.Problem) {
	fail := func(id string, line int, message, hint string) ([]string, []record.Problem) {
		return nil, []record.Problem{{Rule: id, File: name, Line: line, Message: message, Hint: hint}}
	}
	if first, _ := l.in.Peek(3); bytes.Equal(first, utf8BOM) {
		_, _ = l.in.Discard(3)
		l.end += 3
	} else if len(first) >= 2 && (first[0] == 0xFF && first[1] == 0xFE || first[0] == 0xFE && first[1] == 0xFF) {
		return fail(rule.FileEncoding, 0, "the file is UTF-16", "save it as CSV in UTF-8")
	}
	cells, fault, err := l.next()
	switch {
	case errors.Is(err, io.EOF):
		return fail(rule.FileEmpty, 0, "the file has no header", "a file without rows still has its header line")
	case err != nil:
		return nil, []record.Problem{problem(name, l.line, err)}
	case l.onlyCR:
		return fail(rule.FileEncoding, l.line, "lines end in carriage returns alone", "save the file with line feeds")
	case fault != "":
		return fail(rule.FileEncoding, l.line, "the header is not a line of CSV in UTF-8", "save it as CSV in UTF-8")
	}
	names := make([]string, len(cells))
	for i, c := range cells {
		names[i] = string(c)
	}
	return names, nil
}

// newTable reads the header and compares it with the wanted columns, in any
// order; ignored columns may stand there and are not read. All differences come
// back at once.
func newTable(name string, r io.Reader, want, ignored []string) (*table, []record.Problem) {
	t := &table{name: name, lines: newLines(r), out: make([][]byte, len(want))}
	names, problems := header(name, t.lines)
	if problems != nil {
		return nil, problems
	}
	t.width = len(names)
	t.from, problems = match(name, t.lines.line, names, want, ignored)
	if problems != nil {
		return nil, problems
	}
	return t, nil
}

func match(file string, line int, names, want, ignored []string) ([]int, []record.Problem) {
	var problems []record.Problem
	report := func(id string, column int, message, hint string) {
		problems = append(problems, record.Problem{Rule: id, File: file, Line: line, Column: column, Message: message, Hint: hint})
	}
	place := map[string]int{}
	wanted := map[string]bool{}
	for _, w := range want {
		wanted[w] = true
	}
	for i, n := range names {
		_, again := place[n]
		switch {
		case again:
			report(rule.ColumnRepeated, i+1, "column "+quote(n)+" stands twice", "")
		case !wanted[n] && ignored != nil:
			if !slices.Contains(ignored, n) {
				report(rule.ColumnUnknown, i+1, "column "+quote(n)+" is not in the map of the source", "list it in the map, under columns or, with a reason, under not_taken")
			}
		case !wanted[n]:
			report(rule.ColumnUnknown, i+1, "column "+quote(n)+" is not in the contract", "leave it out; chestrise contract prints the columns")
		}
		place[n] = i
	}
	from := make([]int, len(want))
	for i, w := range want {
		at, ok := place[w]
		if !ok {
			report(rule.ColumnMissing, 0, "column "+quote(w)+" is missing", "a column without any value still has its place")
		}
		from[i] = at
	}
	return from, problems
}

// quote prints a column name so that it cannot disturb a terminal or a log.
func quote(name string) string {
	if utf8.RuneCountInString(name) > 40 {
		name = string([]rune(name)[:40]) + "..."
	}
	return fmt.Sprintf("%q", name)
}

// Next implements Rows.
func (t *table) Next() (*Row, error) {
	cells, fault, err := t.lines.next()
	if errors.Is(err, io.EOF) {
		return nil, io.EOF
	}
	if err != nil {
		return nil, problem(t.name, t.lines.line, err)
	}
	t.row = Row{Line: t.lines.line, Fault: fault}
	if fault != "" {
		t.row.Key, t.row.Keyed = keyIn(t.lines.text)
		return &t.row, nil
	}
	if len(cells) != t.width {
		t.row.Fault = rule.RowShape
		for _, c := range cells {
			if t.row.Key, t.row.Keyed = ParseKey(c); t.row.Keyed {
				break
			}
		}
		return &t.row, nil
	}
	for i, at := range t.from {
		t.out[i] = cells[at]
	}
	t.row.Cells = t.out
	return &t.row, nil
}

var keyShape = regexp.MustCompile(`[0-9a-fA-F]{8}-[0-9a-fA-F]{4}-4[0-9a-fA-F]{3}-[89abAB][0-9a-fA-F]{3}-[0-9a-fA-F]{12}`)

// keyIn finds the first key in a line that cannot be cut into cells.
func keyIn(text []byte) (record.Key, bool) {
	return ParseKey(keyShape.Find(text))
}

// Column implements Rows.
func (t *table) Column(i int) int { return t.from[i] + 1 }

func problem(file string, line int, err error) record.Problem {
	if errors.Is(err, errNUL) {
		return record.Problem{
			Rule: rule.FileEncoding, File: file, Line: line, Message: "the file holds a NUL byte",
			Hint: "it may be UTF-16 or damaged: save it as CSV in UTF-8",
		}
	}
	return record.Problem{Rule: rule.FileUnreadable, File: file, Line: line, Message: strings.TrimSpace(plain(err))}
}
