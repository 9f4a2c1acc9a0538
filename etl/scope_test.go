package etl_test

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl"
	"chestrise/etl/record"
	"chestrise/etl/rule"
	"chestrise/etl/source"
)

// many makes a delivery of n newborns, the first bad of them without a month.
func many(n, bad int) *drop {
	d := newDrop()
	for i := range n {
		d.newborn(key(i + 1))
		if i < bad {
			d.newborns[i]["month"] = ""
		}
	}
	return d
}

func TestTooManyHeldRowsRefuseTheDelivery(t *testing.T) {
	for _, c := range []struct {
		rows, held int
		refused    bool
	}{
		{7, 1, false},    // 14 % of a small night
		{60, 19, false},  // 32 %, but fewer than 20
		{200, 20, false}, // a tenth is not more than a tenth
		{199, 20, true},
	} {
		m := newMemory(t)
		out := many(c.rows, c.held).run(t, m)
		if !c.refused {
			require.Equal(t, etl.Loaded, out.State)
			require.EqualValues(t, c.held, out.Tallies[0].ByFate[record.Held])
			continue
		}
		require.Equal(t, []string{rule.TooManyHeld}, rules(out.Problems))
		require.Len(t, out.Held, c.held, "the refusal says which rows")
		require.Empty(t, m.documents)
	}
}

// A tenth of the event rows without a newborn refuses too.
func TestTooManyHeldEventsRefuseTheDelivery(t *testing.T) {
	d := newDrop().newborn(key(1))
	for range 20 {
		d.event(key(2), "5", "breathing", "none")
	}
	out := d.run(t, newMemory(t))
	require.Equal(t, []string{rule.TooManyHeld}, rules(out.Problems))
	require.Equal(t, source.EventsName, out.Problems[0].File)
}

func TestEmptyNightIsADelivery(t *testing.T) {
	m := newMemory(t)
	out := newDrop().run(t, m)
	require.Equal(t, etl.Loaded, out.State, "headers and no rows: nothing happened")
	require.Zero(t, out.Generation)
}

func TestAllProblemsComeAtOnce(t *testing.T) {
	d := badDrop()
	header(source.NewbornsName, "shift,place", "mother_name,place,dob")(d)
	header(source.EventsName, "clock", "zero")(d)
	out := d.run(t, newMemory(t))
	require.Equal(t, []string{rule.ColumnUnknown, rule.ColumnUnknown, rule.ColumnMissing, rule.ColumnUnknown, rule.ColumnMissing}, rules(out.Problems))
	require.Contains(t, out.Problems[0].Error(), `newborns.csv:1:6: column-unknown: column "mother_name" is not in the contract`)

	d = badDrop()
	d.text = func(s string) string {
		s = strings.Replace(s, `"coverage": "every-birth"`, `"coverage": "all"`, 1)
		s = strings.Replace(s, `"mode": "changes",`, ``, 1)
		return strings.Replace(s, `"rows": 2`, `"rows": -2`, 1)
	}
	out = d.run(t, newMemory(t))
	require.Equal(t, []string{rule.ManifestKey, rule.ManifestValue, rule.ManifestValue}, rules(out.Problems))
}

func TestFileThatChangesWhileItIsRead(t *testing.T) {
	m := newMemory(t)
	folder := t.TempDir()
	d := many(300, 0)
	d.write(t, folder)
	o := options(folder, m)
	o.Batch = 100
	path := filepath.Join(folder, source.NewbornsName)
	o.Derive = func(*record.Document) record.Facts {
		f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
		require.NoError(t, err)
		_, err = f.WriteString("\n")
		require.NoError(t, err)
		require.NoError(t, f.Close())
		return record.Facts{}
	}
	s, err := etl.Run(context.Background(), o)
	require.NoError(t, err)
	require.Equal(t, []string{rule.FileChanged}, rules(s.Deliveries[0].Problems))
	require.Empty(t, m.documents)
}

func TestFileThatCannotBeRead(t *testing.T) {
	folder := t.TempDir()
	badDrop().write(t, folder)
	require.NoError(t, os.Remove(filepath.Join(folder, source.EventsName)))
	require.NoError(t, os.Mkdir(filepath.Join(folder, source.EventsName), 0o755))
	s, err := etl.Run(context.Background(), options(folder, newMemory(t)))
	require.NoError(t, err)
	require.Contains(t, rules(s.Deliveries[0].Problems), rule.FileUnreadable)
}

// Where the registry refuses at the end, for example because another source
// owns the month, the delivery is refused like any other.
func TestRegistryMayRefuse(t *testing.T) {
	m := newMemory(t)
	m.refuse = &record.Refusal{Rule: rule.UnitMonthOwned, Message: "another source owns A 2026-02"}
	out := many(1, 0).run(t, m)
	require.Equal(t, etl.Refused, out.State)
	require.Equal(t, []string{rule.UnitMonthOwned}, rules(out.Problems))
	require.Empty(t, m.documents)
}

