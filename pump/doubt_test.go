package pump

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/unit"
)

func joint(t *testing.T, p *Pump, name string) Joint {
	t.Helper()
	j, ok := p.Joint(name)
	if !ok {
		t.Fatalf("no joint %q", name)
	}
	return j
}

func kindsOf(ds []Doubt) []DoubtKind {
	var out []DoubtKind
	for _, d := range ds {
		out = append(out, d.Kind)
	}
	return out
}

// No demo pump asks of a joint or a set what it would not stand.
func TestDemoJointsStand(t *testing.T) {
	for _, name := range Demo() {
		for _, d := range demo(t, name).Overloads(Conditions{}) {
			t.Errorf("%s: %s", name, d.Text(unit.Metric()))
		}
	}
}

// What each change makes of a joint, and at which torque the next one begins.
func TestOverloads(t *testing.T) {
	for name, c := range map[string]struct {
		joint  string
		torque float64
		change func(p *Pump, j *Joint)
		want   []DoubtKind
	}{
		"as the sheet has it":                 {"piston valve", 64, nil, nil},
		"ten times the torque":                {"piston valve", 640, nil, []DoubtKind{DoubtOverload}},
		"no proof strength":                   {"piston valve", 640, func(_ *Pump, j *Joint) { j.Yield = 0 }, nil},
		"stands the wrench, not the fluid":    {"inlet housing", 135, func(_ *Pump, j *Joint) { j.Yield = 24.5e6 }, []DoubtKind{DoubtYield}},
		"stands the wrench and the fluid":     {"inlet housing", 135, func(_ *Pump, j *Joint) { j.Yield = 27.5e6 }, nil},
		"too weak at any torque":              {"inlet housing", 135, func(_ *Pump, j *Joint) { j.Yield = 8e6 }, []DoubtKind{DoubtWeak}},
		"too weak without a seal to shut":     {"throat nut", 22, func(_ *Pump, j *Joint) { j.Yield = 5e6 }, []DoubtKind{DoubtWeak}},
		"gapes":                               {"inlet housing", 60, nil, []DoubtKind{DoubtGape}},
		"crushes its rings":                   {"throat nut", 220, nil, []DoubtKind{DoubtOvertight}},
		"drags":                               {"throat nut", 44, nil, []DoubtKind{DoubtOvertight}},
		"does not seal":                       {"throat nut", 2, nil, []DoubtKind{DoubtLoose}},
		"rings not made for it":               {"throat nut", 22, func(p *Pump, _ *Joint) { p.Limits.Rated = 65e6 }, []DoubtKind{DoubtBeyond}},
		"both":                                {"throat nut", 220, func(_ *Pump, j *Joint) { j.Yield = 40e6 }, []DoubtKind{DoubtOverload, DoubtOvertight}},
		"presses a set at a shoulder":         {"piston valve", 64, func(p *Pump, _ *Joint) { p.Stacks[1].Shim += 1e-3 }, []DoubtKind{DoubtOvertight}},
		"leaves a set at a shoulder slack":    {"piston valve", 64, func(p *Pump, _ *Joint) { p.Stacks[1].Shim, p.Stacks[1].Depth = 0, 26.1e-3 }, []DoubtKind{DoubtLoose}},
		"a set that cannot be computed":       {"throat nut", 220, func(p *Pump, _ *Joint) { p.Stacks[0].Rings[1].Material = "cork" }, nil},
		"less than the drive could ever pull": {"cylinder", 0.01, nil, nil},
	} {
		p := demo(t, "orrin-30")
		j := joint(t, p, c.joint)
		if c.change != nil {
			c.change(p, &j)
		}
		ds := p.JointDoubts(j, c.torque, Conditions{})
		if got := kindsOf(ds); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
		for _, d := range ds {
			if !d.Kind.Overloads() || d.Joint != c.joint || d.Fix == "" || len(d.Figures) == 0 || strings.Contains(d.Text(unit.Metric()), "{") {
				t.Errorf("%s: a doubt that says too little: %+v", name, d)
			}
		}
	}
}

// 640 N·m instead of 64 on the piston valve, M16×1.5 of 450 MPa. By hand at the 95 % clamp: 10 times 35.0 kN is 350 kN; d0 = 14.593 mm,
// A = 167.25 mm², arm 1.5/2π + 0.12·15.026/2·1.1547 = 1.2798 mm, plastic Wp = 813.6 mm³: σ = 2093 MPa, τ = 550.6 MPa, together 2300 MPa.
func TestOverloadInNumbers(t *testing.T) {
	p := demo(t, "orrin-30")
	d := p.JointDoubts(joint(t, p, "piston valve"), 640, Conditions{})[0]
	if use := d.Figures[0].SI; math.Abs(use-2300.0/450) > 0.06 {
		t.Errorf("%.3f of the proof strength, want about 5.11", use)
	}
	if s := d.Text(unit.Metric()); !strings.Contains(s, "640 N·m on a thread M16x1.5") || !strings.Contains(s, "at most about 120 N·m") {
		t.Error(s)
	}
	// The bound that it names holds, and a little more does not.
	j := joint(t, p, "piston valve")
	b, err := p.Bolt(j)
	if err != nil {
		t.Fatal(err)
	}
	b.Tolerance = 0
	most := mostTorque(scaled(b, 10))
	for _, c := range []struct {
		torque float64
		want   int
	}{{0.997 * most, 0}, {1.003 * most, 1}} {
		if ds := p.JointDoubts(j, c.torque, Conditions{}); len(ds) != c.want {
			t.Errorf("%.1f N·m of %.1f: %v", c.torque, most, kindsOf(ds))
		}
	}
}

