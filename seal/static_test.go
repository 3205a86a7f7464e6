package seal

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/evenstroke/evenstroke/num"
	"pgregory.net/rapid"
)

// The AS568 table against the independent ISO 3601-1:2012 columns: 349 general sizes and 20 boss sizes; inside diameters
// agree within 0.006 mm; class A tolerances agree within rounding but for the six sizes that carry a note.
func TestAS568AgainstISO3601(t *testing.T) {
	all, err := ORings()
	if err != nil {
		t.Fatal(err)
	}
	general, boss, noted, sum := 0, 0, 0, 0.0
	for i, o := range all {
		sum += o.ID / inch
		if i > 0 && o.Dash <= all[i-1].Dash {
			t.Errorf("%s stands after %s", o.Dash, all[i-1].Dash)
		}
		if o.Boss {
			boss++
			continue
		}
		general++
		if d := math.Abs(o.ID - o.ISOInside); d > 0.0061e-3 {
			t.Errorf("-%s: inside diameters differ by %.4f mm", o.Dash, d*1000)
		}
		if o.Note != "" {
			noted++
		} else if d := math.Abs(o.IDTol - o.ISOTolA); d > 0.0061e-3 {
			t.Errorf("-%s: tolerances differ by %.4f mm", o.Dash, d*1000)
		}
	}
	if general != 349 || boss != 20 || noted != 6 {
		t.Errorf("%d general, %d boss, %d noted sizes; want 349, 20, 6", general, boss, noted)
	}
	// Section by series and its tolerance, from the standard: 0xx 0.070 (from 004), 1xx 0.103, 2xx 0.139, 3xx 0.210, 4xx 0.275 in.
	for _, o := range all {
		want := map[byte][2]float64{'0': {0.070, 0.003}, '1': {0.103, 0.003}, '2': {0.139, 0.004}, '3': {0.210, 0.005}, '4': {0.275, 0.006}}[o.Dash[0]]
		if o.Boss || o.Dash < "004" {
			continue
		}
		if math.Abs(o.Section/inch-want[0]) > 1e-9 || math.Abs(o.SectTol/inch-want[1]) > 1e-9 {
			t.Errorf("-%s: section %.3f ± %.3f in, want %v", o.Dash, o.Section/inch, o.SectTol/inch, want)
		}
	}
}

func TestDash(t *testing.T) {
	for _, s := range []string{"014", "14", "-014", "as568-014", " 014 "} {
		if o, err := Dash(s); err != nil || o.Dash != "014" {
			t.Errorf("Dash(%q) = %+v, %v", s, o, err)
		}
	}
	for _, s := range []string{"", "0", "099", "2140", "x", "103-"} {
		var ne *NameError
		if o, err := Dash(s); !errors.As(err, &ne) {
			t.Errorf("Dash(%q) = %+v, %v", s, o, err)
		}
	}
}

func FuzzDash(f *testing.F) {
	for _, s := range []string{"214", "-214", "AS568-010", "14", "", "999", "０１４"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		o, err := Dash(s)
		if err == nil && (len(o.Dash) != 3 || !(o.ID > 0 && o.Section > 0)) {
			t.Errorf("Dash(%q) = %+v", s, o)
		}
	})
}

