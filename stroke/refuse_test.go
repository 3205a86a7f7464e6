package stroke

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/num"
	"github.com/evenstroke/evenstroke/pump"
)

// with changes a good setup.
func with(change func(*Setup)) Setup {
	s := runSetup(heldPump())
	change(&s)
	return s
}

// leaky sets one fault.
func leaky(f Fault) Setup { return with(func(s *Setup) { s.Faults = []Fault{f} }) }

// TestRefusesNumbers: a number out of range is refused with its name.
func TestRefusesNumbers(t *testing.T) {
	for name, s := range map[string]Setup{
		"Duration":         with(func(s *Setup) { s.Duration = 0 }),
		"X0":               with(func(s *Setup) { s.X0 = 0.2 }),
		"Fluid.Bulk":       with(func(s *Setup) { s.Fluid.Bulk = math.NaN() }),
		"Fluid.Viscosity":  with(func(s *Setup) { s.Fluid.Viscosity = 0 }),
		"Sample":           with(func(s *Setup) { s.Sample = 1e-9 }),
		"RelTol":           with(func(s *Setup) { s.RelTol = 0.5 }),
		"Start":            with(func(s *Setup) { s.Start = 3 }),
		"Mode":             with(func(s *Setup) { s.Mode = 9 }),
		"Drive.FreeSpeed":  with(func(s *Setup) { s.Pump.Drive.FreeSpeed = 0 }),
		"Pump.Rod":         with(func(s *Setup) { s.Pump.Rod = 0.05 }),
		"lower.Dead":       with(func(s *Setup) { s.Pump.Chambers[1].Dead = 0 }),
		"inlet valve.Seat": with(func(s *Setup) { s.Pump.Valves[0].Seat = 0.1 }),
		"Tip.At":           with(func(s *Setup) { s.Tip = []Turn{{2, true}, {1, false}} }),
		"outside.Lin":      leaky(Fault{Path: "outside", Leak: leak.Law{Lin: -1}}),
		"outside.Quad":     leaky(Fault{Path: "outside", Leak: leak.Parallel{leak.Law{Lin: 1, Quad: math.Inf(1)}}}),
		"outside.Energise": leaky(Fault{Path: "outside", Leak: leak.Packing{Rest: leak.Law{Lin: 1}, Energise: -1, Facing: leak.FacingAway}}),
		"inlet valve.Late": leaky(Fault{Path: "inlet valve", Late: -1}),
		"outside.Zone.To":  leaky(Fault{Path: "outside", Leak: leak.Law{Lin: 1e13}, Zone: &Zone{From: 2, To: 1, Edge: 0.1}}),
		"outside.Along":    leaky(Fault{Path: "outside", Leak: leak.Law{Lin: 1e13}, Along: []float64{0.5, -1}}),
	} {
		_, err := Simulate(s)
		var re *num.RangeError
		if !errors.As(err, &re) || re.Name != name {
			t.Errorf("%s: got %v", name, err)
		}
	}
}

// TestRefusesNames: a name that the pump does not have is refused, with those that it has.
func TestRefusesNames(t *testing.T) {
	for i, s := range []Setup{
		leaky(Fault{Path: "side door"}),
		with(func(s *Setup) { s.Friction = &Friction{PerPa: map[string]float64{"side door": 1}} }),
		with(func(s *Setup) { s.Mode, s.P0, s.Vented = LockedHold, 1e6, []string{"upper"} }),
	} {
		_, err := Simulate(s)
		var pe *PathError
		if !errors.As(err, &pe) || len(pe.Have) == 0 || !strings.Contains(err.Error(), pe.Have[0]) {
			t.Errorf("bad name %d: got %v", i, err)
		}
	}
}

