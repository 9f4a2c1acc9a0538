package disclosure_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/metrics/disclosure"
	"chestrise/testdata/reference"
)

func marks(rows [][]float64) [][]bool {
	out := make([][]bool, len(rows))
	for i, r := range rows {
		for _, v := range r {
			out[i] = append(out[i], v == 1)
		}
	}
	return out
}

func cells(rows [][]float64) [][]int {
	out := make([][]int, len(rows))
	for i, r := range rows {
		for _, v := range r {
			out[i] = append(out[i], int(v))
		}
	}
	return out
}

// recoverTables is the attacker: it tries every table of whole numbers that agrees with the
// published cells and totals, and gives the range of each hidden cell and the number of
// tables. It knows nothing of flows.
func recoverTables(t disclosure.Table) (lo, hi map[[2]int]int, tables int) {
	lo, hi = map[[2]int]int{}, map[[2]int]int{}
	var hidden [][2]int
	rows, cols := make([]int, len(t.Cells)), make([]int, len(t.Cells[0]))
	for i, r := range t.Hidden {
		for j, h := range r {
			if h {
				hidden = append(hidden, [2]int{i, j})
				rows[i] += t.Cells[i][j]
				cols[j] += t.Cells[i][j]
			}
		}
	}
	value := make([]int, len(hidden))
	var try func(k int)
	try = func(k int) {
		if k == len(hidden) {
			for _, r := range append(append([]int{}, rows...), cols...) {
				if r != 0 {
					return
				}
			}
			tables++
			for n, at := range hidden {
				if tables == 1 {
					lo[at], hi[at] = value[n], value[n]
				}
				lo[at], hi[at] = min(lo[at], value[n]), max(hi[at], value[n])
			}
			return
		}
		i, j := hidden[k][0], hidden[k][1]
		from, to := 0, min(rows[i], cols[j])
		if r, ok := t.Known[hidden[k]]; ok {
			from, to = max(from, r.Lo), min(to, r.Hi)
		}
		// The last hidden cell of a row takes what is left.
		if k+1 == len(hidden) || hidden[k+1][0] != i {
			from = max(from, rows[i])
		}
		for v := from; v <= to; v++ {
			value[k] = v
			rows[i] -= v
			cols[j] -= v
			try(k + 1)
			rows[i] += v
			cols[j] += v
		}
	}
	try(0)
	return lo, hi, tables
}

func TestReferencePatterns(t *testing.T) {
	for _, name := range []string{"suppression_wp22_primary_only", "suppression_wp22_protected_pattern"} {
		t.Run(name, func(t *testing.T) {
			c := reference.Load(t, name)
			table := disclosure.Table{Cells: cells(c.Lists("cells")), Hidden: marks(c.Lists("suppressed"))}
			audit, err := disclosure.Audit(table)
			require.NoError(t, err)
			_, _, tables := recoverTables(table)
			c.Check("n_tables", tables)
			got := []any{}
			disclosed := false
			for _, a := range audit {
				got = append(got, map[string]any{"row": a.Row + 1, "col": a.Column + 1, "true": a.True, "min": a.Min, "max": a.Max, "disclosed": a.Disclosed})
				disclosed = disclosed || a.Disclosed && a.True < 5
			}
			require.Len(t, c.Expected["cells"], len(got))
			for i, g := range got {
				for k, v := range g.(map[string]any) {
					c.Check("cells."+string(rune('0'+i))+"."+k, v)
				}
			}
			if _, ok := c.Expected["any_primary_disclosed"]; ok {
				c.Check("any_primary_disclosed", disclosed)
			} else {
				require.True(t, disclosed)
			}
		})
	}
	t.Run("suppression_2x2_block_interval", func(t *testing.T) {
		c := reference.Load(t, "suppression_2x2_block_interval")
		table := disclosure.Table{Cells: cells(c.Lists("cells")), Hidden: marks(c.Lists("suppressed"))}
		audit, err := disclosure.Audit(table)
		require.NoError(t, err)
		_, _, tables := recoverTables(table)
		c.Check("n_tables", tables)
		for i, a := range audit {
			for k, v := range map[string]int{"row": a.Row + 1, "col": a.Column + 1, "min": a.Min, "max": a.Max} {
				c.Check("bounds."+string(rune('0'+i))+"."+k, v)
			}
		}
		rows, cols := []int{0, 0}, []int{0, 0}
		for _, a := range audit {
			rows[a.Row] += a.True
			cols[a.Column] += a.True
		}
		c.Check("residual_rows", rows)
		c.Check("residual_cols", cols)
	})
}

