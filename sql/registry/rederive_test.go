package registry

import (
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
)

func TestRederive(t *testing.T) {
	r := fresh(t)
	load(t, r, delivery(1), newborn{key: 1, weight: 2400}, newborn{key: 2, weight: 3000}, newborn{key: 3, unit: "east"}, newborn{key: 4, withdrawn: true})
	load(t, r, delivery(2), newborn{key: 2, weight: 3100})
	derive := func(d *record.Document) record.Facts {
		var f record.Facts
		f[record.FactBirthWeightG] = d.Newborn[record.BirthWeightG]
		f[record.FactApgar1] = number64(float64(d.Key[15]))
		return f
	}
	n, g, err := r.Rederive(t.Context(), derive)
	require.NoError(t, err)
	require.Zero(t, n, "the same derivation has nothing to do")
	require.Equal(t, record.Generation(2), g)

	r.o.Derivation = 2
	n, g, err = r.Rederive(t.Context(), derive)
	require.NoError(t, err)
	require.Equal(t, int64(3), n)
	require.Equal(t, record.Generation(3), g)
	require.Equal(t, "derivation", get[string](t, r, "select cause from ledger.generation where no = 3"))
	require.Equal(t, "1:2400 2:3100 3:-", current(t, r))
	p := cell.Projection{Measures: []cell.Projected{{Measure: "m", Population: condition("true"), Met: condition("apgar_1 >= 2")}}}
	require.Equal(t, []string{"east 2026-03 3: 1", "north 2026-03 1: 0", "north 2026-03 2: 1"}, run(t, r, p, cell.Scope{}))
	require.Equal(t, []string{"east 2026-03 3: u", "north 2026-03 1: u", "north 2026-03 2: u"}, run(t, r, p, cell.Scope{AsOf: 2}))
	touched, err := r.Touched(t.Context(), 2)
	require.NoError(t, err)
	require.Equal(t, "east 2026-03,north 2026-03", words(touched))

	// A document that changes afterwards has one current version of facts.
	load(t, r, delivery(3), newborn{key: 1, weight: 2500})
	require.Equal(t, "1:2500 2:3100 3:-", current(t, r))
}

func TestMovements(t *testing.T) {
	r := fresh(t)
	april := march + 1
	load(t, r, delivery(1), newborn{key: 1}, newborn{key: 2}, newborn{key: 3}, newborn{key: 4}, newborn{key: 5, unit: "east"})
	load(t, r, delivery(2), newborn{key: 1, weight: 3000}, newborn{key: 2, month: april}, newborn{key: 3, withdrawn: true}, newborn{key: 5, month: april}, newborn{key: 6})
	load(t, r, delivery(3), newborn{key: 1, weight: 3100}, newborn{key: 7, month: april, weight: 3000})
	load(t, r, delivery(4), newborn{key: 7, withdrawn: true})
	since := func(g record.Generation, unit string) []Movement {
		m, err := r.Movements(t.Context(), unit, g)
		require.NoError(t, err)
		return m
	}
	require.Equal(t, []Movement{{Month: march, Added: 1, Revised: 1, Withdrawn: 1, MovedOut: 1}, {Month: april, MovedIn: 2}}, since(1, "north"))
	require.Equal(t, []Movement{{Month: march, MovedOut: 1}}, since(1, "east"))
	require.Equal(t, []Movement{{Month: march, Revised: 1}}, since(2, "north"))
	require.Equal(t, []Movement{{Month: april, Withdrawn: 1}}, since(3, "north"))
	require.Empty(t, since(4, "north"))
}
