package metrics

import (
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
)

func sign(at float64) cell.Item { return cell.Item{Low: at, High: at, End: "heart-rate-100"} }

func ended(at float64, by string) cell.Item { return cell.Item{Low: at, High: at, End: by} }

// items puts values of the curve's measure into month i.
func items(e *Engine, m *memory, i int, all ...cell.Item) {
	put(e, m, effective, i, func(c *cell.Cell) {
		c.Outside = 100
		c.Items = all
		for _, it := range all {
			if it.End == "heart-rate-100" {
				c.Met++
			} else {
				c.NotMet++
			}
		}
	})
}

// Ten newborns, six with a sign at 25 to 90 s and four with a tube at 45 to 80 s: had
// the tubes been left out as "observation ended", every newborn would have had a sign
// by 90 s. Four never did.
func TestCurveKeepsOtherEndsInTheDenominator(t *testing.T) {
	e, m := engine(t, 24)
	for i := range 24 {
		items(e, m, i)
	}
	items(e, m, 20,
		sign(25), sign(32), sign(41), sign(55), sign(70), sign(90),
		ended(45, "airway-attempt"), ended(52, "airway-attempt"), ended(66, "airway-attempt"), ended(80, "airway-attempt"))
	c, err := e.Curve(t.Context(), "u", effective, 0)
	require.NoError(t, err)
	require.Empty(t, c.Absent)
	require.Nil(t, c.Change)
	require.Len(t, c.Sides, 1)
	s := c.Sides[0]
	require.Equal(t, 10, s.Newborns)
	last := s.Steps[len(s.Steps)-1]
	require.InDelta(t, 90, last.At, 0)
	require.InDelta(t, 0.6, last.Share, 1e-12, "six of ten, not ten of ten")
	require.Len(t, s.Ends, 1)
	require.Equal(t, "an airway attempt", s.Ends[0].Name)
	require.Equal(t, 4, s.Ends[0].Newborns)
	require.InDelta(t, 0.4, s.Ends[0].Steps[3].Share, 1e-12)
	var within []int
	for _, x := range s.Shares {
		within = append(within, x.Within)
	}
	require.Equal(t, []int{1, 4, 6}, within, "by 30, 60 and 120 s")
	require.Equal(t, "4 of 10 by 60 s", s.Shares[1].Text)
	// Wilson, 4 of 10: 0.1682 to 0.6873 (Newcombe 1998, Statistics in Medicine 17:857,
	// method 3; value from R's prop.test without correction).
	require.InDelta(t, 0.1682, s.Shares[1].Lower, 5e-5)
	require.InDelta(t, 0.6873, s.Shares[1].Upper, 5e-5)
	require.NotNil(t, s.Half)
	require.InDelta(t, 70, *s.Half, 0, "the fifth of ten has a sign at 70 s")
	require.Contains(t, s.Text, "half had a sign by 70 s; came first instead: an airway attempt 4")
}

func TestCurveThatNeverReachesHalf(t *testing.T) {
	e, m := engine(t, 3)
	items(e, m, 0, sign(20), ended(500, "stopped"), ended(40, "compressions"))
	items(e, m, 1)
	items(e, m, 2)
	c, err := e.Curve(t.Context(), "u", effective, 0)
	require.NoError(t, err)
	require.Nil(t, c.Sides[0].Half)
	require.Contains(t, c.Sides[0].Text, "half did not reach a sign")
	require.Equal(t, "all months", c.Sides[0].Name)
}

// A time known as an interval counts as later, and is said.
func TestCurveDrawsIntervalsAtTheirLatest(t *testing.T) {
	e, m := engine(t, 1)
	items(e, m, 0, cell.Item{Low: 45, High: 75, End: "heart-rate-100"}, sign(10), cell.Item{Low: 1200, High: 1200, End: "observation-end"})
	c, err := e.Curve(t.Context(), "u", effective, 0)
	require.NoError(t, err)
	s := c.Sides[0]
	require.Equal(t, 1, s.Intervals)
	require.Equal(t, "1 of 3 by 60 s, for 1 more it cannot be told", s.Shares[1].Text)
	require.InDelta(t, 75, s.Steps[1].At, 0)
	require.Empty(t, s.Ends, "the end of observation is no end")
}

