package cases_test

import (
	"context"
	"encoding/json"
	"math/rand/v2"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/etl/record"
	"chestrise/etl/synth"
	"chestrise/metrics/cases"
)

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

var winter = record.MonthOf(2026, 2)

func demoQuery(t testing.TB, unit string) cases.Query {
	q := query(t)
	q.Unit, q.From, q.To = unit, winter, winter
	return q
}

// A packet holds no key, no month, no date and no time of day, and no exact
// gestation or weight.
func TestNothingTellsWho(t *testing.T) {
	all := demo(t, "alder", winter, winter)
	s := choose(t, all, demoQuery(t, "alder"))
	require.NotEmpty(t, s.Cases)
	for i := range s.Cases {
		text, err := json.Marshal(s.Cases[i])
		require.NoError(t, err)
		for _, d := range all {
			require.NotContains(t, string(text), d.Key.String())
		}
		require.NotRegexp(t, regexp.MustCompile(`\b20\d\d-\d\d|\b\d\d:\d\d:\d\d\b|night|weekend|alder`), string(text))
		var key *record.Document
		for _, d := range all {
			if d.Key == s.Keys[i] {
				key = d
			}
		}
		weight := key.Newborn[record.BirthWeightG].Number
		if weight > 999 {
			require.NotContains(t, string(text), strings.TrimRight(strings.TrimRight(jsonNumber(weight), "0"), ".")+" g")
		}
	}
}

func jsonNumber(x float64) string {
	b, err := json.Marshal(x)
	if err != nil {
		return ""
	}
	return string(b)
}

// What is shown of a birth is shared by enough newborns of the period.
func TestWhatIsShownIsShared(t *testing.T) {
	all := demo(t, "cedar", winter, winter)
	q := demoQuery(t, "cedar")
	q.Settings.Cases, q.Settings.Sample = 40, 20
	for _, rare := range []int{1, 3, 5, 12} {
		q.Settings.Rare = rare
		s := choose(t, all, q)
		require.NotEmpty(t, s.Cases)
		some := false
		for i := range s.Cases {
			c := &s.Cases[i]
			for _, p := range c.Context {
				if p[0] == "Gestation" {
					some = true
					n := 0
					for _, d := range all {
						wk := d.Newborn[record.GestationWk].Number
						if lo, hi := weeks(t, p[1]); wk >= lo && wk <= hi {
							n++
						}
					}
					require.GreaterOrEqual(t, n, rare, p[1])
				}
			}
			if rare > 1 && len(c.Context) < 3 {
				require.NotEmpty(t, c.Coarsened)
			}
		}
		require.True(t, some)
	}
}

func weeks(t *testing.T, words string) (lo, hi float64) {
	t.Helper()
	for w, r := range map[string][2]float64{"22 to 24": {22, 24}, "25 to 27": {25, 27}, "28 to 31": {28, 31}, "32 to 33": {32, 33}, "34 to 36": {34, 36}, "37 weeks": {37, 44}, "under 32": {22, 31}, "32 to 36": {32, 36}} {
		if strings.HasPrefix(words, w) {
			return r[0], r[1]
		}
	}
	require.Fail(t, "unknown band", words)
	return 0, 0
}

// The order of the documents changes nothing; another seed draws another sample
// and changes no trigger.
func TestSameSelectionInAnyOrder(t *testing.T) {
	all := demo(t, "alder", winter, winter)
	want := choose(t, all, demoQuery(t, "alder"))
	rapid.Check(t, func(rt *rapid.T) {
		mixed := append(documents(nil), all...)
		rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "order"), 0)).Shuffle(len(mixed), func(i, k int) { mixed[i], mixed[k] = mixed[k], mixed[i] })
		got := choose(t, mixed, demoQuery(t, "alder"))
		require.True(rt, reflect.DeepEqual(want, got), "the order of the documents shows")
	})
	q := demoQuery(t, "alder")
	q.Seed = 99
	other := choose(t, all, q)
	samples := func(s *cases.Selection) (keys []record.Key) {
		for i := range s.Cases {
			if s.Cases[i].Why == cases.Sampled {
				keys = append(keys, s.Keys[i])
			}
		}
		return keys
	}
	require.NotEqual(t, samples(want), samples(other))
	for i := range want.Tallies { // ties are drawn, so that who is shown may differ; what holds may not
		want.Tallies[i].Shown, other.Tallies[i].Shown = 0, 0
	}
	require.Equal(t, want.Tallies, other.Tallies)
}

