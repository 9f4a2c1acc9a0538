package derive_test

import (
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
)

const eight = "../../testdata/deliveries/eight"

var rehash = flag.Bool("rehash", false, "write the row counts and hashes of the delivery of eight newborns into its manifest")

// The manifest announces what the files hold.
func TestManifestOfTheEight(t *testing.T) {
	raw, err := os.ReadFile(filepath.Join(eight, "manifest.json"))
	require.NoError(t, err)
	var m map[string]any
	require.NoError(t, json.Unmarshal(raw, &m))
	for _, item := range m["files"].([]any) {
		f := item.(map[string]any)
		content, err := os.ReadFile(filepath.Join(eight, f["name"].(string)))
		require.NoError(t, err)
		sum := sha256.Sum256(content)
		rows := float64(len(readCSV(t, f["name"].(string))))
		if *rehash {
			f["sha256"], f["rows"] = hex.EncodeToString(sum[:]), rows
			continue
		}
		require.Equal(t, hex.EncodeToString(sum[:]), f["sha256"], "%s changed: go test ./etl/derive -run Manifest -rehash", f["name"])
		require.Equal(t, rows, f["rows"])
	}
	if *rehash {
		out, err := json.MarshalIndent(m, "", "  ")
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(eight, "manifest.json"), append(out, '\n'), 0o644))
	}
}

// readCSV returns the rows of a file of the delivery by column name.
func readCSV(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join(eight, name))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var out []map[string]string
	for _, r := range rows[1:] {
		m := map[string]string{}
		for i, c := range r {
			m[rows[0][i]] = c
		}
		out = append(out, m)
	}
	return out
}

// readEight reads the newborns A to H.
func readEight(t *testing.T) map[string]*record.Document {
	t.Helper()
	docs := map[string]*record.Document{}
	names := map[string]string{}
	for i, r := range readCSV(t, "newborns.csv") {
		name := string(rune('A' + i))
		names[r["key"]] = name
		d := &record.Document{Unit: r["unit"]}
		for field := range record.NumFields {
			spec := record.Fields[field]
			if cell := r[spec.Name]; cell != "" {
				d.Newborn[field] = cellValue(t, spec, cell)
			}
		}
		docs[name] = d
	}
	for _, r := range readCSV(t, "events.csv") {
		d := docs[names[r["key"]]]
		kind := record.KindOf(r["kind"])
		require.NotZero(t, kind, r["kind"])
		e := record.Event{Kind: kind}
		whole := func(cell string) int {
			n, err := strconv.Atoi(cell)
			require.NoError(t, err)
			return n
		}
		e.At, e.Timed = int32(whole(r["at_s"])), true
		e.Unit = uint8(whole(r["time_unit_s"]))
		e.Clock = record.Clock(record.CodeOf(record.Clocks[:], r["clock"]) - 1)
		e.How = record.How(record.CodeOf(record.Hows[:], r["how"]) - 1)
		if r["code"] != "" {
			e.Code = record.EventCode(record.CodeOf(record.Events[kind].Codes, r["code"]))
			require.NotZero(t, e.Code, r["code"])
		}
		if r["value"] != "" {
			e.Value, e.Valued = float64(whole(r["value"])), true
		}
		if r["group"] != "" {
			e.Group, e.Grouped = int32(whole(r["group"])), true
		}
		d.Events = append(d.Events, e)
	}
	return docs
}

func cellValue(t *testing.T, spec record.Spec, cell string) record.Value {
	t.Helper()
	v := record.Value{State: record.Recorded}
	switch spec.Type {
	case record.CodeType:
		v.Code = record.CodeOf(spec.Codes, cell)
		require.NotZero(t, v.Code, "%s: %s", spec.Name, cell)
	case record.YesNoType, record.MarkType:
		v.Code = record.CodeOf(record.YesNo, cell)
		require.NotZero(t, v.Code, "%s: %s", spec.Name, cell)
	case record.IntegerType, record.DecimalType:
		x, err := strconv.ParseFloat(cell, 64)
		require.NoError(t, err)
		v.Number = x
	case record.SetType:
		v.Set = 1 << (record.CodeOf(spec.Codes, cell) - 1)
	}
	return v
}

// word writes a fact as a word: a code's name, a number, "-" where the question
// does not arise, "?" for a blank.
func word(f record.Facts, fact record.Fact) string {
	v, spec := f[fact], record.FactSpecs[fact]
	switch {
	case v.State == record.NotApplicable:
		return "-"
	case v.State != record.Recorded:
		return "?"
	case spec.Type == record.YesNoType:
		return record.YesNo[v.Code-1]
	case spec.Type == record.CodeType:
		return spec.Codes[v.Code-1]
	}
	return strconv.FormatFloat(v.Number, 'f', -1, 64)
}

// span writes an interval: one number where both ends are the same.
func span(f record.Facts, lo record.Fact) string {
	a, b := word(f, lo), word(f, lo+1)
	if a == b {
		return a
	}
	return a + ".." + b
}
