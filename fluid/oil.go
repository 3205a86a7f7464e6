package fluid

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// isoGrades maps the viscosity grade to its midpoint viscosity at 40 °C [mm²/s]. ISO 3448.
var isoGrades = [...]struct {
	grade int
	mid   float64
}{
	{2, 2.2}, {3, 3.2}, {5, 4.6}, {7, 6.8}, {10, 10}, {15, 15}, {22, 22}, {32, 32}, {46, 46}, {68, 68}, {100, 100},
	{150, 150}, {220, 220}, {320, 320}, {460, 460}, {680, 680}, {1000, 1000}, {1500, 1500}, {2200, 2200}, {3200, 3200},
}

// GradeViscosity returns the midpoint kinematic viscosity at 40 °C of an ISO viscosity grade and its limits, ±10 %, all
// in m²/s. grade is one of the 20 grades 2..3200; otherwise a *num.RangeError. Source: ISO 3448.
func GradeViscosity(grade int) (mid, lo, hi float64, err error) {
	for _, g := range isoGrades {
		if g.grade == grade {
			mid = g.mid * mm2
			return mid, 0.9 * mid, 1.1 * mid, nil
		}
	}
	return 0, 0, 0, &num.RangeError{Func: "fluid.GradeViscosity", Name: "grade", Value: float64(grade), Unit: "1",
		Want: "an ISO 3448 grade: 2 3 5 7 10 15 22 32 46 68 100 150 220 320 460 680 1000 1500 2200 3200"}
}

// OilOptions refines an oil. The zero value takes all defaults.
type OilOptions struct {
	Nu100          float64 // kinematic viscosity at 100 °C [m²/s]; or
	ViscosityIndex float64 // viscosity index, default 95
	Data           Data    // Density is the one at 15 °C
}

// Defaults of a mineral oil. Density, expansion, heat capacity: common practice for paraffinic ISO VG oils, no published
// source. Bulk modulus: Esposito, Fluid Power with Applications, uses 250 000 psi (1.72 GPa). Roelands Z: Hamrock.
var oilDefaults = defaults{
	data: Data{Density: 870, Expansion: 7e-4, BulkModulus: 1.7e9, BulkSlope: 10, BulkSoftens: 6e-3, HeatCapacity: 1950,
		RoelandsZ: 0.6},
	basis: "typical mineral oil, common practice", densAt: "at 15 °C",
}

// Oil returns a mineral oil of an ISO viscosity grade, at the middle of the grade.
//
// Viscosity: ASTM D341 through ν at 40 °C (grade) and at 100 °C (options: Nu100, or from the viscosity index), with
// [Roelands] for pressure. State: see [Data]. T from 253.15 K to 393.15 K, or to where ν falls to 2 mm²/s if that is lower.
// Errors: *num.RangeError for an unknown grade or an impossible option.
func Oil(grade int, o OilOptions) (Fluid, error) {
	const fn = "fluid.Oil"
	nu40, _, _, err := GradeViscosity(grade)
	if err != nil {
		return Fluid{}, err
	}
	if o.Nu100 != 0 && o.ViscosityIndex != 0 {
		return Fluid{}, &num.RangeError{Func: fn, Name: "ViscosityIndex", Value: o.ViscosityIndex, Unit: "1",
			Want: "Nu100 or ViscosityIndex, not both"}
	}
	assumed, err := fill(fn, o.Data.fields(oilDefaults))
	if err != nil {
		return Fluid{}, err
	}
	if o.Nu100 == 0 {
		if o.ViscosityIndex == 0 {
			o.ViscosityIndex = 95
			assumed = append(assumed, Assumption{"viscosity index", 95, "1", "typical solvent-refined mineral oil, common practice"})
		}
		if o.Nu100, err = IndexViscosity(nu40, o.ViscosityIndex); err != nil {
			return Fluid{}, err
		}
	}
	const t40, t100 = zeroCelsius + 40, zeroCelsius + 100
	a, b, err := WaltherAB(t40, nu40, t100, o.Nu100)
	if err != nil {
		return Fluid{}, err
	}
	assumed = append(assumed, Assumption{"viscosity at 40 °C", nu40, "m²/s", "middle of the grade; the grade allows ±10 %"})
	l := liquid{
		data: o.Data, t0: zeroCelsius + 15, tLo: zeroCelsius - 20,
		tHi: math.Min(zeroCelsius+120, waltherT(a, b, waltherMin)),
		nu0: func(T float64) float64 { return walther(a, b, T) },
	}
	return Fluid{name: fmt.Sprintf("oil ISO VG %d", grade), model: l, assumed: assumed}, nil
}
