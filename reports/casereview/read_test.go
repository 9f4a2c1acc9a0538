package casereview_test

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
	"chestrise/etl/synth"
	"chestrise/metrics/cases"
	"chestrise/metrics/cell"
	"chestrise/reports"
	"chestrise/reports/casereview"
	"chestrise/reports/pdf"
)

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

const eight = "../../testdata/deliveries/eight"

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

func settings(t testing.TB) *cases.Settings {
	t.Helper()
	src, err := os.ReadFile("../../configs/casereview.yaml")
	require.NoError(t, err)
	s, err := cases.Load("configs/casereview.yaml", src)
	require.NoError(t, err)
	return s
}

var (
	march = record.MonthOf(2026, 3)
	stamp = reports.Stamp{Generation: 7, Program: "test", Synthetic: true}
)

// asked is a query for one unit and period.
func asked(unit string, from, to record.Month, keys ...record.Key) cases.Query {
	return cases.Query{Unit: unit, From: from, To: to, AsOf: 0, Settings: nil, Keys: keys, Seed: 0, Facts: derive.Facts, Training: 0}
}

// trained is a query with a training in the period.
func trained(unit string, from, to, training record.Month) cases.Query {
	q := asked(unit, from, to)
	q.Training = training
	return q
}

func packet(t testing.TB, q cases.Query, src cases.Source) *casereview.Packet {
	t.Helper()
	q.Settings, q.Facts, q.Seed = settings(t), derive.Facts, 7
	sel, err := cases.Select(context.Background(), src, q)
	require.NoError(t, err)
	return casereview.Build(casereview.Input{Selection: sel, Settings: q.Settings, UnitName: "A unit", Synthetic: true})
}

// demo draws the newborns of an invented unit.
func demo(t testing.TB, unit string, from, to record.Month) documents {
	t.Helper()
	s, err := synth.Load("../../configs/demo/scenario.yaml")
	require.NoError(t, err)
	g := synth.NewGenerator(s, 0)
	var all documents
	for m := from; m <= to; m++ {
		born := g.Month(unit, m, 0)
		for i := range born {
			all = append(all, &born[i].Document)
		}
	}
	return all
}

// TestWritePackets writes packets for a person to look at, into the folder named by
// CHESTRISE_LOOK.
func TestWritePackets(t *testing.T) {
	dir := os.Getenv("CHESTRISE_LOOK")
	if dir == "" {
		t.Skip("names no folder")
	}
	save := func(name string, p *casereview.Packet) {
		_, err := p.Save(filepath.Join(dir, name), stamp, pdf.Renderer{})
		require.NoError(t, err)
	}
	var keys []record.Key
	for c := byte('A'); c <= 'H'; c++ {
		keys = append(keys, record.Key{c})
	}
	save("eight", packet(t, asked("worked", march, march, keys...), readEight(t)))
	for _, m := range []struct {
		unit     string
		month    record.Month
		training record.Month
	}{{"alder", record.MonthOf(2026, 2), 0}, {"cedar", record.MonthOf(2026, 2), 0}, {"fern", record.MonthOf(2024, 11), 0}, {"alder-year", record.MonthOf(2025, 9), record.MonthOf(2025, 3)}} {
		from, unit := m.month, m.unit
		if m.training != 0 {
			from, unit = m.month-11, "alder"
		}
		save(m.unit, packet(t, trained(unit, from, m.month, m.training), demo(t, unit, from, m.month)))
	}
}
