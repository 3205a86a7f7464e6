package pump

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func pathNamed(t *testing.T, m Map, name string) Path {
	t.Helper()
	for _, q := range m.Paths {
		if q.Name == name {
			return q
		}
	}
	t.Fatalf("no path %q", name)
	return Path{}
}

// Which leak shows on which stroke of a differential pump: package doc of the job, table of leak paths (common practice). up and
// down are +1 when it leaks that way, 0 when it is not under pressure.
func TestMapDifferential(t *testing.T) {
	for _, name := range []string{"orrin-30", "tolsk-18"} {
		m := demo(t, name).Map()
		for _, c := range []struct {
			path, from, to string
			up, down       int
			visible        bool
		}{
			{"throat packing", "upper", Air, 1, 1, true},
			{"piston packing", "upper", "lower", 1, 0, false},
			{"piston valve", "upper", "lower", 1, 0, false},
			{"inlet valve", "lower", Suction, 0, 1, false},
			{"inlet seat seal", "lower", Suction, 0, 1, false},
			{"drain valve", Line, Pail, 1, 1, true},
			{"outside", Line, Air, 1, 1, true},
		} {
			q := pathNamed(t, m, c.path)
			if q.From != c.from || q.To != c.to || q.Shows[Up] != c.up || q.Shows[Down] != c.down || q.Visible != c.visible {
				t.Errorf("%s: %+v, want %+v", name, q, c)
			}
			if q.Both() != (c.up != 0 && c.down != 0) {
				t.Errorf("%s: %s: Both is %v", name, c.path, q.Both())
			}
		}
		if len(m.Paths) != 7 {
			t.Errorf("%s has %d paths, want 7", name, len(m.Paths))
		}
	}
}

// Throat lips down, piston lips up, the two sets facing each other: common practice for differential pumps, no published source.
// Two opposed sets facing away from each other where pressure comes from both sides: NAVEDTRA 14105, Fluid Power, V-packings.
func TestLips(t *testing.T) {
	for _, c := range []struct {
		pump, seal string
		want       []Facing
	}{
		{"orrin-30", "throat packing", []Facing{{"upper", "down"}}},
		{"orrin-30", "piston packing", []Facing{{"upper", "up"}}},
		{"tolsk-18", "throat packing", []Facing{{"upper", "down"}}},
		{"tolsk-18", "piston packing", []Facing{{"upper", "up"}}},
		{"varn-40", "throat packing", []Facing{{"rod side", "down"}}},
		{"varn-40", "piston packing", []Facing{{"head side", "down"}, {"rod side", "up"}}}, // lower set down, upper set up: away from each other
	} {
		p := demo(t, c.pump)
		s, _ := p.Seal(c.seal)
		if got := p.Facings(p.Map(), s); !slices.Equal(got, c.want) {
			t.Errorf("%s, %s: %v, want %v", c.pump, c.seal, got, c.want)
		}
	}
}

func TestLipsOfATailRod(t *testing.T) {
	p, err := arrangement("four valves", 0.04, 0.022, 0.022)
	if err != nil {
		t.Fatal(err)
	}
	s, _ := p.Seal("tail packing") // the chamber lies above it
	if got := p.Facings(p.Map(), s); !slices.Equal(got, []Facing{{"lower", "up"}}) {
		t.Errorf("tail packing: %v", got)
	}
}

// A plunger pump: only the head side is a chamber, the bore packing keeps it from the air above. Its lips face the chamber below.
func TestLipsOfAPlunger(t *testing.T) {
	p := &Pump{Bore: 0.03, Rod: 0.02, Chambers: []Chamber{{Name: "barrel"}},
		Valves: []Valve{{Name: "in", From: Suction, To: "barrel"}, {Name: "out", From: "barrel", To: Line}},
		Seals:  []Seal{{Name: "packing", Kind: Packing, On: "bore", Between: [2]string{"barrel", Air}, Stacks: []string{"s"}}}}
	m := p.Map()
	if got := p.Facings(m, p.Seals[0]); !slices.Equal(got, []Facing{{"barrel", "down"}}) {
		t.Errorf("got %v", got)
	}
	if m.Creep[Up] != 0 || math.Abs(m.Creep[Down]-math.Pi/4*0.03*0.03) > 1e-15 {
		t.Errorf("creep %v", m.Creep)
	}
}

