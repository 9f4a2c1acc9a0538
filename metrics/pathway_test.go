package metrics

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
)

// documents hands over what it holds.
type documents []record.Document

func (ds documents) Documents(_ context.Context, _ cell.Scope, _ []record.Key, f func(*record.Document) error) error {
	for i := range ds {
		if err := f(&ds[i]); err != nil {
			return err
		}
	}
	return nil
}

// exact is an exact event of the birth clock.
func exact(s int32, k record.Kind, c record.EventCode) record.Event {
	return record.Event{At: s, Timed: true, Clock: record.ClockBirth, How: record.Live, Unit: 1, Kind: k, Code: c}
}

func rate(s int32, value float64) record.Event {
	e := exact(s, record.HeartRate, record.HRECG)
	e.Value, e.Valued = value, true
	return e
}

// newborn has the sections marked as charted.
func newborn(events ...record.Event) record.Document {
	d := record.Document{Events: events}
	d.Newborn[record.ChartedSteps] = record.Value{State: record.Recorded, Code: record.Yes}
	return d
}

func facts(band uint8) func(*record.Document) record.Facts {
	return func(*record.Document) record.Facts {
		var f record.Facts
		for _, x := range []record.Fact{record.FactInPopulation, record.FactMaskVentilated} {
			f[x] = record.Value{State: record.Recorded, Code: record.Yes}
		}
		f[record.FactGestationBand] = record.Value{State: record.Recorded, Code: band}
		f[record.FactFirstDevice] = record.Value{State: record.Recorded, Code: 3}
		return f
	}
}

func pathwayOf(t *testing.T, ds ...record.Document) Pathway {
	t.Helper()
	e, _ := engine(t, 1)
	p, err := e.Pathway(t.Context(), documents(ds), PathwayQuery{Unit: "u", From: begin, To: begin, Facts: facts(record.Band28)})
	require.NoError(t, err)
	return p
}

func stepNamed(t *testing.T, g PathwayGroup, name string) PathwayStep {
	t.Helper()
	i := slices.IndexFunc(g.Steps, func(s PathwayStep) bool { return s.Name == name })
	require.NotEqual(t, -1, i)
	return g.Steps[i]
}

var inflated = exact(48, record.SupportBegun, record.SupportPPV)

// A mask reseated at 70 s with the chest moving at 82 s: twelve seconds are more than
// ten, so the movement is not counted; the heart rate belongs to the round.
func TestPathwayCreditsTenSeconds(t *testing.T) {
	seal := func(moving int32) record.Document {
		return newborn(inflated, exact(65, record.ChestMovement, record.ChestNotMoving), exact(70, record.CorrectiveStep, record.StepMaskSeal),
			exact(moving, record.ChestMovement, record.ChestMoving), rate(60, 70), rate(105, 110))
	}
	p := pathwayOf(t, seal(82))
	s := stepNamed(t, p.Group, "mask seal")
	require.Equal(t, PathwayStep{Code: "mask-seal", Name: "mask seal", Records: 1, Newborns: 1, First: 1, Timed: 1, Followed: 0, Text: "0 of 1"}, s)
	require.Equal(t, PathwayRounds{
		Apart: 30, After: 60, Rounds: 1, Recorded: 1, Risen: 1,
		Text: "1 round of steps at most 30 s apart; after 1 a heart rate is on record within 60 s, and in 1 of those it was 100 or more or had risen by 20.",
	}, p.Rounds)
	require.Equal(t, 1, stepNamed(t, pathwayOf(t, seal(80)).Group, "mask seal").Followed, "ten seconds count")
}

// Orders are listed by their words, never by how many newborns had them.
func TestPathwayOrders(t *testing.T) {
	a := newborn(inflated, exact(60, record.CorrectiveStep, record.StepMaskSeal), exact(66, record.CorrectiveStep, record.StepHeadPosition))
	b := newborn(inflated, exact(60, record.CorrectiveStep, record.StepHeadPosition), exact(70, record.CorrectiveStep, record.StepMaskSeal))
	c := newborn(inflated, exact(60, record.CorrectiveStep, record.StepMaskSeal), exact(60, record.CorrectiveStep, record.StepHeadPosition), exact(90, record.CorrectiveStep, record.StepPressure))
	p := pathwayOf(t, a, a, a, b, c)
	require.Equal(t, []PathwayOrder{
		{Steps: []string{"head position with mask seal", "pressure raised"}, Text: "head position with mask seal, then pressure raised", Newborns: 1},
		{Steps: []string{"head position", "mask seal"}, Text: "head position, then mask seal", Newborns: 1},
		{Steps: []string{"mask seal", "head position"}, Text: "mask seal, then head position", Newborns: 3},
	}, p.Orders)
	require.Equal(t, []PathwayPair{
		{"head position", "mask seal", 1}, {"head position with mask seal", "pressure raised", 1}, {"mask seal", "head position", 3},
	}, p.Pairs)
	require.Equal(t, PathwayGaps{Gaps: 5, Text: "5 intervals from one step to the next."}, p.Between, "no median under twenty")
	require.Equal(t, 3, stepNamed(t, p.Group, "mask seal").First, "in the same second neither is first")
	require.Equal(t, 5, p.Rounds.Rounds, "30 s apart is one round")
}