// An unreadable event row in which the newborn can still be recognised takes
// the newborn's section marks, wherever it stands among the rows.
func TestUnreadableEventRowMarksItsNewborn(t *testing.T) {
	for _, at := range []int{1, 2, 4} {
		m := newMemory(t)
		d := badDrop()
		lines(source.EventsName, func(l []string) []string {
			return slices.Insert(l, at, "A,"+bad+",70,birth,live,1,heart-rate,ecg,90,,too many")
		})(d)
		require.Equal(t, etl.Loaded, d.run(t, m).State)
		require.Equal(t, record.AllSections, m.documents[keyOf(t, bad)].document.Damaged, at)
		require.Zero(t, m.documents[keyOf(t, good)].document.Damaged)
	}
	m := newMemory(t)
	d := badDrop()
	lines(source.EventsName, func(l []string) []string { // an open quote, right behind the last row of bad
		return slices.Insert(l, 4, `A,`+bad+`,70,"birth,live,1,heart-rate,ecg,90,`)
	})(d)
	require.Equal(t, etl.Loaded, d.run(t, m).State)
	require.Equal(t, record.AllSections, m.documents[keyOf(t, bad)].document.Damaged)
}

func TestRepetitions(t *testing.T) {
	m := newMemory(t)
	d := badDrop()
	d.newborns = append(d.newborns[:1:1], d.newborns[0], d.newborns[0], d.newborns[1])
	d.events = append(d.events[:2:2], append([]map[string]string{d.events[1]}, d.events[2:]...)...)
	d.event(good, "", "corrective-step", "mask-seal").event(good, "", "corrective-step", "mask-seal")
	out := d.run(t, m)
	require.EqualValues(t, 2, out.Tallies[0].ByFate[record.Duplicate])
	require.EqualValues(t, 1, out.Tallies[1].ByFate[record.Duplicate])
	require.Len(t, m.documents[keyOf(t, bad)].document.Events, 3)
	require.Len(t, m.documents[keyOf(t, good)].document.Events, 3, "two rows without a time may be two steps")
}

func TestHeldNewbornTakesItsEvents(t *testing.T) {
	m := newMemory(t)
	d := badDrop()
	d.newborns[0]["month"] = "2027-01"
	out := d.run(t, m)
	require.EqualValues(t, 1, out.Tallies[0].ByFate[record.Held])
	require.EqualValues(t, 3, out.Tallies[1].ByFate[record.HeldWith])
	require.Equal(t, map[string]int64{rule.MonthOutsidePeriod: 1}, out.HeldByRule)
	require.Equal(t, m.loadings[0].held, out.Held)
	for _, h := range m.loadings[0].held {
		require.Equal(t, rule.MonthOutsidePeriod, h.Rule)
		require.Equal(t, h.File == source.EventsName, h.With)
		require.Equal(t, keyOf(t, bad), *h.Key)
		if !h.With {
			require.Equal(t, "A 2027-01", h.Unit+" "+h.Month.String())
		}
	}
}

// A row that is held for an identifier is never quoted.
func TestNothingHeldIsQuoted(t *testing.T) {
	d := badDrop()
	d.newborns[0]["sex"] = "555-01-9999"
	d.newborns[1]["sex"] = "b@hospital.org"
	out := d.run(t, newMemory(t))
	require.Equal(t, etl.Refused, out.State)
	text, err := json.Marshal(out)
	require.NoError(t, err)
	for _, secret := range []string{"9999", "hospital.org"} {
		require.NotContains(t, string(text), secret)
	}
}

// Row and column order, letter case of keys, quoting and line ends change no
// digest; any change of content does.
func TestDigest(t *testing.T) {
	digest := func(change func(*drop)) [16]byte {
		m := newMemory(t)
		d := badDrop()
		change(d)
		require.Equal(t, etl.Loaded, d.run(t, m).State)
		return m.documents[keyOf(t, bad)].digest
	}
	base := digest(func(*drop) {})
	for _, same := range []func(*drop){
		func(d *drop) { d.newborns[0]["key"] = strings.ToUpper(bad) },
		func(d *drop) { d.newborns[0]["gestation_wk"] = "030" },
		func(d *drop) {
			d.bytes[source.EventsName] = bytes.ReplaceAll(d.eventText(), []byte("\n"), []byte("\r\n"))
		},
		func(d *drop) { d.newborns[1]["sex"] = "male" },
		func(d *drop) { d.event(good, "12", "breathing", "crying") },
	} {
		require.Equal(t, base, digest(same))
	}
	seen := map[[16]byte]bool{base: true}
	for i, other := range []func(*drop){
		put("gestation_wk", "31"), put("month", "2026-01"), put("sex", "male"), put("sex", "?"), put("gestation_d", "0"),
		put("decision_awaited_s", "30"), put("exception_reason", "other"),
		eventCell(0, "at_s", "41"), eventCell(0, "clock", "sheet"), eventCell(0, "how", "after"), eventCell(0, "time_unit_s", "5"),
		eventCell(0, "code", "cpap"), eventCell(1, "value", "81"), eventCell(1, "value", ""), eventCell(0, "group", ""), eventCell(2, "at_s", ""),
		eventCell(2, "kind", "support-begun"),
		func(d *drop) { d.events = d.events[1:] },
	} {
		got := digest(other)
		require.False(t, seen[got], "change %d", i)
		seen[got] = true
	}
}

func TestYearOnly(t *testing.T) {
	m := newMemory(t)
	d := badDrop()
	yearOnly(d)
	require.Equal(t, etl.Loaded, d.run(t, m).State)
	require.Equal(t, record.MonthOf(2026, 1), m.documents[keyOf(t, bad)].document.Month)

	d = badDrop()
	yearOnly(d)
	d.bytes[source.NewbornsName] = table(source.NewbornColumns(record.Inside), d.newborns)
	require.Subset(t, rules(d.run(t, newMemory(t)).Problems), []string{rule.ColumnUnknown, rule.ColumnMissing}, "no months in year-only")
}