// One set against pressure from both sides has no right way round.
func TestFacingsNeedsTwoSets(t *testing.T) {
	p, err := arrangement("four valves", 0.04, 0.022, 0)
	if err != nil {
		t.Fatal(err)
	}
	s, _ := p.Seal("piston packing")
	if got := p.Facings(p.Map(), s); got != nil {
		t.Errorf("got %v", got)
	}
	s.Stacks = []string{"a", "b"}
	if got := p.Facings(p.Map(), s); len(got) != 2 || got[0].Lips != "down" || got[1].Lips != "up" {
		t.Errorf("got %v", got)
	}
}

// With an outlet valve the upper chamber grows on the downstroke and is pressed all the same: the lower one feeds more into it
// than it grows by.
func TestMapThreeValves(t *testing.T) {
	p, err := arrangement("three valves", 0.03, 0.0212, 0)
	if err != nil {
		t.Fatal(err)
	}
	m := p.Map()
	if len(m.Dead)+len(m.Dry) > 0 {
		t.Errorf("dead %v, dry %v", m.Dead, m.Dry)
	}
	if !m.Pressed[Down]["upper"] || !m.Pressed[Down]["lower"] || !m.Pressed[Up]["upper"] || m.Pressed[Up]["lower"] {
		t.Errorf("pressed %v", m.Pressed)
	}
}

func TestMapFaults(t *testing.T) {
	p, err := arrangement("differential", 0.03, 0.0212, 0)
	if err != nil {
		t.Fatal(err)
	}
	p.Valves = p.Valves[:1] // no inlet
	if m := p.Map(); !slices.Equal(m.Dry, []string{"lower"}) || m.Dead != nil {
		t.Errorf("without an inlet: dead %v, dry %v", m.Dead, m.Dry)
	}
	p, err = arrangement("differential", 0.03, 0.0212, 0)
	if err != nil {
		t.Fatal(err)
	}
	p.Valves = p.Valves[1:] // no piston valve
	if m := p.Map(); !slices.Equal(m.Dead, []string{"lower"}) || m.Dry != nil {
		t.Errorf("without a piston valve: dead %v, dry %v", m.Dead, m.Dry)
	}
	p, err = arrangement("differential", 0.03, 0.0212, 0)
	if err != nil {
		t.Fatal(err)
	}
	p.Valves = append(p.Valves, Valve{Name: "vent", From: "lower", To: Suction}) // lets out what should be pumped
	if m := p.Map(); m.Pressed[Down]["lower"] || len(m.Dead) > 0 {
		t.Errorf("a chamber that vents is pressed: %v, dead %v", m.Pressed[Down], m.Dead)
	}
}

// Whatever the sizes: what both strokes deliver together is what the chambers open to the line or emptied by valves sweep, creep
// areas are not negative, and the rod side and head side swap under a swap of the strokes only in sign.
func TestMapAnySize(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bore := rapid.Float64Range(1e-3, 1).Draw(t, "bore")
		rod := bore * rapid.Float64Range(0.01, 0.99).Draw(t, "rod")
		ac, ar := math.Pi/4*bore*bore, math.Pi/4*rod*rod
		for kind, want := range map[string][2]float64{"differential": {ac - ar, ar}, "three valves": {ac - ar, ar}, "four valves": {ac - ar, ac}} {
			p, err := arrangement(kind, bore, rod, 0)
			if err != nil {
				t.Fatal(err)
			}
			m := p.Map()
			if math.Abs(m.Creep[Up]-want[0]) > 1e-12*ac || math.Abs(m.Creep[Down]-want[1]) > 1e-12*ac {
				t.Fatalf("%s: creep %v, want %v", kind, m.Creep, want)
			}
			if len(m.Dead)+len(m.Dry) > 0 {
				t.Fatalf("%s: dead %v, dry %v", kind, m.Dead, m.Dry)
			}
		}
	})
}

func TestDirString(t *testing.T) {
	if Up.String() != "up" || Down.String() != "down" {
		t.Error(Up, Down)
	}
}
