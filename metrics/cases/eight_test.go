package cases_test

import (
	"context"
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/derive"
	"chestrise/etl/record"
	"chestrise/metrics/cases"
	"chestrise/metrics/cell"
)

const eight = "../../testdata/deliveries/eight"

// documents is a source that holds documents in memory.
type documents []*record.Document

func (all documents) Documents(_ context.Context, s cell.Scope, keys []record.Key, f func(*record.Document) error) error {
	for _, d := range all {
		if !slices.Contains(s.Units, d.Unit) || d.Month < s.From || d.Month > s.To || keys != nil && !slices.Contains(keys, d.Key) {
			continue
		}
		if err := f(d); err != nil {
			return err
		}
	}
	return nil
}

// table reads a CSV file by column name.
func table(t testing.TB, name string) []map[string]string {
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

// readEight reads the newborns A to H of the worked delivery.
func readEight(t testing.TB) documents {
	t.Helper()
	var all documents
	byKey := map[string]*record.Document{}
	for i, r := range table(t, "newborns.csv") {
		m, err := record.ParseMonth(r["month"])
		require.NoError(t, err)
		d := &record.Document{Unit: r["unit"], Month: m, Key: record.Key{byte('A' + i)}}
		for f := range record.NumFields {
			if cell := r[record.Fields[f].Name]; cell != "" {
				d.Newborn[f] = value(t, record.Fields[f], cell)
			}
		}
		byKey[r["key"]] = d
		all = append(all, d)
	}
	for _, r := range table(t, "events.csv") {
		k := record.KindOf(r["kind"])
		e := record.Event{Kind: k, Timed: true, At: int32(whole(t, r["at_s"])), Unit: uint8(whole(t, r["time_unit_s"]))}
		e.Clock = record.Clock(record.CodeOf(record.Clocks[:], r["clock"]) - 1)
		e.How = record.How(record.CodeOf(record.Hows[:], r["how"]) - 1)
		e.Code = record.EventCode(record.CodeOf(record.Events[k].Codes, r["code"]))
		if r["value"] != "" {
			e.Value, e.Valued = float64(whole(t, r["value"])), true
		}
		if r["group"] != "" {
			e.Group, e.Grouped = int32(whole(t, r["group"])), true
		}
		d := byKey[r["key"]]
		d.Events = append(d.Events, e)
	}
	return all
}

func whole(t testing.TB, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	require.NoError(t, err)
	return n
}

func value(t testing.TB, spec record.Spec, cell string) record.Value {
	t.Helper()
	v := record.Value{State: record.Recorded}
	switch spec.Type {
	case record.CodeType:
		v.Code = record.CodeOf(spec.Codes, cell)
	case record.YesNoType, record.MarkType:
		v.Code = record.CodeOf(record.YesNo, cell)
	case record.IntegerType, record.DecimalType:
		x, err := strconv.ParseFloat(cell, 64)
		require.NoError(t, err)
		v.Number = x
	case record.SetType:
		v.Set = 1 << (record.CodeOf(spec.Codes, cell) - 1)
	case record.UUIDType:
		v.ID = record.Key{cell[0]}
	}
	return v
}

// settings reads the settings that the program ships.
func settings(t testing.TB) *cases.Settings {
	t.Helper()
	src, err := os.ReadFile("../../configs/casereview.yaml")
	require.NoError(t, err)
	s, err := cases.Load("configs/casereview.yaml", src)
	require.NoError(t, err)
	return s
}

var march = record.MonthOf(2026, 3)

func TestFirst(t *testing.T) {
	sel, err := cases.Select(context.Background(), readEight(t), cases.Query{Unit: "worked", From: march, To: march, Settings: settings(t), Seed: 1, Facts: derive.Facts})
	require.NoError(t, err)
	for _, c := range sel.Cases {
		t.Logf("%d %c %v %v | %s\n%v\n%v\n%v\n%v\n%v\n%v\n%v", c.Number, sel.Keys[c.Number-1][0], c.Why, c.Hits, c.Unexpected, c.Context, c.Coarsened, c.Outcome, c.Differed, c.Gaps, c.Equipment, c.Published)
		for _, l := range c.Timeline.Lanes {
			t.Logf("   %s %v %v %v %v [%s]", l.Name, l.Marks, l.Spans, l.Readings, l.Notes, l.Absent)
		}
		t.Log(c.Timeline.Axis, c.Timeline.Caption, c.Timeline.Nothing)
	}
	t.Logf("%+v", sel.Tallies)
	t.Logf("%+v", sel.Pathway)
}
