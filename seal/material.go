package seal

import (
	"fmt"
	"strings"

	"github.com/evenstroke/evenstroke/num"
)

// NameError says that a name is not known.
type NameError struct {
	What string // what was looked up, as "material"
	Name string // what was given
	Want string // names that are known
}

// Error gives the complaint on one line.
func (e *NameError) Error() string { return fmt.Sprintf("%s %q: want %s", e.What, e.Name, e.Want) }

// Datum is one property with where it comes from.
type Datum struct {
	Value   float64
	Source  string // standard, handbook, or why it is assumed
	Assumed bool   // no published value was found: shown as such, to be replaced by a better one
}

// Material is what rings are made of. All values are defaults; a Ring carries its own.
type Material struct {
	Name    string
	K       Datum // radial over axial stress at 23 °C
	Mu      Datum // friction on a polished wall, wetted
	Modulus Datum // Pa, in compression
	Limit   Datum // Pa, highest axial stress or pressure before it flows or tears, backed by a gland
	Shore   Datum // Shore A to take for the extrusion table; 0: not a sealing material
}

const zeroCelsius = 273.15 // K

// Poisson's ratio of solid PTFE: Valve Selection Handbook, packings.
const (
	ptfeCool, ptfePoissonCool = 23 + zeroCelsius, 0.46
	ptfeHot, ptfePoissonHot   = 100 + zeroCelsius, 0.36
)

// PTFEPoisson returns Poisson's ratio of solid PTFE at the temperature T [K], 273.15 to 373.15 K: 0.46 at 23 °C and 0.36 at
// 100 °C, straight between them (assumed), 0.46 below 23 °C (assumed).
// Source of the two values: Valve Selection Handbook, packings.
func PTFEPoisson(temperature float64) (float64, error) {
	if err := num.CheckRange("seal.PTFEPoisson", "T", temperature, zeroCelsius, ptfeHot, "K"); err != nil {
		return 0, err
	}
	if temperature <= ptfeCool {
		return ptfePoissonCool, nil
	}
	w := (temperature - ptfeCool) / (ptfeHot - ptfeCool)
	return ptfePoissonCool + w*(ptfePoissonHot-ptfePoissonCool), nil
}

// Materials returns the table of materials.
func Materials() []Material {
	known := func(v float64, source string) Datum { return Datum{v, source, false} }
	guess := func(v float64, why string) Datum { return Datum{v, why, true} }
	none := Datum{0, "does not press on the walls", false}
	metal := func(name string, e float64) Material {
		return Material{name, none, none, guess(e, "textbook value, from memory"), guess(200e6, "yield of a soft grade, from memory"), none}
	}
	return []Material{
		{"ptfe", known(ptfePoissonCool/(1-ptfePoissonCool), "Valve Selection Handbook, ν 0.46 at 23 °C"),
			known(0.05, "middle of the published range 0.01 to 0.10 on polished steel"),
			guess(0.5e9, "solid PTFE at 23 °C, from memory"), guess(45e6, "flows out of a closed gland, from memory of usual ratings"),
			guess(90, "taken as the harder row of the O-ring table")},
		{"uhmwpe", guess(0.46/(1-0.46), "ν about 0.46, from memory"), guess(0.15, "0.10 to 0.20, from memory"),
			guess(0.7e9, "from memory"), guess(60e6, "from memory of usual ratings"), guess(90, "taken as the harder row of the O-ring table")},
		{"leather", guess(0.6, "no published value found"), guess(0.08, "0.05 to 0.10 oiled, from memory"),
			guess(0.1e9, "impregnated leather, order of magnitude"), guess(45e6, "no published value found"),
			guess(90, "taken as the harder row of the O-ring table")},
		{"fabric rubber", guess(0.9, "between rubber (1) and its fabric"), guess(0.15, "wetted, from memory"),
			guess(0.2e9, "order of magnitude"), guess(60e6, "from memory of usual ratings"), guess(90, "usual hardness, from memory")},
		{"nbr", known(1, "Valve Selection Handbook, soft rubber ν 0.5"), guess(0.2, "wetted, from memory"),
			guess(10e6, "70 to 90 Shore A, order of magnitude"), guess(20e6, "without back-up ring, from memory"), guess(70, "usual hardness")},
		{"fkm", known(1, "Valve Selection Handbook, soft rubber ν 0.5"), guess(0.2, "wetted, from memory"),
			guess(10e6, "70 to 90 Shore A, order of magnitude"), guess(20e6, "without back-up ring, from memory"), guess(70, "usual hardness")},
		metal("steel", 210e9),
		metal("bronze", 105e9),
	}
}

// LookUp returns the material of that name, in any case, with K at the temperature T [K] where the table knows how it
// changes (PTFE). An unknown name is a *NameError, a temperature outside 273.15..373.15 K a *num.RangeError.
func LookUp(name string, temperature float64) (Material, error) {
	if err := num.CheckRange("seal.LookUp", "T", temperature, zeroCelsius, ptfeHot, "K"); err != nil {
		return Material{}, err
	}
	var names []string
	for _, m := range Materials() {
		names = append(names, m.Name)
		if !strings.EqualFold(m.Name, strings.TrimSpace(name)) {
			continue
		}
		if m.Name == "ptfe" {
			nu, err := PTFEPoisson(temperature)
			if err != nil {
				return Material{}, err
			}
			if m.K.Value, err = LateralFactor(nu); err != nil {
				return Material{}, err
			}
			if temperature != ptfeCool {
				m.K = Datum{m.K.Value, "Valve Selection Handbook at 23 and 100 °C, straight between", true}
			}
		}
		return m, nil
	}
	return Material{}, &NameError{"material", name, strings.Join(names, ", ")}
}

// Constant names one constant of a material that an analysis of a stack rests on.
type Constant string

// The constants.
const (
	LateralConstant  Constant = "K"     // radial over axial stress
	FrictionConstant Constant = "mu"    // friction on a polished wall
	RatingConstant   Constant = "limit" // Pa, what the material stands
)

// Basis is one constant that an analysis of a stack rests on, with where it comes from.
type Basis struct {
	Material string
	Constant Constant
	Datum
}

// Basis lists what an analysis takes from the table of materials at the temperature T [K]: the constants of each material of which a
// ring presses on the walls, each once, in the order of the rings. Errors: those of LookUp.
func (s Stack) Basis(temperature float64) ([]Basis, error) {
	var out []Basis
	seen := map[string]bool{}
	for _, r := range s.Rings {
		if r.Inner.K == 0 && r.Outer.K == 0 || seen[r.Material] {
			continue
		}
		seen[r.Material] = true
		m, err := LookUp(r.Material, temperature)
		if err != nil {
			return nil, err
		}
		out = append(out, Basis{m.Name, LateralConstant, m.K}, Basis{m.Name, FrictionConstant, m.Mu}, Basis{m.Name, RatingConstant, m.Limit})
	}
	return out, nil
}

// Warms says whether the table knows how a material changes with the temperature: PTFE alone.
func Warms(material string) bool { return strings.EqualFold(strings.TrimSpace(material), "ptfe") }