// Each row of the published gland tables gives the squeeze that the table prints [in] with the AS568 section and tolerance.
func TestGlandTables(t *testing.T) {
	for _, c := range []struct {
		moving  bool
		squeeze [5][2]float64 // in, printed
		percent [5][2]float64 // printed
	}{
		{true, [5][2]float64{{.010, .018}, {.010, .019}, {.012, .024}, {.017, .032}, {.029, .047}},
			[5][2]float64{{15, 25}, {10, 18}, {9, 17}, {8.5, 15}, {10.5, 17}}},
		{false, [5][2]float64{{.012, .023}, {.014, .026}, {.019, .033}, {.029, .045}, {.034, .056}},
			[5][2]float64{{18, 32}, {14, 25}, {14, 23}, {14, 21}, {13, 20}}},
	} {
		for i, g := range Glands(c.moving) {
			o, err := Dash([]string{"014", "112", "214", "325", "425"}[i])
			if err != nil || math.Abs(o.Section-g.Section) > 1e-9 {
				t.Fatalf("%+v, %v", o, err)
			}
			lo, hi := o.Section-o.SectTol-g.Depth.Hi, o.Section+o.SectTol-g.Depth.Lo
			if math.Abs(lo/inch-c.squeeze[i][0]) > 1e-6 || math.Abs(hi/inch-c.squeeze[i][1]) > 1e-6 {
				t.Errorf("%v row %d: %.4f to %.4f in, want %v", c.moving, i, lo/inch, hi/inch, c.squeeze[i])
			}
			f, err := Sit(o, Groove{Depth: g.Depth, Width: Span{2 * o.Section, 2 * o.Section}, On: o.ID, Moving: c.moving})
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(100*f.Squeeze.Lo-c.percent[i][0]) > 0.6 || math.Abs(100*f.Squeeze.Hi-c.percent[i][1]) > 0.6 {
				t.Errorf("%v row %d: %.1f to %.1f %%, want %v", c.moving, i, 100*f.Squeeze.Lo, 100*f.Squeeze.Hi, c.percent[i])
			}
		}
	}
	if w := Glands(true)[2].Width; math.Abs(w[1].Lo-0.222*inch) > 1e-12 || math.Abs(w[2].Hi-0.306*inch) > 1e-12 {
		t.Errorf("widths %v", w)
	}
}

func TestSitFindings(t *testing.T) {
	o, err := Dash("214")
	if err != nil {
		t.Fatal(err)
	}
	g := Glands(true)[2]
	sound := Groove{Depth: g.Depth, Width: g.Width[0], On: o.ID * 1.01, Clearance: g.Clearance, Moving: true, Pressure: 6e6, Shore: 90}
	if f, err := Sit(o, sound); err != nil || len(f.Findings) != 0 || math.Abs(f.Allowed-0.024*inch) > 1e-12 {
		t.Errorf("a sound groove: %+v, %v", f, err)
	}
	for name, c := range map[string]struct {
		change func(*Groove)
		want   []Finding
	}{
		"deep":            {func(g *Groove) { g.Depth = Span{0.130 * inch, 0.134 * inch} }, []Finding{LowSqueeze}},
		"shallow":         {func(g *Groove) { g.Depth = Span{0.104 * inch, 0.108 * inch} }, []Finding{HighSqueeze}},
		"narrow":          {func(g *Groove) { g.Width = Span{0.145 * inch, 0.150 * inch} }, []Finding{OverFill}},
		"rather narrow":   {func(g *Groove) { g.Width = Span{0.155 * inch, 0.160 * inch} }, []Finding{TightFill}},
		"stretched":       {func(g *Groove) { g.On = o.ID * 1.08; g.Depth = Span{0.117 * inch, 0.119 * inch} }, []Finding{HighStretch}},
		"too large":       {func(g *Groove) { g.On = o.ID * 0.96; g.Depth = Span{0.122 * inch, 0.125 * inch} }, []Finding{Compressed}},
		"wide gap":        {func(g *Groove) { g.Shore, g.Clearance = 70, 0.012*inch }, []Finding{NeedsBackup}},
		"above 1500 psi":  {func(g *Groove) { g.Pressure = 12e6 }, []Finding{NeedsBackup}},
		"with back-up":    {func(g *Groove) { g.Pressure, g.Backups = 12e6, 1 }, nil},
		"above 3000 psi":  {func(g *Groove) { g.Pressure = 23e6 }, []Finding{NeedsBackup, BeyondBackup}},
		"backed at 23MPa": {func(g *Groove) { g.Pressure, g.Backups = 23e6, 2 }, []Finding{BeyondBackup}},
	} {
		g := sound
		c.change(&g)
		f, err := Sit(o, g)
		if err != nil || !slices.Equal(f.Findings, c.want) {
			t.Errorf("%s: %v, %v; want %v (squeeze %.3f, fill %.3f, stretch %.3f)", name, f.Findings, err, c.want, f.Squeeze, f.Fill, f.Stretch)
		}
	}
	bad := sound
	bad.Depth.Hi = 0
	var re *num.RangeError
	if _, err := Sit(o, bad); !errors.As(err, &re) {
		t.Errorf("depth reversed: %v", err)
	}
}

