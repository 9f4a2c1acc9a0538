package disclosure

import (
	"errors"
	"fmt"
	"slices"
)

// ErrCannotProtect says that hiding cells is not enough while all totals are published:
// merge rows or columns, or hide a total.
var ErrCannotProtect = errors.New("hiding cells cannot protect this table")

// Result is a protected table.
type Result struct {
	Hidden    [][]bool
	Primary   [][]bool // hidden because small
	Secondary int      // cells hidden to protect others
	Audit     []CellAudit
}

// Primary marks the cells that are too small by themselves. With Complement a cell is
// compared with the rest of its row as well.
func Primary(t Table, p Policy) ([][]bool, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	if err := t.check(); err != nil {
		return nil, err
	}
	out := make([][]bool, len(t.Cells))
	for i, row := range t.Cells {
		total := 0
		for _, v := range row {
			total += v
		}
		out[i] = make([]bool, len(row))
		for j, v := range row {
			out[i][j] = p.small(v) || p.Complement && len(row) > 1 && p.small(total-v)
		}
	}
	return out, nil
}

// Suppress hides the small cells and then further ones, cheapest first, until the audit
// gives every small cell a wide enough range. Further cells come in loops: for a cell
// that is still too well known the cheapest corner of a rectangle with it is hidden, the
// cost being the counts that go out of sight, and a zero counting as little help (it
// cannot go down). Where totals are not published less needs hiding. Ties go to the
// upper left, so the same table always gives the same pattern.
//
// If even hiding every cell leaves one too well known, ErrCannotProtect.
func Suppress(t Table, p Policy) (Result, error) {
	primary, err := Primary(t, p)
	if err != nil {
		return Result{}, err
	}
	r := Result{Primary: primary, Hidden: copyMarks(primary), Secondary: 0, Audit: nil}
	t.Hidden = r.Hidden
	for {
		audit, err := Audit(t)
		if err != nil {
			return Result{}, err
		}
		worst := -1
		for k, a := range audit {
			if primary[a.Row][a.Column] && a.Width() < p.width() && (worst < 0 || a.Width() < audit[worst].Width()) {
				worst = k
			}
		}
		if worst < 0 {
			r.Audit = audit
			r.Secondary = countMarks(r.Hidden) - countMarks(primary)
			return r, nil
		}
		if !t.widen(audit[worst]) {
			return Result{}, fmt.Errorf("%w: row %d, column %d keeps a range of %d", ErrCannotProtect,
				audit[worst].Row+1, audit[worst].Column+1, audit[worst].Width())
		}
	}
}

// widen hides what makes the cheapest rectangle through a cell, or, where all of those
// are hidden, the cheapest cell left; false if none is left.
func (t Table) widen(a CellAudit) bool {
	type option struct {
		cost  int
		cells [][2]int
	}
	var options []option
	cost := func(i, j int) int {
		if t.Hidden[i][j] {
			return 0
		}
		if t.Cells[i][j] == 0 {
			return 1 << 30
		}
		return 1 + t.Cells[i][j]
	}
	for m := range t.Cells {
		for l := range t.Cells[0] {
			if m == a.Row || l == a.Column {
				continue
			}
			var o option
			for _, c := range [][2]int{{a.Row, l}, {m, a.Column}, {m, l}} {
				if !t.Hidden[c[0]][c[1]] {
					o.cells = append(o.cells, c)
				}
				o.cost += cost(c[0], c[1])
			}
			if len(o.cells) > 0 {
				options = append(options, o)
			}
		}
	}
	if len(options) == 0 {
		for i := range t.Cells {
			for j := range t.Cells[0] {
				if !t.Hidden[i][j] {
					options = append(options, option{cost(i, j), [][2]int{{i, j}}})
				}
			}
		}
	}
	if len(options) == 0 {
		return false
	}
	best := slices.MinFunc(options, func(a, b option) int { return a.cost - b.cost })
	for _, c := range best.cells {
		t.Hidden[c[0]][c[1]] = true
	}
	return true
}

func copyMarks(in [][]bool) [][]bool {
	out := make([][]bool, len(in))
	for i := range in {
		out[i] = slices.Clone(in[i])
	}
	return out
}

func countMarks(in [][]bool) (n int) {
	for _, row := range in {
		for _, v := range row {
			if v {
				n++
			}
		}
	}
	return n
}