// The tolerance of the sheet counts where its own torque is judged: the worst joint that is still in.
func TestToleranceCounts(t *testing.T) {
	p := demo(t, "orrin-30")
	j := joint(t, p, "piston valve")
	j.Torque, j.Tol = 122, 0
	if ds := p.JointDoubts(j, 0, Conditions{}); len(ds) > 0 {
		t.Fatalf("without tolerance: %v", kindsOf(ds))
	}
	j.Tol = 30
	if ds := p.JointDoubts(j, 0, Conditions{}); len(ds) != 1 || ds[0].Kind != DoubtOverload {
		t.Errorf("± 30 N·m: %v", kindsOf(ds))
	}
}

// Areas by hand. The inlet housing holds a seal of 26 mm: 530.93 mm². The fluid below the throat set, 31.2/21.2 mm, pushes it against the
// nut above: 411.55 mm²; turned round it pushes away from it. The cylinder holds nothing that seals.
func TestPressed(t *testing.T) {
	p := demo(t, "orrin-30")
	for _, c := range []struct {
		joint  string
		change func()
		area   float64
		shut   bool
	}{
		{"inlet housing", nil, 530.93e-6, true},
		{"throat nut", nil, 411.55e-6, false},
		{"throat nut", func() { p.Stacks[0].FilledFrom = Bottom }, 0, false},
		{"cylinder", nil, 0, false},
	} {
		if c.change != nil {
			c.change()
		}
		area, shut := p.Pressed(joint(t, p, c.joint))
		if math.Abs(area-c.area) > 1e-5*c.area || shut != c.shut {
			t.Errorf("%s: %g m², shut %v; want %g, %v", c.joint, area, shut, c.area, c.shut)
		}
	}
	b, err := p.Bolt(joint(t, p, "inlet housing"))
	if err != nil || b.Pressure != p.Limits.Rated || math.Abs(b.SealDiameter-0.026) > 1e-12 {
		t.Errorf("%v: %g Pa on %g m", err, b.Pressure, b.SealDiameter)
	}
}

// A step that torques a joint carries its doubts, and a record of a torque within its tolerance is no departure unless the joint does not
// stand it.
func TestUnsoundJoints(t *testing.T) {
	p := demo(t, "orrin-30")
	p.Joints[0].Torque = 640
	chosen := p.All(Replace)
	steps, err := p.Work(chosen)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range steps {
		if want := s.ID == "torque piston valve"; (len(s.Doubts) > 0) != want {
			t.Errorf("%s: %v", s.ID, kindsOf(s.Doubts))
		}
	}
	b := asOrdered(t, p, chosen)
	d := only(t, departures(t, p, chosen, b), JointUnsound)
	if d.Step != "torque piston valve" || !strings.Contains(d.Text(unit.Metric()), "640 N·m on a thread M16x1.5") {
		t.Errorf("%+v", d)
	}
	find(b, "torque piston valve").Torque = 64
	only(t, departures(t, p, chosen, b), TorqueOff)
}

// 600 bar is what UHMWPE is rated for; a set whose preload seals less is worked out. Ratings say "or more".
func TestRatingsAreNoResults(t *testing.T) {
	p := demo(t, "orrin-30")
	for torque, rated := range map[float64]bool{22: true, 26: true, 14: false, 2: false} {
		a, err := p.StackUnder(p.Stacks[0], torque, Conditions{})
		if err != nil || a.Rated != rated || rated != (a.Capacity == 60e6) {
			t.Errorf("%g N·m: seals %g, a rating %v, %v", torque, a.Capacity, a.Rated, err)
		}
	}
	b := asOrdered(t, p, p.All(Replace))
	find(b, "torque throat nut").Torque = 18
	s := only(t, departures(t, p, p.All(Replace), b), TorqueOff).Text(unit.Metric())
	if !strings.Contains(s, "as built: 510 bar;") || !strings.Contains(s, "as the sheet has it: 600 bar or more;") || strings.Contains(s, "164 bar or more") || !strings.Contains(s, "clamp as built: 4200 N") {
		t.Error(s)
	}
}