// One trigger does not fill the packet while there are others.
func TestVariety(t *testing.T) {
	q := demoQuery(t, "alder")
	q.Settings.Alike = 50
	alone := choose(t, demo(t, "alder", winter, winter), q)
	q.Settings.Alike = 1
	varied := choose(t, demo(t, "alder", winter, winter), q)
	kinds := func(s *cases.Selection) int {
		seen := map[string]bool{}
		for i := range s.Cases {
			for _, h := range s.Cases[i].Hits {
				seen[h.ID] = true
			}
		}
		return len(seen)
	}
	require.Greater(t, kinds(varied), kinds(alone))
	require.Len(t, varied.Cases, len(alone.Cases), "places left over are filled")
}

func TestHandPickedKeys(t *testing.T) {
	q := query(t)
	q.Keys = []record.Key{{'H'}, {'A'}}
	s := choose(t, readEight(t), q)
	require.Equal(t, "HA", letters(s)[:2], "in the order given")
	q.Keys = []record.Key{{'H'}, {'Z'}}
	_, err := cases.Select(context.Background(), readEight(t), q)
	require.ErrorIs(t, err, cases.ErrNoSuchNewborn)
	require.ErrorContains(t, err, "5a000000")
	require.ErrorContains(t, err, "hint:")
	q.Keys, q.From = nil, march+1
	_, err = cases.Select(context.Background(), readEight(t), q)
	require.ErrorContains(t, err, "ends (2026-03) before it begins (2026-04)")
}

func TestAnEmptyPeriod(t *testing.T) {
	q := query(t)
	q.From, q.To = march+5, march+6
	s := choose(t, readEight(t), q)
	require.Empty(t, s.Cases)
	require.Zero(t, s.Newborns)
}

// A limit agreed before birth switches off the triggers for the step it names.
func TestAgreedLimits(t *testing.T) {
	all := readEight(t)
	all[5].Newborn[record.PlanOfCare] = record.Value{State: record.Recorded, Code: record.PlanOfCareLimitsAgreed}
	all[5].Newborn[record.PlanLimits] = record.Value{State: record.Recorded, Set: 1 << (record.PlanLimitsCompressions - 1)}
	f := caseOf(t, all, 'F', nil)
	require.Equal(t, []string{"no-sign"}, titles(f))
	require.Equal(t, []string{"Chest compressions"}, f.Switched)
	require.Contains(t, f.Limits[0], "no compressions")
	s := choose(t, all, query(t))
	require.Equal(t, 1, s.Tallies[0].Off)
	require.Zero(t, s.Tallies[0].Holds)
}

// An interval that straddles the limit is not a trigger: it cannot be told.
func TestAStraddlingIntervalIsNoTrigger(t *testing.T) {
	set, err := cases.Load("x", []byte(`
triggers:
  - {id: late, title: Late, when: [{fact: first_inflation, above: 100}]}
  - {id: early, title: Early, when: [{fact: first_inflation, at_most: 180}]}
`))
	require.NoError(t, err)
	q := query(t)
	q.Settings = set
	s := choose(t, readEight(t), q)
	// B 48, C 40, D 66, H 100 are certain; F lies between 60 and 180, open at both
	// ends; E's clock does not begin at birth; A and G were not ventilated at birth.
	require.Equal(t, cases.Tally{ID: "late", Title: "Late", Holds: 0, Unknown: 2, Off: 0, Shown: 0}, tally(s, "late"))
	require.Equal(t, cases.Tally{ID: "early", Title: "Early", Holds: 5, Unknown: 1, Off: 0, Shown: 5}, tally(s, "early"))
}

func tally(s *cases.Selection, id string) cases.Tally {
	return s.Tallies[slices.IndexFunc(s.Tallies, func(t cases.Tally) bool { return t.ID == id })]
}

// A role is named only where at least so many people hold it.
func TestRoles(t *testing.T) {
	for _, c := range []struct {
		holders int
		want    string
	}{{4, "operator"}, {5, "fellow"}} {
		all := readEight(t)
		all[3].Events = append(all[3].Events, record.Event{Kind: record.Operator, Code: record.OperatorFellow, At: 150, Timed: true, Clock: record.ClockBirth, Group: 2, Grouped: true})
		d := caseOf(t, all, 'D', func(s *cases.Settings) { s.Holders[uint8(record.OperatorFellow)] = c.holders })
		require.Contains(t, d.Timeline.Lane(cases.AirwayLane).Spans[0].Detail, c.want)
		text, err := json.Marshal(d)
		require.NoError(t, err)
		require.Equal(t, c.holders >= 5, strings.Contains(string(text), "fellow"))
	}
}

