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

func query(t testing.TB) cases.Query {
	return cases.Query{Unit: "worked", From: march, To: march, Settings: settings(t), AsOf: 0, Keys: nil, Seed: 1, Facts: derive.Facts, Training: 0}
}

func choose(t testing.TB, src cases.Source, q cases.Query) *cases.Selection {
	t.Helper()
	s, err := cases.Select(context.Background(), src, q)
	require.NoError(t, err)
	return s
}

// letters are the chosen newborns in order.
func letters(s *cases.Selection) string {
	var out []byte
	for _, k := range s.Keys {
		out = append(out, k[0])
	}
	return string(out)
}

func titles(c *cases.Case) []string {
	var out []string
	for _, h := range c.Hits {
		out = append(out, h.ID)
	}
	return out
}

// G was resuscitated again at term, which is least expected; F had compressions at
// a gestation that is not known; D and H are small. A, B, C and E have no trigger.
func TestTheEightInOrder(t *testing.T) {
	s := choose(t, readEight(t), query(t))
	require.Equal(t, "GFDH", letters(s)[:4])
	require.Len(t, s.Cases, 6, "two of the three helped without a trigger are drawn")
	require.Equal(t, []string{"later-resuscitation"}, titles(&s.Cases[0]))
	require.Equal(t, []string{"compressions", "no-sign"}, titles(&s.Cases[1]))
	require.Equal(t, []string{"no-sign", "admitted-cold"}, titles(&s.Cases[2]))
	require.Equal(t, []string{"no-sign", "died-where-born"}, titles(&s.Cases[3]))
	for _, c := range s.Cases[4:] {
		require.Equal(t, cases.Sampled, c.Why)
		require.Empty(t, c.Hits)
	}
	require.Equal(t, 8, s.Newborns)
	require.Equal(t, 7, s.Helped, "all but A")
	require.Equal(t, 4, s.Triggered)
	require.Equal(t, 3, s.Quiet, "B, C and E")
}

// caseOf picks one newborn by hand.
func caseOf(t testing.TB, src documents, letter byte, change func(*cases.Settings)) *cases.Case {
	t.Helper()
	q := query(t)
	q.Keys = []record.Key{{letter}}
	if change != nil {
		change(q.Settings)
	}
	s := choose(t, src, q)
	require.Equal(t, cases.Picked, s.Cases[0].Why)
	require.Equal(t, letter, s.Keys[0][0])
	return &s.Cases[0]
}

func TestWhatTheRecordOfTheEightSays(t *testing.T) {
	all := readEight(t)
	d := caseOf(t, all, 'D', nil)
	require.Contains(t, d.Gaps, "Of 3 basic steps counted here, 2 are on record before the airway.")
	airway := d.Timeline.Lane(cases.AirwayLane)
	require.Equal(t, "tube failed", airway.Spans[0].Words)
	require.Equal(t, "tube placed", airway.Spans[1].Words)
	require.Equal(t, 185.0, airway.Spans[0].To.At)
	support := d.Timeline.Lane(cases.SupportLane)
	require.True(t, support.Spans[0].Goes, "the tube continues the ventilation by mask")
	require.Equal(t, 228.0, support.Spans[0].To.At)
	require.Contains(t, d.Timeline.Lane(cases.OutcomeLane).Notes, "on leaving: a tube, left at 20 min")

	e := caseOf(t, all, 'E', nil)
	require.Equal(t, cases.OwnClock, e.Timeline.Zero)
	require.Contains(t, e.Timeline.Caption, "Order known, seconds not")
	require.Equal(t, []string{"clamped, 60 s from birth on another record"}, e.Timeline.Lane(cases.CordLane).Notes)
	require.Empty(t, e.Timeline.Band, "no band by minute without a second zero")

	f := caseOf(t, all, 'F', nil)
	require.Equal(t, cases.Time{At: 120, Lo: 60, Hi: 180}, *f.Timeline.Lane(cases.SupportLane).Spans[0].From)
	require.Contains(t, f.Gaps, "No section is marked as filled in: a blank says nothing.")
	require.Contains(t, f.Equipment, "Not kept where the newborn was born: T-piece and flow-inflating bag.")

	h := caseOf(t, all, 'H', nil)
	require.Contains(t, h.Limits, "Comfort care was planned before birth.")
	require.Contains(t, h.Differed, "Comfort care was planned; help was given.")
	require.Contains(t, h.Differed, "A decision was awaited, documented at 90 s.")

	a := caseOf(t, all, 'A', nil)
	require.Equal(t, "none; the section is marked as filled in", a.Timeline.Lane(cases.WarmthLane).Absent)
	require.Equal(t, "no record", a.Timeline.Lane(cases.StepsLane).Absent)
	require.Equal(t, "none on record", a.Timeline.Lane(cases.CompressionsLane).Absent)
}
