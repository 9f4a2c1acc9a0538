package registry

import (
	"context"
	"crypto/sha256"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
)

func TestLoad(t *testing.T) {
	r := fresh(t)
	ctx := t.Context()

	g, fates := load(t, r, delivery(1), newborn{key: 1, weight: 3000}, newborn{key: 2, weight: 3100}, newborn{key: 3, withdrawn: true})
	require.Equal(t, record.Generation(1), g)
	require.Equal(t, []record.Fate{record.Loaded, record.Loaded, record.Withdrawn}, fates, "first seen as withdrawn leaves a tombstone")
	require.Equal(t, 2, get[int](t, r, "select count(*) from registry.facts"))

	// The same newborns again change nothing and take no generation.
	g, fates = load(t, r, delivery(2), newborn{key: 1, weight: 3000}, newborn{key: 2, weight: 3100}, newborn{key: 3, withdrawn: true})
	require.Equal(t, record.Generation(1), g)
	require.Equal(t, []record.Fate{record.Unchanged, record.Unchanged, record.Unchanged}, fates)
	require.Equal(t, 3, get[int](t, r, "select count(*) from registry.document"))

	// An older sequence is legal and superseded where the key was seen.
	g, fates = load(t, r, delivery(4), newborn{key: 1, weight: 3050}, newborn{key: 2, withdrawn: true}, newborn{key: 4})
	require.Equal(t, record.Generation(2), g)
	require.Equal(t, []record.Fate{record.Revised, record.Withdrawn, record.Loaded}, fates)
	g, fates = load(t, r, delivery(3), newborn{key: 1, weight: 1}, newborn{key: 2, weight: 2}, newborn{key: 3, weight: 2900})
	require.Equal(t, record.Generation(3), g)
	require.Equal(t, []record.Fate{record.Superseded, record.Superseded, record.Revised}, fates, "a withdrawn newborn that comes again is revised")

	require.Equal(t, "1:3050 3:2900 4:-", current(t, r))
	require.Equal(t, "1:3000 2:3100", asOf(t, r, 1))
	require.Equal(t, "1:3050 4:-", asOf(t, r, 2))
	require.Equal(t, 3, get[int](t, r, "select count(*) from ledger.generation"))

	_, err := r.Begin(ctx, delivery(4))
	require.ErrorIs(t, err, record.ErrAlreadyLoaded)
	_, err = r.Begin(ctx, delivery(4, "other content"))
	require.ErrorIs(t, err, record.ErrSequenceReused)
	now, err := r.Generation(ctx)
	require.NoError(t, err)
	require.Equal(t, record.Generation(3), now)
}

// current lists the facts that are current: key and weight.
func current(t testing.TB, r *Registry) string {
	t.Helper()
	return get[string](t, r, `select coalesce(string_agg(get_byte(uuid_send(key), 15) || ':' || coalesce(birth_weight_g::text, '-'), ' ' order by key), '')
		from registry.facts where gen_to is null`)
}

func asOf(t testing.TB, r *Registry, g record.Generation) string {
	t.Helper()
	return get[string](t, r, `select coalesce(string_agg(get_byte(uuid_send(key), 15) || ':' || coalesce(birth_weight_g::text, '-'), ' ' order by key), '')
		from registry.document where gen_from <= $1 and (gen_to is null or gen_to > $1) and not withdrawn`, g)
}

func TestKeyTwiceIsRefused(t *testing.T) {
	r := fresh(t)
	for name, batches := range map[string][][]newborn{
		"in one batch":   {{{key: 1}, {key: 1, weight: 2000}}},
		"in two batches": {{{key: 1}}, {{key: 1, unit: "south"}}},
	} {
		t.Run(name, func(t *testing.T) {
			l, err := r.Begin(t.Context(), delivery(1, name))
			require.NoError(t, err)
			for _, b := range batches {
				var stamps []record.Stamp
				for _, n := range b {
					s, _, _ := n.document()
					stamps = append(stamps, s)
				}
				_, err = l.Fates(t.Context(), stamps)
			}
			var refusal *record.Refusal
			require.ErrorAs(t, err, &refusal)
			require.Equal(t, "key-repeated", refusal.Rule)
			require.NoError(t, l.Refuse(t.Context(), refusal))
		})
	}
	require.Equal(t, 0, get[int](t, r, "select count(*) from registry.seen"))
}

func TestCountsMustAgree(t *testing.T) {
	r := fresh(t)
	s, d, f := newborn{key: 1}.document()
	good := []record.Tally{{File: newbornsFile, Read: 1, ByFate: [9]int64{record.Loaded: 1}}}
	for name, c := range map[string]struct {
		do    func(l *Loading) error
		tally []record.Tally
		says  string
	}{
		"not handed over":      {func(*Loading) error { return nil }, good, "1 documents are loaded and 0 were handed over"},
		"sum":                  {put(s, d, f), []record.Tally{{File: newbornsFile, Read: 2, ByFate: [9]int64{record.Loaded: 1}}}, "2 rows were read and 1 accounted for"},
		"other fate":           {put(s, d, f), []record.Tally{{File: newbornsFile, Read: 1, ByFate: [9]int64{record.Revised: 1}}}, "0 newborns are counted as loaded and 1 were"},
		"held without a list":  {put(s, d, f), []record.Tally{{File: newbornsFile, Read: 2, ByFate: [9]int64{record.Loaded: 1, record.Held: 1}}}, "1 rows are counted as held and 0 are listed"},
		"aside without a list": {put(s, d, f), []record.Tally{{File: newbornsFile, Read: 1, ByFate: [9]int64{record.Loaded: 1}, SetAside: map[string]int64{"range": 1}}}, "rule range"},
	} {
		t.Run(name, func(t *testing.T) {
			l, err := r.Begin(t.Context(), delivery(1))
			require.NoError(t, err)
			_, err = l.Fates(t.Context(), []record.Stamp{s})
			require.NoError(t, err)
			require.NoError(t, c.do(l))
			_, err = l.Commit(t.Context(), c.tally)
			require.ErrorContains(t, err, c.says)
			require.Equal(t, 0, get[int](t, r, "select count(*) from registry.document"))
			require.Equal(t, 0, get[int](t, r, "select count(*) from ledger.delivery"))
		})
	}
}