// Only steps from the first inflation to the first airway attempt belong to the
// pathway; what is typed in whole minutes has no order.
func TestPathwayEndsAtTheAirway(t *testing.T) {
	tube := exact(90, record.AirwayBegun, 1)
	p := pathwayOf(t, newborn(exact(40, record.CorrectiveStep, record.StepAirwayClearing), inflated,
		exact(60, record.CorrectiveStep, record.StepMaskSeal), tube, exact(95, record.CorrectiveStep, record.StepPressure)))
	require.Equal(t, 1, p.Group.Airway)
	require.Equal(t, []PathwayOrder{{Steps: []string{"mask seal"}, Text: "mask seal", Newborns: 1}}, p.Orders)

	minute := func(s int32, c record.EventCode) record.Event {
		e := exact(s, record.CorrectiveStep, c)
		e.How, e.Unit = record.After, 60
		return e
	}
	p = pathwayOf(t, newborn(inflated, minute(60, record.StepMaskSeal), minute(120, record.StepPressure)))
	require.Empty(t, p.Orders)
	require.Equal(t, 0, stepNamed(t, p.Group, "mask seal").Timed)
	require.Equal(t, 1, p.Between.Untold)
	require.Contains(t, p.Notes[0], "the order of steps cannot be told")

	untimed := record.Event{Kind: record.CorrectiveStep, Code: record.StepMaskSeal}
	p = pathwayOf(t, newborn(inflated, untimed))
	require.Equal(t, 1, p.Group.AnyStep)
	require.Contains(t, p.Notes[1], "no time")
	require.Equal(t, 0, pathwayOf(t, newborn(inflated, tube, untimed)).Group.AnyStep, "with an airway attempt its place matters")
}

// A section that is not marked leaves open whether a step was taken.
func TestPathwaySaysWhatIsNotCharted(t *testing.T) {
	d := newborn(inflated)
	d.Newborn[record.ChartedSteps] = record.Value{}
	p := pathwayOf(t, d, newborn(inflated))
	require.Equal(t, 2, p.Group.Newborns)
	require.Equal(t, 1, p.Group.Charted)
	require.Contains(t, p.Notes[0], "For 1 of 2 newborns the section of steps is not marked as charted")
}

// Twenty newborns carry a rate and quartiles; nineteen do not. The counts do not
// depend on the order of the documents.
func TestPathwayRatesFromTwentyOn(t *testing.T) {
	make := func(n int) []record.Document {
		var out []record.Document
		for i := range n {
			gap := int32(5 + i)
			out = append(out, newborn(inflated, exact(60, record.CorrectiveStep, record.StepMaskSeal), exact(60+gap, record.CorrectiveStep, record.StepHeadPosition),
				exact(64, record.ChestMovement, record.ChestMoving)))
		}
		return out
	}
	p := pathwayOf(t, make(19)...)
	require.Equal(t, "19 of 19", stepNamed(t, p.Group, "mask seal").Text)
	require.Nil(t, p.Between.Median)
	ds := make(20)
	p = pathwayOf(t, ds...)
	require.Equal(t, "20 of 20 (100 %)", stepNamed(t, p.Group, "mask seal").Text)
	require.InDelta(t, 14.5, *p.Between.Median, 0, "5 to 24 s")
	require.InDelta(t, 9.75, *p.Between.Quartile[0], 1e-12)
	rand.New(rand.NewPCG(1, 2)).Shuffle(len(ds), func(i, j int) { ds[i], ds[j] = ds[j], ds[i] })
	require.Equal(t, p, pathwayOf(t, ds...))
	require.Equal(t, PathwayCaption, p.Caption)
	require.Len(t, p.By, 2)
	require.Equal(t, "t-piece", p.By[0].Groups[0].Name)
	require.Equal(t, "28-31 weeks", p.By[1].Groups[0].Name)
	require.Equal(t, 20, p.By[1].Groups[0].Newborns)
}