// sides puts n newborns a month before and after an intervention in month 12 of 25,
// whose own month belongs to neither; before, half of them have a sign within a
// minute, after, everyone has.
func sides(t *testing.T, n int) (*Engine, *memory) {
	t.Helper()
	e, m := engine(t, 25)
	e.Settings.Interventions = []Label{{Unit: "u", From: begin + 12, Label: "mask training"}}
	for i := range 25 {
		var all []cell.Item
		for k := range n {
			switch {
			case i == 12:
				all = append(all, ended(5, "died"))
			case i < 12 && k%2 == 0:
				all = append(all, sign(100+float64(k)))
			default:
				all = append(all, sign(30+float64(k)))
			}
		}
		items(e, m, i, all...)
	}
	return e, m
}

func TestCurveBeforeAndAfterAnIntervention(t *testing.T) {
	e, _ := sides(t, 2)
	c, err := e.Curve(t.Context(), "u", effective, 0)
	require.NoError(t, err)
	require.Len(t, c.Sides, 2)
	require.Equal(t, "before", c.Sides[0].Name)
	require.Equal(t, begin+11, c.Sides[0].To)
	require.Equal(t, begin+13, c.Sides[1].From, "the intervention's own month is in neither side")
	require.Equal(t, 24, c.Sides[0].Newborns)
	require.Equal(t, 24, c.Sides[1].Newborns)
	require.Empty(t, c.Sides[1].Ends)
	require.NotNil(t, c.Change.Difference)
	require.InDelta(t, 0.5, *c.Change.Difference, 1e-12)
	require.Less(t, 0.0, *c.Change.Lower)
	require.NotNil(t, c.Change.P)
	require.Less(t, *c.Change.P, 0.001)
	require.Contains(t, c.Change.Text, "12 of 24 had a sign before and 24 of 24 after, a difference of +50 points")
	require.Contains(t, c.Change.Text, "Two periods differ in more than one intervention.")
}

// Under twenty newborns a side there is an interval and no test.
func TestCurveGivesNoPUnderTwentyASide(t *testing.T) {
	e, _ := sides(t, 1)
	c, err := e.Curve(t.Context(), "u", effective, 0)
	require.NoError(t, err)
	require.Equal(t, 12, c.Sides[0].Newborns)
	require.Nil(t, c.Change.P)
	require.NotNil(t, c.Change.Difference)
	require.NotContains(t, c.Change.Text, " p ")
	require.Contains(t, c.Change.Text, "Fewer than 20 newborns on a side: no test.")
}

// Where times are taken in another way on one side, nothing is compared.
func TestCurveDoesNotCompareAcrossAChangeOfRecording(t *testing.T) {
	e, m := sides(t, 2)
	m.deliveries[0].Recording = []record.Recording{{Unit: "u", From: begin + 15, How: record.ByDevice}}
	c, err := e.Curve(t.Context(), "u", effective, 0)
	require.NoError(t, err)
	require.Nil(t, c.Change.Difference)
	require.Nil(t, c.Change.P)
	require.Contains(t, c.Change.Why, "not on the same footing")
}

// Another intervention ends a side, and what else changed is said.
func TestCurveNamesWhatElseChanged(t *testing.T) {
	e, _ := sides(t, 2)
	e.Settings.Interventions = append(e.Settings.Interventions,
		Label{Unit: "u", From: begin + 20, Label: "later clamping", Measures: []string{"admission-temperature-in-range"}},
		Label{Unit: "u", From: begin + 24, Label: "new masks"},
		Label{Unit: "elsewhere", From: begin + 14, Label: "not here"})
	c, err := e.Curve(t.Context(), "u", effective, 0)
	require.NoError(t, err)
	require.Equal(t, "mask training", c.Change.Label, "nothing has closed after the new masks")
	require.Equal(t, begin+23, c.Sides[1].To)
	require.Equal(t, []string{"Sep 2023: later clamping"}, c.Change.Others)
}

func TestCurveNeedsAValueWithEnds(t *testing.T) {
	e, _ := engine(t, 1)
	_, err := e.Curve(t.Context(), "u", "intubated-at-birth", 0)
	require.ErrorContains(t, err, "a curve needs a value with ends")
	_, err = e.Curve(t.Context(), "u", "no-such-measure", 0)
	require.Error(t, err)
	c, err := e.Curve(t.Context(), "u", effective, 0)
	require.NoError(t, err)
	require.NotEmpty(t, c.Absent)
}
