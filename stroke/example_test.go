package stroke_test

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/stroke"
)

// A stall with a leak of 2 mL/s past the piston: only the upstroke creeps, at leak over area.
func ExampleSimulate() {
	const mm = 1e-3
	p := &pump.Pump{
		Bore: 30 * mm, Rod: 21.2 * mm, Stroke: 100 * mm, MovingMass: 1.5,
		Chambers: []pump.Chamber{{Name: "upper", Rod: true, Dead: 13e-6, OpenTo: pump.Line}, {Name: "lower", Dead: 11e-6}},
		Valves: []pump.Valve{
			{Name: "inlet valve", From: pump.Suction, To: "lower", Ball: 16 * mm, Seat: 12 * mm, Lift: 3 * mm, Density: 7800},
			{Name: "piston valve", From: "lower", To: "upper", Ball: 12 * mm, Seat: 9 * mm, Lift: 3 * mm, Density: 7800, OnPiston: true},
		},
		Drive: pump.Drive{Kind: pump.ForceHeld, ForceUp: 7100, ForceDown: 7100, FreeSpeed: 0.6, Changeover: 0.04},
		Hose:  pump.Hose{Length: 15, Bore: 6.35 * mm, Expansion: 4.5e-12, Fittings: 20e-6},
	}
	tr, err := stroke.Simulate(stroke.Setup{
		Pump: p, Fluid: stroke.Fluid{Density: 860, Viscosity: 0.05, Bulk: 1.6e9}, Mode: stroke.Stall, X0: 10 * mm,
		Duration: 12, Sample: 1,
		Faults: []stroke.Fault{{Path: "piston valve", Leak: leak.Law{Lin: 20e6 / 2e-6}}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	v := tr.V[10]
	line := tr.P[pump.Line][10]
	area := p.Map().Creep[pump.Up]
	fmt.Printf("creep %.2f mm/s, leak over area %.2f mm/s\n", v/mm, 2e-6*line/20e6/area/(1+line/1.6e9)/mm)
	fmt.Println("line near 20 MPa:", math.Abs(line-20e6) < 0.5e6)
	// Output:
	// creep 5.55 mm/s, leak over area 5.55 mm/s
	// line near 20 MPa: true
}
