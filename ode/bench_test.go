package ode

import "testing"

// Whole runs at relative tolerance 1e-6. No allocation: the work space
// belongs to the Solver.
func benchmark(b *testing.B, name string) {
	for _, p := range stiffSet() {
		if p.name != name {
			continue
		}
		s, err := New(p.sys, p.options(1e-6))
		if err != nil {
			b.Fatal(err)
		}
		y := make([]float64, len(p.y0))
		var steps int
		b.ReportAllocs()
		for b.Loop() {
			copy(y, p.y0)
			st, err := s.Run(0, y, p.end, nil)
			if err != nil {
				b.Fatal(err)
			}
			steps += st.Steps + st.Rejected
		}
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(steps), "ns/step")
		b.ReportMetric(float64(steps)/float64(b.N), "steps")
	}
}

func BenchmarkRobertson(b *testing.B)  { benchmark(b, "Robertson") }
func BenchmarkHIRES(b *testing.B)      { benchmark(b, "HIRES") }
func BenchmarkVanDerPol(b *testing.B)  { benchmark(b, "VanDerPol") }
func BenchmarkOregonator(b *testing.B) { benchmark(b, "Oregonator") }
