package stroke

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

// Three invented pumps of a coatings workshop at the Aldersay ferry yard.

const mm, mm3 = 1e-3, 1e-9

// differential is a two-ball differential pump; the caller adds drive and line.
func differential(bore, rod, stroke float64) *pump.Pump {
	return &pump.Pump{
		Bore: bore, Rod: rod, Stroke: stroke, MovingMass: 1.5,
		Chambers: []pump.Chamber{
			{Name: "upper", Rod: true, Dead: 0.15 * bore * bore * stroke, OpenTo: pump.Line},
			{Name: "lower", Dead: 0.12 * bore * bore * stroke},
		},
		Valves: []pump.Valve{
			{Name: "inlet valve", From: pump.Suction, To: "lower", Ball: 0.55 * bore, Seat: 0.42 * bore, Lift: 0.11 * bore, Density: 7800},
			{Name: "piston valve", From: "lower", To: "upper", Ball: 0.42 * bore, Seat: 0.3 * bore, Lift: 0.09 * bore, Density: 7800, OnPiston: true},
		},
		Seals: []pump.Seal{
			{Name: "throat packings", Kind: pump.Packing, Between: [2]string{"upper", pump.Air}, On: "rod"},
			{Name: "piston packings", Kind: pump.Packing, Between: [2]string{"upper", "lower"}, On: "bore"},
			{Name: "inlet static seal", Kind: pump.Static, Between: [2]string{"lower", pump.Suction}, Size: bore},
		},
		Outlets: []pump.Outlet{
			{Name: "drain valve", Kind: "drain", From: pump.Line, To: pump.Pail},
			{Name: "outside", Kind: "fitting", From: pump.Line, To: pump.Air},
		},
		Limits: pump.Limits{Rated: 22e6, Hold: 20e6, StrokeTime: 60},
	}
}

// heldPump: force-held, bore 30, rod 21.2, stroke 100 mm.
func heldPump() *pump.Pump {
	p := differential(30*mm, 21.2*mm, 100*mm)
	p.Name = "Aldersay 30"
	p.Drive = pump.Drive{Kind: pump.ForceHeld, ForceUp: 7100, ForceDown: 7100, FreeSpeed: 0.6, Changeover: 0.04}
	p.Hose = pump.Hose{Length: 15, Bore: 6.35 * mm, Expansion: 4.5e-12, Fittings: 20e-6, Tip: 0.6 * mm, Segments: 3}
	return p
}

// crankPump: crank drive, bore 18, rod 12.7, stroke 25 mm, 400 strokes a minute.
func crankPump() *pump.Pump {
	p := differential(18*mm, 12.7*mm, 25*mm)
	p.Name = "Aldersay 18"
	p.Drive = pump.Drive{Kind: pump.Crank, Speed: 400.0 / 120, Stop: 21e6, Restart: 18e6}
	p.Hose = pump.Hose{Length: 15, Bore: 6.35 * mm, Expansion: 4.5e-12, Fittings: 15e-6, Tip: 0.43 * mm, Segments: 3}
	return p
}

// doublePump: four valves, double-acting, force-held.
func doublePump() *pump.Pump {
	bore, rod := 40*mm, 16*mm
	ball := func(name, from, to string) pump.Valve {
		return pump.Valve{Name: name, From: from, To: to, Ball: 16 * mm, Seat: 12 * mm, Lift: 3.5 * mm, Density: 7800}
	}
	return &pump.Pump{
		Name: "Aldersay 40 four-valve", Bore: bore, Rod: rod, Stroke: 80 * mm, MovingMass: 2,
		Chambers: []pump.Chamber{{Name: "upper", Rod: true, Dead: 20e-6}, {Name: "lower", Dead: 22e-6}},
		Valves: []pump.Valve{
			ball("upper inlet", pump.Suction, "upper"), ball("lower inlet", pump.Suction, "lower"),
			ball("upper outlet", "upper", pump.Line), ball("lower outlet", "lower", pump.Line),
		},
		Seals: []pump.Seal{
			{Name: "throat packings", Kind: pump.Packing, Between: [2]string{"upper", pump.Air}, On: "rod"},
			{Name: "piston seal", Kind: pump.Packing, Between: [2]string{"upper", "lower"}, On: "bore"},
		},
		Outlets: []pump.Outlet{{Name: "outside", Kind: "fitting", From: pump.Line, To: pump.Air}},
		Drive:   pump.Drive{Kind: pump.ForceHeld, ForceUp: 9000, ForceDown: 9000, FreeSpeed: 0.5, Changeover: 0.05},
		Hose:    pump.Hose{Length: 10, Bore: 9 * mm, Expansion: 5e-12, Fittings: 30e-6, Tip: 1 * mm, Segments: 2},
		Limits:  pump.Limits{Rated: 10e6, Hold: 8e6, StrokeTime: 60},
	}
}

func pumps() map[string]*pump.Pump {
	return map[string]*pump.Pump{"held": heldPump(), "crank": crankPump(), "double": doublePump()}
}

// oil is a light hydraulic oil with a little air.
var oil = Fluid{Density: 860, Viscosity: 0.05, Bulk: 1.6e9, Air: 0.005}

func near(a, b, rel float64) bool { return math.Abs(a-b) <= rel*math.Max(math.Abs(a), math.Abs(b)) }
