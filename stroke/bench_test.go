package stroke

import (
	"testing"

	"github.com/evenstroke/evenstroke/leak"
)

// The two problems of bench/peers.
func benchSetups() map[string]Setup {
	return map[string]Setup{
		"stall": {Pump: heldPump(), Fluid: oil, Mode: Stall, Duration: 120, Faults: []Fault{
			{Path: "piston packings", Leak: leak.Law{Lin: 20e6 / 8e-6}},
			{Path: "inlet valve", Leak: leak.Law{Quad: 20e6 / 25e-12}},
		}},
		"run": {Pump: heldPump(), Fluid: oil, Mode: Run, Duration: 60, Faults: []Fault{{Path: "inlet valve", Late: 0.05}}},
	}
}

// BenchmarkStall is 120 s of a leaking stall with 20 changeovers.
func BenchmarkStall(b *testing.B) { benchmark(b, "stall") }

// BenchmarkRun is 60 s of running, 91 strokes, with a late ball.
func BenchmarkRun(b *testing.B) { benchmark(b, "run") }

func benchmark(b *testing.B, name string) {
	s := benchSetups()[name]
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Simulate(s); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkDeriv and BenchmarkJac time one call in the mode with most states.
func BenchmarkDeriv(b *testing.B) {
	s := benchKernel(b)
	dy := make([]float64, s.k.lay.dim)
	for b.Loop() {
		s.k.Deriv(0.1, s.y, dy)
	}
}

func BenchmarkJac(b *testing.B) {
	s := benchKernel(b)
	jac := make([]float64, s.k.lay.dim*s.k.lay.dim)
	for b.Loop() {
		s.k.Jac(0.1, s.y, jac)
	}
}

func benchKernel(b *testing.B) *sim {
	set := benchSetups()["stall"]
	s, err := newSim(&set)
	if err != nil {
		b.Fatal(err)
	}
	for i := range s.k.balls {
		s.k.balls[i].mode, s.z[i] = free, 1e-3
	}
	s.x, s.v, s.k.rod = 0.05, 0.1, pushed
	s.enter()
	return s
}
