package main

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl"
	"chestrise/etl/rule"
	"chestrise/etl/synth"
)

// Three newborns of the broken delivery break each rule that a row can break;
// every one of them is found under its rule, nothing else is, and all rows are
// accounted for.
func TestTheBrokenDelivery(t *testing.T) {
	scenario, err := synth.Load("../../testdata/scenarios/small.yaml")
	require.NoError(t, err)
	inbox := t.TempDir()
	require.NoError(t, synth.NewGenerator(scenario, 0).WriteBroken(inbox))
	path, _ := configured(t, minimal)
	a := &app{streams: streams{out: &bytes.Buffer{}, err: &bytes.Buffer{}}, now: clock, configPath: path}
	var l loaded
	require.NoError(t, a.with(t.Context(), func(c *config, s *session) error {
		return a.running(t.Context(), s, func() (err error) {
			l, err = a.load(t.Context(), c, s, []string{inbox})
			return err
		})
	}))
	d := l.deliveries()[0]
	require.Equal(t, etl.Loaded, d.State, "%v", d.Problems)
	for _, tally := range d.Tallies {
		require.Equal(t, tally.Read, tally.Sum(), tally.File)
	}
	aside := map[string]int64{}
	for _, tally := range d.Tallies {
		for id, n := range tally.SetAside {
			aside[id] += n
		}
	}
	// How many rows or values three newborns make, where it is not three.
	several := map[string]int64{
		rule.KeyRepeated:          6, // both rows of a pair
		rule.DiedThenAdmitted:     6, // two values each
		rule.PressureOrder:        6,
		rule.OutcomeContradiction: 6,
		rule.Identifier:           6, // three newborn rows, and three event rows that hold their newborns
	}
	expected := map[string]bool{}
	for _, id := range synth.BrokenRules() {
		want := int64(3)
		if n, ok := several[id]; ok {
			want = n
		}
		expected[id] = true
		r, ok := rule.Of(id)
		require.True(t, ok, id)
		got := aside[id]
		if r.Scope == rule.Document {
			got = d.HeldByRule[id]
		}
		require.Equal(t, want, got, "%s (%s)", id, r.Scope)
	}
	for id, n := range aside {
		require.True(t, expected[id] || n == 0, "%s set aside %d values that nobody broke", id, n)
	}
}
