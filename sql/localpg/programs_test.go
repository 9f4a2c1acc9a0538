package localpg

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestChoosingThePrograms(t *testing.T) {
	p14, p15, p17, p18 := programs{"/14", 14}, programs{"/15", 15}, programs{"/17", 17}, programs{"/18", 18}
	for name, c := range map[string]struct {
		found []programs
		data  int
		want  programs
		err   string
	}{
		"new cluster: the newest":                  {[]programs{p18, p17, p15}, 0, p18, ""},
		"existing one: its own version":            {[]programs{p18, p17, p15}, 15, p15, ""},
		"existing one: never a newer one":          {[]programs{p18, p17}, 15, programs{}, "made by PostgreSQL 15, and no server of that version is here (installed: 18, 17)\nhint: apt-get install postgresql-15"},
		"nothing installed":                        {nil, 0, programs{}, "no PostgreSQL server of version 15 or later (none is installed)\nhint: apt-get install postgresql"},
		"only an old one":                          {[]programs{p14}, 0, programs{}, "(installed: 14)\nhint: apt-get install postgresql"},
		"existing one, nothing installed any more": {nil, 17, programs{}, "(none is installed)\nhint: apt-get install postgresql-17"},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := choose(c.found, c.data, "/folder")
			require.Equal(t, c.want, got)
			if c.err == "" {
				require.NoError(t, err)
			} else {
				require.ErrorContains(t, err, c.err)
			}
		})
	}
}

func TestReadingAVersion(t *testing.T) {
	for answer, major := range map[string]int{
		"postgres (PostgreSQL) 15.18 (Debian 15.18-0+deb12u1)": 15,
		"postgres (PostgreSQL) 19beta1":                        19,
		"postgres (PostgreSQL) 9.6.24":                         9,
	} {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, "initdb"), []byte("#!/bin/sh\n"), 0o755))
		_, err := readPrograms(dir)
		require.Error(t, err, "initdb alone is not a server")
		require.NoError(t, os.WriteFile(filepath.Join(dir, "postgres"), []byte("#!/bin/sh\necho '"+answer+"'\n"), 0o755))
		p, err := readPrograms(dir)
		require.NoError(t, err)
		require.Equal(t, programs{dir, major}, p)
	}
}

func TestAClusterOfAnotherVersionIsRefused(t *testing.T) {
	dir := cleanFolder(t)
	require.NoError(t, acquire(t, dir).Release())
	version := filepath.Join(dir, "data", "PG_VERSION")
	right, err := os.ReadFile(version)
	require.NoError(t, err)
	for text, want := range map[string]string{
		"99\n": "was made by PostgreSQL 99, and no server of that version is here",
		"14\n": "was made by PostgreSQL 14; the registry needs 15 or later",
		"?\n":  "PG_VERSION does not hold a number",
	} {
		require.NoError(t, os.WriteFile(version, []byte(text), 0o600))
		_, err := Acquire(t.Context(), Options{Dir: dir})
		require.ErrorContains(t, err, want)
	}
	require.NoError(t, os.WriteFile(version, right, 0o600))

	require.NoError(t, os.Remove(filepath.Join(dir, "data", marker)))
	_, err = Acquire(t.Context(), Options{Dir: dir})
	require.ErrorContains(t, err, "not one made by this program")
	require.FileExists(t, version, "and it is left as it was")

	require.NoError(t, os.Remove(version))
	_, err = Acquire(t.Context(), Options{Dir: dir})
	require.ErrorContains(t, err, "cluster version", "a folder called data that is no cluster is not overwritten")
}

func TestNamedProgramsAreUsed(t *testing.T) {
	found := findPrograms()
	require.NotEmpty(t, found, "apt-get install postgresql")
	dir := cleanFolder(t)
	lease, err := Acquire(t.Context(), Options{Dir: dir, Unsynced: true, Programs: found[0].dir})
	require.NoError(t, err)
	require.Equal(t, found[0].dir, lease.Programs())
	require.NoError(t, lease.Release())
	_, err = Acquire(t.Context(), Options{Dir: dir, Programs: "/nonexistent"})
	require.ErrorContains(t, err, "no server programs in /nonexistent")
}
