package gen

import "math"

// Fluid is what is in the pump during the test.
type Fluid struct {
	Kind      string
	Grade     int     // ISO viscosity grade of an oil
	rho       float64 // kg/m³
	expansion float64 // 1/K
	modulus   float64 // Pa, of the air-free liquid at no pressure
	slope     float64 // dK/dp
}

// The fluids that the cases use. Moduli and densities are round handbook figures, from memory.
var (
	water   = Fluid{Kind: "water", rho: 998, expansion: 2.1e-4, modulus: 2.18e9, slope: 6}
	oil32   = Fluid{Kind: "oil", Grade: 32, rho: 868, expansion: 7e-4, modulus: 1.65e9, slope: 10}
	oil46   = Fluid{Kind: "oil", Grade: 46, rho: 873, expansion: 7e-4, modulus: 1.68e9, slope: 10}
	oil68   = Fluid{Kind: "oil", Grade: 68, rho: 878, expansion: 7e-4, modulus: 1.70e9, slope: 10}
	solvent = Fluid{Kind: "solvent", rho: 780, expansion: 1e-3, modulus: 1.15e9, slope: 10}
)

// kinematic viscosities at 40 and 100 °C [mm²/s] of ordinary oils (viscosity index near 95).
var oilViscosity = map[int][2]float64{32: {32, 5.3}, 46: {46, 6.7}, 68: {68, 8.6}}

// viscosity returns μ [Pa·s] at T [K]. Oil: ASTM D341 log-log line through two points; water: the Vogel form
// 2.414e-5·10^(247.8/(T−140)), within 2.5 % from 0 to 100 °C; light solvent: 1.2 mPa·s at 20 °C, falling 1.6 % a kelvin (an
// assumption).
func (f Fluid) viscosity(t float64) float64 {
	switch f.Kind {
	case "water":
		return 2.414e-5 * math.Pow(10, 247.8/(t-140))
	case "oil":
		nu := oilViscosity[f.Grade]
		z := func(nu float64) float64 { return math.Log10(math.Log10(nu + 0.7)) }
		z1, z2, l1, l2 := z(nu[0]), z(nu[1]), math.Log10(313.15), math.Log10(373.15)
		zt := z1 + (z2-z1)*(math.Log10(t)-l1)/(l2-l1)
		return (math.Pow(10, math.Pow(10, zt)) - 0.7) * 1e-6 * f.rho
	default:
		return 1.2e-3 * math.Exp(-0.016*(t-293.15))
	}
}

// bulk returns the effective bulk modulus K(p) [Pa] with a volume share of air at one atmosphere, isothermal:
// 1/K = 1/(K0 + K' p) + air·pa/(p+pa)².
func (f Fluid) bulk(p, air float64) float64 {
	const pa = 101325.0
	abs := math.Max(p, 0) + pa
	return 1 / (1/(f.modulus+f.slope*p) + air*pa/(abs*abs))
}

// squeezed returns the pressure of a chamber from p when the liquid in it is squeezed by a share e of its volume. The strain
// p/K + air·p/(p+pa) is kept, so that a step through the collapse of the air loses no volume.
func (f Fluid) squeezed(p, e, air float64) float64 {
	const pa = 101325.0
	a := 1 / (f.modulus + f.slope*math.Max(p, 0))
	strain := a*p + e
	if p > 0 {
		strain += air * p / (p + pa)
	}
	if strain <= 0 {
		return strain / a
	}
	b := a*pa + air - strain
	root := math.Sqrt(b*b + 4*a*strain*pa)
	if b > 0 {
		return 2 * strain * pa / (b + root)
	}
	return (root - b) / (2 * a)
}
