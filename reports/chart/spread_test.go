package chart

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestSpread(t *testing.T) {
	require.Equal(t, []float64{10, 20, 30}, spread([]float64{10, 20, 30}, 3, 0, 40), "nothing moves that need not")
	require.Equal(t, []float64{8.5, 11.5}, spread([]float64{10, 10}, 3, 0, 40), "both give way by the same")
	require.Equal(t, []float64{0, 3}, spread([]float64{0, 0}, 3, 0, 40), "not beyond the edge")
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.SliceOfN(rapid.Float64Range(-20, 120), 1, 9).Draw(t, "want")
		slices.Sort(want)
		got := spread(want, 4, 0, 100)
		for i, y := range got {
			require.GreaterOrEqual(t, y, -1e-9)
			require.LessOrEqual(t, y, 100+1e-9)
			if i > 0 {
				require.GreaterOrEqual(t, y-got[i-1], 4-1e-9)
			}
		}
	})
}

func TestScaleHoldsEverything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom([]Format{Plain, Percent, Seconds, Celsius, Births, Count}).Draw(t, "format")
		var m Model
		m.Y.Format = f
		for _, v := range rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), 1, 9).Draw(t, "v") {
			m.Points = append(m.Points, Point{Value: v, Has: true})
		}
		s := newScale(m, 60)
		for _, p := range m.Points {
			require.GreaterOrEqual(t, p.Value, s.min)
			require.LessOrEqual(t, p.Value, s.max)
		}
		require.NotEmpty(t, s.ticks)
		require.LessOrEqual(t, len(s.ticks), 9)
	})
}

func TestBoxCrosses(t *testing.T) {
	b := Box{10, 10, 10, 10}
	require.True(t, b.crosses(Pos{0, 15}, Pos{30, 15}))
	require.True(t, b.crosses(Pos{12, 12}, Pos{13, 13}), "inside")
	require.True(t, b.crosses(Pos{8, 14}, Pos{14, 8}), "over a corner")
	require.False(t, b.crosses(Pos{0, 5}, Pos{30, 5}))
	require.False(t, b.crosses(Pos{0, 15}, Pos{9, 15}), "ends before")
	require.False(t, b.crosses(Pos{5, 11}, Pos{11, 5}))
}
