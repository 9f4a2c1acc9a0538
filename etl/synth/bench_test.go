package synth

import "testing"

// BenchmarkMonth draws a month of the largest unit, whole and only those who
// were ventilated.
func BenchmarkMonth(b *testing.B) {
	s, err := Load(demo)
	if err != nil {
		b.Fatal(err)
	}
	for _, only := range []bool{false, true} {
		name := "whole"
		if only {
			name = "ventilated-only"
		}
		b.Run(name, func(b *testing.B) {
			g := NewGenerator(s, 0)
			g.VentilatedOnly = only
			b.ReportAllocs()
			for b.Loop() {
				g.Month("alder", g.from, 0)
			}
		})
	}
}
