package unit

import (
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// Every unit with a UCUM code against the UCUM table of definitions, converted by a program that is not ours.
func TestFactorsAgainstUCUM(t *testing.T) {
	text, err := os.ReadFile("testdata/ucum.tsv")
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		if strings.HasPrefix(line, "#") {
			continue
		}
		f := strings.Split(line, "\t")
		if len(f) != 5 {
			t.Fatalf("%q has %d fields", line, len(f))
		}
		d := dimNamed(t, f[0])
		want, err := strconv.ParseFloat(f[4], 64)
		if err != nil {
			t.Fatal(err)
		}
		seen[f[0]+f[1]] = true
		got, err := ToSI(37, f[1], d)
		if err != nil || math.Abs(got-want) > 5e-15*want {
			t.Errorf("37 %s = %.17g (%v), UCUM %s gives %.17g", f[1], got, err, f[2], want)
		}
		if code, ok := UCUM(f[1]); !ok || code != f[2] {
			t.Errorf("UCUM(%q) = %q, want %q", f[1], code, f[2])
		}
		if si, ok := FromUCUM(f[3]); !ok || si != d.SI() && f[0] != "ratio" {
			t.Errorf("FromUCUM(%q) = %q, want %q", f[3], si, d.SI())
		}
	}
	for _, d := range Dims() {
		for _, u := range table[d] {
			if u.ucum != "" && d != TempDiff && !seen[d.String()+u.sym] {
				t.Errorf("%s %s is not in testdata/ucum.tsv", d, u.sym)
			}
		}
	}
}

// No spelling, with or without capitals, may lead to two units of one kind.
func TestSpellingsAreUnique(t *testing.T) {
	for _, d := range Dims() {
		owner := map[string]string{}
		for i := range table[d] {
			u := &table[d][i]
			mine := map[string]bool{}
			for _, k := range u.keys() {
				mine[k] = true
				if !u.exact {
					mine[strings.ToLower(k)] = true
				}
			}
			for k := range mine {
				if other, taken := owner[k]; taken {
					t.Errorf("%s: %q is %s and %s", d, k, other, u.sym)
				}
				owner[k] = u.sym
			}
		}
	}
}

// A spelling of one kind never becomes a unit of another kind by changing capitals: "NM" must not be a length.
func TestCapitalsDoNotCrossKinds(t *testing.T) {
	for _, d := range Dims() {
		for _, other := range Dims() {
			for k := range spellings[other] {
				_, exact := spellings[d][k]
				if row, loose := folded[d][strings.ToLower(k)]; loose && !exact && (d != TempDiff || other != Temperature) {
					t.Errorf("%q is %s, and with other capitals %s in %s", k, other, row.sym, d)
				}
			}
		}
	}
}

// Each symbol finds its own row, has a positive finite size, and each kind has a unit of size one that is its SI unit.
func TestTableIsSound(t *testing.T) {
	for _, d := range Dims() {
		if len(Units(d)) != len(table[d]) || len(table[d]) == 0 {
			t.Errorf("%s: Units gives %d of %d", d, len(Units(d)), len(table[d]))
		}
		for i := range table[d] {
			u := &table[d][i]
			if row, ok := find(u.sym, d); !ok || row != u {
				t.Errorf("%s: %s does not find itself", d, u.sym)
			}
			if f := u.num / u.den; !(f > 0) || math.IsInf(f, 0) {
				t.Errorf("%s: %s has the size %g", d, u.sym, f)
			}
		}
		if x, err := ToSI(1, d.SI(), d); err != nil || x != 1 {
			t.Errorf("%s: 1 %s = %g (%v)", d, d.SI(), x, err)
		}
	}
	if Units(0) != nil || Units(dimEnd) != nil || Dim(0).SI() != "" || Dim(200).String() != "unknown quantity" {
		t.Error("an unknown kind has units, an SI symbol or a name")
	}
}

// UCUM there and back, both on symbols and on codes.
func TestUCUMRoundTrip(t *testing.T) {
	for _, d := range Dims() {
		for _, u := range table[d] {
			code, ok := UCUM(u.sym)
			if !ok {
				if u.ucum != "" {
					t.Errorf("%s: UCUM(%q) is unknown", d, u.sym)
				}
				continue
			}
			if sym, ok := FromUCUM(code); !ok || sym != u.sym {
				t.Errorf("%s: %q → %q → %q", d, u.sym, code, sym)
			}
		}
	}
	for code, sym := range map[string]string{"l/min": "L/min", "1/min": "1/min", "[in_i]2": "in²", "[ft_i].[lbf_av]": "lbf·ft", "m.N": "N·m"} {
		if got, ok := FromUCUM(code); !ok || got != sym {
			t.Errorf("FromUCUM(%q) = %q, want %q", code, got, sym)
		}
	}
	for _, none := range []string{"", "furlong", "psi", "[PSI]"} {
		if got, ok := FromUCUM(none); ok {
			t.Errorf("FromUCUM(%q) = %q, want none", none, got)
		}
	}
	for _, none := range []string{"", "furlong", "inHg", "mmHg"} {
		if got, ok := UCUM(none); ok {
			t.Errorf("UCUM(%q) = %q, want none", none, got)
		}
	}
}
