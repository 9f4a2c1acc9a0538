package synth

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
)

const demo = "../../configs/demo/scenario.yaml"

func load(t *testing.T, path string) *Scenario {
	t.Helper()
	s, err := Load(path)
	require.NoError(t, err)
	return s
}

func month(t *testing.T, s string) record.Month {
	t.Helper()
	m, err := record.ParseMonth(s)
	require.NoError(t, err)
	return m
}

func has(d *record.Document, k record.Kind) bool {
	for _, e := range d.Events {
		if e.Kind == k {
			return true
		}
	}
	return false
}

func ventilated(d *record.Document) bool {
	for _, e := range d.Events {
		if e.Kind == record.SupportBegun && e.Code == record.SupportPPV {
			return true
		}
	}
	return false
}

func TestTheSameSeedGivesTheSameNewbornsInAnyOrder(t *testing.T) {
	s := load(t, demo)
	g, h := NewGenerator(s, 0), NewGenerator(s, 0)
	later := h.Month("cedar", month(t, "2024-05"), 0)
	first := g.Month("cedar", month(t, "2024-04"), 0)
	require.Equal(t, later, g.Month("cedar", month(t, "2024-05"), 0), "a month does not depend on the months drawn before it")
	require.Equal(t, first, h.Month("cedar", month(t, "2024-04"), 0))
	require.NotEqual(t, first, NewGenerator(s, 8).Month("cedar", month(t, "2024-04"), 0))
}

// Ventilated shares of the two mixes, from the band table (centre 7.4 %,
// general hospital 4.4 %): within five standard errors over four years.
func TestSharesComeOutAsTheTableSays(t *testing.T) {
	s := load(t, demo)
	g := NewGenerator(s, 0)
	for _, unit := range []string{"alder", "elder"} {
		u, _ := s.unit(unit)
		want := 0.0
		for k, b := range bands {
			want += mixes[u.Mix][k] * b.ppv * (1 - b.comfort)
		}
		n, v := 0, 0
		for m := g.from; m <= g.to; m++ {
			if _, none := u.in(empty, m); none {
				continue
			}
			for _, b := range g.Month(unit, m, 0) {
				n++
				if ventilated(&b.Document) {
					v++
				}
			}
		}
		got := float64(v) / float64(n)
		// A twin is drawn for every first twin, so bands with many twins are
		// somewhat larger than the mix alone says.
		require.InDelta(t, want, got, 5*math.Sqrt(want*(1-want)/float64(n))+.008, unit)
	}
}

func TestEveryPlantedEventIsThere(t *testing.T) {
	s := load(t, demo)
	g := NewGenerator(s, 0)
	compressions := 0
	run, longest := 0, 0
	for _, b := range g.Month("birch", month(t, "2026-01"), 0) {
		if has(&b.Document, record.CompressionsBegun) {
			compressions++
			run++
			longest = max(longest, run)
		} else {
			run = 0
		}
	}
	require.GreaterOrEqual(t, longest, 3, "three newborns in a row with compressions")

	found := false
	for _, b := range g.Month("cedar", month(t, "2026-02"), 0) {
		found = found || has(&b.Document, record.LaterResuscitation)
	}
	require.True(t, found, "a newborn found not breathing in the nursery")

	for _, b := range g.Month("elder", month(t, "2025-08"), 0) {
		require.False(t, ventilated(&b.Document), "a month without a ventilated newborn")
	}

	moved, got := false, false
	for _, b := range g.Month("elder", month(t, "2026-04"), 0) {
		moved = moved || b.Document.Newborn[record.CareEnded].Code == record.CareEndedMoved
	}
	for _, b := range g.Month("alder", month(t, "2026-04"), 0) {
		got = got || b.Document.Newborn[record.BornHere].Code == record.No
	}
	require.True(t, moved && got, "a newborn moved from elder to alder")

	for _, b := range g.Month("fern", month(t, "2025-02"), 0) {
		for _, e := range b.Document.Events {
			require.True(t, !e.Timed || e.How == record.ByDevice, "after the timer every time is the device's")
		}
	}
}

// Missing times must follow illness: the longer the ventilation, the more of
// them are missing.
func TestWhatIsMissingFollowsIllness(t *testing.T) {
	g := NewGenerator(load(t, demo), 0)
	var lost, all [2]float64
	for m := g.from; m < g.from+24; m++ {
		for _, b := range g.Month("alder", m, 0) {
			if !ventilated(&b.Document) {
				continue
			}
			sick := 0
			if has(&b.Document, record.AirwayBegun) {
				sick = 1
			}
			for _, e := range b.Document.Events {
				all[sick]++
				if !e.Timed {
					lost[sick]++
				}
			}
		}
	}
	require.Greater(t, lost[1]/all[1], 1.4*lost[0]/all[0])
}

func TestWriteGivesWholeFoldersThatRepeat(t *testing.T) {
	s := load(t, "../../testdata/scenarios/small.yaml")
	a, b := t.TempDir(), t.TempDir()
	written, err := NewGenerator(s, 0).Write(a)
	require.NoError(t, err)
	_, err = NewGenerator(s, 0).Write(b)
	require.NoError(t, err)
	newborns, late, again, withdrawn := 0, 0, 0, 0
	for _, w := range written {
		newborns += w.Newborns
		late += w.Late
		again += w.Again
		withdrawn += w.Withdrawn
		for _, name := range []string{"manifest.json", "newborns.csv", "events.csv"} {
			one, err := os.ReadFile(filepath.Join(a, w.Folder, name))
			require.NoError(t, err)
			two, err := os.ReadFile(filepath.Join(b, w.Folder, name))
			require.NoError(t, err)
			require.Equal(t, string(one), string(two), "%s of %s", name, w.Folder)
		}
	}
	require.InDelta(t, 2000, newborns-again, 300)
	require.Positive(t, late, "some records come a delivery late")
	parts, err := filepath.Glob(filepath.Join(a, "*", "*.part"))
	require.NoError(t, err)
	require.Empty(t, parts)
}

func TestAScenarioSaysWhatIsWrongWithIt(t *testing.T) {
	dir := t.TempDir()
	bad := filepath.Join(dir, "bad.yaml")
	text := `
name: bad
from: 2026-05
to: 2026-01
units:
  - {code: a, births_a_month: 0, mix: centre, coverage: every-birth}
  - {code: a, births_a_month: 10, mix: city, coverage: some, effects: [{kind: magic, from: soon}]}
power: [{unit: nowhere}]
`
	require.NoError(t, os.WriteFile(bad, []byte(text), 0o600))
	_, err := Load(bad)
	require.Error(t, err)
	for _, want := range []string{
		"from, to:", "a appears twice", "births_a_month must be positive", "mix is centre or general",
		`coverage "some"`, `effect "magic"`, `unit "nowhere"`,
	} {
		require.Contains(t, err.Error(), want)
	}
	require.NoError(t, os.WriteFile(bad, []byte("name: x\nsurprise: 1\n"), 0o600))
	_, err = Load(bad)
	require.ErrorContains(t, err, "surprise")
	require.True(t, strings.HasPrefix(err.Error(), bad))
}
