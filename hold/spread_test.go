package hold

import (
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/pump"
)

// workload is sheets of each kind: one leak that the readings pin down, several, none, on a stall and with the rod locked.
func workload(t testing.TB) map[string]struct {
	p *pump.Pump
	s *Sheet
} {
	demo := func(name string) *pump.Pump {
		p, err := pump.DemoPump(name)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	with := func(r ...Reading) *Sheet {
		s := bench4()
		s.Readings = r
		return s
	}
	locked := func(restart, five, fifteen float64) *Sheet {
		return with(timed(Restart, 0, 20e6, 0, restart), lockedReading(pump.Down, 20e6, five, fifteen))
	}
	return map[string]struct {
		p *pump.Pump
		s *Sheet
	}{
		"stall, one leak":         {demo("orrin-30"), with(timed(Creep, pump.Up, 16e6, 0.06, 14.2), timed(Still, pump.Down, 16e6, 0.5e-3, 30))},
		"stall, a small leak":     {demo("orrin-30"), with(timed(Creep, pump.Up, 16e6, 0.009, 30), timed(Still, pump.Down, 16e6, 0.5e-3, 30))},
		"stall, nothing":          {differential(), with(still(pump.Up, 60), still(pump.Down, 60), drops(0))},
		"stall, several leaks":    {differential(), with(timed(Creep, pump.Up, 20.7e6, 0.06, 14), timed(Creep, pump.Down, 20.7e6, 0.02, 14), drops(30))},
		"stall, four valves":      {fourValve(), with(timed(Creep, pump.Up, 15e6, 0.03, 20), timed(Creep, pump.Down, 15e6, 0.01, 20))},
		"stall, many paths":       {demo("varn-40"), with(timed(Creep, pump.Up, 15e6, 0.045, 15), still(pump.Down, 30))},
		"locked, falls fast":      {demo("tolsk-18"), locked(6.5, 17.5e6, 13e6)},
		"locked, falls slowly":    {demo("tolsk-18"), locked(30, 19.5e6, 18.6e6)},
		"locked, both strokes":    {cranked(), with(lockedReading(pump.Down, 20e6, 16e6, 12.6e6), lockedReading(pump.Up, 20e6, 16e6, 12.8e6), drops(3))},
		"stall, at two pressures": {differential(), with(timed(Creep, pump.Up, 20.7e6, 0.06, 14), still(pump.Down, 30), timed(Creep, pump.Up, 10e6, 0.06, 28), drops(3))},
	}
}

// The answer does not hang on the seed: over many seeds the probabilities of the paths spread by no more than the stated Monte Carlo error
// allows for, with the draws of a verdict and with those of a look.
func TestSpreadOverSeeds(t *testing.T) {
	const seeds = 12
	for name, opt := range map[string]Options{"verdict": {}, "look": Live()} {
		for kind, c := range workload(t) {
			n := len(c.p.Map().Paths)
			sum, square, stated := make([]float64, n+1), make([]float64, n+1), 0.0
			for seed := range uint64(seeds) {
				opt.Seed = seed + 1
				r, err := Analyse(c.p, c.s, DefaultPrior(), opt)
				if err != nil {
					t.Fatal(kind, err)
				}
				stated += r.StdErr / seeds
				for j, p := range r.Paths {
					sum[j] += p.P
					square[j] += p.P * p.P
				}
				sum[n] += r.Verdict.Meets
				square[n] += sq(r.Verdict.Meets)
			}
			var most float64
			for j := range sum {
				most = math.Max(most, math.Sqrt(math.Max(0, square[j]/seeds-sq(sum[j]/seeds))*seeds/(seeds-1)))
			}
			t.Logf("%s, %s: spread %.4f, stated %.4f", name, kind, most, stated)
			if most > 3*stated+0.005 {
				t.Errorf("%s, %s: a probability spreads by %.3f over seeds, with a stated error of %.3f", name, kind, most, stated)
			}
		}
	}
}
