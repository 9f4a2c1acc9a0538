package disclosure

import "slices"

// RowResult is a table of which some rows are hidden whole, with their totals.
type RowResult struct {
	Hidden     []bool
	Primary    []bool // hidden for a small count of their own
	Secondary  int    // rows hidden to protect others
	NoTotals   bool   // not even the totals of columns can be published
	Audit      []CellAudit
	LeastWidth int // of the ranges of hidden small cells; very large where nothing is hidden or nothing bounds them
}

// SuppressRows protects a table by hiding whole rows: a row in which any count is too
// small, or whose total is, is hidden with its total, so that neither a share nor its
// denominator is left to work back from. Totals of columns stay published where that is
// safe. Further rows are hidden, the one with the smallest total first, until the audit
// leaves every cell of a hidden row a wide enough range; where hiding every row is
// not enough, or a total is itself too small, no total is published.
//
// must are rows that have to be hidden for a reason outside the table, such as another
// table of the same newborns; nil: none. A row without any case (total 0) counts as
// small only where zeros do.
func SuppressRows(t Table, p Policy, must []bool) (RowResult, error) {
	if err := p.check(); err != nil {
		return RowResult{}, err
	}
	if err := t.check(); err != nil {
		return RowResult{}, err
	}
	n := len(t.Cells)
	r := RowResult{Hidden: make([]bool, n), Primary: PrimaryRows(t, p), Secondary: 0, NoTotals: false, Audit: nil, LeastWidth: 0}
	copy(r.Hidden, r.Primary)
	for i := range must {
		r.Hidden[i] = r.Hidden[i] || must[i]
	}
	start := countTrue(r.Hidden)
	for j := range columns(t) {
		total := 0
		for i := range t.Cells {
			total += t.Cells[i][j]
		}
		r.NoTotals = r.NoTotals || p.small(total)
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return sumOf(t.Cells[a]) - sumOf(t.Cells[b]) })
	for {
		audit, least, err := auditRows(t, r)
		if err != nil {
			return RowResult{}, err
		}
		r.Audit, r.LeastWidth = audit, least
		if least >= p.width() || countTrue(r.Hidden) == 0 {
			break
		}
		next := slices.IndexFunc(order, func(i int) bool { return !r.Hidden[i] && sumOf(t.Cells[i]) > 0 })
		if next < 0 {
			if r.NoTotals {
				break
			}
			r.NoTotals = true
			continue
		}
		r.Hidden[order[next]] = true
	}
	r.Secondary = countTrue(r.Hidden) - start
	return r, nil
}

// PrimaryRows marks the rows with a count, or a total, that is too small by itself. It
// is no protection: with a published total the last hidden row can be worked out.
func PrimaryRows(t Table, p Policy) []bool {
	out := make([]bool, len(t.Cells))
	for i, row := range t.Cells {
		total := sumOf(row)
		out[i] = p.small(total)
		for _, v := range row {
			out[i] = out[i] || total > 0 && p.small(v)
		}
	}
	return out
}

// AuditRows gives the range of every cell of the rows that are hidden whole, and the
// least width; known narrows cells by what is drawn or published elsewhere.
func AuditRows(t Table, hidden []bool, noTotals bool, known map[[2]int]Range) ([]CellAudit, int, error) {
	t.Known = known
	return auditRows(t, RowResult{Hidden: hidden, Primary: nil, Secondary: 0, NoTotals: noTotals, Audit: nil, LeastWidth: 0})
}

func auditRows(t Table, r RowResult) ([]CellAudit, int, error) {
	t.NoColumns, t.NoTotal, t.OpenRows = r.NoTotals, r.NoTotals, r.Hidden
	t.Hidden = make([][]bool, len(t.Cells))
	for i := range t.Cells {
		t.Hidden[i] = make([]bool, len(t.Cells[i]))
		for j := range t.Hidden[i] {
			t.Hidden[i][j] = r.Hidden[i]
		}
	}
	audit, err := Audit(t)
	if err != nil {
		return nil, 0, err
	}
	least := int(^uint(0) >> 1)
	for _, a := range audit {
		least = min(least, a.Width())
	}
	return audit, least, nil
}

func columns(t Table) []struct{} {
	if len(t.Cells) == 0 {
		return nil
	}
	return make([]struct{}, len(t.Cells[0]))
}

func sumOf(row []int) (n int) {
	for _, v := range row {
		n += v
	}
	return n
}

func countTrue(marks []bool) (n int) {
	for _, v := range marks {
		if v {
			n++
		}
	}
	return n
}
