package etl_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl"
	"chestrise/etl/record"
)

// memory is a registry in memory: the same answers, no versions.
type memory struct {
	t          testing.TB
	generation record.Generation
	manifests  map[[32]byte]bool
	sequences  map[string]bool
	documents  map[record.Key]stored
	seen       map[record.Key]int64
	births     map[record.Births]int64
	refusals   []*record.Refusal
	loadings   []*memoryLoading
	refuse     *record.Refusal // what Commit answers, where it is not nil
	// failAt makes the put of this number fail, counted from 1.
	failAt, puts int
}

type stored struct {
	digest    [16]byte
	document  record.Document
	facts     record.Facts
	withdrawn bool
}

func newMemory(t testing.TB) *memory {
	return &memory{t: t, manifests: map[[32]byte]bool{}, sequences: map[string]bool{}, documents: map[record.Key]stored{}, seen: map[record.Key]int64{}, births: map[record.Births]int64{}}
}

func (m *memory) Generation(context.Context) (record.Generation, error) { return m.generation, nil }

func (m *memory) Refuse(_ context.Context, why *record.Refusal) error {
	m.refusals = append(m.refusals, why)
	return nil
}

func (m *memory) Begin(ctx context.Context, d record.Delivery) (etl.Loading, error) {
	if m.manifests[d.Manifest] {
		return nil, record.ErrAlreadyLoaded
	}
	if m.sequences[fmt.Sprint(d.Source, d.Sequence)] {
		return nil, record.ErrSequenceReused
	}
	l := &memoryLoading{m: m, ctx: ctx, d: d, asked: map[record.Key]bool{}, put: map[record.Key]stored{}}
	m.loadings = append(m.loadings, l)
	return l, nil
}

type memoryLoading struct {
	m        *memory
	ctx      context.Context
	d        record.Delivery
	asked    map[record.Key]bool
	put      map[record.Key]stored
	fates    [record.HeldWith + 1]int64
	held     []record.HeldRow
	setAside []record.Unusable
	births   []record.Births
	ended    bool
}

func (l *memoryLoading) Fates(_ context.Context, in []record.Stamp) ([]record.Fate, error) {
	require.True(l.m.t, slices.IsSortedFunc(in, func(a, b record.Stamp) int { return bytes.Compare(a.Key[:], b.Key[:]) }), "stamps are sorted by key")
	var out []record.Fate
	for _, s := range in {
		require.False(l.m.t, l.asked[s.Key], "a key is asked once")
		l.asked[s.Key] = true
		old, known := l.m.documents[s.Key]
		var f record.Fate
		switch {
		case !known && s.Withdrawn:
			f = record.Withdrawn
		case !known:
			f = record.Loaded
		case l.d.Sequence < l.m.seen[s.Key]:
			f = record.Superseded
		case s.Withdrawn && old.withdrawn:
			f = record.Unchanged
		case s.Withdrawn:
			f = record.Withdrawn
		case !old.withdrawn && old.digest == s.Digest:
			f = record.Unchanged
		default:
			f = record.Revised
		}
		l.fates[f]++
		out = append(out, f)
	}
	return out, nil
}

func (l *memoryLoading) Put(_ context.Context, _ record.Fate, s record.Stamp, d *record.Document, f *record.Facts) error {
	l.m.puts++
	if l.m.puts == l.m.failAt {
		return errors.New("connection lost")
	}
	require.Equal(l.m.t, s.Digest, etl.Digest(d))
	kept := *d
	kept.Events = slices.Clone(d.Events)
	l.put[s.Key] = stored{s.Digest, kept, *f, s.Withdrawn}
	return nil
}

func (l *memoryLoading) Hold(_ context.Context, h record.HeldRow) error {
	l.held = append(l.held, h)
	return nil
}

func (l *memoryLoading) SetAside(_ context.Context, u record.Unusable) error {
	l.setAside = append(l.setAside, u)
	return nil
}

func (l *memoryLoading) Births(_ context.Context, b record.Births) error {
	l.births = append(l.births, b)
	return nil
}

func (l *memoryLoading) Commit(_ context.Context, tallies []record.Tally) (record.Generation, error) {
	require.False(l.m.t, l.ended)
	require.NoError(l.m.t, l.ctx.Err())
	var held, aside int64
	for i, t := range tallies {
		require.Equal(l.m.t, t.Read, t.Sum(), t.File)
		held += t.ByFate[record.Held] + t.ByFate[record.HeldWith]
		for _, n := range t.SetAside {
			aside += n
		}
		if i == 0 {
			for f := record.Loaded; f <= record.Superseded; f++ {
				require.Equal(l.m.t, l.fates[f], t.ByFate[f], f)
			}
		}
	}
	require.EqualValues(l.m.t, len(l.held), held)
	require.EqualValues(l.m.t, len(l.setAside), aside)
	if l.m.refuse != nil {
		return 0, l.m.refuse
	}
	l.ended = true
	l.m.manifests[l.d.Manifest] = true
	l.m.sequences[fmt.Sprint(l.d.Source, l.d.Sequence)] = true
	for k := range l.asked {
		l.m.seen[k] = max(l.m.seen[k], l.d.Sequence)
	}
	changed := len(l.put) > 0
	maps.Copy(l.m.documents, l.put)
	for _, b := range l.births {
		cell := b
		cell.Births = 0
		changed = changed || l.m.births[cell] != b.Births
		l.m.births[cell] = b.Births
	}
	if changed {
		l.m.generation++
	}
	return l.m.generation, nil
}

func (l *memoryLoading) Refuse(ctx context.Context, why *record.Refusal) error {
	require.False(l.m.t, l.ended)
	l.ended = true
	return l.m.Refuse(ctx, why)
}
