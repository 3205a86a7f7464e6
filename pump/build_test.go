package pump

import (
	"math"
	"os"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/sheet"
)

func TestReadBuild(t *testing.T) {
	data, err := os.ReadFile("testdata/orrin-30.build.yaml")
	if err != nil {
		t.Fatal(err)
	}
	b, err := ReadBuild("b.yaml", data)
	if err != nil {
		t.Fatal(err)
	}
	if b.Pump != "orrin-30" || len(b.Done) != 32 || len(b.Stacks) != 2 {
		t.Fatalf("pump %q, %d steps, %d stacks", b.Pump, len(b.Done), len(b.Stacks))
	}
	nut := *find(b, "torque throat nut")
	if nut.Step != "torque throat nut" || nut.Torque != 22 || !nut.Turned || math.Abs(nut.Angle-math.Pi/2) > 1e-12 || nut.Wrench != 0.3 {
		t.Errorf("got %+v", nut)
	}
	if b.Done[0].Soaked != 1200 {
		t.Errorf("soaked %g s, want 1200", b.Done[0].Soaked)
	}
	if b.Stacks[0].Shim != nil || b.Stacks[1].Shim == nil || *b.Stacks[1].Shim != 0 {
		t.Errorf("shims not recorded and shims of nothing are two things: %v %v", b.Stacks[0].Shim, b.Stacks[1].Shim)
	}
	if got := b.Stacks[0].Rings[1]; got != (BuiltRing{"throat leather ring", "up"}) {
		t.Errorf("got %+v", got)
	}
}

func TestReadBuildErrors(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"build: 1\npump: x\ndone: [{step: a, torque: 40}]", `b.yaml:3: done[1].torque: found "40" has no unit; expected a torque; write e.g. 40 N·m or 29.5 lbf·ft`},
		{"build: 1\npump: x\ndone: [{step: a, angle: 90 °}]", "b.yaml:3: done[1].angle: found an angle without an adapter; expected the length of the adapter beside it; add a line `adapter: …`"},
		{"build: 1\npump: x\ndone: [{step: a, torque: 40 N·m, adapter: 60 mm}]", "b.yaml:3: done[1].adapter: found an adapter without the length of the wrench; expected both lengths, or an adapter square to the wrench; add a line `wrench: …`, from the hand to the drive"},
		{"build: 1\npump: x\ndone: [{step: a, tool: II A}]", "b.yaml:3: done[1].tool: found a wrench without a torque; expected the torque that it showed; add a line `torque: …`"},
		{"build: 1\npump: x\ndone: [{step: a, torque: 9 N·m, tool: IX}]", `b.yaml:3: done[1].tool: found "IX"; expected a class of ISO 6789-1, I A to I E or II A to II G`},
		{"build: 1\npump: x\ndone: [{step: a, torque: 40 N·m, wrench: 50 mm, adapter: 60 mm, angle: 180 °}]", "b.yaml:3: done[1].wrench: found a wrench shorter than the adapter folded back on it; expected a longer wrench"},
		{"build: 1\npump: x\ndone: []\nstacks: [{name: a, rings: []}, {name: a, rings: []}]", `b.yaml:4: stacks[2].name: found the stack "a" a second time; expected each stack once`},
		{"build: 1\npump: x\ndone: []\nstacks: [{name: a, rings: [{part: b, lips: out}]}]", `b.yaml:4: stacks[1].rings[1].lips: found "out"; expected one of up, down`},
		{"build: 1\npump: x", "b.yaml:1: done: found nothing; expected a list of steps in the order in which they were done; add a line `done: …`"},
		{"build: 1\npump: x\ndone: [{step: hold, held: -3 s}]", `b.yaml:3: done[1].held: found "-3 s"; expected a time above 0, up to 24.0 h`},
	} {
		if _, err := ReadBuild("b.yaml", []byte(c.text)); err == nil || err.Error() != c.want {
			t.Errorf("%s:\n got %v\nwant %s", c.text, err, c.want)
		}
	}
}

// 44.44 on a 16 in wrench with 2 in of adapter in line is 50 at the joint, 20 on 12 in with 6 in is 30: instruction sheets of
// torque wrenches. Square to the wrench the adapter adds nothing.
func TestAtJoint(t *testing.T) {
	const in = 0.0254
	for _, c := range []struct{ read, wrench, adapter, angle, want float64 }{
		{44.44, 16 * in, 2 * in, 0, 50},
		{20, 12 * in, 6 * in, 0, 30},
		{22, 12 * in, 6 * in, math.Pi / 2, 22},
		{22, 0, 6 * in, math.Pi / 2, 22}, // whatever the length of the wrench
		{22, 0, 0, 0, 22},
	} {
		got, err := Done{Torque: c.read, Wrench: c.wrench, Adapter: c.adapter, Angle: c.angle}.AtJoint()
		if err != nil || math.Abs(got-c.want) > 2e-4*c.want {
			t.Errorf("%+v: got %g, %v", c, got, err)
		}
	}
}

// An adapter square to the wrench needs no length of it.
func TestSquareNeedsNoLength(t *testing.T) {
	for angle, want := range map[string]bool{"90 °": true, "89.9 °": false, "0 °": false} {
		_, err := ReadBuild("b.yaml", []byte("build: 1\npump: x\ndone: [{step: a, torque: 40 N·m, adapter: 60 mm, angle: "+angle+"}]"))
		if (err == nil) != want {
			t.Errorf("%s: %v", angle, err)
		}
	}
}

func FuzzReadBuild(f *testing.F) {
	data, err := os.ReadFile("testdata/orrin-30.build.yaml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte("build: 1\npump: orrin-30\ndone: [{step: hold, pressure: 160 bar, held: 3 min}]\nstacks: [{name: throat, rings: []}]"))
	f.Add([]byte("build: 1\npump: orrin-30\ndone: []\nstacks: [{name: piston, shim: 9 mm, rings: [{part: throat leather ring, lips: up}]}]"))
	p := demo(f, "orrin-30")
	f.Fuzz(func(t *testing.T, data []byte) {
		b, err := ReadBuild("f.yaml", data)
		if err != nil {
			if es := sheet.List(err); len(es) == 0 || es[0].Want == "" {
				t.Fatalf("an error that says too little: %v", err)
			}
			return
		}
		ds, err := p.Departures(p.All(Replace), b, Conditions{})
		if err != nil {
			return // of another pump, or of a stack that it does not have
		}
		for _, d := range ds {
			checkDeparture(t, d)
		}
	})
}

// checkDeparture fails unless a departure says what, found, wanted, and a finite number or why there is none.
func checkDeparture(t testing.TB, d Departure) {
	t.Helper()
	if d.Kind == "" || d.Found == "" || d.Want == "" || len(d.Figures) == 0 && d.NoFigure == "" {
		t.Errorf("a departure that says too little: %+v", d)
	}
	for _, f := range d.Figures {
		if math.IsNaN(f.SI) || math.IsInf(f.SI, 0) || f.What == "" || strings.Contains(f.What, "{") {
			t.Errorf("%s: figure %+v", d.Kind, f)
		}
	}
}
