package unit

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// anyUnit draws a kind of quantity and one of its units.
func anyUnit(t *rapid.T) (Dim, *def) {
	d := Dim(rapid.IntRange(int(Length), int(dimEnd)-1).Draw(t, "dim"))
	return d, &table[d][rapid.IntRange(0, len(table[d])-1).Draw(t, "unit")]
}

// anySize draws a number of everyday size, of either sign but for temperatures.
func anySize(t *rapid.T, d Dim) float64 {
	x := rapid.Float64Range(1, 10).Draw(t, "mantissa") * math.Pow10(rapid.IntRange(-9, 11).Draw(t, "exponent"))
	if d != Temperature && rapid.Bool().Draw(t, "negative") {
		return -x
	}
	return x
}

// slack is the error that the zero point of a temperature scale brings into a small number.
func slack(u *def) float64 { return 4e-16 * u.off }

// What Format prints, Parse reads, within half a unit of the last digit printed.
func TestFormatThenParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, u := anyUnit(t)
		x, digits := anySize(t, d), rapid.IntRange(1, 15).Draw(t, "digits")
		text := Format(u.toSI(x), d, u.sym, digits)
		v, err := Parse(text, d)
		if err != nil {
			t.Fatalf("%g %s prints as %q: %v", x, u.sym, text, err)
		}
		back, err := v.In(u.sym)
		if err != nil {
			t.Fatal(err)
		}
		half := 0.5 * math.Pow10(int(math.Floor(math.Log10(math.Abs(x))))+1-digits)
		if math.Abs(back-x) > 1.0001*half+4e-15*math.Abs(x)+2*slack(u) || v.HasU || v.Dim != d {
			t.Fatalf("%.17g %s prints as %q and reads as %.17g", x, u.sym, text, back)
		}
		if v.Unit != u.sym {
			t.Fatalf("%q is read as %s", text, v.Unit)
		}
	})
}

// What FormatU prints, Parse reads: the uncertainty to two digits, the value to its last place.
func TestFormatUThenParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, u := anyUnit(t)
		x := anySize(t, d)
		w := math.Abs(x) * math.Pow10(rapid.IntRange(-10, 2).Draw(t, "ratio")) * rapid.Float64Range(1, 10).Draw(t, "u")
		text := FormatU(u.toSI(x), w*u.num/u.den, d, u.sym)
		v, err := Parse(text, d)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		back, err := v.In(u.sym)
		if err != nil {
			t.Fatal(err)
		}
		gotW := v.U * u.den / u.num
		if !v.HasU || math.Abs(gotW-w) > 0.0501*w || math.Abs(back-x) > 0.0501*max(w, gotW)+1e-14*math.Abs(x)+2*slack(u) {
			t.Fatalf("%.17g ± %.17g %s prints as %q and reads as %.17g ± %.17g", x, w, u.sym, text, back, gotW)
		}
	})
}

// There and back within 1e-15 of the number (of the absolute temperature for temperatures), and monotone on the way.
func TestConvertThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, a := anyUnit(t)
		b := &table[d][rapid.IntRange(0, len(table[d])-1).Draw(t, "other")]
		x := anySize(t, d)
		si, err := ToSI(x, a.sym, d)
		if err != nil {
			t.Fatal(err)
		}
		y, err := FromSI(si, b.sym, d)
		if err != nil {
			t.Fatal(err)
		}
		si2, err := ToSI(y, b.sym, d)
		if err != nil {
			t.Fatal(err)
		}
		back, err := FromSI(si2, a.sym, d)
		if err != nil {
			t.Fatal(err)
		}
		scale := math.Abs(x) + a.off + b.off*b.num/b.den*a.den/a.num
		if math.Abs(back-x) > 1e-15*scale {
			t.Fatalf("%.17g %s → %.17g %s → %.17g", x, a.sym, y, b.sym, back)
		}
		if more := a.toSI(math.Nextafter(x, math.Inf(1))); more < si {
			t.Fatalf("%s: a larger number gives a smaller value at %g", a.sym, x)
		}
		if more := b.fromSI(math.Nextafter(si, math.Inf(1))); more < y {
			t.Fatalf("%s: a larger value gives a smaller number at %g", b.sym, si)
		}
	})
}

// A number reads the same however its thousands are grouped and its decimals marked.
func TestGroupingDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		whole := strconv.Itoa(rapid.IntRange(1000, 999_999_999).Draw(t, "whole"))
		frac := rapid.StringMatching(`[0-9]{1,2}|[0-9]{4,5}`).Draw(t, "decimals") // three digits after a comma may be thousands
		want, err := strconv.ParseFloat(whole+"."+frac, 64)
		if err != nil {
			t.Fatal(err)
		}
		for _, text := range []string{
			whole + "." + frac, whole + "," + frac, thousands(whole, ",") + "." + frac, thousands(whole, ".") + "," + frac,
			thousands(whole, " ") + "." + frac, thousands(whole, "\u202f") + "," + frac, thousands(whole, "'") + "." + frac,
		} {
			v, err := Parse(text+" N·m", Torque)
			if err != nil || v.SI != want {
				t.Fatalf("%q reads as %v (%v), want %v", text, v.SI, err, want)
			}
		}
	})
}

// thousands puts sep between groups of three digits.
func thousands(s, sep string) string {
	head := (len(s)-1)%3 + 1
	parts := []string{s[:head]}
	for i := head; i < len(s); i += 3 {
		parts = append(parts, s[i:i+3])
	}
	return strings.Join(parts, sep)
}

// Any unit of another kind is refused, unless that spelling means something in this kind as well.
func TestOtherKindsAreRefused(t *testing.T) {
	for _, d := range Dims() {
		for _, other := range Dims() {
			for _, u := range table[other] {
				if _, shared := spellings[d][key(u.sym)]; shared || u.sym == "1" {
					continue
				}
				v, err := Parse("20 "+u.sym, d)
				if e, ok := err.(*Error); !ok || e.Kind != WrongDimension && e.Kind != UnclearUnit {
					t.Errorf("20 %s as %s = %+v, %v", u.sym, d, v, err)
				}
			}
		}
	}
}
