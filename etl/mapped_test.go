package etl_test

import (
	"context"
	"crypto/sha256"
	"fmt"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl"
	"chestrise/etl/record"
	"chestrise/etl/rule"
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

const wardMap = `source: ward
title: a list kept on the ward
file: ward.csv
blank: [NA, "-"]
key: {column: no, drawn: true}
constants:
  - {field: unit, value: A, reason: one unit}
columns:
  - {column: month, field: month}
  - {column: weight, field: birth_weight_g, unit: kg}
  - {column: weeks, field: gestation_wk, unit: wk, days: true}
  - {column: temp, field: admission_temp_cel, unit: "[degF]"}
  - {column: sex, field: sex, codes: {f: female, m: male}}
not_taken:
  - {column: name, reason: an identifier}
`

// ward loads a list of the ward; change changes the map.
func ward(t *testing.T, m *memory, text string, change func(string) string) etl.Outcome {
	t.Helper()
	if change == nil {
		change = func(s string) string { return s }
	}
	wardMap, problems := source.ParseMap("ward.yaml", []byte(change(wardMap)))
	require.Empty(t, problems)
	d := newDrop().manifest
	d.Source = "ward"
	d.Files = []record.File{{Name: "ward.csv", Rows: int64(rowsOf([]byte(text))), SHA256: sha256.Sum256([]byte(text))}}
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, "ward.csv"), []byte(text), 0o640))
	f, err := os.Create(filepath.Join(folder, source.ManifestName))
	require.NoError(t, err)
	require.NoError(t, source.WriteManifest(f, d))
	require.NoError(t, f.Close())
	o := options(folder, m)
	o.Maps, o.Keys, o.Random = map[string]*source.Map{"ward": wardMap}, t.TempDir(), rand.New(rand.NewSource(1))
	s, err := etl.Run(context.Background(), o)
	require.NoError(t, err)
	return s.Deliveries[0]
}

func TestMappedValues(t *testing.T) {
	m := newMemory(t)
	out := ward(t, m, "no,name,month,weight,weeks,temp,sex\n7,Anna,2026-02,2.974,38.52,97.7,f\n", nil)
	require.Equal(t, etl.Loaded, out.State, out.Problems)
	require.Len(t, m.documents, 1)
	for _, d := range m.documents {
		n := d.document.Newborn
		require.Equal(t, 2974.0, n[record.BirthWeightG].Number)
		require.Equal(t, 38.0, n[record.GestationWk].Number)
		require.Equal(t, 3.0, n[record.GestationD].Number)
		require.Equal(t, 36.5, n[record.AdmissionTempCel].Number, "converted, because the map states the unit")
		require.Equal(t, record.SexFemale, n[record.Sex].Code)
	}
}

// The rules are those of the contract; places are those of the source's file.
func TestMappedBadInput(t *testing.T) {
	head := "no,name,month,weight,weeks,temp,sex\n"
	out := ward(t, newMemory(t), "no,name,month,weight,weeks,temp,sex,mother\n7,,2026-02,,,,,x\n", nil)
	require.Equal(t, []string{rule.ColumnUnknown}, rules(out.Problems))
	require.Contains(t, out.Problems[0].Error(), `ward.csv:1:8: column-unknown: column "mother" is not in the map of the source`)
	require.Contains(t, out.Problems[0].Hint, "not_taken")
	out = ward(t, newMemory(t), "no,name,month,weight,temp,sex\n7,,2026-02,,,\n", nil)
	require.Equal(t, []string{rule.ColumnMissing}, rules(out.Problems))

	m := newMemory(t)
	out = ward(t, m, head+
		"1,,2026-02,3.1,39,97.7,f\n"+ // good
		"2,,2026-02,3100,NA,97.7,x\n"+ // grams where the map says kilograms; a code it does not know
		"3,,2026-02,3.1,39,-,f@b.org\n"+ // an identifier in a column that is taken
		"4,a@b.org,2026-02,3.1,39,97.7,f\n"+ // one in a column that is not: never read
		"-,,2026-02,3.1,39,97.7,f\n"+ // no number
		"5,,2026-02,3.1,39,97.7,f\n5,,2026-02,3.2,39,97.7,f\n"+ // one number, two newborns
		"6,,2026-02,3.1,39,97.7,f\n6,,2026-02,3.1,39,97.7,f\n"+ // the same row twice
		"8,,Feb,3.1,39,97.7,f,\n", nil) // a cell too many
	require.Equal(t, etl.Loaded, out.State, out.Problems)
	require.Equal(t, 4, len(m.documents))
	require.EqualValues(t, 1, out.Tallies[0].ByFate[record.Duplicate])
	require.Equal(t, map[string]int64{rule.Identifier: 1, rule.KeyShape: 1, rule.KeyRepeated: 2, rule.RowShape: 1}, out.HeldByRule)
	require.Equal(t, map[string]int64{rule.OutOfRange: 1, rule.CodeUnknown: 1}, out.Tallies[0].SetAside)
	for _, h := range out.Held {
		switch h.Rule {
		case rule.Identifier:
			require.Equal(t, "ward.csv 4 7 sex", fmt.Sprint(h.File, " ", h.Line, " ", h.Column, " ", h.Field))
		case rule.KeyShape:
			require.Equal(t, "ward.csv 6 1 key", fmt.Sprint(h.File, " ", h.Line, " ", h.Column, " ", h.Field))
		case rule.RowShape:
			require.Equal(t, 11, h.Line)
		}
	}
	for _, u := range m.loadings[0].setAside {
		require.Equal(t, 3, u.Line)
	}
}

// A column may hold random keys already, and the unit may be a column; then a
// key under two units is one key with other content.
func TestMappedKeysOfTheSource(t *testing.T) {
	m := newMemory(t)
	out := ward(t, m, "no,ward,name,month,weight,weeks,temp,sex\n"+
		key(1)+",A,,2026-02,3.1,39,97.7,f\n"+key(2)+",A,,2026-02,3.1,39,97.7,f\n"+key(1)+",B,,2026-02,3.1,39,97.7,f\n17,B,,2026-02,3.1,39,97.7,f\n",
		func(s string) string {
			s = strings.Replace(s, "drawn: true", "drawn: false", 1)
			s = strings.Replace(s, "constants:\n  - {field: unit, value: A, reason: one unit}\n", "", 1)
			return strings.Replace(s, "columns:\n", "columns:\n  - {column: ward, field: unit}\n", 1)
		})
	require.Equal(t, etl.Loaded, out.State, out.Problems)
	require.Equal(t, map[string]int64{rule.KeyRepeated: 2, rule.KeyShape: 1}, out.HeldByRule)
	require.Contains(t, m.documents, keyOf(t, key(2)))
}
