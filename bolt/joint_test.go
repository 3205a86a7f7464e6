package bolt

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/num"
)

// joint is a piston joint of a made-up pump: hollow M24×2 stem, 52 N·m ± 5.
func joint(t testing.TB) Joint {
	t.Helper()
	th, err := ParseThread("M24x2")
	if err != nil {
		t.Fatal(err)
	}
	tool, err := NewTool("II A")
	if err != nil {
		t.Fatal(err)
	}
	tool.Min, tool.Max, tool.Step, tool.Length = 10, 60, 1, 0.30
	return Joint{
		Thread: th, Bore: 0.012, Proof: 450e6, BearingOuter: 0.032, BearingInner: 0.026, BearingLimit: 400e6,
		MuThread: Range{0.08, 0.16, Even}, MuBearing: Range{0.08, 0.16, Even},
		Torque: 52, Tolerance: 5, Tool: tool, Adapter: 0.05,
		Pressure: 16.4e6, SealDiameter: 0.014, BoltStiffness: 4e8, JointStiffness: 1e8,
	}
}

// The parts of an analysis, each worked by hand from its formula (numbers in the comments).
func TestJointAnalyse(t *testing.T) {
	a, err := joint(t).Analyse()
	if err != nil {
		t.Fatal(err)
	}
	near := func(name string, got, want, tol float64) {
		t.Helper()
		if !(math.Abs(got-want) <= tol) {
			t.Errorf("%s = %.7g, want %.7g ± %g", name, got, want, tol)
		}
	}
	near("exact setting", a.Wrench.Exact, 52*0.30/0.35, 1e-9) // 44.571 N·m
	near("setting", a.Wrench.Set, 45, 0)
	near("torque", a.Wrench.Torque, 45*0.35/0.30, 1e-9) // 52.5 N·m
	near("deviation", a.Wrench.Deviation, 0.04, 0)
	// arm = 2/2π + 0.12·22.701·0.57735 + 0.12·29/2 mm = 0.31831 + 1.57279 + 1.74 = 3.63110 mm... bearing mean is 29 mm
	arm := 0.318310e-3 + 0.12*22.700962e-3*0.5773503 + 0.12*0.029/2
	near("nominal clamp", a.Nominal, 45*0.35/0.30/arm, 0.05)
	near("separating", a.Pressed.Separating, 2524.6, 0.5) // 16.4 MPa on 153.938 mm²
	near("load factor", a.Pressed.LoadFactor, 0.8, 1e-12)
	near("safety", a.Pressed.Safety, a.Clamp.Q05/(0.2*2524.6), 1e-3)
	near("reading", a.Clamp.Budget[2].Std, 1/math.Sqrt(12)*0.35/0.30/arm, 1e-3) // one step of 1 N·m, through the adapter
	near("residual", a.Pressed.Residual, a.Clamp.Mean-0.2*2524.6, 0.5)
	near("balance", a.Pressed.BoltForce-(a.Clamp.Q95-0.2*a.Pressed.Separating), a.Pressed.Separating, 1e-6)
	near("turn", a.TurnAngle, 2*math.Pi*a.Clamp.Mean*(1/4e8+1/1e8)/0.002, 1e-9)
	// Section by hand: d0 = (22.700962+21.546261)/2 = 22.123612 mm, A = π/4·(22.123612² − 12²) = 271.3191 mm²; torsion of the clamp
	// with 0.12 in the thread: arm 0.318310 + 0.12·22.700962·0.5773503 = 1.891079 mm; elastic Wp = π/16·(d0⁴−12⁴)/d0 = 1942.136 mm³,
	// plastic π/12·(d0³−12³) = 2382.504 mm³.
	const area, arm1, elastic, plastic = 271.3191e-6, 1.891079e-3, 1942.136e-9, 2382.504e-9
	tension, half := a.Pressed.BoltForce/area, a.Clamp.Q95*arm1/elastic/2
	near("working stress", a.Working, math.Sqrt(tension*tension+3*half*half), 3e-6*a.Working)
	near("load on the thread", a.Loaded, a.Working/450e6, 1e-12)
	whole := a.Clamp.Q95 * arm1 / plastic
	near("stress", a.Stress, math.Sqrt(math.Pow(a.Clamp.Q95/area, 2)+3*whole*whole), 3e-6*a.Stress)
	near("utilisation", a.Utilisation, a.Stress/450e6, 1e-12)
	// 90 % of 450 MPa at the lowest friction of the thread, 0.08: arm 1.366823 mm, τ/σ = arm·A/Wp.
	shear := 1.366823e-3 * area / plastic
	near("preload at 90 %", a.Preload90, 0.9*450e6*area/math.Sqrt(1+3*shear*shear), 3e-6*a.Preload90)
	near("bearing", a.Bearing, a.Pressed.BoltForce/(math.Pi/4*(32*32-26*26)*1e-6), 1)
	if !a.Wrench.Within || !a.Pressed.Holds || a.Yields || a.Crushes {
		t.Errorf("a sound joint is judged %+v", a)
	}
}

