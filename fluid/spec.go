package fluid

import (
	"fmt"

	"github.com/evenstroke/evenstroke/num"
)

// Spec is the description of a fluid as a file or a form gives it. Which fields a kind takes:
//
//	water                air
//	oil       Grade, ViscosityIndex or Nu100, Density at 15 °C, air
//	solvent   Density, Viscosity, Temperature of both, air
//	coating   Cup and CupTime, or Viscosity and ShearRate; Density, ShearIndex, Temperature of all, air
//
// A zero field is not given.
type Spec struct {
	Kind           string  // "water", "oil", "solvent" or "coating"
	Grade          int     // ISO viscosity grade
	Nu100          float64 // m²/s
	ViscosityIndex float64 // 1
	Cup            string  // as "ISO 4"
	CupTime        float64 // s
	Viscosity      float64 // Pa·s
	ShearRate      float64 // 1/s
	ShearIndex     float64 // 1
	Density        float64 // kg/m³
	Temperature    float64 // K
	AirFraction    float64 // share of air at one atmosphere, 0..0.5
}

// SpecError says that a field of a description does not fit.
type SpecError struct{ Field, Got, Want string }

// Error gives the complaint on one line.
func (e *SpecError) Error() string {
	return fmt.Sprintf("fluid: %s is %s, want %s", e.Field, e.Got, e.Want)
}

// New makes the fluid of a description. A field that the kind does not take is an error, not ignored.
// Errors: *SpecError, *CupError, *num.RangeError.
func New(s Spec) (Fluid, error) {
	if err := num.CheckRange("fluid.New", "AirFraction", s.AirFraction, 0, 0.5, "1"); err != nil {
		return Fluid{}, err
	}
	var f Fluid
	var err error
	rest := s
	rest.Kind, rest.AirFraction = "", 0
	data := Data{Density: s.Density}
	switch s.Kind {
	case "water":
		f = Water()
	case "oil":
		rest.Grade, rest.Nu100, rest.ViscosityIndex, rest.Density = 0, 0, 0, 0
		f, err = Oil(s.Grade, OilOptions{Nu100: s.Nu100, ViscosityIndex: s.ViscosityIndex, Data: data})
	case "solvent":
		rest.Viscosity, rest.Temperature, rest.Density = 0, 0, 0
		f, err = LightSolvent(SolventOptions{Viscosity: s.Viscosity, Temperature: s.Temperature, Data: data})
	case "coating":
		rest.Cup, rest.CupTime, rest.Viscosity, rest.ShearRate = "", 0, 0, 0
		rest.ShearIndex, rest.Temperature, rest.Density = 0, 0, 0
		f, err = Coating(CoatingOptions{Cup: s.Cup, CupTime: s.CupTime, Viscosity: s.Viscosity, ShearRate: s.ShearRate,
			ShearIndex: s.ShearIndex, Temperature: s.Temperature, Data: data})
	default:
		return Fluid{}, &SpecError{Field: "Kind", Got: fmt.Sprintf("%q", s.Kind), Want: `"water", "oil", "solvent" or "coating"`}
	}
	if err != nil {
		return Fluid{}, err
	}
	if name := firstSet(rest); name != "" {
		return Fluid{}, &SpecError{Field: name, Got: "given", Want: "nothing: a " + s.Kind + " does not take it"}
	}
	f.air = s.AirFraction
	return f, nil
}

// firstSet names the first field of s that is given.
func firstSet(s Spec) string {
	for _, f := range []struct {
		name string
		set  bool
	}{
		{"Grade", s.Grade != 0}, {"Nu100", s.Nu100 != 0}, {"ViscosityIndex", s.ViscosityIndex != 0},
		{"Cup", s.Cup != ""}, {"CupTime", s.CupTime != 0}, {"Viscosity", s.Viscosity != 0},
		{"ShearRate", s.ShearRate != 0}, {"ShearIndex", s.ShearIndex != 0}, {"Density", s.Density != 0},
		{"Temperature", s.Temperature != 0},
	} {
		if f.set {
			return f.name
		}
	}
	return ""
}
