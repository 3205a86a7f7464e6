package fluid

import "math"

// Water returns pure water, liquid: T 273.15..373.15 K, p -Atmosphere..MaxPressure gauge. Nothing is assumed.
//
// Density, bulk modulus, expansion and sound speed: IAPWS-IF97 region 1 (R7-97), by exact derivatives.
// Viscosity: IAPWS R12-08 with that density, without the critical enhancement (nil for the liquid).
func Water() Fluid { return Fluid{name: "water", model: water{}} }

type water struct{}

func (water) limits() (float64, float64) { return zeroCelsius, zeroCelsius + 100 }

func (water) state(T, p float64) state { return if97State(T, p+Atmosphere) }

func (water) viscosity(T, p float64) float64 {
	return waterViscosity(T, if97State(T, p+Atmosphere).density)
}

// Coefficients of the IAPWS formulation 2008 for the viscosity of water, R12-08 tables 1 and 2; from memory, checked
// against its table 4.
var (
	waterH0 = [4]float64{1.67752, 2.20462, 0.6366564, -0.241605}
	waterH1 = [6][7]float64{
		{5.20094e-1, 2.22531e-1, -2.81378e-1, 1.61913e-1, -3.25372e-2, 0, 0},
		{8.50895e-2, 9.99115e-1, -9.06851e-1, 2.57399e-1, 0, 0, 0},
		{-1.08374, 1.88797, -7.72479e-1, 0, 0, 0, 0},
		{-2.89555e-1, 1.26613, -4.89837e-1, 0, 6.98452e-2, 0, -4.35673e-3},
		{0, 0, -2.57040e-1, 0, 0, 8.72102e-3, 0},
		{0, 1.20573e-1, 0, 0, 0, 0, -5.93264e-4},
	}
)

// waterViscosity returns the dynamic viscosity [Pa·s] of water at T [K] and density rho [kg/m³].
//
//	μ = 100 µPa·s·√T̄/Σ H_i T̄⁻ⁱ · exp(ρ̄ Σ_i (1/T̄-1)ⁱ Σ_j H_ij (ρ̄-1)ʲ)      T̄ = T/647.096 K, ρ̄ = ρ/(322 kg/m³)
func waterViscosity(T, rho float64) float64 {
	t, r := T/647.096, rho/322
	var gas, dense float64
	for i, h := range waterH0 {
		gas += h * math.Pow(t, -float64(i))
	}
	for i, row := range waterH1 {
		var inner float64
		for j := len(row) - 1; j >= 0; j-- {
			inner = inner*(r-1) + row[j]
		}
		dense += math.Pow(1/t-1, float64(i)) * inner
	}
	return 1e-6 * 100 * math.Sqrt(t) / gas * math.Exp(r*dense)
}
