package bolt

import (
	"errors"
	"math"
	"testing"
)

func TestParseThread(t *testing.T) {
	// Sizes from ISO 261 and ASME B1.1; #10 is 0.190 in.
	for _, c := range []struct {
		text, name string
		d, p       float64 // mm
	}{
		{"M12", "M12×1.75", 12, 1.75},
		{"m24x2", "M24×2", 24, 2},
		{" M24 × 2 ", "M24×2", 24, 2},
		{"M12x1,25", "M12×1.25", 12, 1.25},
		{"M12x1.75-6g", "M12×1.75", 12, 1.75},
		{"M20-6H", "M20×2.5", 20, 2.5},
		{"M3.5", "M3.5×0.6", 3.5, 0.6},
		{"3/4-16 UNF", "3/4-16 UNF", 19.05, 1.5875},
		{"3/4-16", "3/4-16 UNF", 19.05, 1.5875},
		{"0.75-16", "3/4-16 UNF", 19.05, 1.5875},
		{"5/8 unc", "5/8-11 UNC", 15.875, 25.4 / 11},
		{"1-12", "1-12 UNF", 25.4, 25.4 / 12},
		{"1-14 UNS", "1-14 UNS", 25.4, 25.4 / 14},
		{"1 1/4-12 UNF-2A", "1 1/4-12 UNF", 31.75, 25.4 / 12},
		{"1-1/4-12", "1 1/4-12 UNF", 31.75, 25.4 / 12},
		{"#10-32 UNF", "#10-32 UNF", 4.826, 0.79375},
		{"2-4.5 UNC", "2-4.5 UNC", 50.8, 25.4 / 4.5},
	} {
		got, err := ParseThread(c.text)
		if err != nil || got.Name != c.name || math.Abs(got.D*1000-c.d) > 1e-9 || math.Abs(got.P*1000-c.p) > 1e-9 {
			t.Errorf("ParseThread(%q) = %+v, %v; want %s %g mm × %g mm", c.text, got, err, c.name, c.d, c.p)
		}
	}
	for _, text := range []string{
		"", "M", "M0", "M12x0", "M12x6", "M11.3", "M12x1.75x2", "M24LH", "10-32", "3/4", "3/4-11 UNF", "4/3-10", "3/0-8", "#7-32",
		"G1/2", "1/2 NPT", "Tr24x5", "M24x2 junk", "NaN", "M1e3", "3/4-0",
	} {
		got, err := ParseThread(text)
		var pe *ParseError
		if !errors.As(err, &pe) {
			t.Errorf("ParseThread(%q) = %+v, %v; want a *ParseError", text, got, err)
		}
	}
}

// The tables of coarse pitches and of UNC and UNF must agree with the reading of each designation and lose no row.
func TestParseThreadTables(t *testing.T) {
	if len(coarse) != 30 || len(series) != 26 {
		t.Fatalf("%d coarse pitches, %d unified sizes; want 30 and 26", len(coarse), len(series))
	}
	for d, p := range coarse {
		th, err := ParseThread("M" + number(d))
		if err != nil || math.Abs(th.P*1000-p) > 1e-12 {
			t.Errorf("M%g: %+v, %v", d, th, err)
		}
	}
	for size, row := range series {
		for i, kind := range []string{"UNC", "UNF"} {
			th, err := ParseThread(size + " " + kind)
			if row[i] == 0 {
				if err == nil {
					t.Errorf("%s %s: read, but the series has none", size, kind)
				}
				continue
			}
			if err != nil || math.Abs(inch/th.P-row[i]) > 1e-9 {
				t.Errorf("%s %s: %+v, %v", size, kind, th, err)
			}
		}
	}
}

func FuzzParseThread(f *testing.F) {
	for _, s := range []string{"M24x2", "M12", "3/4-16 UNF", "1-12", "1 1/4-12", "#10-32", "M12x1,75-6g", "1-1/4-12 UNF-2A", "0.75-16", "M0x0", "3/0-1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		th, err := ParseThread(s)
		if err != nil {
			return
		}
		if !(th.Core() > 0 && th.Core() < th.NutMinor() && th.NutMinor() < th.PitchDiameter() && th.PitchDiameter() < th.D) {
			t.Errorf("%q: diameters out of order: %+v", s, th)
		}
		again, err := ParseThread(th.Name)
		if err != nil || math.Abs(again.D-th.D) > 1e-12 || math.Abs(again.P-th.P) > 1e-12 {
			t.Errorf("%q: %q reads back as %+v, %v", s, th.Name, again, err)
		}
	})
}