func TestAttackRecoversNoSmallCell(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, cols := rapid.IntRange(2, 4).Draw(t, "rows"), rapid.IntRange(2, 3).Draw(t, "cols")
		table := disclosure.Table{}
		for range rows {
			table.Cells = append(table.Cells, rapid.SliceOfN(rapid.IntRange(0, 9), cols, cols).Draw(t, "row"))
		}
		p := disclosure.Policy{Threshold: rapid.IntRange(2, 4).Draw(t, "threshold"), Complement: rapid.Bool().Draw(t, "complement"), Width: 1}
		r, err := disclosure.Suppress(table, p)
		if err != nil {
			require.ErrorIs(t, err, disclosure.ErrCannotProtect)
			return
		}
		table.Hidden = r.Hidden
		lo, hi, tables := recoverTables(table)
		require.Positive(t, tables)
		for _, a := range r.Audit {
			at := [2]int{a.Row, a.Column}
			require.Equal(t, lo[at], a.Min, "the audit finds what the attacker finds")
			require.Equal(t, hi[at], a.Max)
			if r.Primary[a.Row][a.Column] {
				require.Less(t, lo[at], hi[at], "a small cell was recovered")
			}
		}
	})
}

func TestAuditUsesWhatIsKnownFromElsewhere(t *testing.T) {
	table := disclosure.Table{
		Cells:  [][]int{{2, 8, 30}, {5, 9, 30}, {20, 30, 40}},
		Hidden: [][]bool{{true, true, false}, {true, true, false}, {false, false, false}},
	}
	audit, err := disclosure.Audit(table)
	require.NoError(t, err)
	require.Equal(t, disclosure.CellAudit{Row: 0, Column: 0, True: 2, Min: 0, Max: 7, Bounded: true}, audit[0])
	// A whole percentage of one of the cells narrows all four.
	lo, hi := disclosure.CountsFromPercent(36, 0, 14) // 5 of 14
	require.Equal(t, []int{5, 5}, []int{lo, hi})
	table.Known = map[[2]int]disclosure.Range{{1, 0}: {Lo: lo, Hi: hi}}
	audit, err = disclosure.Audit(table)
	require.NoError(t, err)
	for _, a := range audit {
		require.True(t, a.Disclosed)
	}
	table.Known[[2]int{1, 0}] = disclosure.Range{Lo: 6, Hi: 7}
	_, err = disclosure.Audit(table)
	require.Error(t, err, "the truth must lie within what is known")
}

func TestUnpublishedTotalsLeaveMoreRoom(t *testing.T) {
	table := disclosure.Table{Cells: [][]int{{2, 8}, {5, 9}}, Hidden: [][]bool{{true, false}, {false, false}}}
	audit, err := disclosure.Audit(table)
	require.NoError(t, err)
	require.True(t, audit[0].Disclosed)
	table.NoRows, table.NoColumns = true, true
	audit, err = disclosure.Audit(table)
	require.NoError(t, err)
	require.True(t, audit[0].Disclosed, "the grand total still gives it away")
	table.NoTotal = true
	audit, err = disclosure.Audit(table)
	require.NoError(t, err)
	require.False(t, audit[0].Bounded)
	require.Zero(t, audit[0].Min)
}

func TestComplementGivesAway(t *testing.T) {
	p := disclosure.Policy{Threshold: 11, Complement: true}
	require.True(t, p.Hides(14, 15))
	require.True(t, p.Hides(3, 40))
	require.False(t, p.Hides(0, 40))
	require.False(t, p.Hides(40, 40))
	require.False(t, p.Hides(20, 40))
	require.True(t, disclosure.Policy{Threshold: 11, Zeros: true}.Hides(0, 40))
	require.True(t, p.Hides(41, 40))
	require.False(t, disclosure.Policy{}.Hides(1, 2), "no threshold hides nothing")
}