// Ratings that were read in published tables of elastomers; solvents that each material must never be offered for.
func TestStands(t *testing.T) {
	for _, c := range []struct {
		material, fluid string
		want            Rating
		seen            bool
	}{
		{"NBR", "acetone", Unsatisfactory, true},
		{"FKM", "Acetone", Unsatisfactory, true},
		{"EPDM", "acetone", Satisfactory, true},
		{"EPDM", "water", Satisfactory, true},
		{"EPDM", "white spirit", Unsatisfactory, false},
		{"FKM", "xylene", Satisfactory, true},
		{"nbr", "mineral spirits", Satisfactory, false},
		{"uhmwpe", "toluene", Fair, false},
		{"ptfe", "mek", Satisfactory, false},
		{"fkm", "isocyanate", Fair, false},
		{"nbr", "hardener", Doubtful, false},
	} {
		s, err := Stands(c.material, c.fluid)
		if err != nil || s.Rating != c.want || s.Seen != c.seen {
			t.Errorf("%s in %s: %+v (%s), %v", c.material, c.fluid, s, s.Rating, err)
		}
	}
	if n := len(Suits()); n != 36 {
		t.Errorf("%d cells, want 6 × 6", n)
	}
	for _, c := range [][2]string{{"butter", "water"}, {"nbr", "tea"}} {
		var ne *NameError
		if _, err := Stands(c[0], c[1]); !errors.As(err, &ne) {
			t.Errorf("%v: %v", c, err)
		}
	}
}

// Every assumed value is marked, every value has a source, PTFE follows the temperature.
func TestMaterials(t *testing.T) {
	for _, m := range Materials() {
		for name, d := range map[string]Datum{"K": m.K, "μ": m.Mu, "E": m.Modulus, "limit": m.Limit, "Shore": m.Shore} {
			if d.Source == "" || d.Value < 0 {
				t.Errorf("%s %s: %+v", m.Name, name, d)
			}
		}
	}
	for _, c := range []struct{ temperature, k float64 }{{296.15, 0.8519}, {373.15, 0.5625}} {
		m, err := LookUp("PTFE", c.temperature)
		if err != nil || math.Abs(m.K.Value-c.k) > 5e-5 {
			t.Errorf("PTFE at %g K: K = %g, %v", c.temperature, m.K.Value, err)
		}
	}
	var ne *NameError
	if _, err := LookUp("cheese", 300); !errors.As(err, &ne) {
		t.Errorf("%v", err)
	}
	var re *num.RangeError
	if _, err := LookUp("ptfe", 400); !errors.As(err, &re) {
		t.Errorf("%v", err)
	}
}

