package stroke

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/num"
	"github.com/evenstroke/evenstroke/pump"
)

const fnSimulate = "stroke.Simulate"

// span is one number with the range it must lie in; open ends are excluded.
type span struct {
	name    string
	v       float64
	lo, hi  float64
	unit    string
	aboveLo bool // lo itself is refused
}

func checkSpans(spans []span) error {
	for _, s := range spans {
		if s.aboveLo && s.v == s.lo {
			return &num.RangeError{Func: fnSimulate, Name: s.name, Value: s.v, Unit: s.unit, Want: fmt.Sprintf("> %g", s.lo), Low: s.lo, High: s.hi, Above: true}
		}
		if err := num.CheckRange(fnSimulate, s.name, s.v, s.lo, s.hi, s.unit); err != nil {
			return err
		}
	}
	return nil
}

// check refuses a setup that cannot be simulated.
func (s *Setup) check() error {
	if s.Pump == nil {
		return &SetupError{"Pump", "found none; expected a pump"}
	}
	p, inf := s.Pump, math.Inf(1)
	if err := checkSpans([]span{
		{"Pump.Bore", p.Bore, 0, inf, "m", true},
		{"Pump.Rod", p.Rod, 0, p.Bore, "m", true},
		{"Pump.TailRod", p.TailRod, 0, p.Bore, "m", false},
		{"Pump.Stroke", p.Stroke, 0, inf, "m", true},
		{"Fluid.Density", s.Fluid.Density, 0, inf, "kg/m³", true},
		{"Fluid.Viscosity", s.Fluid.Viscosity, 0, inf, "Pa·s", true},
		{"Fluid.Bulk", s.Fluid.Bulk, 0, inf, "Pa", true},
		{"Fluid.Air", s.Fluid.Air, 0, 0.5, "1", false},
		{"Duration", s.Duration, 0, inf, "s", true},
		{"Sample", s.Sample, 0, inf, "s", false},
		{"RelTol", s.RelTol, 0, 1e-2, "1", false},
		{"X0", s.X0, 0, p.Stroke, "m", false},
		{"P0", s.P0, 0, inf, "Pa", false},
		{"Rebound", s.Rebound, 0, 0.9, "1", false},
		{"Suction", s.Suction, -atmosphere, inf, "Pa", true},
		{"Pump.Hose.Length", p.Hose.Length, 0, inf, "m", false},
		{"Pump.Hose.Bore", p.Hose.Bore, 0, inf, "m", p.Hose.Length > 0},
		{"Pump.Hose.Expansion", p.Hose.Expansion, 0, inf, "m³/Pa", false},
		{"Pump.Hose.Fittings", p.Hose.Fittings, 0, inf, "m³", false},
		{"Pump.Hose.Tip", p.Hose.Tip, 0, inf, "m", false},
		{"Pump.Hose.Segments", float64(p.Hose.Segments), 0, 50, "1", false},
	}); err != nil {
		return err
	}
	for _, f := range []func() error{s.checkSamples, s.checkParts, s.checkDrive, s.checkTip, s.checkFaults} {
		if err := f(); err != nil {
			return err
		}
	}
	return nil
}

// checkParts looks at chambers and valves.
func (s *Setup) checkParts() error {
	p, inf := s.Pump, math.Inf(1)
	if len(p.Chambers) == 0 || len(p.Valves) == 0 {
		return &SetupError{"Pump", "it needs at least one chamber and one valve"}
	}
	for _, c := range p.Chambers {
		if err := checkSpans([]span{{c.Name + ".Dead", c.Dead, 0, inf, "m³", c.OpenTo == ""}}); err != nil {
			return err
		}
		if c.OpenTo != "" && c.OpenTo != pump.Line {
			return &SetupError{"Pump", fmt.Sprintf("found the chamber %s open to %q; expected %q or nothing", c.Name, c.OpenTo, pump.Line)}
		}
	}
	for _, v := range p.Valves {
		if err := checkSpans([]span{
			{v.Name + ".Ball", v.Ball, 0, inf, "m", true},
			{v.Name + ".Seat", v.Seat, 0, v.Ball, "m", true},
			{v.Name + ".Lift", v.Lift, 0, inf, "m", true},
			{v.Name + ".Density", v.Density, s.Fluid.Density, inf, "kg/m³", true},
		}); err != nil {
			return err
		}
	}
	for _, name := range s.Vented {
		if c, ok := p.Chamber(name); !ok || c.OpenTo != "" {
			return &PathError{"Vented", name, closedChambers(p)}
		}
	}
	if len(s.Vented) > 0 && s.Mode != LockedHold {
		return &SetupError{"Vented", "only a locked hold can have a chamber open to the air"}
	}
	return nil
}

func closedChambers(p *pump.Pump) []string {
	var names []string
	for _, c := range p.Chambers {
		if c.OpenTo == "" {
			names = append(names, c.Name)
		}
	}
	return names
}

