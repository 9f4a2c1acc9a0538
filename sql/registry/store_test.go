package registry

import (
	"crypto/sha256"
	"errors"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/reports/issue"
)

func TestCellsAndWhatIsStale(t *testing.T) {
	r := fresh(t)
	ctx := t.Context()
	april := march + 1
	load(t, r, delivery(1), newborn{key: 1}, newborn{key: 2, month: april}, newborn{key: 3, unit: "east"})
	basis := map[string]cell.Basis{"a": {Definition: "h1", Derivation: 1}, "b": {Definition: "h2", Derivation: 1}}
	stale := func() string {
		all, err := r.Stale(ctx, basis)
		require.NoError(t, err)
		return words(all)
	}
	require.Equal(t, "east 2026-03,north 2026-03,north 2026-04", stale())

	made := func(unit string, m record.Month, g record.Generation) []cell.Cell {
		return []cell.Cell{
			{
				Unit: unit, Month: m, Measure: "a", Band: 6, Outside: 1, EligibilityUnknown: 2, Excluded: []int32{3, 4}, Exceptions: []int32{5}, Unknown: 6,
				Undecided: 7, NotMet: 8, Met: 9, Presumed: 10, Basis: basis["a"], Generation: g,
			},
			{
				Unit: unit, Month: m, Measure: "b", Band: 0, Births: 11, Items: []cell.Item{{Order: 1, Low: 0.1, High: 1e300, End: `odd "\ end`}, {Order: 2, Low: -2.5, High: -2.5}},
				Basis: basis["b"], Generation: g,
			},
		}
	}
	scope := []cell.UnitMonth{{Unit: "east", Month: march}, {Unit: "north", Month: march}, {Unit: "north", Month: april}}
	var all []cell.Cell
	for _, um := range scope {
		all = append(all, made(um.Unit, um.Month, 1)...)
	}
	require.NoError(t, r.Replace(ctx, scope, slices.Values(all)))
	require.Empty(t, stale())

	got, err := r.Cells(ctx, nil, "b")
	require.NoError(t, err)
	require.Empty(t, cmp.Diff([]cell.Cell{all[1], all[3], all[5]}, got))
	got, err = r.Cells(ctx, []string{"north"}, "a")
	require.NoError(t, err)
	require.Empty(t, cmp.Diff([]cell.Cell{all[2], all[4]}, got))
	got, err = r.Cells(ctx, []string{}, "a")
	require.NoError(t, err)
	require.Empty(t, got)

	// A newborn moves from March to April: both months are stale.
	load(t, r, delivery(2), newborn{key: 1, month: april})
	require.Equal(t, "north 2026-03,north 2026-04", stale())
	require.NoError(t, r.Replace(ctx, scope[1:2], slices.Values(made("north", march, 2))))
	require.Equal(t, "north 2026-04", stale())
	require.NoError(t, r.Replace(ctx, scope[2:], slices.Values(made("north", april, 2))))
	require.Empty(t, stale())

	// Another definition, another derivation, a new measure.
	basis["a"] = cell.Basis{Definition: "h9", Derivation: 1}
	require.Equal(t, "east 2026-03,north 2026-03,north 2026-04", stale())
	basis["a"] = cell.Basis{Definition: "h1", Derivation: 2}
	require.Equal(t, "east 2026-03,north 2026-03,north 2026-04", stale())
	basis["a"] = cell.Basis{Definition: "h1", Derivation: 1}
	basis["c"] = cell.Basis{Definition: "h3", Derivation: 1}
	require.Equal(t, "east 2026-03,north 2026-03,north 2026-04", stale())
	delete(basis, "c")
	delete(basis, "b")
	require.Empty(t, stale(), "a measure that is no longer asked for")

	// All or nothing.
	bad := made("north", march, 2)
	bad[1].Items[0].Low = math.NaN()
	require.ErrorContains(t, r.Replace(ctx, scope[1:2], slices.Values(bad)), "cell_items_are_numbers")
	require.ErrorContains(t, r.Replace(ctx, scope[1:2], slices.Values(made("north", april, 2))), "outside the scope")
	require.ErrorContains(t, r.Replace(ctx, []cell.UnitMonth{{Unit: "nowhere", Month: march}}, slices.Values[[]cell.Cell](nil)), "nowhere")
	require.Equal(t, 6, get[int](t, r, "select count(*) from measure.cell"))
	require.NoError(t, r.Replace(ctx, scope[1:2], slices.Values[[]cell.Cell](nil)))
	require.Equal(t, 4, get[int](t, r, "select count(*) from measure.cell"))
}

