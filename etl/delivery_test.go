package etl_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"chestrise/etl"
	"chestrise/etl/record"
	"chestrise/etl/source"
)

// drop is a delivery being made for a test: rows as maps from column to cell.
type drop struct {
	manifest record.Delivery
	newborns []map[string]string
	events   []map[string]string
	births   []map[string]string
	// bytes, where there are any, replace a file's text; the manifest follows.
	bytes map[string][]byte
	// after changes a file after the manifest was made.
	after map[string]func([]byte) []byte
	// text changes the manifest.
	text func(string) string
}

var noon = time.Date(2026, 4, 1, 12, 0, 0, 0, time.UTC)

func newDrop() *drop {
	return &drop{
		manifest: record.Delivery{
			Source: "north", Units: []string{"A", "B"}, From: record.MonthOf(2026, 1), To: record.MonthOf(2026, 3),
			Coverage: record.EveryBirth, Mode: record.Changes, Sequence: 1, ExtractedAt: noon, Privacy: record.Inside, Synthetic: true,
		},
		bytes: map[string][]byte{}, after: map[string]func([]byte) []byte{},
	}
}

// key makes the nth key of a test.
func key(n int) string {
	return fmt.Sprintf("%08x-0000-4000-8000-%012x", n*7919, n)
}

func keyOf(t testing.TB, s string) record.Key {
	k, ok := source.ParseKey([]byte(s))
	require.True(t, ok)
	return k
}

// newborn adds a newborn of unit A; cells are column, value, column, value.
func (d *drop) newborn(key string, cells ...string) *drop {
	row := map[string]string{"unit": "A", "key": key, "record_status": "present", "month": "2026-02"}
	return d.put(&d.newborns, row, cells)
}

// event adds an event of unit A.
func (d *drop) event(key, at, kind, code string, cells ...string) *drop {
	row := map[string]string{"unit": "A", "key": key, "at_s": at, "clock": "birth", "how": "live", "time_unit_s": "1", "kind": kind, "code": code}
	return d.put(&d.events, row, cells)
}

func (d *drop) birthsRow(wk, births string) *drop {
	d.births = append(d.births, map[string]string{"unit": "A", "month": "2026-02", "gestation_wk": wk, "births": births})
	return d
}

func (d *drop) put(to *[]map[string]string, row map[string]string, cells []string) *drop {
	for i := 0; i < len(cells); i += 2 {
		row[cells[i]] = cells[i+1]
	}
	*to = append(*to, row)
	return d
}

func table(columns []string, rows []map[string]string) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	_ = w.Write(columns)
	for _, r := range rows {
		cells := make([]string, len(columns))
		for i, c := range columns {
			cells[i] = r[c]
		}
		_ = w.Write(cells)
	}
	w.Flush()
	return b.Bytes()
}

func (d *drop) newbornText() []byte {
	return table(source.NewbornColumns(d.manifest.Privacy), d.newborns)
}
func (d *drop) eventText() []byte { return table(source.EventColumns(), d.events) }

// write writes the delivery into a folder.
func (d *drop) write(t testing.TB, folder string) {
	t.Helper()
	require.NoError(t, os.MkdirAll(folder, 0o750))
	texts := map[string][]byte{source.NewbornsName: d.newbornText(), source.EventsName: d.eventText()}
	if d.births != nil {
		texts[source.BirthsName] = table(source.BirthsColumns(d.manifest.Privacy), d.births)
	}
	maps.Copy(texts, d.bytes)
	m := d.manifest
	m.Files = nil
	for _, name := range []string{source.NewbornsName, source.EventsName, source.BirthsName} {
		b, ok := texts[name]
		if !ok {
			continue
		}
		m.Files = append(m.Files, record.File{Name: name, Rows: int64(rowsOf(b)), SHA256: sha256.Sum256(b)})
		if change := d.after[name]; change != nil {
			b = change(slices.Clone(b))
		}
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), b, 0o640))
	}
	var b strings.Builder
	require.NoError(t, source.WriteManifest(&b, m))
	text := b.String()
	if d.text != nil {
		text = d.text(text)
	}
	require.NoError(t, os.WriteFile(filepath.Join(folder, source.ManifestName), []byte(text), 0o640))
}

// rowsOf counts lines that are not blank, less the header.
func rowsOf(b []byte) int {
	n := -1
	for line := range bytes.SplitSeq(b, []byte{'\n'}) {
		if len(bytes.TrimSuffix(line, []byte{'\r'})) > 0 {
			n++
		}
	}
	return max(n, 0)
}

// run loads one delivery into a registry.
func (d *drop) run(t testing.TB, m *memory) etl.Outcome {
	t.Helper()
	folder := t.TempDir()
	d.write(t, folder)
	s, err := etl.Run(context.Background(), options(folder, m))
	require.NoError(t, err)
	require.Len(t, s.Deliveries, 1)
	return s.Deliveries[0]
}

func options(inbox string, m *memory) etl.Options {
	return etl.Options{Inbox: inbox, Registry: m, Now: noon.Add(time.Hour), Derive: func(d *record.Document) record.Facts {
		var f record.Facts
		f[record.FactStepCount] = record.Value{State: record.Recorded, Number: float64(len(d.Events))}
		return f
	}}
}

// rules lists the problems of an outcome by rule.
func rules(problems []record.Problem) []string {
	var ids []string
	for _, p := range problems {
		ids = append(ids, p.Rule)
	}
	return ids
}
