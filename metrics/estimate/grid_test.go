package estimate_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/metrics/estimate"
	"chestrise/testdata/reference"
)

func TestGridOfIntervals(t *testing.T) {
	pick := func(what string, i estimate.Interval) float64 {
		if what == "lower" {
			return i.Lower
		}
		return i.Upper
	}
	for family, f := range map[string]intervalOf{"clopper-pearson": estimate.ClopperPearson, "wilson": estimate.Wilson} {
		t.Run(family, func(t *testing.T) {
			for _, v := range reference.GridValues(t, family) {
				i := must[estimate.Interval](t)(f(int(v.Args[0]), int(v.Args[1]), v.Args[2]))
				v.Same(t, pick(v.What, i), 1e-10)
			}
		})
	}
	t.Run("garwood", func(t *testing.T) {
		for _, v := range reference.GridValues(t, "garwood") {
			v.Same(t, pick(v.What, must[estimate.Interval](t)(estimate.Garwood(int(v.Args[0]), v.Args[1]))), 1e-10)
		}
	})
}

func TestGridOfQuantiles(t *testing.T) {
	x := reference.GridColumns(t, "sample.csv")["value"]
	for _, v := range reference.GridValues(t, "quantile") {
		q, _, err := estimate.Quantile(x, v.Args[1], estimate.QuantileType(v.Args[0]))
		require.NoError(t, err)
		v.Same(t, q, 1e-12)
	}
}

// gridEnds reads the made-up times of one group of the grid.
func gridEnds(t *testing.T, group float64) []estimate.End {
	t.Helper()
	c := reference.GridColumns(t, "times.csv")
	var out []estimate.End
	for i, g := range c["group"] {
		if g == group {
			out = append(out, estimate.End{At: c["at"][i], Cause: int(c["cause"][i])})
		}
	}
	return out
}

func toEvent(ends []estimate.End, cause int) []estimate.Time {
	out := make([]estimate.Time, len(ends))
	for i, e := range ends {
		out[i] = estimate.Time{At: e.At, Event: e.Cause == cause}
	}
	return out
}

func TestGridOfKaplanMeier(t *testing.T) {
	for _, v := range reference.GridValues(t, "kaplan-meier") {
		scale := estimate.Log
		if len(v.What) > 7 && v.What[:7] == "log-log" {
			scale = estimate.LogLog
		}
		c := must[estimate.Curve](t)(estimate.KaplanMeier(toEvent(gridEnds(t, v.Args[0]), 1), 0.95, scale))
		st := estimate.Step{Survival: 1}
		for _, s := range c.Steps {
			if s.At <= v.Args[1] {
				st = s
			}
		}
		var got float64
		switch v.What {
		case "share":
			got = c.At(v.Args[1])
		case "se":
			got = st.StdErr
		case "log lower", "log-log lower":
			got = st.Limits.Lower
		default:
			got = st.Limits.Upper
		}
		v.Same(t, got, 1e-10)
	}
}

func TestGridOfCumulativeIncidence(t *testing.T) {
	for _, v := range reference.GridValues(t, "incidence") {
		c := must[estimate.Incidence](t)(estimate.CumulativeIncidence(gridEnds(t, v.Args[0]), int(v.Args[2]), 0.95))
		if v.What == "se" {
			// R's value is the covariance at this very time; ours stands at the last rise of
			// this cause, which is the same time or one before it at which only others ended.
			st := c.At(v.Args[1])
			if st.At == v.Args[1] {
				v.Same(t, st.StdErr, 1e-10)
			}
			continue
		}
		v.Same(t, c.At(v.Args[1]).Share, 1e-10)
	}
}

func TestGridOfLogRank(t *testing.T) {
	for _, v := range reference.GridValues(t, "log-rank") {
		groups, cause := []float64{v.Args[1], v.Args[2]}, int(v.Args[3])
		if v.What == "three groups" {
			groups, cause = []float64{1, 2, 3}, 1
		}
		var times [][]estimate.Time
		for _, g := range groups {
			times = append(times, toEvent(gridEnds(t, g), cause))
		}
		r := must[estimate.LogRank](t)(estimate.LogRankTest(times, v.Args[0]))
		switch v.What {
		case "observed":
			v.Same(t, r.Observed[0], 1e-10)
		case "expected":
			v.Same(t, r.Expected[0], 1e-10)
		default:
			v.Same(t, r.ChiSquared, 1e-9)
		}
	}
}

func TestGridOfRanksAndTables(t *testing.T) {
	c := reference.GridColumns(t, "pairs.csv")
	for _, v := range reference.GridValues(t, "ranks") {
		var x, y []float64
		for i, s := range c["set"] {
			if s != v.Args[0] {
				continue
			}
			if c["group"][i] == 1 {
				x = append(x, c["value"][i])
			} else {
				y = append(y, c["value"][i])
			}
		}
		r := must[estimate.MannWhitney](t)(estimate.RankTest(x, y, 0.95, true))
		require.True(t, r.Exact)
		got := map[string]float64{"w": r.W, "p": r.P, "greater": r.PGreater, "shift": r.Shift, "lower": r.ShiftCI.Lower, "upper": r.ShiftCI.Upper}[v.What]
		v.Same(t, got, 1e-9)
	}
	for _, v := range reference.GridValues(t, "table") {
		tab := estimate.Table2{A: int(v.Args[0]), B: int(v.Args[1]), C: int(v.Args[2]), D: int(v.Args[3])}
		counts := [][]int{{tab.A, tab.B}, {tab.C, tab.D}}
		f := must[estimate.Fisher](t)(estimate.FisherTest(tab, 0.95))
		got := map[string]float64{
			"fisher": f.TwoSided, "fisher greater": f.Greater,
			"pearson": must[estimate.ChiSquare](t)(estimate.PearsonTest(counts, false)).Value,
			"yates":   must[estimate.ChiSquare](t)(estimate.PearsonTest(counts, true)).Value,
		}[v.What]
		v.Same(t, got, 1e-9)
	}
}