// The flat ring under a seat, by hand: 20/14 mm, 160.221 mm², pressure to 17 mm, 226.980 mm².
func TestGasket(t *testing.T) {
	g := Gasket{ID: 0.014, OD: 0.020, Limit: 60e6}
	x, err := g.Press(13e3, 20e6)
	if err != nil {
		t.Fatal(err)
	}
	near := func(name string, got, want, tol float64) {
		t.Helper()
		if math.Abs(got-want) > tol {
			t.Errorf("%s = %g, want %g", name, got, want)
		}
	}
	near("seating", x.Seating, 13e3/160.22122533e-6, 1)
	near("residual", x.Residual, (13e3-20e6*226.98006922e-6)/160.22122533e-6, 1)
	near("ratio", x.Ratio, 2.6402, 5e-4)
	near("least clamp", x.Least, 20e6*(226.98006922e-6+2*160.22122533e-6), 1e-2)
	if !x.Holds || !x.Flows {
		t.Errorf("%+v", x)
	}
	if y, err := g.Press(x.Least*0.999, 20e6); err != nil || y.Holds {
		t.Errorf("below the least clamp: %+v, %v", y, err)
	}
	if y, err := g.Press(x.Least*1.001, 20e6); err != nil || !y.Holds {
		t.Errorf("above the least clamp: %+v, %v", y, err)
	}
	if y, err := g.Press(1e3, 20e6); err != nil || y.Residual != 0 || y.Holds {
		t.Errorf("parted: %+v, %v", y, err)
	}
}

// The torus keeps its volume; the usual shortcut c·√(d1/D) stays within 1 % up to 6 % of stretch.
func TestStretchedVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d1 := rapid.Float64Range(2e-3, 0.6).Draw(t, "d1")
		c := d1 * rapid.Float64Range(0.01, 1).Draw(t, "c/d1")
		on := d1 * rapid.Float64Range(0.85, 1.5).Draw(t, "D/d1")
		x, err := StretchedSection(d1, c, on)
		if err != nil {
			t.Fatal(err)
		}
		if before, after := c*c*(d1+c), x*x*(on+x); math.Abs(after-before) > 1e-12*before {
			t.Fatalf("volume %g became %g", before, after)
		}
		if s := on/d1 - 1; s >= 0 && s < 0.06 && math.Abs(x/(c*math.Sqrt(d1/on))-1) > 0.02 {
			t.Fatalf("far from the shortcut: %g", x/(c*math.Sqrt(d1/on)))
		}
	})
}

func TestBadInput(t *testing.T) {
	nan := math.NaN()
	for name, f := range map[string]func() (float64, error){
		"LateralFactor":    func() (float64, error) { return LateralFactor(nan) },
		"Decay":            func() (float64, error) { return Decay(Wall{nan, 1}, Wall{}, 0.01, 0.02) },
		"AxialStress":      func() (float64, error) { return AxialStress(1, nan, 1) },
		"MeanStress":       func() (float64, error) { return MeanStress(-1, 1, 1) },
		"WallForce":        func() (float64, error) { return WallForce(Wall{0.1, 0.5}, 0, 1, 1, 1) },
		"Contact":          func() (float64, error) { return Contact(1.2, 1, 0, 0) },
		"Capacity":         func() (float64, error) { return Capacity(1, 0, nan) },
		"Gap":              func() (float64, error) { return Gap(DefaultClosure(), nan, 1, 1) },
		"Squeeze":          func() (float64, error) { return Squeeze(0, 1) },
		"Fill":             func() (float64, error) { return Fill(1, 0, 1) },
		"Stretch":          func() (float64, error) { return Stretch(1, nan) },
		"StretchedSection": func() (float64, error) { return StretchedSection(1, 0.1, 3) },
		"ExtrusionGap":     func() (float64, error) { return ExtrusionGap(60, 1e6) },
		"ClassBTolerance":  func() (float64, error) { return ClassBTolerance(0) },
		"GasketStress":     func() (float64, error) { return GasketStress(-1, 0, 0.01, 0.01, 0.02) },
		"PTFEPoisson":      func() (float64, error) { return PTFEPoisson(nan) },
	} {
		v, err := f()
		var re *num.RangeError
		if !errors.As(err, &re) || v != 0 {
			t.Errorf("%s: %g, %v; want 0 and a *num.RangeError", name, v, err)
		}
	}
}

func ExampleDash() {
	o, _ := Dash("-214")
	fmt.Printf("-%s: %.2f × %.2f mm\n", o.Dash, o.ID*1e3, o.Section*1e3)
	// Output: -214: 24.99 × 3.53 mm
}