func TestBaselinesAreFrozen(t *testing.T) {
	r := fresh(t)
	load(t, r, delivery(1), newborn{key: 1})
	b := cell.Baseline{
		Unit: "north", Measure: "m", Phase: march, From: march - 24, To: march - 1, Chart: "p", Period: "quarter", Centre: 0.39, Spread: 0,
		Points: 8, Denominator: 300, Provisional: true, Reason: "fewer than 15 known cases a month", Basis: cell.Basis{Definition: "h", Derivation: 1}, Generation: 1,
	}
	require.NoError(t, r.Freeze(t.Context(), b))
	again := b
	again.Centre = 0.5
	require.ErrorIs(t, r.Freeze(t.Context(), again), cell.ErrFrozen)
	other := b
	other.Basis.Definition = "h2"
	other.Generation = 2
	require.NoError(t, r.Freeze(t.Context(), other))
	earlier := b
	earlier.Phase = march - 12
	require.NoError(t, r.Freeze(t.Context(), earlier))
	nan := b
	nan.Measure, nan.Centre = "n", math.Inf(1)
	require.ErrorContains(t, r.Freeze(t.Context(), nan), "centre_is_a_number")

	got, err := r.Baselines(t.Context(), "north")
	require.NoError(t, err)
	require.Empty(t, cmp.Diff([]cell.Baseline{earlier, b, other}, got))
	got, err = r.Baselines(t.Context(), "nowhere")
	require.NoError(t, err)
	require.Empty(t, got)

	require.NoError(t, r.Define(t.Context(), "m", "h", "1", "id: m"))
	require.NoError(t, r.Define(t.Context(), "m", "h", "1", "id: other"))
	require.Equal(t, "id: m", get[string](t, r, "select body from measure.definition"))
}

func TestLedgerReads(t *testing.T) {
	r := fresh(t)
	ctx := t.Context()
	late := keyOf(9)
	d := delivery(1)
	d.Units = []string{"north", "east"}
	d.To = march + 1
	d.Synthetic = true
	d.Privacy, d.Agreement = record.Limited, "A-7"
	d.Recording = []record.Recording{{Unit: "east", From: march, How: record.ByDevice, TimeUnit: 1, Form: "2", TempSite: "axilla"}}
	l, err := r.Begin(ctx, d)
	require.NoError(t, err)
	fates := offer(t, l, newborn{key: 1, unit: "east"})
	for _, h := range []record.HeldRow{
		{File: newbornsFile, Line: 5, Rule: "identifier", Field: "key", Key: &late},
		{File: newbornsFile, Line: 6, Column: 2, Rule: "bad key", Field: "key"},
		{File: "events.csv", Line: 9, Rule: "identifier", With: true},
		{File: "events.csv", Line: 12, Rule: "event without newborn"},
	} {
		require.NoError(t, l.Hold(ctx, h))
	}
	require.NoError(t, l.SetAside(ctx, record.Unusable{File: newbornsFile, Line: 2, Column: 7, Rule: "range", Field: "apgar_1", Key: keyOf(1)}))
	require.NoError(t, l.Births(ctx, record.Births{Unit: "east", Month: march, Gestation: 0, Births: 4}))
	require.NoError(t, l.Births(ctx, record.Births{Unit: "east", Month: march, Gestation: 39, Births: 70}))
	tallies := tally(fates)
	tallies[0].Read += 2
	tallies[0].ByFate[record.Held] = 2
	tallies[0].SetAside = map[string]int64{"range": 1}
	tallies = append(tallies, record.Tally{File: "events.csv", Read: 2, ByFate: [9]int64{record.Held: 1, record.HeldWith: 1}})
	_, err = l.Commit(ctx, tallies)
	require.NoError(t, err)

	got, err := r.Deliveries(ctx)
	require.NoError(t, err)
	want := d
	want.Units = []string{"east", "north"}
	require.Empty(t, cmp.Diff([]record.Delivery{want}, got))

	births, err := r.Births(ctx, []string{"east"})
	require.NoError(t, err)
	require.Equal(t, []record.Births{{Unit: "east", Month: march, Births: 4}, {Unit: "east", Month: march, Gestation: 39, Births: 70}}, births)
	births, err = r.Births(ctx, []string{"north"})
	require.NoError(t, err)
	require.Empty(t, births)

	held := func(unit string, m record.Month) map[string]int64 {
		got, err := r.Held(ctx, unit, m)
		require.NoError(t, err)
		return got
	}
	require.Equal(t, map[string]int64{"identifier": 1, "bad key": 1}, held("north", march))
	require.Equal(t, map[string]int64{"identifier": 1, "bad key": 1}, held("east", march+1))
	require.Empty(t, held("north", march+2))
	aside, err := r.SetAside(ctx, "east", march)
	require.NoError(t, err)
	require.Equal(t, map[string]int64{"range": 1}, aside)

	// The newborn whose key was readable comes in, its version replaces the one
	// with the unusable value, and a complete delivery settles the rest.
	load(t, r, delivery(2), newborn{key: 1, unit: "east", weight: 3000}, newborn{key: 9})
	require.Equal(t, map[string]int64{"bad key": 1}, held("north", march))
	aside, err = r.SetAside(ctx, "east", march)
	require.NoError(t, err)
	require.Empty(t, aside)
	complete := delivery(3)
	complete.Mode, complete.To = record.Complete, march+1
	load(t, r, complete)
	require.Empty(t, held("north", march))
}

