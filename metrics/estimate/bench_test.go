package estimate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"chestrise/metrics/estimate"
)

func benchEnds(n int) (ends []estimate.End, times []estimate.Time) {
	rng := rand.New(rand.NewPCG(1, 1))
	for range n {
		e := estimate.End{At: math.Round(rng.ExpFloat64() * 60), Cause: rng.IntN(3)}
		ends = append(ends, e)
		times = append(times, estimate.Time{At: e.At, Event: e.Cause == 1})
	}
	return ends, times
}

func bench(b *testing.B, f func() error) {
	b.Helper()
	for b.Loop() {
		if err := f(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkClopperPearson(b *testing.B) {
	bench(b, func() error { _, err := estimate.ClopperPearson(9, 14, 0.95); return err })
}

func BenchmarkKaplanMeier200(b *testing.B) {
	_, times := benchEnds(200)
	bench(b, func() error { _, err := estimate.KaplanMeier(times, 0.95, estimate.LogLog); return err })
}

func BenchmarkLogRank200(b *testing.B) {
	_, times := benchEnds(200)
	bench(b, func() error {
		_, err := estimate.LogRankTest([][]estimate.Time{times[:100], times[100:]}, 0)
		return err
	})
}

func BenchmarkGray200(b *testing.B) {
	ends, _ := benchEnds(200)
	bench(b, func() error { _, err := estimate.Gray(ends[:100], ends[100:], 1); return err })
}

func BenchmarkRankTest40(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 2))
	x, y := make([]float64, 40), make([]float64, 40)
	for i := range x {
		x[i], y[i] = rng.Float64(), rng.Float64()
	}
	bench(b, func() error { _, err := estimate.RankTest(x, y, 0.95, true); return err })
}

func BenchmarkFisher(b *testing.B) {
	bench(b, func() error {
		_, err := estimate.FisherTest(estimate.Table2{A: 31, B: 80, C: 55, D: 90}, 0.95)
		return err
	})
}
