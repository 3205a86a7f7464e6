package hold

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

// differential is a force-held pump as a literal: invented, 30 mm bore, 21.2 mm rod, 100 mm stroke, rated 214 bar.
func differential() *pump.Pump {
	return &pump.Pump{
		Name: "test differential", Bore: 0.030, Rod: 0.0212, Stroke: 0.100,
		Chambers: []pump.Chamber{{Name: "upper", Rod: true, Dead: 15e-6, OpenTo: pump.Line}, {Name: "lower", Dead: 20e-6}},
		Valves:   []pump.Valve{{Name: "piston valve", From: "lower", To: "upper"}, {Name: "inlet valve", From: pump.Suction, To: "lower"}},
		Seals: []pump.Seal{
			{Name: "throat packing", Kind: pump.Packing, Between: [2]string{"upper", pump.Air}, On: "rod"},
			{Name: "piston packing", Kind: pump.Packing, Between: [2]string{"upper", "lower"}, On: "bore"},
			{Name: "inlet seat seal", Kind: pump.Static, Between: [2]string{"lower", pump.Suction}},
		},
		Outlets: []pump.Outlet{{Name: "drain valve", Kind: "drain", From: pump.Line, To: pump.Pail}, {Name: "outside", Kind: "fitting", From: pump.Line, To: pump.Air}},
		Drive:   pump.Drive{Kind: pump.ForceHeld, ForceUp: 8000, ForceDown: 8000, FreeSpeed: 0.5, Changeover: 0.06},
		Hose:    pump.Hose{Length: 15, Bore: 0.00635, Expansion: 1.5e-12, Fittings: 50e-6},
		Limits:  pump.Limits{Rated: 21.4e6, Hold: 20.7e6, StrokeTime: 60, HoldFor: 60},
	}
}

// cranked is the same arrangement driven by a crank.
func cranked() *pump.Pump {
	p := differential()
	p.Name, p.Bore, p.Rod, p.Stroke = "test crank", 0.018, 0.0127, 0.025
	p.Drive = pump.Drive{Kind: pump.Crank, Speed: 6, Stop: 20.7e6, Restart: 17e6, FreeSpeed: 0}
	return p
}

// fourValve pumps on both sides of the piston.
func fourValve() *pump.Pump {
	p := differential()
	p.Name = "test four-valve"
	p.Chambers = []pump.Chamber{{Name: "top", Rod: true, Dead: 15e-6}, {Name: "bottom", Dead: 20e-6}}
	p.Valves = []pump.Valve{
		{Name: "top inlet", From: pump.Suction, To: "top"}, {Name: "top outlet", From: "top", To: pump.Line},
		{Name: "bottom inlet", From: pump.Suction, To: "bottom"}, {Name: "bottom outlet", From: "bottom", To: pump.Line},
	}
	p.Seals = []pump.Seal{
		{Name: "throat packing", Kind: pump.Packing, Between: [2]string{"top", pump.Air}, On: "rod"},
		{Name: "piston packing", Kind: pump.Packing, Between: [2]string{"top", "bottom"}, On: "bore"},
	}
	return p
}

func timed(k Kind, d pump.Dir, p, travel, time float64) Reading {
	return Reading{Kind: k, Stroke: d, Pressure: p, UPress: 0.02 * p, Travel: travel, UTravel: 0.5e-3, Time: time, UTime: 0.3,
		TimeIt: k == Changeover || k == Creep && travel > 0, At: math.NaN(), Warmth: math.NaN(), Volume: math.NaN(), UpTime: math.NaN(), DownTime: math.NaN()}
}

func bench4() *Sheet {
	return &Sheet{Pump: "x", Stage: "as found", Fluid: FluidSpec{Kind: "water", Temperature: 293.15, Air: math.NaN()},
		Gauge: Gauge{Class: 0.016, Range: 40e6}, Stop: 0.3, Ruler: 0.5e-3}
}
