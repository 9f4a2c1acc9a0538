package etl_test

import (
	"context"
	"math/rand"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"chestrise/etl"
	"chestrise/etl/derive"
	"chestrise/etl/record"
	"chestrise/etl/rule"
	"chestrise/etl/source"
	"chestrise/metrics/cell"
	"chestrise/sql/localpg/pgtest"
	"chestrise/sql/registry"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }

// intake is the real registry as the etl sees it.
type intake struct{ *registry.Registry }

func (i intake) Begin(ctx context.Context, d record.Delivery) (etl.Loading, error) {
	l, err := i.Registry.Begin(ctx, d)
	if err != nil {
		return nil, err
	}
	return l, nil
}

func openRegistry(t *testing.T) intake {
	t.Helper()
	r, err := registry.Open(t.Context(), pgtest.DSN(t), registry.Options{
		Now: func() time.Time { return noon }, Derivation: 1, Program: "test", RolePrefix: "cr_etl_test_",
	})
	require.NoError(t, err)
	t.Cleanup(func() { _ = r.Close() })
	_, err = r.Migrate(t.Context())
	require.NoError(t, err)
	_, err = r.Lock(t.Context())
	require.NoError(t, err)
	return intake{r}
}

// The whole path into PostgreSQL: what the counts say and what the server wrote
// agree, the same delivery again changes nothing, and what cannot be loaded
// leaves nothing.
func TestIntoPostgres(t *testing.T) {
	r := openRegistry(t)
	maps, problems := source.ReadMaps("../configs/sources")
	require.Empty(t, problems)
	load := func(inbox string) etl.Summary {
		t.Helper()
		s, err := etl.Run(t.Context(), etl.Options{
			Inbox: inbox, Registry: r, Derive: derive.Facts, Maps: maps, Keys: filepath.Join(os.TempDir(), "unused"), Random: rand.New(rand.NewSource(1)), Batch: 3,
		})
		require.NoError(t, err)
		require.Len(t, s.Deliveries, 1)
		return s
	}
	s := load("../testdata/deliveries/eight")
	require.Equal(t, etl.Loaded, s.Deliveries[0].State, s.Deliveries[0].Problems)
	require.EqualValues(t, 8, s.Deliveries[0].Tallies[0].ByFate[record.Loaded])
	require.Equal(t, record.Generation(1), s.After)
	s = load("../testdata/deliveries/eight")
	require.Equal(t, etl.AlreadyLoaded, s.Deliveries[0].State)

	drop := func(d *drop) etl.Summary {
		folder := t.TempDir()
		d.write(t, folder)
		return load(folder)
	}
	d := badDrop()
	d.newborns[0]["admission_temp_cel"] = "97.9"
	d.newborn(key(3), "month", "2029-01").event(key(3), "5", "breathing", "none").birthsRow("39", "12")
	s = drop(d)
	require.Equal(t, etl.Loaded, s.Deliveries[0].State, s.Deliveries[0].Problems)
	require.EqualValues(t, 1, s.Rows().SetAside[rule.TemperatureFahrenheit])
	require.EqualValues(t, 1, s.Rows().ByFate[record.Held])
	require.EqualValues(t, 1, s.Rows().ByFate[record.HeldWith])
	require.EqualValues(t, 2, s.After)

	// What was stored is what was read: the digest of the stored document is the
	// one by which it was loaded.
	var digests [][16]byte
	require.NoError(t, r.Documents(t.Context(), cell.Scope{AsOf: s.After, Units: []string{"A"}, From: record.MonthOf(2026, 1), To: record.MonthOf(2026, 12), UnitMonths: nil}, []record.Key{keyOf(t, bad)}, func(doc *record.Document) error {
		require.Equal(t, record.SetAside, doc.Newborn[record.AdmissionTempCel].State)
		digests = append(digests, etl.Digest(doc))
		return nil
	}))
	m := newMemory(t)
	d.run(t, m)
	require.Equal(t, [][16]byte{m.documents[keyOf(t, bad)].digest}, digests)

	// One source owns a unit's month.
	other := newDrop().newborn(key(5))
	other.manifest.Source = "south"
	s = drop(other)
	require.Equal(t, []string{rule.UnitMonthOwned}, rules(s.Deliveries[0].Problems))
	require.EqualValues(t, 2, s.After)

	d.manifest.Sequence = 2
	s = drop(d)
	require.Equal(t, etl.Loaded, s.Deliveries[0].State)
	require.Equal(t, s.Before, s.After, "the same content takes no generation")
	require.EqualValues(t, 2, s.Deliveries[0].Tallies[0].ByFate[record.Unchanged])

	broken := badDrop()
	broken.manifest.Sequence = 3
	eventCell(1, "at_s", "")(broken)
	s = drop(broken)
	require.Equal(t, []string{rule.SortOrder}, rules(s.Deliveries[0].Problems))
	require.Equal(t, s.Before, s.After)
}
