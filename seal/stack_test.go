package seal

import (
	"errors"
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/num"
)

const room = 296.15 // K, 23 °C

func ring(t testing.TB, kind Kind, material string, h float64, lips Facing) Ring {
	t.Helper()
	r, err := NewRing(kind, material, 0.014, 0.030, h, lips, room)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// set is a piston set: glands of steel and four v-rings of the materials in turn, lips as given, nut below.
func set(t testing.TB, lips Facing, materials ...string) Stack {
	t.Helper()
	top, bottom := MaleGland, FemaleGland // lips up: the wedge lies above, the backs rest on the seat below
	if lips == Down {
		top, bottom = bottom, top
	}
	s := Stack{NutBelow: true, Slides: Bore, Clearance: 0.2e-3}
	s.Rings = append(s.Rings, ring(t, top, "steel", 0.006, Flat))
	for i := range 4 {
		s.Rings = append(s.Rings, ring(t, VRing, materials[i%len(materials)], 0.004, lips))
	}
	s.Rings = append(s.Rings, ring(t, bottom, "steel", 0.006, Flat))
	return s
}

func analyse(t testing.TB, s Stack, u Duty) Analysis {
	t.Helper()
	a, err := s.Analyse(u)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// Which ring seals, followed by hand: 20 MPa on flat-walled rings without friction, so that the axial stress is the same
// throughout. PTFE holds K/(1−K) = 5.75 times the stress, leather 1.5 times.
func TestSealingRing(t *testing.T) {
	s := set(t, Up, "leather", "ptfe")
	for i := range s.Rings {
		s.Rings[i].Inner.Mu, s.Rings[i].Outer.Mu = 0, 0
	}
	area := s.Rings[0].area()
	a := analyse(t, s, Duty{Load: 5e6 * area, Above: 20e6})
	// Leather (index 1) presses 3 + 12 = 15 MPa against 20 and lets through; PTFE (2) presses 4.26 + 17.04 = 21.3 and holds.
	if a.SealedBy != 2 || a.Rings[1].Seals || a.Rings[3].Pressure != 0 || a.From != Up {
		t.Fatalf("sealed by %d: %+v", a.SealedBy, a.Rings)
	}
	near := func(name string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9*math.Abs(want) {
			t.Errorf("%s = %g, want %g", name, got, want)
		}
	}
	k := 0.46 / 0.54
	near("contact of leather", a.Rings[1].Outer, 0.6*5e6+0.6*20e6)
	near("net of leather", a.Rings[1].NetOuter, -5e6)
	near("net of PTFE", a.Rings[2].NetInner, k*25e6-20e6)
	near("capacity", a.Capacity, 5e6*k/(1-k))
	near("margin", a.Margin, 5e6*k/(1-k)/20e6)
	near("load at the far end", a.FarLoad, 5e6*area)
	near("gap at PTFE", a.OuterPath.Gap, 1e-6*math.Exp(-(k*25e6-20e6)/5e6))
	near("lifted leather", a.Rings[1].GapInner, 1e-6+5e6*0.008/0.1e9)
	if a.Able != 2 {
		t.Errorf("%d rings could hold alone, want the two of PTFE", a.Able)
	}
	if a.OuterPath.Diameter != 0.030 || a.InnerPath.Diameter != 0.014 || a.OuterPath.Length != 0.004 {
		t.Errorf("paths %+v %+v", a.InnerPath, a.OuterPath)
	}
	// The same from the other side: every lip faces away, nothing spreads, no ring presses more than 20 MPa.
	b := analyse(t, s, Duty{Load: 5e6 * area, Below: 20e6})
	if b.Holds || b.SealedBy != -1 || b.State != Reversed || b.From != Down || b.Rings[1].Outer != 0 {
		t.Errorf("lips away: %+v", b)
	}
	near("capacity, lips away", b.Capacity, 5e6*k/1.2)
	// Only the difference counts.
	c := analyse(t, s, Duty{Load: 5e6 * area, Above: 23e6, Below: 3e6})
	near("net under common pressure", c.Rings[2].NetOuter, a.Rings[2].NetOuter)
}

func TestStates(t *testing.T) {
	for name, c := range map[string]struct {
		stack Stack
		duty  Duty
		want  State
	}{
		"sound":     {set(t, Up, "ptfe"), Duty{Load: 8e3, Above: 20e6}, Sound},
		"loose":     {set(t, Up, "leather"), Duty{Load: 3e3, Above: 20e6}, Loose},
		"no load":   {set(t, Up, "ptfe"), Duty{Above: 20e6}, Loose},
		"reversed":  {set(t, Down, "ptfe"), Duty{Load: 8e3, Above: 20e6}, Reversed},
		"crushed":   {set(t, Up, "ptfe"), Duty{Load: 30e3, Above: 20e6}, Overtight},
		"wears":     {set(t, Up, "uhmwpe"), Duty{Load: 20e3, Above: 4e6}, Overtight},
		"beyond":    {set(t, Up, "ptfe"), Duty{Load: 8e3, Above: 50e6}, Beyond},
		"at rest":   {set(t, Up, "ptfe"), Duty{Load: 8e3}, Sound},
		"rubber":    {set(t, Up, "nbr"), Duty{Load: 1e3, Above: 15e6}, Sound},
		"both ways": {both(t), Duty{Load: 8e3, Below: 20e6}, Sound},
	} {
		if a := analyse(t, c.stack, c.duty); a.State != c.want {
			t.Errorf("%s: %s, want %s (margin %.2f, wear %.2f)", name, a.State, c.want, a.Margin, a.Drag.Wear)
		}
	}
}

// A capacity that the material sets is a rating: of all more torque it says the same. One that the preload sets is worked out.
func TestRated(t *testing.T) {
	s := set(t, Up, "ptfe")
	for load, want := range map[float64]bool{8e3: true, 16e3: true, 1e3: false} {
		a := analyse(t, s, Duty{Load: load, Above: 20e6})
		if a.Rated != want || want != (a.Capacity == 45e6) {
			t.Errorf("%g N: seals %g, a rating %v", load, a.Capacity, a.Rated)
		}
	}
	// The rating of a weak ring is not that of the set when another ring seals more by its preload.
	s.Rings[1].Limit = 5e6
	if a := analyse(t, s, Duty{Load: 1e3, Above: 4e6}); a.Rated || !a.Rings[1].Rated {
		t.Errorf("seals %g, a rating %v; the weak ring %+v", a.Capacity, a.Rated, a.Rings[1])
	}
}

func TestBasis(t *testing.T) {
	s := set(t, Up, "leather")
	p, err := NewRing(VRing, "PTFE", 0.014, 0.030, 0.004, Up, 293.15)
	if err != nil {
		t.Fatal(err)
	}
	s.Rings = append(s.Rings, p, s.Rings[1])
	all, err := s.Basis(313.15)
	if err != nil || len(all) != 6 {
		t.Fatalf("%d constants, %v; want three each of leather and PTFE, none of the glands", len(all), err)
	}
	if b := all[0]; b.Material != "leather" || b.Constant != LateralConstant || b.Value != 0.6 || !b.Assumed || b.Source == "" {
		t.Errorf("%+v", b)
	}
	if b := all[3]; b.Material != "ptfe" || math.Abs(b.Value-0.4379/0.5621) > 2e-4 { // ν = 0.46 − 0.10·17/77 at 40 °C
		t.Errorf("%+v", b)
	}
	if _, err := s.Basis(500); err == nil {
		t.Error("500 K is beyond the table")
	}
	if !Warms(" PTFE") || Warms("leather") {
		t.Error("PTFE alone follows the temperature")
	}
}

// both is two opposed sets, lips facing away from each other.
func both(t testing.TB) Stack {
	s, d := set(t, Up, "ptfe"), set(t, Down, "ptfe")
	s.Rings = append(s.Rings, d.Rings...)
	return s
}

// NAVEDTRA 14105: a set seals one way only; pressure from both sides takes two sets with the lips facing away from each
// other, else pressure is trapped between them.
func TestOpposedSets(t *testing.T) {
	s := both(t)
	up, down := analyse(t, s, Duty{Load: 9e3, Above: 20e6}), analyse(t, s, Duty{Load: 9e3, Below: 20e6})
	if !up.Holds || !down.Holds || up.Traps {
		t.Errorf("opposed sets: above %v, below %v, traps %v", up.Holds, down.Holds, up.Traps)
	}
	if s.Rings[up.SealedBy].Lips != Up || s.Rings[down.SealedBy].Lips != Down {
		t.Errorf("sealed by rings %d and %d", up.SealedBy, down.SealedBy)
	}
	facing := set(t, Down, "ptfe")
	facing.Rings = append(facing.Rings, set(t, Up, "ptfe").Rings...)
	if a := analyse(t, facing, Duty{Load: 9e3, Above: 20e6}); !a.Traps {
		t.Error("sets that face each other in one stack do not count as a trap")
	}
	for _, c := range []struct {
		states [][2]float64
		want   []Facing
	}{
		{[][2]float64{{20e6, 0}, {20e6, 20e6}}, []Facing{Up}},
		{[][2]float64{{0, 20e6}}, []Facing{Down}},
		{[][2]float64{{0, 20e6}, {20e6, 0}}, []Facing{Up, Down}},
		{[][2]float64{{5, 5}}, nil},
	} {
		got, err := Sets(c.states)
		if err != nil || len(got) != len(c.want) {
			t.Fatalf("Sets(%v) = %v, %v", c.states, got, err)
		}
		for i := range got {
			if got[i] != c.want[i] {
				t.Errorf("Sets(%v) = %v, want %v", c.states, got, c.want)
			}
		}
	}
	if _, err := Sets([][2]float64{{math.NaN(), 0}}); err == nil {
		t.Error("a NaN pressure has a side")
	}
}

// An energising share of 1 or more makes a loose stack leak most at low pressure: the gap falls as pressure rises. With the
// elastic share K < 1 it is the other way about (package comment).
func TestLooseStackBothRegimes(t *testing.T) {
	s := set(t, Up, "ptfe")
	gap := func(p float64) float64 { return analyse(t, s, Duty{Load: 500, Above: p}).OuterPath.Gap }
	if !(gap(2e6) < gap(4e6) && gap(4e6) < gap(8e6)) {
		t.Errorf("share K: gaps %g %g %g", gap(2e6), gap(4e6), gap(8e6))
	}
	for i := range s.Rings {
		s.Rings[i].Share = 1.3
	}
	if !(gap(2e6) > gap(4e6) && gap(4e6) > gap(8e6)) {
		t.Errorf("share 1.3: gaps %g %g %g", gap(2e6), gap(4e6), gap(8e6))
	}
	if a := analyse(t, s, Duty{Load: 500, Above: 8e6}); !a.Holds || a.Capacity != 45e6 {
		t.Errorf("share 1.3: %+v", a)
	}
}

// Drag with pressure, by hand: one PTFE ring, no friction on the stem, σ from 10 MPa at the nut.
func TestDragByHand(t *testing.T) {
	s := set(t, Up, "ptfe")
	s.Rings = s.Rings[4:5]
	s.Rings[0].Inner.Mu = 0
	r := s.Rings[0]
	a := analyse(t, s, Duty{Load: 10e6 * r.area(), Above: 20e6, Speed: 0.2})
	k := r.Outer.K
	beta := 4 * 0.05 * k * 0.030 / (0.030*0.030 - 0.014*0.014)
	wall := math.Pi * 0.030 * 0.05
	lip := wall * 0.004 * k * 20e6
	// Nut below. Rod up: the bore moves down against the piston, toward the nut, and holds the ring back: stress decays.
	up := wall*k*10e6*(1-math.Exp(-beta*0.004))/beta + lip
	down := wall*k*10e6*(math.Exp(beta*0.004)-1)/beta + lip
	for _, c := range []struct{ got, want float64 }{
		{a.Drag.Up, up}, {a.Drag.Down, down}, {a.Drag.HeatUp, up * 0.2}, {a.Drag.HeatDown, down * 0.2},
	} {
		if math.Abs(c.got-c.want) > 1e-9*c.want {
			t.Errorf("drag %g, want %g", c.got, c.want)
		}
	}
	mean := a.Rings[0].Mean
	need := 20e6 / (k * mean / (1 - k))
	if want := (up + down) / (need*(up+down-2*lip) + 2*lip); math.Abs(a.Drag.Wear-want) > 1e-9*want {
		t.Errorf("wear index %g, want %g", a.Drag.Wear, want)
	}
	// Published band of lip friction: π·28·12 mm² at 0.05 and 20 MPa is 1055.6 N.
	b := Ring{Height: 0.012, ID: 0.028}
	if f := b.rub(Wall{Mu: 0.05}, 0.028, 20e6); math.Abs(f-1055.6) > 0.1 {
		t.Errorf("lip band %g N", f)
	}
}

func TestExtrusionBehindStack(t *testing.T) {
	open := set(t, Up, "ptfe")
	open.Rings = open.Rings[:5] // nothing behind the last v-ring
	for name, c := range map[string]struct {
		stack                    Stack
		p                        float64
		clearance                float64
		covered, backed, exceeds bool
	}{
		"gland behind":   {set(t, Up, "ptfe"), 20e6, 0.5e-3, true, true, false},
		"open, narrow":   {open, 20e6, 0.2e-3, true, false, false},
		"open, wide":     {open, 20e6, 0.3e-3, true, false, true}, // 0.010 in = 0.254 mm
		"above 3000 psi": {open, 21.5e6, 0.2e-3, false, false, false},
		"backed above":   {set(t, Up, "ptfe"), 21.5e6, 0.2e-3, false, true, false},
	} {
		c.stack.Clearance = c.clearance
		e := analyse(t, c.stack, Duty{Load: 9e3, Above: c.p}).Extrusion
		if e.Covered != c.covered || e.Backed != c.backed || e.Exceeds != c.exceeds {
			t.Errorf("%s: %+v", name, e)
		}
	}
}

// A stack on a shoulder: without friction its compliance is the sum of h/(E·A) and 1/rate; the load follows from the shims.
func TestShouldered(t *testing.T) {
	s := set(t, Up, "ptfe")
	for i := range s.Rings {
		s.Rings[i].Inner.Mu, s.Rings[i].Outer.Mu = 0, 0
	}
	spring, err := NewRing(Spring, "steel", 0.014, 0.030, 0.003, Flat, room)
	if err != nil {
		t.Fatal(err)
	}
	spring.Rate = 5e6
	s.Rings = append(s.Rings, spring)
	area := math.Pi / 4 * (0.030*0.030 - 0.014*0.014)
	want := 4*0.004/(0.5e9*area) + 2*0.006/(210e9*area) + 1/5e6
	c, err := s.Compliance()
	if err != nil || math.Abs(c-want) > 1e-12*want {
		t.Errorf("compliance %g, %v; want %g", c, err, want)
	}
	// free 31 mm; 0.5 mm of shims in a cavity of 31.2 mm: 0.3 mm
	x, err := s.Shouldered(0.0312, 0.0005)
	if err != nil || math.Abs(x.Free-0.031) > 1e-12 || math.Abs(x.Compression-0.0003) > 1e-12 || math.Abs(x.Load-0.0003/want) > 1e-6 {
		t.Errorf("%+v, %v", x, err)
	}
	if x, err = s.Shouldered(0.032, 0); err != nil || x.Load != 0 || x.Compression > -0.0009 {
		t.Errorf("a stack that rattles: %+v, %v", x, err)
	}
	var re *num.RangeError
	if _, err = s.Shouldered(0.020, 0); !errors.As(err, &re) {
		t.Errorf("compression by a third: %v", err)
	}
}

func TestStackErrors(t *testing.T) {
	good := Duty{Load: 8e3, Above: 20e6}
	for name, c := range map[string]struct {
		change func(*Stack)
		duty   Duty
	}{
		"no rings":      {func(s *Stack) { s.Rings = nil }, good},
		"no v-ring":     {func(s *Stack) { s.Rings = s.Rings[:1] }, good},
		"NaN load":      {func(*Stack) {}, Duty{Load: math.NaN()}},
		"pulled":        {func(*Stack) {}, Duty{Load: -1}},
		"inside out":    {func(s *Stack) { s.Rings[1].OD = 0.01 }, good},
		"no height":     {func(s *Stack) { s.Rings[1].Height = 0 }, good},
		"K above 1":     {func(s *Stack) { s.Rings[1].Inner.K = 1.1 }, good},
		"jams":          {func(s *Stack) { s.Rings[1].Inner.Mu, s.Rings[1].Height = 1, 0.5 }, good},
		"unknown kind":  {func(s *Stack) { s.Rings[1].Kind = "hat" }, good},
		"sideways lips": {func(s *Stack) { s.Rings[1].Lips = "left" }, good},
		"no such wall":  {func(s *Stack) { s.Slides = "floor" }, good},
		"weak spring":   {func(s *Stack) { s.Rings[0].Kind, s.Rings[0].Rate = Spring, 0 }, good},
		"soft as air":   {func(s *Stack) { s.Rings[1].Modulus = 0 }, good},
		"bad shore":     {func(s *Stack) { s.Shore = 50 }, good},
		"bad closure":   {func(s *Stack) { s.Closure.Rough = -1 }, good},
	} {
		s := set(t, Up, "ptfe")
		c.change(&s)
		_, err := s.Analyse(c.duty)
		var re *num.RangeError
		var ne *NameError
		if !errors.As(err, &re) && !errors.As(err, &ne) {
			t.Errorf("%s: %v, want a *num.RangeError or a *NameError", name, err)
		}
	}
}
