package fluid

import (
	"errors"
	"math"
	"testing"
)

func TestNewRefusesWhatTheKindDoesNotTake(t *testing.T) {
	for name, s := range map[string]Spec{
		"Kind":        {Kind: "mercury"},
		"Grade":       {Kind: "water", Grade: 46},
		"CupTime":     {Kind: "oil", Grade: 46, CupTime: 40},
		"ShearIndex":  {Kind: "solvent", ShearIndex: 0.7},
		"Cup":         {Kind: "coating", Cup: "ISO 4", CupTime: 40, Viscosity: 0.1, ShearRate: 100},
		"Temperature": {Kind: "water", Temperature: 300},
		"Density":     {Kind: "water", Density: 998},
	} {
		var se *SpecError
		if _, err := New(s); !errors.As(err, &se) || se.Field != name {
			t.Errorf("%+v: %v, want a complaint about %s", s, err, name)
		}
	}
	var ce *CupError
	if _, err := New(Spec{Kind: "coating", Cup: "tea", CupTime: 40}); !errors.As(err, &ce) {
		t.Errorf("tea cup: %v", err)
	}
}

func TestNewTakesWhatIsGiven(t *testing.T) {
	f, err := New(Spec{Kind: "coating", Cup: "Ford 4", CupTime: 36, Density: 1200, ShearIndex: 0.7, AirFraction: 0.02,
		Temperature: 298.15})
	if err != nil {
		t.Fatal(err)
	}
	if rho, err := f.Density(298.15, 0); err != nil || math.Abs(rho-1200) > 1e-9 || f.Air() != 0.02 {
		t.Errorf("density %g, air %g, %v", rho, f.Air(), err)
	}
	// Ford 4 in 36 s is 120 mm²/s (published pair), so 0.144 Pa·s
	if mu, err := f.Viscosity(298.15, 0); err != nil || math.Abs(mu/0.144-1) > 0.015 {
		t.Errorf("viscosity %g, %v", mu, err)
	}
	for _, a := range f.Assumptions() {
		if a.Basis == "" || a.Unit == "" || a.Quantity == "density of the coating" || a.Quantity == "shear index n" {
			t.Errorf("assumption %+v", a)
		}
	}
	if len(Water().Assumptions()) != 0 {
		t.Error("water assumes nothing")
	}
}

// ISO 2431 measures at 23 °C, ASTM D1200 and D4212 at 25 °C (from memory): what an unnamed temperature is taken for.
func TestCupTemperature(t *testing.T) {
	for _, cup := range Cups() {
		want := zeroCelsius + 25
		if cup[:3] == "ISO" {
			want = zeroCelsius + 23
		}
		f, err := New(Spec{Kind: "coating", Cup: cup, CupTime: 60})
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, a := range f.Assumptions() {
			found = found || a.Quantity == "temperature of the viscosity" && a.Value == want
		}
		if !found {
			t.Errorf("%s: %+v", cup, f.Assumptions())
		}
	}
}

// The temperature ranges that the documentation states.
func TestTemperatureRanges(t *testing.T) {
	for kind, want := range map[string][2]float64{"water": {273.15, 373.15}, "solvent": {263.15, 323.15}, "coating": {275.15, 353.15}, "oil": {253.15, 393.15}} {
		s := Spec{Kind: kind}
		switch kind {
		case "oil":
			s.Grade = 100
		case "coating":
			s.Cup, s.CupTime = "ISO 4", 50
		}
		f, err := New(s)
		if err != nil {
			t.Fatal(err)
		}
		if lo, hi := f.TemperatureRange(); math.Abs(lo-want[0]) > 1e-9 || math.Abs(hi-want[1]) > 1e-9 {
			t.Errorf("%s: %g..%g K", kind, lo, hi)
		}
	}
	// a thin oil ends where ASTM D341 does, at 2 mm²/s
	thin, err := Oil(10, OilOptions{})
	if err != nil {
		t.Fatal(err)
	}
	_, hi := thin.TemperatureRange()
	mu, err1 := thin.Viscosity(hi, 0)
	rho, err2 := thin.Density(hi, 0)
	if err1 != nil || err2 != nil || math.Abs(mu/rho/2e-6-1) > 1e-9 || hi > 393.15 {
		t.Errorf("VG 10 ends at %g K with %g m²/s", hi, mu/rho)
	}
}

// An oil's density is stated at 15 °C, and pressure thickens it: Barus' coefficient of mineral oils is 1..3e-8 1/Pa
// (Hamrock, Fundamentals of Fluid Film Lubrication, from memory).
func TestOilStatedValues(t *testing.T) {
	f, err := Oil(46, OilOptions{Data: Data{Density: 881}})
	if err != nil {
		t.Fatal(err)
	}
	if rho, err := f.Density(288.15, 0); err != nil || math.Abs(rho-881) > 1e-9 {
		t.Errorf("density at 15 °C %g, %v", rho, err)
	}
	slack, err1 := f.Viscosity(313.15, 0)
	tight, err2 := f.Viscosity(313.15, 20e6)
	want, err3 := Roelands(slack, 0.6, 20e6)
	if err1 != nil || err2 != nil || err3 != nil || math.Abs(tight/want-1) > 1e-12 {
		t.Errorf("viscosity at 20 MPa %g, want %g", tight, want)
	}
	if barus := math.Log(tight/slack) / 20e6; barus < 1e-8 || barus > 3e-8 {
		t.Errorf("pressure coefficient %g 1/Pa", barus)
	}
}

// FuzzNew: whatever is written in a file, New and the methods answer with a finite number or with an error.
func FuzzNew(f *testing.F) {
	f.Add("oil", 46, 0.0, 95.0, "", 0.0, 0.0, 0.0, 0.0, 870.0, 0.0, 0.01)
	f.Add("coating", 0, 0.0, 0.0, "ISO 4", 50.0, 0.0, 0.0, 0.5, 1300.0, 296.0, 0.0)
	f.Add("coating", 0, 0.0, 0.0, "", 0.0, 0.3, 100.0, 0.5, 0.0, 0.0, 0.0)
	f.Add("solvent", 0, 0.0, 0.0, "", 0.0, 1e-3, 0.0, 0.0, 790.0, 293.0, 0.1)
	f.Add("water", 0, 0.0, 0.0, "", 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.5)
	f.Fuzz(func(t *testing.T, kind string, grade int, nu100, vi float64, cup string, ct, mu, rate, n, rho, at, air float64) {
		fl, err := New(Spec{kind, grade, nu100, vi, cup, ct, mu, rate, n, rho, at, air})
		if err != nil {
			return
		}
		lo, hi := fl.TemperatureRange()
		for _, T := range []float64{lo, (lo + hi) / 2, hi} {
			for _, p := range []float64{-Atmosphere, 0, MaxPressure} {
				for _, call := range []func(T, p float64) (float64, error){fl.Density, fl.BulkModulus, fl.Viscosity, fl.SoundSpeed} {
					if v, err := call(T, p); err != nil || !(v > 0 && v <= math.MaxFloat64) {
						t.Fatalf("%s at %g K, %g Pa: %g, %v", fl.Name(), T, p, v, err)
					}
				}
			}
		}
	})
}
