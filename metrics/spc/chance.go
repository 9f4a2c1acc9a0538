package spc

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Chance is what simulation says a chart signals while nothing changes.
type Chance struct {
	PerChart  float64 // mean number of signals over the whole chart
	Any       float64 // share of charts with at least one
	PerPoint  float64 // share of points that complete a signal
	StdErr    float64 // standard error of PerChart
	Simulated int
}

// FalseSignals simulates charts in which nothing changes and counts their signals,
// so that any rule set and kind can be asked, with the baseline stored or estimated
// as Plot would. draw makes one series; rng is its only source of chance, so the same
// seed gives the same answer. Fewer than one chart, or a series Plot refuses, is an
// error.
func FalseSignals(rng *rand.Rand, kind Kind, b *Baseline, o Options, charts int, draw func(*rand.Rand) Series) (Chance, error) {
	if charts < 1 {
		return Chance{}, fmt.Errorf("false signals: %d charts to simulate", charts)
	}
	counts := make([]float64, charts)
	var signalled, points, complete float64
	for i := range charts {
		c, err := Plot(kind, draw(rng), b, o)
		if err != nil {
			return Chance{}, err
		}
		counts[i] = float64(len(c.Signals))
		if counts[i] > 0 {
			signalled++
		}
		for _, p := range c.Points {
			points++
			if len(p.Signals) > 0 {
				complete++
			}
		}
	}
	out := Chance{
		PerChart: mean(counts), Any: signalled / float64(charts), PerPoint: 0,
		StdErr: stdDev(counts) / math.Sqrt(float64(charts)), Simulated: charts,
	}
	if points > 0 {
		out.PerPoint = complete / points
	}
	return out, nil
}