func TestJointVerdicts(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Joint)
		bad    func(Analysis) bool
	}{
		"gapes":  {func(j *Joint) { j.SealDiameter = 0.080 }, func(a Analysis) bool { return !a.Pressed.Holds && a.Pressed.Safety < 1 }},
		"yields": {func(j *Joint) { j.Proof = 20e6 }, func(a Analysis) bool { return a.Yields && a.Utilisation > 1 && a.Loaded > 1 }},
		"yields while it is tightened, not under load": {func(j *Joint) { j.Pressure, j.Proof = 0, 71.5e6 },
			func(a Analysis) bool { return a.Yields && a.Utilisation > 1 && a.Loaded < 1 }},
		"yields under pressure only": {func(j *Joint) { j.Pressure, j.SealDiameter, j.Proof = 40e6, 0.025, 110e6 },
			func(a Analysis) bool { return a.Yields && a.Utilisation < 1 && a.Loaded > 1 }},
		// 126.2 MPa of tension, 127.2 MPa with half the torsion: the tension alone would pass.
		"yields by its torsion": {func(j *Joint) { j.Pressure, j.SealDiameter, j.Proof = 40e6, 0.025, 126.7e6 },
			func(a Analysis) bool {
				return a.Yields && a.Utilisation < 1 && a.Pressed.BoltForce/271.3191e-6 < 126.7e6
			}},
		"crushes":        {func(j *Joint) { j.BearingLimit = 10e6 }, func(a Analysis) bool { return a.Crushes }},
		"off the target": {func(j *Joint) { j.Tolerance, j.Tool.Step = 0.1, 5 }, func(a Analysis) bool { return !a.Wrench.Within }},
		"no pressure": {func(j *Joint) { j.Pressure = 0 }, func(a Analysis) bool {
			return a.Pressed.Separating == 0 && a.Pressed.Residual == a.Clamp.Mean && a.Pressed.Safety == 0
		}},
		"stiffness not known": {func(j *Joint) { j.BoltStiffness, j.JointStiffness = 0, 0 }, func(a Analysis) bool {
			p := a.Pressed
			return !p.Known && p.Residual == a.Clamp.Mean-p.Separating && p.BoltForce == a.Clamp.Q95+p.Separating && a.TurnAngle == 0
		}},
	} {
		j := joint(t)
		c.change(&j)
		a, err := j.Analyse()
		if err != nil || !c.bad(a) {
			t.Errorf("%s: %v, %+v", name, err, a)
		}
	}
	for name, change := range map[string]func(*Joint){
		"no torque":         func(j *Joint) { j.Torque = 0 },
		"below the scale":   func(j *Joint) { j.Torque = 5 },
		"above the scale":   func(j *Joint) { j.Torque = 90 },
		"one stiffness":     func(j *Joint) { j.BoltStiffness = 0 },
		"bore too large":    func(j *Joint) { j.Bore = 0.022 },
		"no wrench length":  func(j *Joint) { j.Tool.Length = 0 },
		"no seal diameter":  func(j *Joint) { j.SealDiameter = 0 },
		"face inside out":   func(j *Joint) { j.BearingOuter = 0.02 },
		"friction reversed": func(j *Joint) { j.MuThread.Lo = 0.3 },
		"NaN pressure":      func(j *Joint) { j.Pressure = math.NaN() },
	} {
		j := joint(t)
		change(&j)
		_, err := j.Analyse()
		var re *num.RangeError
		if !errors.As(err, &re) {
			t.Errorf("%s: %v, want a *num.RangeError", name, err)
		}
	}
}

func BenchmarkAnalyse(b *testing.B) {
	j := joint(b)
	for b.Loop() {
		if _, err := j.Analyse(); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleParseThread() {
	t, _ := ParseThread("M10x1.5")
	fmt.Printf("%s  d2 %.3f mm  D1 %.3f mm  As %.1f mm²\n", t.Name, t.PitchDiameter()*1e3, t.NutMinor()*1e3, t.StressArea()*1e6)
	// Output: M10×1.5  d2 9.026 mm  D1 8.376 mm  As 58.0 mm²
}
