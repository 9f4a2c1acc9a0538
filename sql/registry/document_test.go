package registry

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
)

// full makes a document with everything the dictionary allows.
func full(rng *rand.Rand, key record.Key) (*record.Document, *record.Facts) {
	d := &record.Document{Key: key, Unit: "north", Month: march + record.Month(rng.IntN(3))}
	for f := range record.Fields {
		d.Newborn[f] = anyValue(rng, &record.Fields[f])
	}
	d.Damaged = record.Sections(rng.IntN(1<<9)) & record.AllSections
	for range rng.IntN(12) {
		k := record.Kinds()[rng.IntN(len(record.Kinds()))]
		e := record.Event{Clock: record.Clock(rng.IntN(4)), How: record.How(rng.IntN(5)), Kind: k, Code: record.EventCode(len(record.Events[k].Codes))}
		if rng.IntN(2) == 0 {
			e.At, e.Timed, e.Unit = int32(rng.IntN(200000)-1000), true, 10
		}
		if rng.IntN(2) == 0 {
			e.Value, e.Valued = math.Round(rng.Float64()*1000)/10, true
		}
		if rng.IntN(2) == 0 {
			e.Group, e.Grouped = int32(rng.IntN(5)), true
		}
		d.Events = append(d.Events, e)
	}
	if d.Events == nil {
		d.Events = []record.Event{}
	}
	facts := &record.Facts{}
	for f := range facts {
		if field, ok := record.Passed[record.Fact(f)]; ok {
			facts[f] = d.Newborn[field]
		}
	}
	return d, facts
}

func anyValue(rng *rand.Rand, s *record.Spec) record.Value {
	switch rng.IntN(5) {
	case 0:
		return record.Value{}
	case 1:
		return record.Value{State: record.SetAside}
	}
	v := record.Value{State: record.Recorded}
	switch s.Type {
	case record.CodeType:
		v.Code = uint8(1 + rng.IntN(len(s.Codes)))
	case record.YesNoType:
		v.Code = uint8(1 + rng.IntN(2))
	case record.MarkType:
		v.Code = record.Yes
	case record.SetType:
		v.Set = uint16(rng.IntN(1 << len(s.Codes)))
	case record.IntegerType:
		v.Number = s.Min + float64(rng.IntN(int(s.Max-s.Min)+1))
	case record.DecimalType:
		v.Number = math.Round((s.Min+rng.Float64()*(s.Max-s.Min))*100) / 100
	case record.UUIDType:
		for i := range v.ID {
			v.ID[i] = byte(rng.IntN(256))
		}
	}
	if s.Name == "birth_time_unit_s" {
		v.Number = 30
	}
	return v
}

// What goes in comes out, value by value, in every state but the derived one.
func TestDocumentsComeBack(t *testing.T) {
	r := fresh(t)
	rng := rand.New(rand.NewPCG(1, 2))
	want := map[record.Key]*record.Document{}
	l, err := r.Begin(t.Context(), delivery(1))
	require.NoError(t, err)
	for i := range 200 {
		d, facts := full(rng, keyOf(byte(i)))
		s := record.Stamp{Key: d.Key}
		fates, err := l.Fates(t.Context(), []record.Stamp{s})
		require.NoError(t, err)
		require.NoError(t, l.Put(t.Context(), fates[0], s, d, facts))
		want[d.Key] = d
	}
	_, err = l.Commit(t.Context(), []record.Tally{{File: newbornsFile, Read: 200, ByFate: [9]int64{record.Loaded: 200}}})
	require.NoError(t, err)

	n := 0
	order := ""
	require.NoError(t, r.Documents(t.Context(), cell.Scope{}, nil, func(d *record.Document) error {
		n++
		require.Empty(t, cmp.Diff(want[d.Key], d))
		seq := d.Newborn[record.BirthSequence]
		here := fmt.Sprintf("%s %t %06v %s", d.Month, seq.State != record.Recorded, seq.Number, d.Key)
		require.Less(t, order, here)
		order = here
		return nil
	}))
	require.Equal(t, 200, n)

	keys := []record.Key{keyOf(3), keyOf(7), {1}}
	n = 0
	require.NoError(t, r.Documents(t.Context(), cell.Scope{}, keys, func(*record.Document) error {
		n++
		return nil
	}))
	require.Equal(t, 2, n)

	var events int
	for _, d := range want {
		events += len(d.Events)
	}
	require.Equal(t, events, get[int](t, r, "select count(*) from registry.event where kind is not null and clock is not null"))
}

func TestPutRefusesWhatDoesNotBelongTogether(t *testing.T) {
	r := fresh(t)
	s, d, f := newborn{key: 1}.document()
	l, err := r.Begin(t.Context(), delivery(1))
	require.NoError(t, err)
	require.Error(t, l.Put(t.Context(), record.Unchanged, s, d, f))
	require.Error(t, l.Put(t.Context(), record.Withdrawn, s, d, f))
	require.Error(t, l.Put(t.Context(), record.Loaded, s, d, nil))
	other := s
	other.Key[0]++
	require.Error(t, l.Put(t.Context(), record.Loaded, other, d, f))
	d.Newborn[record.Place] = code(99)
	require.ErrorContains(t, l.Put(t.Context(), record.Loaded, s, d, f), "place: code 99")
	d.Newborn[record.Place] = record.Value{}
	d.Month = 0
	require.Error(t, l.Put(t.Context(), record.Loaded, s, d, f))
}
