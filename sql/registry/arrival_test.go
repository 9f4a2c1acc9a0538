package registry

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
)

// wipe empties the registry between two orders; a database a case would take
// most of the time.
func wipe(t testing.TB, r *Registry) {
	t.Helper()
	exec(t, r, `truncate registry.seen, registry.document, registry.facts, registry.unit_month, ledger.delivery, ledger.generation,
		ledger.delivery_unit, ledger.recording, ledger.file, ledger.held, ledger.set_aside, ledger.births, ledger.births_seen;
		update ledger.counter set generation = 0`)
}

// state is what is current: documents, facts and births.
func now(t testing.TB, r *Registry) string {
	t.Helper()
	docs := get[string](t, r, `select coalesce(string_agg(format('%s %s %s %s %s', u.code, d.key, d.month, d.withdrawn, d.birth_weight_g), E'\n' order by d.key), '')
		from registry.document d join registry.unit u on u.no = d.unit_no where gen_to is null`)
	births := get[string](t, r, `select coalesce(string_agg(format('%s %s %s', month, gestation_wk, births), E'\n' order by month, gestation_wk), '') from ledger.births where gen_to is null`)
	return docs + "\n" + current(t, r) + "\n" + births
}

// The order in which deliveries arrive does not matter for what is current, and
// every generation along the way stays readable as it was.
func TestOrderOfArrivalDoesNotMatter(t *testing.T) {
	r := fresh(t)
	rapid.Check(t, func(q *rapid.T) {
		n := rapid.IntRange(1, 4).Draw(q, "deliveries")
		drops := make([][]newborn, n)
		births := make([]int64, n)
		for i := range drops {
			keys := rapid.SliceOfNDistinct(rapid.ByteRange(1, 4), 0, 4, rapid.ID[byte]).Draw(q, "keys")
			slices.Sort(keys)
			births[i] = rapid.Int64Range(0, 3).Draw(q, "births")
			for _, k := range keys {
				b := newborn{key: k, month: march + record.Month(rapid.IntRange(0, 1).Draw(q, "month"))}
				if b.withdrawn = rapid.IntRange(0, 3).Draw(q, "withdrawn") == 0; !b.withdrawn {
					b.weight = float64(1000 * rapid.IntRange(1, 2).Draw(q, "weight"))
				}
				drops[i] = append(drops[i], b)
			}
		}
		order := rapid.Permutation(series(n)).Draw(q, "order")

		play := func(order []int) (string, []string) {
			wipe(t, r)
			var history []string
			for _, i := range order {
				l, err := r.Begin(t.Context(), delivery(int64(i+1)))
				require.NoError(t, err)
				fates := offer(t, l, drops[i]...)
				if births[i] > 0 {
					require.NoError(t, l.Births(t.Context(), record.Births{Unit: "north", Month: march, Gestation: 39, Births: births[i]}))
				}
				before, err := r.Generation(t.Context())
				require.NoError(t, err)
				g, err := l.Commit(t.Context(), tally(fates))
				require.NoError(t, err)
				if g != before {
					require.Equal(t, before+1, g, "no gap")
					history = append(history, asOf(t, r, g))
				}
			}
			return now(t, r), history
		}
		inOrder, _ := play(series(n))
		shuffled, history := play(order)
		require.Equal(q, inOrder, shuffled)
		for g, then := range history {
			require.Equal(q, then, asOf(t, r, record.Generation(g+1)))
		}
		// What the cells are told to be stale by is what the versions say.
		for g := range history {
			want := get[string](t, r, `select coalesce(string_agg(distinct format('%s %s', u.code, to_char(month, 'YYYY-MM')), ',' order by format('%s %s', u.code, to_char(month, 'YYYY-MM'))), '')
				from registry.document d join registry.unit u on u.no = d.unit_no join registry.unit_month using (unit_no, month) where gen_from > $1 or gen_to > $1`, g)
			touched, err := r.Touched(t.Context(), record.Generation(g))
			require.NoError(q, err)
			require.Equal(q, want, words(touched))
		}
	})
}

func series(n int) []int {
	s := make([]int, n)
	for i := range s {
		s[i] = i
	}
	return s
}

func words(all []cell.UnitMonth) string {
	var out []string
	for _, um := range all {
		out = append(out, fmt.Sprintf("%s %s", um.Unit, um.Month))
	}
	return strings.Join(out, ",")
}
