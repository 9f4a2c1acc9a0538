package etl_test

import (
	"context"
	"math/rand"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl"
	"chestrise/etl/record"
	"chestrise/etl/source"
)

// The 500 births of the data set "births" of the R package Epi: its own columns
// preterm and lowbw count 63 births before 37 weeks, with 10 gestations unknown,
// and 60 under 2,500 g. Those columns are not taken; the counts must come out of
// weight and gestation.
func TestRealBirthsComeThroughAMap(t *testing.T) {
	maps, problems := source.ReadMaps("../configs/sources")
	require.Empty(t, problems)
	m := newMemory(t)
	o := options("../testdata/deliveries/epi-births", m)
	o.Maps, o.Keys, o.Random = maps, filepath.Join(t.TempDir(), "keys"), rand.New(rand.NewSource(1))
	s, err := etl.Run(context.Background(), o)
	require.NoError(t, err)
	require.Equal(t, etl.Loaded, s.Deliveries[0].State, s.Deliveries[0].Problems)
	require.Len(t, s.Deliveries[0].Tallies, 1)
	require.Equal(t, "epi_births_500.csv", s.Deliveries[0].Tallies[0].File)
	require.EqualValues(t, 500, s.Deliveries[0].Tallies[0].ByFate[record.Loaded])
	require.Empty(t, s.Deliveries[0].Tallies[0].SetAside)

	var preterm, unknown, light int
	for _, d := range m.documents {
		n := d.document.Newborn
		switch {
		case n[record.GestationWk].State != record.Recorded:
			unknown++
		case n[record.GestationWk].Number < 37:
			preterm++
		}
		if n[record.BirthWeightG].Number < 2500 {
			light++
		}
	}
	require.Equal(t, []int{63, 10, 60}, []int{preterm, unknown, light})

	// A second load, by a new registry and by one whose manifest differs, finds
	// the same newborns by the key file, whatever the random numbers are.
	path := filepath.Join(o.Keys, "epi-births.keys.csv")
	info, err := os.Stat(path)
	require.NoError(t, err)
	require.EqualValues(t, 0o600, info.Mode().Perm())
	before, err := os.ReadFile(path)
	require.NoError(t, err)

	inbox := t.TempDir()
	raw, err := os.ReadFile("../testdata/deliveries/epi-births/epi_births_500.csv")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(inbox, "epi_births_500.csv"), raw, 0o640))
	d, problems := source.ReadManifest("../testdata/deliveries/epi-births")
	require.Empty(t, problems)
	d.Sequence = 2
	f, err := os.Create(filepath.Join(inbox, source.ManifestName))
	require.NoError(t, err)
	require.NoError(t, source.WriteManifest(f, d))
	require.NoError(t, f.Close())
	o.Inbox, o.Random = inbox, rand.New(rand.NewSource(2))
	s, err = etl.Run(context.Background(), o)
	require.NoError(t, err)
	require.EqualValues(t, 500, s.Deliveries[0].Tallies[0].ByFate[record.Unchanged])
	require.Equal(t, s.Before, s.After)
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, before, after)
}
