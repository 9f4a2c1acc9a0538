package derive_test

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/derive"
	"chestrise/etl/record"
)

// newborn writes a document in short. Fields: "gestation_wk=39 charted_steps=yes";
// every newborn is born here, alive and at term unless the fields say otherwise,
// and "field=" takes a default away. Rows: "48 support-begun ppv #1", with the
// time ("-": none), the kind, the code and the value, and in any order after them
// #group, @clock (birth unless said) and ~unit for a time typed afterwards ("~":
// unit not stated); other times are live to 1 s.
func newborn(t *testing.T, fields string, rows ...string) *record.Document {
	t.Helper()
	d := &record.Document{}
	for f := range strings.FieldsSeq("born_here=yes signs_of_life=yes gestation_wk=39 " + fields) {
		name, cell, _ := strings.Cut(f, "=")
		i := slices.IndexFunc(record.Fields[:], func(s record.Spec) bool { return s.Name == name })
		require.GreaterOrEqual(t, i, 0, name)
		d.Newborn[i] = record.Value{}
		if cell != "" {
			d.Newborn[i] = cellValue(t, record.Fields[i], cell)
		}
	}
	for _, r := range rows {
		d.Events = append(d.Events, event(t, r))
	}
	slices.SortStableFunc(d.Events, func(a, b record.Event) int {
		late := func(e record.Event) int {
			if e.Timed {
				return 0
			}
			return 1
		}
		return cmp.Or(cmp.Compare(late(a), late(b)), cmp.Compare(a.At, b.At), cmp.Compare(a.Kind, b.Kind))
	})
	return d
}

func event(t *testing.T, text string) record.Event {
	t.Helper()
	words := strings.Fields(text)
	e := record.Event{Clock: record.ClockBirth, How: record.Live, Unit: 1, Kind: record.KindOf(words[1])}
	require.NotZero(t, e.Kind, text)
	whole := func(s string) int {
		n, err := strconv.Atoi(s)
		require.NoError(t, err, text)
		return n
	}
	if words[0] != "-" {
		e.At, e.Timed = int32(whole(words[0])), true
	}
	for _, w := range words[2:] {
		switch {
		case w[0] == '#':
			e.Group, e.Grouped = int32(whole(w[1:])), true
		case w[0] == '@':
			e.Clock = record.Clock(record.CodeOf(record.Clocks[:], w[1:]) - 1)
		case w == "~":
			e.How, e.Unit = record.After, 0
		case w[0] == '~':
			e.How, e.Unit = record.After, uint8(whole(w[1:]))
		case record.CodeOf(record.Events[e.Kind].Codes, w) != 0:
			e.Code = record.EventCode(record.CodeOf(record.Events[e.Kind].Codes, w))
		default:
			e.Value, e.Valued = float64(whole(w)), true
		}
	}
	return e
}

// factOf finds a fact by name; "x_lo..hi" is an interval.
func factOf(t *testing.T, f record.Facts, name string) string {
	t.Helper()
	pair := strings.HasSuffix(name, "..")
	name = strings.TrimSuffix(name, "..")
	if pair {
		name += "_lo"
	}
	i := slices.IndexFunc(record.FactSpecs[:], func(s record.Spec) bool { return s.Name == name })
	require.GreaterOrEqual(t, i, 0, name)
	if pair {
		return span(f, record.Fact(i))
	}
	return word(f, record.Fact(i))
}

// expect checks facts written as "need=yes first_inflation..=45..75".
func expect(t *testing.T, d *record.Document, want string) {
	t.Helper()
	f := derive.Facts(d)
	for w := range strings.FieldsSeq(want) {
		name, value, _ := strings.Cut(w, "=")
		require.Equal(t, value, factOf(t, f, name), name)
	}
}

// story is a case of a table: a newborn and what must come out.
type story struct {
	name   string
	fields string
	rows   []string
	want   string
}

func tell(t *testing.T, stories []story) {
	t.Helper()
	for _, s := range stories {
		t.Run(s.name, func(t *testing.T) {
			t.Helper()
			expect(t, newborn(t, s.fields, s.rows...), s.want)
		})
	}
}
