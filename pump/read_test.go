package pump

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"go.yaml.in/yaml/v3"

	"github.com/evenstroke/evenstroke/sheet"
)

func TestReadDemo(t *testing.T) {
	p := demo(t, "orrin-30")
	for _, c := range []struct {
		what      string
		got, want float64
	}{ // by hand from the sheet: 0.021 in = 0.5334 mm, 0.12 mL/bar = 1.2e-12 m³/Pa
		{"bore", p.Bore, 0.030},
		{"rated", p.Limits.Rated, 16.4e6},
		{"expansion", p.Hose.Expansion, 1.2e-12},
		{"tip", p.Hose.Tip, 0.5334e-3},
		{"torque of the piston valve", p.Joints[0].Torque, 64},
		{"soak", p.Parts[13].Soak, 3600},
		{"minutes of a strip step", p.Limits.MinutesEach["strip"], 3},
		{"height of the throat stack", p.Stacks[0].Height(), 0.0271},
	} {
		if math.Abs(c.got-c.want) > 1e-9*c.want {
			t.Errorf("%s is %.10g, want %.10g", c.what, c.got, c.want)
		}
	}
	if !math.IsNaN(p.Parts[0].Wear[0].Max) {
		t.Errorf("the rod has no upper limit, got %g", p.Parts[0].Wear[0].Max)
	}
	if got := p.Stacks[1].Rings[1]; got.Kind != KindVRing || got.Material != "UHMWPE" {
		t.Errorf("a ring takes kind and material from its part, got %+v", got)
	}
}

// Lips that the sheet leaves out follow from the pressure map.
func TestReadFillsLips(t *testing.T) {
	p := demo(t, "tolsk-18")
	for _, st := range p.Stacks {
		want := map[string]string{"throat": "down", "piston": "up"}[st.Name]
		for i, r := range st.Rings {
			if r.Kind == KindVRing && r.Lips != want {
				t.Errorf("%s ring %d: lips %q, want %q", st.Name, i+1, r.Lips, want)
			}
			if r.Kind != KindVRing && r.Lips != "" {
				t.Errorf("%s ring %d: a %s with lips", st.Name, i+1, r.Kind)
			}
		}
	}
}

// A sheet written as JSON is the same pump.
func TestReadJSON(t *testing.T) {
	for _, name := range Demo() {
		data, err := DemoSheet(name)
		if err != nil {
			t.Fatal(err)
		}
		var v any
		if err := yaml.Unmarshal(data, &v); err != nil {
			t.Fatal(err)
		}
		text, err := json.MarshalIndent(v, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		p, err := Read(name+".yaml", text)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(demo(t, name), p, cmpopts.EquateNaNs()); d != "" {
			t.Errorf("%s (-YAML +JSON):\n%s", name, d)
		}
	}
}

func TestDemoSheetUnknown(t *testing.T) {
	if _, err := DemoSheet("../pump"); err == nil || !strings.Contains(err.Error(), "orrin-30, tolsk-18, varn-40") {
		t.Errorf("want an error that names the demo pumps, got %v", err)
	}
}

// bad is one wrong sheet: a demo sheet with pieces replaced. Pairs of old and new text.
type bad struct {
	name, sheet string
	edits       []string
}

func (b bad) text(t *testing.T) string {
	t.Helper()
	data, err := DemoSheet(b.sheet)
	if err != nil {
		t.Fatal(err)
	}
	text := string(data)
	for i := 0; i+1 < len(b.edits); i += 2 {
		if !strings.Contains(text, b.edits[i]) {
			t.Fatalf("%s: the sheet %s has no %q", b.name, b.sheet, b.edits[i])
		}
		text = strings.Replace(text, b.edits[i], b.edits[i+1], 1)
	}
	return text
}

// Every bad sheet gives exactly the error lines of testdata/bad.golden: file, line, key, found, expected, mend.
func TestReadBadSheets(t *testing.T) {
	var out strings.Builder
	for _, b := range badSheets {
		_, err := Read(b.sheet+".yaml", []byte(b.text(t)))
		if err == nil {
			t.Errorf("%s: no error", b.name)
			continue
		}
		for _, e := range sheet.List(err) {
			if e.Found == "" || e.Want == "" {
				t.Errorf("%s: an error without found or want: %v", b.name, e)
			}
		}
		fmt.Fprintf(&out, "# %s\n%s\n\n", b.name, err)
	}
	golden(t, "bad.golden", out.String())
}

func TestReadTooLarge(t *testing.T) {
	_, err := Read("big.yaml", []byte(strings.Repeat("#", sheet.MaxBytes+1)))
	want := "big.yaml: found 1048577 bytes; expected at most 1048576 bytes; is this the right file?"
	if err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

// A sheet says all that is wrong in one run.
func TestReadSaysAll(t *testing.T) {
	b := bad{"", "orrin-30", []string{"bore: 30 mm", "bore: 30", "stroke: 100 mm", "stroke: 100 bar", "moving_mass: 2.6 kg", "moving_mass: -1 kg"}}
	_, err := Read("x.yaml", []byte(b.text(t)))
	if n := len(sheet.List(err)); n != 3 {
		t.Errorf("want 3 errors, got %d: %v", n, err)
	}
}

func FuzzReadPump(f *testing.F) {
	for _, name := range Demo() {
		data, err := DemoSheet(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add([]byte("pump: 1\nname: x\nchambers: [{name: a, side: rod, dead_volume: 1 mL, open_to: line}]\n"))
	f.Add([]byte("pump: 1\norder: [{first: a, then: a, why: b}]\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Read("f.yaml", data)
		if err != nil {
			for _, e := range sheet.List(err) {
				if e.File != "f.yaml" || e.Found == "" || e.Want == "" {
					t.Fatalf("an error that says too little: %#v", e)
				}
			}
			if len(sheet.List(err)) == 0 {
				t.Fatalf("an error of another kind: %v", err)
			}
			return
		}
		// What Read lets through can be worked with.
		m := p.Map()
		if len(m.Dead) > 0 || len(m.Dry) > 0 {
			t.Fatalf("dead %v dry %v", m.Dead, m.Dry)
		}
		steps, err := p.Work(p.All(Replace))
		if err != nil {
			t.Fatalf("no order of work: %v", err)
		}
		if err := keepsOrder(steps); err != nil {
			t.Fatal(err)
		}
	})
}