func TestPercentagesThatGiveTheCountAway(t *testing.T) {
	for _, tc := range []struct{ n, decimals, want int }{{90, 0, 1}, {999, 1, 1}, {300, 0, 3}} {
		most := 0
		for x := range tc.n + 1 {
			scale := math.Pow(10, float64(tc.decimals))
			pc := math.Round(100*float64(x)/float64(tc.n)*scale) / scale
			lo, hi := disclosure.CountsFromPercent(pc, tc.decimals, tc.n)
			require.True(t, lo <= x && x <= hi)
			most = max(most, hi-lo+1)
		}
		require.LessOrEqual(t, most, tc.want+1)
	}
	require.Equal(t, -1, disclosure.DecimalsAllowed(90, 1))
	require.Equal(t, 0, disclosure.DecimalsAllowed(250, 1))
	require.Equal(t, 1, disclosure.DecimalsAllowed(2500, 1))
	lo, hi := disclosure.CountsFromPercent(50, 0, 0)
	require.Greater(t, lo, hi)
}

func TestRollingYearsGiveTheDifferenceAway(t *testing.T) {
	p := disclosure.Policy{Threshold: 11}
	s, err := disclosure.Stretches([]disclosure.Window{{From: 1, To: 12, Count: 40}, {From: 7, To: 18, Count: 43}, {From: 7, To: 12, Count: 21}}, p)
	require.NoError(t, err)
	found := map[[2]int]disclosure.Stretch{}
	for _, x := range s {
		found[[2]int{x.From, x.To}] = x
	}
	require.Equal(t, disclosure.Stretch{From: 1, To: 6, Count: 19}, found[[2]int{1, 6}])
	require.Equal(t, 22, found[[2]int{13, 18}].Count)
	// Overlapping windows alone: the difference of the two ends follows.
	s, err = disclosure.Stretches([]disclosure.Window{{From: 1, To: 12, Count: 40}, {From: 1, To: 13, Count: 43}}, p)
	require.NoError(t, err)
	require.Contains(t, s, disclosure.Stretch{From: 13, To: 13, Count: 3, Small: true})
	s, err = disclosure.Stretches([]disclosure.Window{{From: 1, To: 12, Count: 40}, {From: 13, To: 24, Count: 43}}, p)
	require.NoError(t, err)
	require.Len(t, s, 3, "windows that do not overlap give their sum and nothing smaller")
	_, err = disclosure.Stretches([]disclosure.Window{{From: 1, To: 2, Count: 4}, {From: 1, To: 2, Count: 5}}, p)
	require.Error(t, err)
	_, err = disclosure.Stretches([]disclosure.Window{{From: 3, To: 2, Count: 4}}, p)
	require.Error(t, err)
}

func TestTablesThatCannotBeProtected(t *testing.T) {
	_, err := disclosure.Suppress(disclosure.Table{Cells: [][]int{{3}}}, disclosure.Policy{Threshold: 5})
	require.ErrorIs(t, err, disclosure.ErrCannotProtect)
	r, err := disclosure.Suppress(disclosure.Table{}, disclosure.Policy{Threshold: 5})
	require.NoError(t, err)
	require.Empty(t, r.Hidden)
	_, err = disclosure.Suppress(disclosure.Table{Cells: [][]int{{1, 2}, {3}}}, disclosure.Policy{Threshold: 5})
	require.Error(t, err)
	_, err = disclosure.Suppress(disclosure.Table{Cells: [][]int{{-1}}}, disclosure.Policy{Threshold: 5})
	require.Error(t, err)
	_, err = disclosure.Suppress(disclosure.Table{Cells: [][]int{{1}}}, disclosure.Policy{Threshold: -5})
	require.Error(t, err)
}

func TestPublishedExampleIsProtected(t *testing.T) {
	// The table of Working Paper 22, hidden by us: no count from 1 to 4 can be recovered,
	// each keeps a range of five or more.
	c := reference.Load(t, "suppression_wp22_primary_only")
	table := disclosure.Table{Cells: cells(c.Lists("cells"))}
	r, err := disclosure.Suppress(table, disclosure.Policy{Threshold: 5})
	require.NoError(t, err)
	for _, a := range r.Audit {
		if r.Primary[a.Row][a.Column] {
			require.GreaterOrEqual(t, a.Width(), 5)
		}
	}
	require.LessOrEqual(t, r.Secondary, 6)
}

func BenchmarkSuppress6x6(b *testing.B) {
	table := disclosure.Table{}
	for i := range 6 {
		row := make([]int, 6)
		for j := range row {
			row[j] = (i*7 + j*11) % 23
		}
		table.Cells = append(table.Cells, row)
	}
	for b.Loop() {
		if _, err := disclosure.Suppress(table, disclosure.Policy{Threshold: 5}); err != nil {
			b.Fatal(err)
		}
	}
}
