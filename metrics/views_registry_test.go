package metrics_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/derive"
	"chestrise/etl/record"
	"chestrise/metrics"
)

// march is the month of the eight worked newborns.
var march = record.MonthOf(2026, 3)

// The eight worked newborns as a curve and as a pathway, from the files of a
// delivery: B has a sign at 57 s, C at 35 s, E at 30 s of ventilation; D's course is
// ended by the tube, F's by compressions, H's by a stop.
func TestEightNewbornsAsCurveAndPathway(t *testing.T) {
	r := fresh(t)
	load(t, r, filepath.Join("..", "testdata", "deliveries", "eight"))
	e := newEngine(t, r)
	e.Settings.GraceDays = 1
	_, err := e.Compute(t.Context())
	require.NoError(t, err)

	c, err := e.Curve(t.Context(), "worked", "seconds-to-effective-ventilation", 0)
	require.NoError(t, err)
	require.Len(t, c.Sides, 1)
	s := c.Sides[0]
	require.Equal(t, 6, s.Newborns)
	require.Equal(t, "1 of 6 by 30 s", s.Shares[0].Text)
	require.Equal(t, "3 of 6 by 60 s", s.Shares[1].Text)
	require.Equal(t, "3 of 6 by 120 s", s.Shares[2].Text)
	require.Equal(t, 1, s.Intervals, "F's whole minutes")
	got := map[string]int{}
	for _, x := range s.Ends {
		got[x.Code] = x.Newborns
	}
	require.Equal(t, map[string]int{"airway-attempt": 1, "compressions": 1, "stopped": 1}, got)

	p, err := e.Pathway(t.Context(), r, metrics.PathwayQuery{Unit: "worked", From: march, To: march, AsOf: 0, Facts: derive.Facts})
	require.NoError(t, err)
	require.Equal(t, 6, p.Group.Newborns, "G is ventilated later than 20 minutes after birth")
	require.Equal(t, 4, p.Group.Charted)
	require.Equal(t, 2, p.Group.AnyStep)
	require.Equal(t, 2, p.Group.Failed)
	require.Equal(t, 2, p.Group.FailedStep)
	require.Equal(t, []metrics.PathwayOrder{
		{Steps: []string{"head position with mask seal", "pressure raised"}, Text: "head position with mask seal, then pressure raised", Newborns: 1},
		{Steps: []string{"mask seal"}, Text: "mask seal", Newborns: 1},
	}, p.Orders)
	require.Equal(t, 1, p.Between.Gaps, "29 s between D's second and third step")
}
