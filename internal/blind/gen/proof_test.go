package gen

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/evenstroke/evenstroke/pump"
)

// allows is what the sheets of the demo pumps allow at each place [drops of 0.05 mL a minute], read off the sheets; one where they say none.
var allows = map[string]map[pump.Place]float64{
	"orrin-30": {pump.AtThroat: 10, pump.ToOutside: 1, pump.ToPail: 1},
	"varn-40":  {pump.AtThroat: 20, pump.ToOutside: 1, pump.ToPail: 1},
	"tolsk-18": {pump.AtThroat: 5, pump.ToOutside: 1, pump.ToPail: 1},
}

// A sound path never leaks out more than its sheet allows, and uses what is allowed; a path that leaks more fails the pump, whatever it is
// called.
func TestTruthKeepsTheSheet(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for name, most := range allows {
		s := setup(t, name, map[bool]string{true: "locked both", false: "changeovers"}[name == "tolsk-18"])
		top := map[pump.Place]float64{}
		var w world
		for range 2000 {
			drawWorld(rng, &w, s.r, s.Fluid, s.Temperature, &s.Prior, 0, nil, s.Gauge)
			for j, q := range s.r.paths {
				if place := q.Place(); place != "" {
					top[place] = math.Max(top[place], w.q[j]*60/0.05e-6)
				}
			}
		}
		for place, n := range most {
			if top[place] > n*(1+1e-9) {
				t.Errorf("%s: a sound path lets %.3g drops a minute out at the %s, where %g are allowed", name, top[place], place, n)
			}
		}
		if top[pump.AtThroat] < 0.9*most[pump.AtThroat] {
			t.Errorf("%s: of 2000 sound throats none weeps more than %.3g drops a minute", name, top[pump.AtThroat])
		}
		for j, q := range s.r.paths {
			n, visible := most[q.Place()]
			if !visible {
				continue
			}
			for _, over := range []float64{0.9, 1.1} {
				calm := perfect(s)
				if calm.q[j] = over * n * 0.05e-6 / 60; calm.meets() != (over < 1) {
					t.Errorf("%s: %g of what may leak at the %s: meets is %v", name, over, q.Name, calm.meets())
				}
			}
		}
	}
}

// A plan that proves a pump holds both strokes, or the locked rod, at the hold pressure for as long as the sheet asks, and looks at every path that
// leads out; what was not seen is written down as none.
func TestProofsProve(t *testing.T) {
	all, err := Setups()
	if err != nil {
		t.Fatal(err)
	}
	proofs := 0
	for _, s := range all {
		if s.Stage != AsLeft {
			continue
		}
		proofs++
		rng := rand.New(rand.NewPCG(uint64(proofs), 3))
		short, strokes, looked, none := 0, map[pump.Dir]int{}, map[string]int{}, 0
		const n = 30
		for range n {
			var w world
			drawWorld(rng, &w, s.r, s.Fluid, s.Temperature, &s.Prior, 0, nil, s.Gauge)
			for _, r := range s.take(rng, &w, 0) {
				switch r.Kind {
				case "drips":
					looked[r.Path]++
					if r.Count == 0 {
						none++
					}
				case "locked", "restart":
				default:
					strokes[r.Stroke]++
					if r.Pressure < 0.95*s.r.p.Limits.Hold {
						short++
					}
				}
			}
		}
		force := s.r.p.Drive.Kind == pump.ForceHeld
		if force && (strokes[pump.Up] != n || strokes[pump.Down] != n || short > 2) {
			t.Errorf("%s: held %v of %d, %d of them below the hold pressure", s.Name(), strokes, n, short)
		}
		if s.Plan == "proof, nobody looked" {
			continue
		}
		for _, q := range s.r.paths {
			if q.Visible && looked[q.Name] != n {
				t.Errorf("%s: looked at the %s %d times of %d", s.Name(), q.Name, looked[q.Name], n)
			}
		}
		if none < n {
			t.Errorf("%s: only %d looks that saw nothing", s.Name(), none)
		}
	}
	if proofs < 9 {
		t.Errorf("%d plans of a proof", proofs)
	}
}
