package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// 500 births in a London hospital: data set "births" of the R package Epi
// (Carstensen, Plummer, Laara, Hills; as shipped in Debian's r-cran-epi). The
// data's own columns count 63 births before 37 weeks with 10 gestations
// unknown, and 60 births under 2,500 g.
func TestRealBirthsGoThroughTheWholeJob(t *testing.T) {
	dir := t.TempDir()
	config, out := configured(t, `
inbox: [ROOT/testdata/deliveries/epi-births]
source_maps: ROOT/configs/sources
key_files: `+dir+`/keys
measures: [ROOT/testdata/measures]
units: ROOT/configs/births/units.yaml
`)
	first := must(t, "nightly", "--config", config)
	require.Contains(t, first, "read 500 = loaded 500 +")

	run := readFile(t, filepath.Join(out, "run.json"))
	require.Contains(t, run, `"state": "loaded"`)
	page := workbookText(t, filepath.Join(out, "dashboard", "london", "2020-01", "issue-001", "london-2020-01.xlsx"))
	require.Contains(t, page, "63 of 490 (13 %)", "born before 37 weeks, of those with a known gestation")
	require.Contains(t, page, "490 of 500 known")
	require.Contains(t, page, "60 of 500 (12 %)", "born under 2,500 g")

	info, err := os.Stat(filepath.Join(dir, "keys"))
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o700), info.Mode().Perm())
	before := tree(t, out)
	delete(before, "run.json")
	keys := tree(t, filepath.Join(dir, "keys"))

	second := must(t, "nightly", "--config", config)
	require.Contains(t, second, "already loaded")
	require.Contains(t, second, "(as before)")
	after := tree(t, out)
	delete(after, "run.json")
	require.Equal(t, before, after, "a second load changes no report")
	require.Equal(t, keys, tree(t, filepath.Join(dir, "keys")), "and draws no key again")
}

func readFile(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(b)
}

// tree reads every file below a folder.
func tree(t *testing.T, root string) map[string]string {
	t.Helper()
	all := map[string]string{}
	require.NoError(t, filepath.WalkDir(root, func(path string, e os.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		rel, err := filepath.Rel(root, path)
		all[rel] = readFile(t, path)
		return err
	}))
	return all
}

// workbookText is every text of a workbook, read without the program that
// wrote it.
func workbookText(t *testing.T, path string) string {
	t.Helper()
	var b strings.Builder
	for name, part := range zipParts(t, path) {
		if strings.HasPrefix(name, "xl/sharedStrings") || strings.HasPrefix(name, "xl/worksheets/") {
			b.WriteString(xmlText(t, part))
		}
	}
	return b.String()
}