func TestArchive(t *testing.T) {
	r := fresh(t)
	ctx := t.Context()
	k := issue.Key{Kind: "dashboard", Unit: "north", Period: "2026-03"}
	one, two := sha256.Sum256([]byte("one")), sha256.Sum256([]byte("two"))
	value := 57.5
	cells := []issue.Cell{{Measure: "m", Month: march, Met: 3, Known: 7, Eligible: 9, Text: "3 of 7", BasisHash: "h"}, {Measure: "v", Month: march, Value: &value, Text: "57.5 s"}}

	last, figures, err := r.Last(ctx, k)
	require.NoError(t, err)
	require.Zero(t, last.No)
	require.Empty(t, figures)

	i, due, err := r.Plan(ctx, k, one, 4, cells)
	require.NoError(t, err)
	require.True(t, due)
	require.Equal(t, issue.Issue{Key: k, No: 1, State: issue.Planned, Model: one, Generation: 4}, i)
	require.NoError(t, r.Signals(ctx, k, 1, []issue.Signal{{Measure: "m", Rule: "beyond the limits", From: march, To: march, Direction: "unfavourable"}}))

	// A crash: the number was never published, and is given again.
	i, due, err = r.Plan(ctx, k, two, 5, cells)
	require.NoError(t, err)
	require.True(t, due)
	require.Equal(t, 1, i.No)
	require.Zero(t, get[int](t, r, "select count(*) from issue.issued_signal"), "the signals of the plan before are gone")
	require.NoError(t, r.Signals(ctx, k, 1, []issue.Signal{{Measure: "m", Rule: "run of eight", From: march - 7, To: march, Direction: "favourable"}}))
	left, err := r.Unfinished(ctx)
	require.NoError(t, err)
	require.Equal(t, []issue.Issue{i}, left)

	files := []issue.File{{Name: "a.pdf", SHA256: one, Bytes: 10}, {Name: "b.xlsx", SHA256: two, Bytes: 20}}
	require.NoError(t, r.Published(ctx, k, 1, files))
	left, err = r.Unfinished(ctx)
	require.NoError(t, err)
	require.Empty(t, left)
	last, figures, err = r.Last(ctx, k)
	require.NoError(t, err)
	require.Equal(t, issue.Issue{Key: k, No: 1, State: issue.Published, Model: two, Generation: 5, Files: files}, last)
	require.Empty(t, cmp.Diff(cells, figures))
	signals, err := r.LastSignals(ctx, k)
	require.NoError(t, err)
	require.Equal(t, []issue.Signal{{Measure: "m", Rule: "run of eight", From: march - 7, To: march, Direction: "favourable"}}, signals)

	// The same model is not due, whatever the generation; another is issue 2.
	i, due, err = r.Plan(ctx, k, two, 6, cells)
	require.NoError(t, err)
	require.False(t, due)
	require.Equal(t, last, i)
	i, due, err = r.Plan(ctx, k, one, 6, nil)
	require.NoError(t, err)
	require.True(t, due)
	require.Equal(t, 2, i.No)
	require.Equal(t, 1, i.Replaces)
	// The data went back before issue 2 was drawn: nothing is due, nothing is left.
	_, due, err = r.Plan(ctx, k, two, 7, nil)
	require.NoError(t, err)
	require.False(t, due)
	left, err = r.Unfinished(ctx)
	require.NoError(t, err)
	require.Empty(t, left)

	// Issue 2 is published in the end: what it replaced is still told.
	_, _, err = r.Plan(ctx, k, one, 8, nil)
	require.NoError(t, err)
	require.NoError(t, r.Published(ctx, k, 2, files[:1]))
	last, figures, err = r.Last(ctx, k)
	require.NoError(t, err)
	require.Equal(t, 2, last.No)
	require.Empty(t, figures)
	last, figures, err = r.LastBefore(ctx, k, 2)
	require.NoError(t, err)
	require.Equal(t, 1, last.No)
	require.Empty(t, cmp.Diff(cells, figures))
	last, _, err = r.LastBefore(ctx, k, 1)
	require.NoError(t, err)
	require.Zero(t, last.No)

	require.ErrorContains(t, r.Published(ctx, k, 9, nil), "never planned")
	require.Error(t, r.Signals(ctx, k, 9, []issue.Signal{{Measure: "m", From: march, To: march}}))
	other, due, err := r.Plan(ctx, issue.Key{Kind: "network", Period: "2026"}, one, 7, nil)
	require.NoError(t, err)
	require.True(t, due)
	require.Equal(t, 1, other.No)
	require.False(t, errors.Is(err, record.ErrLocked))
}