func (s *Setup) checkDrive() error {
	d, inf := s.Pump.Drive, math.Inf(1)
	if s.Mode < Stall || s.Mode > LockedHold {
		return &num.RangeError{Func: fnSimulate, Name: "Mode", Value: float64(s.Mode), Unit: "1", Want: "Stall, Run or LockedHold"}
	}
	if s.Start != 0 && s.Start != pump.Up && s.Start != pump.Down {
		return &num.RangeError{Func: fnSimulate, Name: "Start", Value: float64(s.Start), Unit: "1", Want: "Up, Down or 0"}
	}
	if s.Mode == LockedHold {
		if s.P0 == 0 && !s.Empty && !(s.Pump.Limits.Hold > 0) {
			return &SetupError{"P0", "it is needed, for the pump sheet has no hold pressure"}
		}
		return nil
	}
	switch d.Kind {
	case pump.ForceHeld:
		return checkSpans([]span{
			{"Drive.ForceUp", d.ForceUp, 0, inf, "N", true},
			{"Drive.ForceDown", d.ForceDown, 0, inf, "N", true},
			{"Drive.FreeSpeed", d.FreeSpeed, 0, inf, "m/s", true},
			{"Drive.Changeover", d.Changeover, 0, inf, "s", false},
			{"MovingMass", s.Pump.MovingMass, 0, inf, "kg", true},
		})
	case pump.Crank:
		return checkSpans([]span{
			{"Drive.Speed", d.Speed, 0, inf, "1/s", true},
			{"Drive.Stop", d.Stop, 0, inf, "Pa", true},
			{"Drive.Restart", d.Restart, 0, d.Stop, "Pa", true},
		})
	}
	return &SetupError{"Pump.Drive.Kind", fmt.Sprintf("found %q; expected %q or %q", d.Kind, pump.ForceHeld, pump.Crank)}
}

func (s *Setup) checkTip() error {
	if (len(s.Tip) > 0 || s.Mode == Run) && s.Pump.Hose.Tip == 0 {
		return &SetupError{"Pump.Hose.Tip", "found none; expected a tip, through which a run delivers"}
	}
	last := 0.0
	for _, t := range s.Tip {
		if err := checkSpans([]span{{"Tip.At", t.At, last, math.Inf(1), "s", false}}); err != nil {
			return err
		}
		last = t.At
	}
	return nil
}

// checkFaults looks at the faults, and at the friction given by name.
func (s *Setup) checkFaults() error {
	paths := map[string]pump.Path{}
	var names []string
	for _, p := range s.Pump.Map().Paths {
		paths[p.Name] = p
		names = append(names, p.Name)
	}
	for _, f := range s.Faults {
		p, ok := paths[f.Path]
		if !ok {
			return &PathError{"Faults", f.Path, names}
		}
		if err := s.checkFault(f, p); err != nil {
			return err
		}
	}
	if s.Friction == nil {
		return nil
	}
	for name, v := range s.Friction.PerPa {
		if _, ok := paths[name]; !ok {
			return &PathError{"Friction", name, names}
		}
		if err := checkSpans([]span{{"Friction.PerPa " + name, v, 0, math.Inf(1), "m²", false}}); err != nil {
			return err
		}
	}
	return checkSpans([]span{
		{"Friction.Steady", s.Friction.Steady, 0, math.Inf(1), "N", false},
		{"Friction.Viscous", s.Friction.Viscous, 0, math.Inf(1), "N·s/m", false},
	})
}

func (s *Setup) checkFault(f Fault, p pump.Path) error {
	inf := math.Inf(1)
	spans := []span{
		{f.Path + ".Reseat", f.Reseat, 0, 3, "1", false},
		{f.Path + ".Late", f.Late, 0, 10, "s", false},
	}
	for _, l := range flat(f.Leak) {
		switch l := l.(type) {
		case leak.Law:
			spans = append(spans, lawSpans(f.Path, l)...)
		case leak.Packing:
			spans = append(append(spans, lawSpans(f.Path, l.Rest)...), span{f.Path + ".Energise", l.Energise, 0, inf, "Pa", false})
			if l.Facing != leak.FacingPressure && l.Facing != leak.FacingAway {
				return &SetupError{"Faults", f.Path + ": the packing faces neither way"}
			}
		}
	}
	if f.Zone != nil {
		spans = append(spans, span{f.Path + ".Zone.Edge", f.Zone.Edge, 0, inf, "m", true},
			span{f.Path + ".Zone.To", f.Zone.To, f.Zone.From, inf, "m", true})
	}
	if err := checkSpans(spans); err != nil {
		return err
	}
	if p.Kind != pump.PathSeat && (f.Reseat > 0 || f.Late > 0) {
		return &SetupError{"Faults", fmt.Sprintf("%s is no ball valve: it neither reseats nor comes late", f.Path)}
	}
	if f.Reseat > 0 && s.Rand == nil {
		return &SetupError{"Rand", "a source of random numbers is needed for debris, which changes at each reseat"}
	}
	if len(f.Along) > 4 {
		return &SetupError{"Faults", fmt.Sprintf("%s: found %d terms of its course along the stroke; expected at most 4", f.Path, len(f.Along))}
	}
	for i := range 101 {
		if k := polynomial(f.Along, float64(i)/100); k < 0 {
			return &num.RangeError{Func: fnSimulate, Name: f.Path + ".Along", Value: k, Unit: "1", Want: ">= 0 along the whole stroke"}
		}
	}
	return nil
}

func lawSpans(path string, l leak.Law) []span {
	return []span{
		{path + ".Lin", l.Lin, 0, math.Inf(1), "Pa·s/m³", false},
		{path + ".Quad", l.Quad, 0, math.Inf(1), "Pa·s²/m⁶", false},
	}
}

// flat lists the single paths of a leak.
func flat(p leak.Path) []leak.Path {
	if p == nil {
		return nil
	}
	side, ok := p.(leak.Parallel)
	if !ok {
		return []leak.Path{p}
	}
	var all []leak.Path
	for _, one := range side {
		all = append(all, flat(one)...)
	}
	return all
}

// polynomial returns Σ c_i·u^i, 1 for no terms.
func polynomial(c []float64, u float64) float64 {
	if len(c) == 0 {
		return 1
	}
	v := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		v = v*u + c[i]
	}
	return v
}