// Siblings name each other only where being one of a multiple birth is shown.
func TestTwins(t *testing.T) {
	q := query(t)
	q.Keys = []record.Key{{'C'}, {'D'}}
	require.Empty(t, choose(t, readEight(t), q).Cases[0].Siblings)
	q.Settings.Rare = 1
	s := choose(t, readEight(t), q)
	require.Equal(t, []int{2}, s.Cases[0].Siblings)
	require.Equal(t, []int{1}, s.Cases[1].Siblings)
}

// The rarity of a trigger is said only where the gestation is shown: the number
// would tell it.
func TestRarityDoesNotTellGestation(t *testing.T) {
	d := caseOf(t, readEight(t), 'D', nil)
	require.Equal(t, "How unexpected this is in its gestation band is not said: it would tell the gestation.", d.Unexpected)
	d = caseOf(t, readEight(t), 'D', func(s *cases.Settings) { s.Rare = 1 })
	require.Equal(t, "Least expected of these: ventilation ended, or the airway was changed, before any sign on record. At 28 to 31 weeks it is expected in about 1 of 8.3 newborns (demo value).", d.Unexpected)
}

// Local aims stand beside the record only where the hospital switched them on, in
// neutral words.
func TestExpectations(t *testing.T) {
	require.Empty(t, caseOf(t, readEight(t), 'D', nil).Expectation)
	on := func(s *cases.Settings) { s.Expectations.On = true }
	require.Equal(t, []string{
		"First inflation recorded at 66 s; local aim 60 s",
		"First heart rate recorded at 58 s; local aim 60 s",
		"Time from the first inflation to the first sign: not on record, or cannot be told; local aim 60 s",
	}, caseOf(t, readEight(t), 'D', on).Expectation)
	require.Contains(t, caseOf(t, readEight(t), 'F', on).Expectation, "First inflation recorded between 60 and 180 s; local aim 60 s")
	require.NotContains(t, strings.Join(caseOf(t, readEight(t), 'H', on).Expectation, " "), "First inflation", "a decision was awaited")
}

// Counts of the pathway on both sides of a training, in the order of names.
func TestPathway(t *testing.T) {
	q := query(t)
	p := choose(t, readEight(t), q).Pathway
	require.Len(t, p.Parts, 1)
	part := p.Parts[0]
	require.Equal(t, 6, part.Ventilated, "B to F and H")
	require.Equal(t, 4, part.Charted, "B, C, D and H")
	require.Equal(t, 2, part.AnyStep, "B and D")
	require.Equal(t, cases.StepCount{Name: "mask seal", Records: 2, Newborns: 2, Timed: 2, Followed: 0}, part.Steps[2], "in B the chest moved 12 s after, too late to count")
	for i := 1; i < len(part.Steps); i++ {
		require.Less(t, part.Steps[i-1].Name, part.Steps[i].Name)
	}
	q.Training = march
	p = choose(t, readEight(t), q).Pathway
	require.Len(t, p.Parts, 2)
	require.Zero(t, p.Parts[0].Ventilated+p.Parts[1].Ventilated, "the month of the training belongs to neither side")
	q.Training = march - 1
	require.Equal(t, 6, choose(t, readEight(t), q).Pathway.Parts[1].Ventilated)
}

func TestSettingsAreReadStrictly(t *testing.T) {
	_, err := cases.Load("casereview.yaml", []byte(`
roles: {people: {doctor: 3}}
rare: 0
expectations: {on: true}
triggers:
  - {id: a, title: A, when: [{fact: compresions, is: ["yes"]}]}
  - {id: a, title: A, when: [{fact: compressions, above: 3}]}
  - {id: b, title: B, when: [{fact: tube_attempts, is: [three]}], expected: {source: x, share: {99-plus: 2}}}
  - {id: c, title: C, when: [{event: dose, codes: [water]}], step: feeding}
  - {id: d, title: D, when: []}
`))
	for _, want := range []string{
		`role "doctor" is not in the dictionary`, "rare must be a whole number from 1 to 50", "nobody is named who decided it",
		`fact "compresions" is not in the dictionary`, `fact "compressions" is a word: give is`, `trigger "a" is there twice`,
		`fact "tube_attempts" is a number`, `gestation band "99-plus" is not known`, `code "water" is not one of dose`, `step "feeding" is not known`,
		"a trigger needs at least one condition",
	} {
		require.ErrorContains(t, err, want)
	}
	require.ErrorContains(t, err, "casereview.yaml:2:")
}

func BenchmarkSelect(b *testing.B) {
	all := demo(b, "alder", winter-2, winter)
	q := demoQuery(b, "alder")
	q.From = winter - 2
	for b.Loop() {
		choose(b, all, q)
	}
}
