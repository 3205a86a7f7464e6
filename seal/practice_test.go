package seal

import (
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/internal/refcase"
)

// clamp is the mean clamp [N] of an M24×2 joint tightened with a setting tool, grease on the thread (friction class B).
func clamp(torque float64) (float64, error) {
	th, err := bolt.ParseThread("M24x2")
	if err != nil {
		return 0, err
	}
	b, err := bolt.Friction("B")
	if err != nil {
		return 0, err
	}
	d, err := bolt.Scatter{Thread: th, Bearing: 0.029, Torque: torque, Tool: 0.04, MuThread: b.Mu, MuBearing: b.Mu}.Clamp()
	return d.Mean, err
}

// pistonSet is four v-rings between glands, the materials by turns, on 14/30 mm, with the nut below.
func pistonSet(lips Facing, materials ...string) (Stack, error) {
	const hot = 318.15 // 45 °C, a pump at work
	s := Stack{NutBelow: true, Slides: Bore}
	var failed error
	add := func(kind Kind, material string, h float64, f Facing) {
		r, err := NewRing(kind, material, 0.014, 0.030, h, f, hot)
		if err != nil {
			failed = err
		}
		s.Rings = append(s.Rings, r)
	}
	add(MaleGland, "steel", 0.006, Flat)
	for i := range 4 {
		add(VRing, materials[i%len(materials)], 0.004, lips)
	}
	add(FemaleGland, "steel", 0.006, Flat)
	return s, failed
}

// nutCase says whether such a set seals: 1 or 0.
func nutCase(g refcase.Given) (refcase.Want, error) {
	lips := map[string]Facing{"up": Up, "down": Down}[g.Text("lips")]
	s, err := pistonSet(lips, strings.Split(g.Text("rings"), ", ")...)
	if err != nil {
		return nil, err
	}
	load, err := clamp(g.Num("M"))
	if err != nil {
		return nil, err
	}
	a, err := s.Analyse(Duty{Load: load, Above: g.Num("p"), Speed: 0.2})
	seals := 0.0
	if a.Holds {
		seals = 1
	}
	return refcase.Want{"seals": seals}, err
}

// Common practice, no published source: 37 N·m ± 4 on a piston valve joint sets the stack of a pump rated at about 3,300 psi
// so that it holds; at half the torque it does not, or has markedly less in hand. Whether it holds stands in testdata/ref/practice.ref;
// here is by how much.
func TestPistonTorqueCommonPractice(t *testing.T) {
	const rated, torque = 22.75e6, 37.0 // 3,300 psi
	run := func(torque float64, free bool, materials ...string) Analysis {
		load, err := clamp(torque)
		if err != nil {
			t.Fatal(err)
		}
		s, err := pistonSet(Up, materials...)
		if err != nil {
			t.Fatal(err)
		}
		for i := range s.Rings {
			if free {
				s.Rings[i].Limit = 0
			}
		}
		a, err := s.Analyse(Duty{Load: load, Above: rated, Speed: 0.2})
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	for _, materials := range [][]string{{"leather"}, {"leather", "uhmwpe"}, {"ptfe"}} {
		right, half := run(torque, false, materials...), run(torque/2, false, materials...)
		if !right.Holds || right.Margin < 1 {
			t.Errorf("%v: margin %.2f, sealed by %d", materials, right.Margin, right.SealedBy)
		}
		// What the torque gives, whatever the material stands: half of it.
		if full, less := run(torque, true, materials...).Margin, run(torque/2, true, materials...).Margin; less > 0.6*full {
			t.Errorf("%v: margin %.2f at half the torque, %.2f at the whole", materials, less, full)
		}
		if half.Able > right.Able || half.Margin > 0.9*right.Margin {
			t.Errorf("%v: margin %.2f, %d rings at half the torque; %.2f, %d rings at the whole", materials, half.Margin, half.Able, right.Margin, right.Able)
		}
	}
}

// Common practice, no published source: the two sets of a differential pump face each other, toward the pressure between
// them. Throat set: air above, upper chamber below; piston set: upper chamber above, lower chamber (never higher) below.
func TestLipsOfDifferentialPump(t *testing.T) {
	const p = 20e6
	throat, err := Sets([][2]float64{{0, p}, {0, p}})
	if err != nil || len(throat) != 1 || throat[0] != Down {
		t.Errorf("throat set %v, %v", throat, err)
	}
	piston, err := Sets([][2]float64{{p, 0}, {p, p}})
	if err != nil || len(piston) != 1 || piston[0] != Up {
		t.Errorf("piston set %v, %v", piston, err)
	}
}
