package etl_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/etl"
	"chestrise/etl/record"
	"chestrise/etl/rule"
	"chestrise/etl/source"
)

// nasty cells that a delivery may hold.
var nasty = []string{
	"", " ", "-", "-0", "0", "1", "-1", "7", "60", "999999", "1e9", "NaN", "Inf", "0x10", "1_000", "38.5", "36,4", "yes", "no", "maybe",
	"present", "withdrawn", "2026-01", "2026-03", "2025-12", "2026-13", "A", "B", "C", "none", "none+heart", "heart+", "+",
	"03:14", "2026-02-11", "555-010-9999", "a@b.c", "\"", "\"\"", "a\"b", "\\.", "\n", "\r\n", "\r", ",", "é", "\xff", "\xef\xbb\xbf", "=1+1",
	"ppv", "cpap", "tube", "support-begun", "support-ended", "pip", "peep", "device", "self-inflating", "outcome", "placed", "failed", "heart-rate", "dose",
	"epinephrine-iv", "0.2", "ecg", "no-reading", "birth", "warmer", "after", "outside", "died", strings.Repeat("9", 40), strings.Repeat("x", 70000),
}

// TestRowsNeverVanish corrupts deliveries in every way that leaves a valid
// manifest and asserts what must hold whatever happens: no error, every row has
// one fate, every held row and value set aside is listed (the registry in memory
// compares), a refused delivery leaves nothing, and the same content again
// changes nothing.
func TestRowsNeverVanish(t *testing.T) {
	folder := t.TempDir()
	rapid.Check(t, func(rt *rapid.T) {
		d := newDrop()
		newborns := rapid.IntRange(0, 6).Draw(rt, "newborns")
		for _, unit := range []string{"A", "B"} {
			for i := range newborns {
				d.newborn(key(i+1), "unit", unit, "gestation_wk", "30", "birth_sequence", strconv.Itoa(i+1))
				if unit == "B" {
					d.newborns[len(d.newborns)-1]["key"] = key(i + 100)
				}
				for j := range rapid.IntRange(0, 3).Draw(rt, "events") {
					d.event(d.newborns[len(d.newborns)-1]["key"], strconv.Itoa(10*j), "support-begun", "ppv", "unit", unit, "group", "1")
				}
			}
		}
		for range rapid.IntRange(0, 4).Draw(rt, "bad cells") {
			rows, columns := d.newborns, source.NewbornColumns(record.Inside)
			if rapid.Bool().Draw(rt, "in events") {
				rows, columns = d.events, source.EventColumns()
			}
			if len(rows) > 0 {
				rows[rapid.IntRange(0, len(rows)-1).Draw(rt, "row")][rapid.SampledFrom(columns).Draw(rt, "column")] = rapid.SampledFrom(nasty).Draw(rt, "cell")
			}
		}
		for _, name := range []string{source.NewbornsName, source.EventsName} {
			lines(name, func(l []string) []string { return tear(rt, l) })(d)
		}
		d.write(t, folder)

		m := newMemory(t)
		o := options(folder, m)
		o.Batch = rapid.IntRange(1, 5).Draw(rt, "batch")
		s, err := etl.Run(context.Background(), o)
		require.NoError(t, err)
		out := s.Deliveries[0]
		if out.State == etl.Refused {
			require.Empty(t, m.documents)
			require.NotEmpty(t, out.Problems)
			for _, p := range out.Problems {
				r, ok := rule.Of(p.Rule)
				require.True(t, ok, p.Rule)
				require.Equal(t, rule.File, r.Scope)
			}
			return
		}
		require.Equal(t, etl.Loaded, out.State)
		for i, name := range []string{source.NewbornsName, source.EventsName} {
			b, err := os.ReadFile(filepath.Join(folder, name))
			require.NoError(t, err)
			require.EqualValues(t, rowsOf(b), out.Tallies[i].Read, "every row is read")
			require.Equal(t, out.Tallies[i].Read, out.Tallies[i].Sum())
		}
		for _, h := range m.loadings[0].held {
			r, ok := rule.Of(h.Rule)
			require.True(t, ok && r.Scope == rule.Document, h.Rule)
		}
		for _, u := range m.loadings[0].setAside {
			r, ok := rule.Of(u.Rule)
			require.True(t, ok && r.Scope == rule.Value, u.Rule)
		}
		for _, kept := range m.documents {
			check(t, &kept.document)
		}

		d.manifest.Sequence = 2
		before := m.generation
		d.write(t, folder)
		s, err = etl.Run(context.Background(), options(folder, m))
		require.NoError(t, err)
		require.Equal(t, etl.Loaded, s.Deliveries[0].State)
		require.Equal(t, before, m.generation, "the same content changes nothing")
	})
}

// tear changes whole lines.
func tear(rt *rapid.T, l []string) []string {
	for range rapid.IntRange(0, 2).Draw(rt, "torn lines") {
		if len(l) < 2 {
			return l
		}
		i := rapid.IntRange(1, len(l)-1).Draw(rt, "line")
		switch rapid.IntRange(0, 6).Draw(rt, "how") {
		case 0:
			l = slices.Insert(l, i, l[i])
		case 1:
			l[i] = l[i][:rapid.IntRange(0, len(l[i])).Draw(rt, "cut")]
		case 2:
			l = slices.Insert(l, i, `\.`)
		case 3:
			l[i] += ",x"
		case 4:
			l[i] = "\"" + l[i]
		case 5:
			l = slices.Delete(l, i, i+1)
		case 6:
			if i > 1 {
				l[i], l[i-1] = l[i-1], l[i]
			}
		}
	}
	return l
}

// check asserts that a document holds nothing that the dictionary forbids.
func check(t *testing.T, d *record.Document) {
	for f, v := range d.Newborn {
		spec := &record.Fields[f]
		if v.State != record.Recorded {
			require.Equal(t, record.Value{State: v.State}, v, "only a recorded value holds anything")
			continue
		}
		switch spec.Type {
		case record.CodeType:
			require.True(t, v.Code >= 1 && int(v.Code) <= len(spec.Codes))
		case record.IntegerType, record.DecimalType:
			require.True(t, v.Number >= spec.Min && v.Number <= spec.Max)
		case record.SetType:
			require.True(t, v.Set > 0 && int(v.Set) < 1<<len(spec.Codes))
		case record.YesNoType, record.MarkType, record.UUIDType:
		}
	}
	for i := range d.Events {
		e := &d.Events[i]
		spec := &record.Events[e.Kind]
		require.LessOrEqual(t, int(e.Code), len(spec.Codes))
		require.True(t, e.Code > 0 || len(spec.Codes) == 0 || spec.Optional)
		require.True(t, !e.Valued || spec.Value && e.Value >= spec.Min && e.Value <= spec.Max)
		if i > 0 && e.Timed {
			require.True(t, d.Events[i-1].Timed && d.Events[i-1].At <= e.At)
		}
	}
}
