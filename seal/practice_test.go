package seal_test

import (
	"testing"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/seal"
)

// clamp is the mean clamp of an M24×2 joint tightened with a setting tool, grease on the thread (friction class B).
func clamp(t *testing.T, torque float64) bolt.Distribution {
	t.Helper()
	th, err := bolt.ParseThread("M24x2")
	if err != nil {
		t.Fatal(err)
	}
	b, err := bolt.Friction("B")
	if err != nil {
		t.Fatal(err)
	}
	d, err := bolt.Scatter{Thread: th, Bearing: 0.029, Torque: torque, Tool: 0.04, MuThread: b.Mu, MuBearing: b.Mu}.Clamp()
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func pistonSet(t *testing.T, lips seal.Facing, materials ...string) seal.Stack {
	t.Helper()
	const hot = 318.15 // 45 °C, a pump at work
	s := seal.Stack{NutBelow: true, Slides: seal.Bore}
	add := func(kind seal.Kind, material string, h float64, f seal.Facing) {
		r, err := seal.NewRing(kind, material, 0.014, 0.030, h, f, hot)
		if err != nil {
			t.Fatal(err)
		}
		s.Rings = append(s.Rings, r)
	}
	add(seal.MaleGland, "steel", 0.006, seal.Flat)
	for i := range 4 {
		add(seal.VRing, materials[i%len(materials)], 0.004, lips)
	}
	add(seal.FemaleGland, "steel", 0.006, seal.Flat)
	return s
}

// Common practice, no published source: 37 N·m ± 4 on a piston valve joint sets the stack of a pump rated at about 3,300 psi
// so that it holds; at half the torque it does not, or has markedly less in hand; reversed lips do not hold. The stack
// (M24 joint, 14/30 mm) is made up to be plausible, so this checks the sense and the order of magnitude, no more.
func TestPistonTorqueCommonPractice(t *testing.T) {
	const rated = 22.75e6 // 3,300 psi
	run := func(s seal.Stack, torque float64) seal.Analysis {
		a, err := s.Analyse(seal.Duty{Load: clamp(t, torque).Mean, Above: rated, Speed: 0.2})
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	for _, materials := range [][]string{{"leather"}, {"leather", "uhmwpe"}, {"ptfe"}} {
		s := pistonSet(t, seal.Up, materials...)
		right, half := run(s, 37), run(s, 18.5)
		if !right.Holds || right.Margin < 1 {
			t.Errorf("%v at 37 N·m: margin %.2f, sealed by %d", materials, right.Margin, right.SealedBy)
		}
		// What the torque gives, whatever the material stands: half of it.
		free := pistonSet(t, seal.Up, materials...)
		for i := range free.Rings {
			free.Rings[i].Limit = 0
		}
		if full, less := run(free, 37).Margin, run(free, 18.5).Margin; less > 0.6*full {
			t.Errorf("%v at 18.5 N·m: margin %.2f, at 37 N·m %.2f", materials, less, full)
		}
		if half.Able > right.Able || half.Margin > 0.9*right.Margin {
			t.Errorf("%v at 18.5 N·m: margin %.2f, %d rings; at 37 N·m %.2f, %d rings", materials, half.Margin, half.Able, right.Margin, right.Able)
		}
		back := run(pistonSet(t, seal.Down, materials...), 37)
		if back.Holds || back.State != seal.Reversed {
			t.Errorf("%v reversed: holds %v, %s", materials, back.Holds, back.State)
		}
		t.Logf("%v: margin %.2f, %d rings at 37 N·m (%s); %.2f, %d at half (%s); %.2f reversed; drag %.0f/%.0f N, wear %.1f", materials,
			right.Margin, right.Able, right.State, half.Margin, half.Able, half.State, back.Margin, right.Drag.Up, right.Drag.Down, right.Drag.Wear)
	}
	leather := pistonSet(t, seal.Up, "leather")
	if a := run(leather, 18.5); a.Holds {
		t.Errorf("leather at half the torque holds with margin %.2f", a.Margin)
	}
	if a := run(leather, 33); !a.Holds {
		t.Errorf("leather at 37 − 4 N·m does not hold, margin %.2f", a.Margin)
	}
}

// Common practice, no published source: the two sets of a differential pump face each other, toward the pressure between
// them. Throat set: air above, upper chamber below; piston set: upper chamber above, lower chamber (never higher) below.
func TestLipsOfDifferentialPump(t *testing.T) {
	const p = 20e6
	throat, err := seal.Sets([][2]float64{{0, p}, {0, p}})
	if err != nil || len(throat) != 1 || throat[0] != seal.Down {
		t.Errorf("throat set %v, %v", throat, err)
	}
	piston, err := seal.Sets([][2]float64{{p, 0}, {p, p}})
	if err != nil || len(piston) != 1 || piston[0] != seal.Up {
		t.Errorf("piston set %v, %v", piston, err)
	}
}
