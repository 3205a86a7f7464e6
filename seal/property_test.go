package seal

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func stacks() *rapid.Generator[Stack] {
	return rapid.Custom(func(t *rapid.T) Stack {
		d := rapid.Float64Range(0.008, 0.05).Draw(t, "d")
		D := d + 2*rapid.Float64Range(0.003, 0.012).Draw(t, "section")
		wall := func(name string) Wall {
			return Wall{rapid.Float64Range(0, 0.2).Draw(t, "μ"+name), rapid.Float64Range(0.3, 1).Draw(t, "K"+name)}
		}
		s := Stack{
			NutBelow: rapid.Bool().Draw(t, "nut below"), Slides: rapid.SampledFrom([]Surface{Rod, Bore, Static}).Draw(t, "slides"),
			Clearance: rapid.Float64Range(0, 1e-3).Draw(t, "clearance"),
		}
		kinds := []Kind{VRing, VRing, VRing, Backup, Wiper, FemaleGland, MaleGland, Spacer}
		for i := range rapid.IntRange(1, 8).Draw(t, "rings") {
			k := rapid.SampledFrom(kinds).Draw(t, "kind")
			if i == 0 {
				k = VRing
			}
			s.Rings = append(s.Rings, Ring{
				Kind: k, ID: d, OD: D, Height: rapid.Float64Range(0.002, 0.006).Draw(t, "h"),
				Lips: rapid.SampledFrom([]Facing{Up, Down, Flat}).Draw(t, "lips"), Inner: wall("i"), Outer: wall("o"),
				Share: rapid.SampledFrom([]float64{0, 0, 0.7, 1, 1.2}).Draw(t, "e"), Opening: rapid.Float64Range(0, 0.5).Draw(t, "o"),
				Modulus: rapid.Float64Range(1e7, 1e9).Draw(t, "E"), Limit: rapid.SampledFrom([]float64{0, 40e6}).Draw(t, "limit"),
			})
		}
		return s
	})
}

// Axial load in = axial load out + friction on both walls, ring by ring and over the stack; nothing is NaN; the pressure that
// a stack just holds is its capacity.
func TestStackProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := stacks().Draw(t, "stack")
		u := Duty{
			Load:  rapid.Float64Range(0, 30e3).Draw(t, "load"),
			Above: rapid.SampledFrom([]float64{0, 5e6, 22e6}).Draw(t, "above"), Below: rapid.SampledFrom([]float64{0, 22e6}).Draw(t, "below"),
			Speed: 0.3,
		}
		a, err := s.Analyse(u)
		if err != nil {
			t.Fatal(err)
		}
		walls := 0.0
		for i, r := range a.Rings {
			walls += r.ForceInner + r.ForceOuter
			area := s.Rings[i].area()
			if slack := r.Near*area - r.Far*area - r.ForceInner - r.ForceOuter; math.Abs(slack) > 1e-9*(u.Load+1) {
				t.Fatalf("ring %d: %g N are lost", i, slack)
			}
			for _, v := range []float64{r.Near, r.Far, r.Mean, r.Inner, r.Outer, r.Pressure, r.NetInner, r.NetOuter, r.Capacity, r.Use, r.GapInner, r.GapOuter} {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("ring %d: %+v", i, r)
				}
			}
		}
		if math.Abs(u.Load-a.FarLoad-walls) > 1e-9*(u.Load+1) {
			t.Fatalf("load %g in, %g out, %g to the walls", u.Load, a.FarLoad, walls)
		}
		if v := a.Drag.Up + a.Drag.Down + a.Drag.Wear + a.Margin; math.IsNaN(v) || math.IsInf(v, 0) || a.Drag.Up < 0 || a.Drag.Down < 0 {
			t.Fatalf("drag %+v, margin %g", a.Drag, a.Margin)
		}
		if a.Capacity > 1 && a.From != Flat {
			held := func(p float64) bool {
				v := Duty{Load: u.Load, Above: p}
				if a.From == Down {
					v = Duty{Load: u.Load, Below: p}
				}
				b, err := s.Analyse(v)
				if err != nil {
					t.Fatal(err)
				}
				return b.Holds
			}
			if !held(a.Capacity*0.999) || held(a.Capacity*1.001) {
				t.Fatalf("capacity %g: holds just below %v, just above %v", a.Capacity, held(a.Capacity*0.999), held(a.Capacity*1.001))
			}
		}
	})
}

// More load seals more; lengths k times and forces q times larger scale outputs by their dimension; no friction, no decay.
func TestStackScaling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := stacks().Draw(t, "stack")
		load := rapid.Float64Range(100, 30e3).Draw(t, "load")
		u := Duty{Load: load, Above: 22e6, Speed: 0.1}
		a, err := s.Analyse(u)
		if err != nil {
			t.Fatal(err)
		}
		more, err := s.Analyse(Duty{Load: load * 1.1, Above: 22e6})
		if err != nil || more.Capacity < a.Capacity {
			t.Fatalf("capacity fell from %g to %g with more load (%v)", a.Capacity, more.Capacity, err)
		}
		k, q := rapid.Float64Range(0.5, 2).Draw(t, "k"), rapid.Float64Range(0.5, 2).Draw(t, "q")
		c := DefaultClosure()
		big := Stack{NutBelow: s.NutBelow, Slides: s.Slides, Closure: Closure{c.Rough * k, c.Scale * q / (k * k)}}
		free := Stack{NutBelow: s.NutBelow, Slides: s.Slides}
		for _, r := range s.Rings {
			f := r
			f.Inner.Mu, f.Outer.Mu = 0, 0
			free.Rings = append(free.Rings, f)
			r.ID, r.OD, r.Height = r.ID*k, r.OD*k, r.Height*k
			r.Modulus, r.Limit = r.Modulus*q/(k*k), r.Limit*q/(k*k)
			big.Rings = append(big.Rings, r)
		}
		b, err := big.Analyse(Duty{Load: load * q, Above: 22e6 * q / (k * k), Speed: 0.1})
		if err != nil {
			t.Fatal(err)
		}
		round := 1e-12 * load * q // drag is a difference of forces of the size of the load: round-off of those
		near := func(name string, got, want float64) {
			if math.Abs(got-want) > 1e-9*math.Abs(want)+1e-300 && !(name == "drag" && math.Abs(got-want) < round) &&
				!(name == "wear" && math.Abs(got-want) < 1e-12) { // the same, over a force that just seals
				t.Fatalf("%s: %g, want %g", name, got, want)
			}
		}
		near("far load", b.FarLoad, q*a.FarLoad)
		near("drag", b.Drag.Up, q*a.Drag.Up)
		near("wear", b.Drag.Wear, a.Drag.Wear)
		near("gap", b.InnerPath.Gap, k*a.InnerPath.Gap)
		if a.Capacity < 1e9 && q/(k*k)*a.Capacity < 1e9 { // 1 GPa stands for "no limit"
			near("capacity", b.Capacity, q/(k*k)*a.Capacity)
		}
		d, err := free.Analyse(u)
		if err != nil {
			t.Fatal(err)
		}
		near("load through a frictionless stack", d.FarLoad, load)
		near("drag of a frictionless stack", d.Drag.Up, 0)
	})
}
