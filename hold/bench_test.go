package hold

import (
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/pump"
)

// Four observations each, next check included: the contract is 50 ms a sheet, 200 sheets a second on two cores in batches.
func BenchmarkStall(b *testing.B) {
	s := bench4()
	s.Readings = []Reading{timed(Creep, pump.Up, 20.7e6, 0.06, 14), still(pump.Down, 30), timed(Creep, pump.Up, 10e6, 0.06, 28), drops(3)}
	benchmark(b, differential(), s)
}

func BenchmarkLocked(b *testing.B) {
	s := bench4()
	s.Readings = []Reading{lockedReading(pump.Down, 20e6, 16e6, 12.6e6), lockedReading(pump.Up, 20e6, 16e6, 12.8e6), drops(3), timed(Restart, 0, 20e6, 0, 14)}
	benchmark(b, cranked(), s)
}

func BenchmarkNothingLeaks(b *testing.B) {
	s := bench4()
	s.Readings = []Reading{still(pump.Up, 60), still(pump.Down, 60), drops(0)}
	benchmark(b, differential(), s)
}

// A look at each kind of sheet: what a tablet waits for after a press.
func BenchmarkLook(b *testing.B) {
	for kind, c := range workload(b) {
		b.Run(kind, func(b *testing.B) { run(b, c.p, c.s, Live()) })
	}
}

func drops(n int) Reading {
	r := timed(Drips, 0, 20.7e6, 0, 60)
	r.Path, r.Count, r.Drop = "throat packing", n, defaultDrop
	return r
}

func lockedReading(d pump.Dir, p ...float64) Reading {
	r := timed(Locked, d, p[0], 0, 0)
	r.UPress = 1e5
	for i, x := range p {
		r.Points = append(r.Points, Point{20 * float64(i), x})
	}
	return r
}

func benchmark(b *testing.B, p *pump.Pump, s *Sheet) {
	b.Run("screen", func(b *testing.B) { run(b, p, s, Options{Next: true}) })
	b.Run("batch", func(b *testing.B) { run(b, p, s, Quick()) })
}

func run(b *testing.B, p *pump.Pump, s *Sheet, opt Options) {
	b.ReportAllocs()
	var draws, n float64
	for b.Loop() {
		r, err := Analyse(p, s, DefaultPrior(), opt)
		if err != nil {
			b.Fatal(err)
		}
		if math.IsNaN(r.Verdict.Meets) {
			b.Fatal("no verdict")
		}
		draws += float64(r.Draws)
		n++
	}
	b.ReportMetric(draws/n, "draws/op")
}
