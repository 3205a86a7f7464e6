package unit

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
)

// FuzzParse: no panic; an error is an *Error of one line with all three parts; a value is finite, in a unit of its kind, and its
// own print is read again.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"2,380 psi", "38 ft-lb", "1 1/2 in", "0,787 in", "22.74 ± 0.01 mm", "3000 psi ± 1 %", "22.740(10) mm",
		"(22.74 ± 0.02) mm (k=2)", "1 min 20 s", "1:02:03", "60 1/min", "1/min", "21 °C ± 0.9 °F", "3 × 10⁻³ m", "NaN psi", "1e999 bar",
		"5 ft 2 in", "½″", "1.234,5 mm", "1 234.5 mm", "8 oz", "20-25 °C", "", "±", "(", "1e", "-0 mm", "18 mL·min⁻¹", "\xff", "1'000 N"} {
		for _, d := range []Dim{Length, Pressure, Torque, Time, Temperature, Flow, Frequency, Ratio} {
			f.Add(s, uint8(d))
		}
	}
	f.Fuzz(func(t *testing.T, s string, dim uint8) {
		d := Dim(dim % uint8(dimEnd+1))
		v, err := Parse(s, d)
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || e.Kind == "" || e.Found == "" || e.Want == "" || e.Fix == "" || strings.ContainsAny(e.Error(), "\n\r") {
				t.Fatalf("%q: error %#v", s, err)
			}
			return
		}
		if math.IsNaN(v.SI) || math.IsInf(v.SI, 0) || math.IsNaN(v.U) || math.IsInf(v.U, 0) || v.U < 0 || !v.HasU && v.U != 0 {
			t.Fatalf("%q reads as %+v", s, v)
		}
		if v.Dim != d || !slices.Contains(Units(d), v.Unit) {
			t.Fatalf("%q reads as %s in %q, want %s", s, v.Dim, v.Unit, d)
		}
		if text := v.String(); len([]rune(text)) <= maxRunes && !strings.Contains(text, noValue) {
			again, err := Parse(text, d)
			if err != nil || again.Unit != v.Unit {
				t.Fatalf("%q prints as %q: %+v, %v", s, text, again, err)
			}
		}
	})
}

// FuzzConvert: no panic on any unit text, and a result is finite.
func FuzzConvert(f *testing.F) {
	f.Add(1.0, "psi", "bar")
	f.Add(-40.0, "°C", "°F")
	f.Add(1e308, "ksi", "Pa")
	f.Add(1.0, "per ", "⁻¹")
	f.Fuzz(func(t *testing.T, x float64, from, to string) {
		y, err := Convert(x, from, to)
		if err == nil && (math.IsNaN(y) || math.IsInf(y, 0)) {
			t.Fatalf("%g %q = %g %q", x, from, y, to)
		}
		var e *Error
		if err != nil && (!errors.As(err, &e) || e.Found == "" || e.Want == "" || e.Fix == "") {
			t.Fatalf("error %#v", err)
		}
		if code, ok := UCUM(from); ok {
			if _, ok := FromUCUM(code); !ok {
				t.Fatalf("UCUM(%q) = %q is not read back", from, code)
			}
		}
	})
}
