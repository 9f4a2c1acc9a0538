package metrics

import (
	"testing"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
)

// BenchmarkUnit builds the whole view of a unit over four years of full cells.
func BenchmarkUnit(b *testing.B) {
	e, m := engine(b, 48)
	for i := range 48 {
		for _, id := range []string{begun, anyStep, intubated, temperature} {
			for band := range uint8(7) {
				put(e, m, id, i, func(c *cell.Cell) { c.Band, c.Met, c.NotMet, c.Unknown = band+1, 4, 6, int32(i%3) })
			}
		}
		put(e, m, between, i, func(c *cell.Cell) { c.Births, c.NotMet, c.Items = 500, 499, []cell.Item{{Order: int32(1 + i*7%500)}} })
	}
	freeze(b, e)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := e.Unit(b.Context(), "u", begin+47, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCompute counts rows into cells; the figure is of one row and all measures.
func BenchmarkCompute(b *testing.B) {
	e, m := engine(b, 1)
	for i := range 1000 {
		m.rows = append(m.rows, row(0, i+1, record.Band37, "1.0010"))
	}
	scope := []cell.UnitMonth{{Unit: "u", Month: begin}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := e.ComputeFor(b.Context(), scope); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/1000, "ns/newborn")
}
