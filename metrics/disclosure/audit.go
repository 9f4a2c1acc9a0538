package disclosure

import (
	"fmt"
	"math"
)

// Range is what is known of a count from elsewhere: a rounded percentage, an earlier
// issue, a drawing.
type Range struct{ Lo, Hi int }

// Table is a table of counts with what is published of it.
type Table struct {
	Cells  [][]int
	Hidden [][]bool // nil: nothing is hidden
	// Unpublished totals: all row totals, all column totals, the grand total.
	NoRows, NoColumns, NoTotal bool
	// OpenRows are rows whose total is not published while those of others are; nil: none.
	OpenRows []bool
	// Known narrows hidden cells, by row and column; a missing entry is 0 or more. The true
	// count must lie within.
	Known map[[2]int]Range
}

// CellAudit is what a reader can work out of one hidden cell.
type CellAudit struct {
	Row, Column int
	True        int
	Min, Max    int
	Bounded     bool // false: no largest value follows, Max is the true count
	Disclosed   bool // Min == Max
}

// Width is the distance between the smallest and largest possible value; very large if
// unbounded.
func (a CellAudit) Width() int {
	if !a.Bounded {
		return math.MaxInt
	}
	return a.Max - a.Min
}

func (t Table) check() error {
	for i, row := range t.Cells {
		if len(row) != len(t.Cells[0]) {
			return fmt.Errorf("row %d of the table has %d cells, the first %d", i+1, len(row), len(t.Cells[0]))
		}
		for j, v := range row {
			if v < 0 || v > 1<<40 {
				return fmt.Errorf("row %d, column %d: a count of %d", i+1, j+1, v)
			}
			if r, ok := t.Known[[2]int{i, j}]; ok && (v < r.Lo || v > r.Hi) {
				return fmt.Errorf("row %d, column %d: the count lies outside what is said to be known of it", i+1, j+1)
			}
		}
	}
	if t.Hidden != nil && len(t.Hidden) != len(t.Cells) {
		return fmt.Errorf("%d rows of marks for %d rows of cells", len(t.Hidden), len(t.Cells))
	}
	if t.OpenRows != nil && len(t.OpenRows) != len(t.Cells) {
		return fmt.Errorf("%d marks of row totals for %d rows of cells", len(t.OpenRows), len(t.Cells))
	}
	for i := range t.Hidden {
		if len(t.Hidden[i]) != len(t.Cells[i]) {
			return fmt.Errorf("row %d has %d cells and %d marks", i+1, len(t.Cells[i]), len(t.Hidden[i]))
		}
	}
	return nil
}

// Audit gives, for every hidden cell, the smallest and the largest value in any table of
// whole numbers from 0 that agrees with all that is published. It is exact: moving a
// cell up means moving others down and up again around the table, so the room for it is
// a maximum flow between its row and its column, and flows of whole numbers are whole.
func Audit(t Table) ([]CellAudit, error) {
	if err := t.check(); err != nil {
		return nil, err
	}
	out := []CellAudit{}
	for i := range t.Hidden {
		for j, hidden := range t.Hidden[i] {
			if hidden {
				out = append(out, t.audit(i, j))
			}
		}
	}
	return out, nil
}

// unlimited stands for no bound; counts stay far below it.
const unlimited = 1 << 50

func (t Table) audit(i, j int) CellAudit {
	v := t.Cells[i][j]
	lo, hi := t.bounds(i, j)
	up := min(hi-v, t.room(i, j, true))
	down := min(v-lo, t.room(i, j, false))
	a := CellAudit{Row: i, Column: j, True: v, Min: v - down, Max: v + up, Bounded: up < unlimited/2, Disclosed: false}
	if !a.Bounded {
		a.Max = v
	}
	a.Disclosed = a.Bounded && a.Min == a.Max
	return a
}

func (t Table) bounds(i, j int) (lo, hi int) {
	if r, ok := t.Known[[2]int{i, j}]; ok {
		return max(r.Lo, 0), min(r.Hi, unlimited)
	}
	return 0, unlimited
}

// room is how far the other cells can make way for the cell to go up or down.
func (t Table) room(ci, cj int, up bool) int {
	rows, cols := len(t.Cells), len(t.Cells[0])
	freeRow, freeCol := rows+cols, rows+cols+1
	n := rows + cols + 2
	capacity := make([][]int, n)
	for k := range capacity {
		capacity[k] = make([]int, n)
	}
	for i := range t.Hidden {
		for j, hidden := range t.Hidden[i] {
			if !hidden || i == ci && j == cj {
				continue
			}
			lo, hi := t.bounds(i, j)
			capacity[i][rows+j] = hi - t.Cells[i][j] // cell may go up
			capacity[rows+j][i] = t.Cells[i][j] - lo // or down
		}
	}
	both := func(a, b int) { capacity[a][b], capacity[b][a] = unlimited, unlimited }
	for i := range rows {
		if t.NoRows || t.OpenRows != nil && t.OpenRows[i] {
			both(i, freeRow)
		}
	}
	for j := range cols {
		if t.NoColumns {
			both(rows+j, freeCol)
		}
	}
	if t.NoTotal {
		both(freeRow, freeCol)
	}
	if up {
		return maxFlow(capacity, rows+cj, ci)
	}
	return maxFlow(capacity, ci, rows+cj)
}

// maxFlow is the Edmonds-Karp algorithm; capacity is used up. It stops at unlimited.
func maxFlow(capacity [][]int, from, to int) int {
	total := 0
	for total < unlimited/2 {
		parent := make([]int, len(capacity))
		for i := range parent {
			parent[i] = -1
		}
		parent[from] = from
		queue := []int{from}
		for len(queue) > 0 && parent[to] < 0 {
			a := queue[0]
			queue = queue[1:]
			for b, c := range capacity[a] {
				if c > 0 && parent[b] < 0 {
					parent[b] = a
					queue = append(queue, b)
				}
			}
		}
		if parent[to] < 0 {
			return total
		}
		push := unlimited
		for b := to; b != from; b = parent[b] {
			push = min(push, capacity[parent[b]][b])
		}
		for b := to; b != from; b = parent[b] {
			capacity[parent[b]][b] -= push
			capacity[b][parent[b]] += push
		}
		total += push
	}
	return unlimited
}