// TestRefusesSetups: parts that do not go together are refused.
func TestRefusesSetups(t *testing.T) {
	law := leak.Law{Lin: 1e13}
	for i, s := range []Setup{
		with(func(s *Setup) { s.Pump = nil }),
		with(func(s *Setup) { s.Pump.Chambers = nil }),
		with(func(s *Setup) { s.Pump.Chambers[0].OpenTo = "cellar" }),
		with(func(s *Setup) { s.Pump.Hose.Tip = 0 }),
		with(func(s *Setup) { s.Vented = []string{"lower"} }),
		with(func(s *Setup) { s.Pump.Drive.Kind = "steam" }),
		with(func(s *Setup) { s.Mode, s.Pump.Limits.Hold = LockedHold, 0 }),
		leaky(Fault{Path: "outside", Late: 1}),
		leaky(Fault{Path: "inlet valve", Leak: law, Reseat: 1}),
		leaky(Fault{Path: "outside", Leak: law, Along: make([]float64, 5)}),
		leaky(Fault{Path: "outside", Leak: leak.Packing{Rest: law}}),
		with(func(s *Setup) {
			for range 70 {
				s.Faults = append(s.Faults, Fault{Path: "outside", Leak: law})
			}
		}),
	} {
		_, err := Simulate(s)
		var se *SetupError
		if !errors.As(err, &se) || !strings.Contains(err.Error(), se.Why) {
			t.Errorf("bad setup %d: got %v", i, err)
		}
	}
}

// TestTables: the tables list every part once, and refuse what they do not cover.
func TestTables(t *testing.T) {
	s := benchSetups()["stall"]
	s.Sample = 0.1
	var buf bytes.Buffer
	if err := WriteTables(&buf, s); err != nil {
		t.Fatal(err)
	}
	rows := map[string]int{}
	for _, line := range strings.Split(strings.TrimSpace(buf.String()), "\n") {
		rows[strings.Fields(line)[0]]++
	}
	for name, n := range map[string]int{"node": 5, "branch": 6, "ball": 2, "slot": 4, "rub": 2, "cap": 1, "run": 1} {
		if rows[name] != n {
			t.Errorf("%d rows %s, want %d", rows[name], name, n)
		}
	}
	for i, s := range []Setup{
		with(func(s *Setup) { s.Pump = crankPump() }),
		with(func(s *Setup) { s.Mode = LockedHold }),
		with(func(s *Setup) { s.Tip = []Turn{{1, true}} }),
		leaky(Fault{Path: "outside", Leak: leak.Law{Lin: 1e13}, Along: []float64{1, 1}}),
		leaky(Fault{Path: "outside", Leak: leak.Packing{Rest: leak.Law{Lin: 1e13}, Facing: leak.FacingAway}}),
	} {
		var se *SetupError
		if err := WriteTables(&buf, s); !errors.As(err, &se) {
			t.Errorf("uncovered setup %d: got %v", i, err)
		}
	}
	if err := WriteTables(brokenWriter{}, benchSetups()["run"]); !errors.Is(err, errBroken) {
		t.Errorf("broken writer: got %v", err)
	}
}

var errBroken = errors.New("broken")

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, errBroken }

// TestStartStates: every way to start settles without an error, at both ends of the stroke and without pressure.
func TestStartStates(t *testing.T) {
	for name, p := range pumps() {
		for _, d := range pump.Dirs {
			for _, x0 := range []float64{0, p.Stroke / 3, p.Stroke} {
				for _, empty := range []bool{false, true} {
					for _, mode := range []Mode{Stall, Run} {
						s := Setup{Pump: p, Fluid: oil, Mode: mode, Start: d, X0: x0, Empty: empty, Duration: 1, Sample: 0.1}
						tr := simulate(t, s)
						if empty && tr.P[pump.Line][0] != 0 || last(tr.X) < -1e-6 || last(tr.X) > p.Stroke+1e-6 {
							t.Errorf("%s %v x0 %g: line starts at %g, rod ends at %g", name, d, x0, tr.P[pump.Line][0], last(tr.X))
						}
					}
				}
			}
		}
	}
}
