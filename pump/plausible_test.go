package pump

import (
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/unit"
)

func changed(t *testing.T, name string, pairs []string) (*Pump, error) {
	t.Helper()
	data, err := DemoSheet(name)
	if err != nil {
		t.Fatal(err)
	}
	text := string(data)
	for i := 0; i+1 < len(pairs); i += 2 {
		if !strings.Contains(text, pairs[i]) {
			t.Fatalf("the sheet of %s has no %q", name, pairs[i])
		}
		text = strings.Replace(text, pairs[i], pairs[i+1], 1)
	}
	return Read(name+".yaml", []byte(text))
}

func TestDemoSheetsAreNotDoubted(t *testing.T) {
	for _, name := range Demo() {
		for _, d := range demo(t, name).Doubts {
			t.Errorf("%s:%d: %s: %s", name, d.Line, d.Key, d.Text(unit.Metric()))
		}
	}
}

// A sheet that cannot be is refused, with the line of what is wrong and how to mend it.
func TestImpossibleSheets(t *testing.T) {
	for what, c := range map[string]struct {
		name, key string
		change    []string
	}{
		"a rating of ten times what the drive does": {"orrin-30", "limits.rated", []string{"rated: 164 bar", "rated: 1640 bar"}},
		"the same on a crank":                       {"tolsk-18", "limits.rated", []string{"rated: 3000 psi", "rated: 30000 psi"}},
		"a stroke quicker than the drive":           {"orrin-30", "limits.stroke_time", []string{"stroke_time: 60 s", "stroke_time: 60 ms"}},
		"the same on a crank, half a turn":          {"tolsk-18", "limits.stroke_time", []string{"stroke_time: 40 s", "stroke_time: 100 ms"}},
		"a ball twice the bore":                     {"orrin-30", "valves[2].ball", []string{"ball: 22 mm\n    seat: 16 mm", "ball: 60 mm\n    seat: 40 mm"}},
		"a ball of the piston as wide as the bore":  {"orrin-30", "valves[1].ball", []string{"ball: 14 mm\n    seat: 10 mm", "ball: 30 mm\n    seat: 20 mm"}},
		"a lift above the ball":                     {"orrin-30", "valves[1].lift", []string{"lift: 3.5 mm", "lift: 35 mm"}},
		"a tip wider than the hose":                 {"orrin-30", "hose.tip", []string{"tip: 0.021 in", "tip: 0.3 in"}},
		"litres of dead volume":                     {"orrin-30", "chambers[1].dead_volume", []string{"dead_volume: 9 mL", "dead_volume: 9 L"}},
	} {
		_, err := changed(t, c.name, c.change)
		es := sheet.List(err)
		if len(es) == 0 || es[0].Key != c.key || es[0].Line == 0 || es[0].Found == "" || es[0].Want == "" || es[0].Fix == "" {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// A sheet that can hardly be is read and doubted.
func TestDoubtfulSheets(t *testing.T) {
	for what, c := range map[string]struct {
		name, key string
		kind      DoubtKind
		change    []string
	}{
		"a rating above what the drive does": {"orrin-30", "limits.rated", DoubtDrive, []string{"rated: 164 bar", "rated: 250 bar"}},
		"a hold far below the rating":        {"orrin-30", "limits.hold", DoubtDrive, []string{"hold: 160 bar", "hold: 16 bar"}},
		"a creep limit of a second":          {"orrin-30", "limits.stroke_time", DoubtTime, []string{"stroke_time: 60 s", "stroke_time: 1 s"}},
		"a hold of a moment":                 {"orrin-30", "limits.hold_for", DoubtTime, []string{"hold_for: 120 s", "hold_for: 2 s"}},
		"a slow changeover":                  {"orrin-30", "drive.changeover", DoubtTime, []string{"changeover: 60 ms", "changeover: 6 s"}},
		"cheese":                             {"orrin-30", "parts[3].material", DoubtMaterial, []string{"material: stainless steel", "material: cheese"}},
		"a ring that cannot be computed":     {"orrin-30", "parts[14].material", DoubtMaterial, []string{"material: leather", "material: polyurethane"}},
		"a ball beside a narrower bore":      {"orrin-30", "valves[2].ball", DoubtSize, []string{"ball: 22 mm\n    seat: 16 mm", "ball: 32 mm\n    seat: 22 mm", "lift: 5 mm", "lift: 7 mm"}},
		"a narrow seat":                      {"orrin-30", "valves[1].seat", DoubtSize, []string{"seat: 10 mm", "seat: 1 mm"}},
		"a seat as wide as its ball":         {"orrin-30", "valves[1].seat", DoubtSize, []string{"seat: 10 mm", "seat: 13.9 mm"}},
		"a lift of a hair":                   {"orrin-30", "valves[1].lift", DoubtSize, []string{"lift: 3.5 mm", "lift: 0.035 mm"}},
		"a stroke of metres":                 {"orrin-30", "geometry.stroke", DoubtSize, []string{"stroke: 100 mm", "stroke: 1 m"}},
		"a large dead volume":                {"orrin-30", "chambers[1].dead_volume", DoubtSize, []string{"dead_volume: 9 mL", "dead_volume: 900 mL"}},
		"a hose of rubber band":              {"orrin-30", "hose.expansion", DoubtSize, []string{"expansion: 0.12 mL/bar", "expansion: 12 mL/bar"}},
		"a drain for a hose":                 {"orrin-30", "hose.bore", DoubtSize, []string{"bore: 6.4 mm", "bore: 64 mm"}},
		"a part of another rod":              {"orrin-30", "parts[1].wear", DoubtSize, []string{"new: 21.2 mm, min: 21.15 mm", "new: 22.2 mm, min: 22.15 mm"}},
		"a wear limit far off":               {"orrin-30", "parts[1].wear", DoubtSize, []string{"min: 21.15 mm", "min: 2.115 mm"}},
		"a face in inches":                   {"orrin-30", "joints[1].bearing_outer", DoubtSize, []string{"bearing_outer: 25 mm", "bearing_outer: 250 mm"}},
		"ten times the torque":               {"orrin-30", "joints[1].torque", DoubtOverload, []string{"torque: 64 N·m", "torque: 640 N·m"}},
		"a shim too many":                    {"orrin-30", "joints[1].torque", DoubtOvertight, []string{"shim: 0.3 mm", "shim: 1.5 mm"}},
	} {
		p, err := changed(t, c.name, c.change)
		if err != nil {
			t.Errorf("%s: %v", what, err)
			continue
		}
		found := false
		for _, d := range p.Doubts {
			found = found || d.Key == c.key && d.Kind == c.kind
			if d.Line == 0 || d.Fix == "" || strings.Contains(d.Text(unit.Imperial()), "{") {
				t.Errorf("%s: a doubt that says too little: %+v", what, d)
			}
		}
		if !found {
			t.Errorf("%s: not doubted at %s: %+v", what, c.key, p.Doubts)
		}
	}
}