func put(s record.Stamp, d *record.Document, f *record.Facts) func(*Loading) error {
	return func(l *Loading) error { return l.Put(context.Background(), record.Loaded, s, d, f) }
}

func TestRefuse(t *testing.T) {
	r := fresh(t)
	key := keyOf(9)
	held := record.HeldRow{File: newbornsFile, Line: 3, Column: 2, Rule: "identifier", Field: "key", Key: &key}
	for range 2 { // the second night sees the same delivery
		l, err := r.Begin(t.Context(), delivery(1))
		require.NoError(t, err)
		offer(t, l, newborn{key: 1})
		require.NoError(t, l.Hold(t.Context(), held))
		require.NoError(t, l.Refuse(t.Context(), &record.Refusal{
			Rule: "hash", File: "events.csv", Line: 7, Message: "the file is not the one announced",
			Held: []record.HeldRow{held},
		}))
		_, err = l.Commit(t.Context(), nil)
		require.Error(t, err)
	}
	require.Equal(t, "refused hash events.csv:7", get[string](t, r, "select outcome || ' ' || refused_rule || ' ' || refused_place from ledger.delivery"))
	require.Equal(t, 1, get[int](t, r, "select count(*) from ledger.held"))
	require.Equal(t, 0, get[int](t, r, "select count(*) from registry.document"))

	// What could not even be read has no manifest.
	for range 2 {
		require.NoError(t, r.Refuse(t.Context(), &record.Refusal{Rule: "manifest", File: "manifest.json", Message: "no manifest"}))
	}
	require.Equal(t, 2, get[int](t, r, "select count(*) from ledger.delivery"))

	// A refused delivery may come again and be loaded.
	g, _ := load(t, r, delivery(1), newborn{key: 1})
	require.Equal(t, record.Generation(1), g)
}

func TestOneSourceOwnsAUnitMonth(t *testing.T) {
	r := fresh(t)
	load(t, r, delivery(1), newborn{key: 1})
	other := delivery(1, "other")
	other.Source = "transport"
	l, err := r.Begin(t.Context(), other)
	require.NoError(t, err)
	fates := offer(t, l, newborn{key: 2})
	_, err = l.Commit(t.Context(), tally(fates))
	var refusal *record.Refusal
	require.ErrorAs(t, err, &refusal)
	require.Equal(t, "unit-month-owned", refusal.Rule)
	require.Contains(t, refusal.Message, "north 2026-03 (labour-ward)")
	require.NoError(t, l.Refuse(t.Context(), refusal))

	// The same key of another source is another newborn.
	other.Manifest = sha256.Sum256([]byte("later"))
	g, fates := load(t, r, other, newborn{key: 1, unit: "south"})
	require.Equal(t, []record.Fate{record.Loaded}, fates)
	require.Equal(t, record.Generation(2), g)
}

func TestARowThatBreaksARuleNamesTheRule(t *testing.T) {
	r := fresh(t)
	l, err := r.Begin(t.Context(), delivery(1))
	require.NoError(t, err)
	fates := offer(t, l, newborn{key: 1, weight: 12})
	_, err = l.Commit(t.Context(), tally(fates))
	require.ErrorContains(t, err, "birth_weight_g_from_200_to_7000")
	require.NotContains(t, err.Error(), "(12")
	g, err := r.Generation(t.Context())
	require.NoError(t, err)
	require.Zero(t, g, "a generation that rolls back leaves no gap")
}

func TestBirths(t *testing.T) {
	r := fresh(t)
	tell := func(sequence int64, rows ...record.Births) record.Generation {
		l, err := r.Begin(t.Context(), delivery(sequence))
		require.NoError(t, err)
		for _, b := range rows {
			b.Unit, b.Month = "north", march
			require.NoError(t, l.Births(t.Context(), b))
		}
		g, err := l.Commit(t.Context(), nil)
		require.NoError(t, err)
		return g
	}
	sum := func() string {
		return get[string](t, r, "select string_agg(gestation_wk || ':' || births, ' ' order by gestation_wk) from ledger.births where gen_to is null")
	}
	require.Equal(t, record.Generation(1), tell(1, record.Births{Gestation: 39, Births: 50}, record.Births{Gestation: 40, Births: 60}))
	require.Equal(t, record.Generation(1), tell(2, record.Births{Gestation: 40, Births: 60}, record.Births{Gestation: 39, Births: 50}), "the same again")
	require.Equal(t, record.Generation(2), tell(5, record.Births{Gestation: 39, Births: 51}), "a month is told as a whole")
	require.Equal(t, "39:51", sum())
	require.Equal(t, record.Generation(2), tell(3, record.Births{Gestation: 39, Births: 1}), "a late delivery does not undo a later one")
	require.Equal(t, "39:51", sum())
	require.Equal(t, record.Generation(2), tell(6))
}
