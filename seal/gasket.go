package seal

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Gasket is a flat ring clamped between two faces, as the one under an inlet seat.
type Gasket struct {
	ID, OD float64 // m
	Limit  float64 // Pa, stress at which it flows; 0: not checked
	Factor float64 // stress wanted over pressure; 0: GasketFactor
}

// GasketFactor is the stress on a flat PTFE ring over the pressure that it has to hold. Assumed: no published value seen;
// of the order of the maintenance factors of pressure vessel codes for soft gaskets.
const GasketFactor = 2.0

// GasketState is a Gasket under clamp and pressure.
type GasketState struct {
	Seating  float64 // Pa, stress from the clamp alone
	Residual float64 // Pa, stress left under pressure; 0 when the faces part
	Ratio    float64 // Residual over pressure; 0 without pressure
	Holds    bool    // Ratio >= Factor; without pressure: there is stress
	Flows    bool    // Seating above Limit
	Least    float64 // N, clamp at which Ratio is the Factor
}

// GasketStress returns the stress [Pa] on a flat ring that the clamp F [N] presses and the pressure p [Pa] relieves:
//
//	σ = (F − p·π/4·Dp²)/(π/4·(D² − d²))
//
// Dp [m] >= d diameter that the pressure reaches to (d when only the hole is under pressure). F, p >= 0, 0 <= d < D, Dp <= D.
// Negative: the faces part. Equilibrium of the seat; as ASME VIII-1 Appendix 2 splits the bolt load.
func GasketStress(clamp, pressure, sealed, d, D float64) (float64, error) {
	fn := "seal.GasketStress"
	if err := first(
		num.CheckRange(fn, "F", clamp, 0, math.Inf(1), "N"), num.CheckRange(fn, "p", pressure, 0, math.Inf(1), "Pa"),
		annulus(fn, d, D), num.CheckRange(fn, "Dp", sealed, d, D, "m"),
	); err != nil {
		return 0, err
	}
	return (clamp - pressure*math.Pi/4*sealed*sealed) / (math.Pi / 4 * (D - d) * (D + d)), nil
}

// Press works out the ring under the clamp [N] and the pressure [Pa], which is taken to reach half-way across it.
// Errors as GasketStress.
func (g Gasket) Press(clamp, pressure float64) (GasketState, error) {
	fn := "seal.Gasket"
	var x GasketState
	factor := g.Factor
	if factor == 0 {
		factor = GasketFactor
	}
	sealed := (g.ID + g.OD) / 2
	var err error
	if x.Seating, err = GasketStress(clamp, 0, sealed, g.ID, g.OD); err != nil {
		return x, err
	}
	if err = first(num.CheckRange(fn, "factor", factor, 0, 20, "1"), num.CheckRange(fn, "limit", g.Limit, 0, math.Inf(1), "Pa")); err != nil {
		return x, err
	}
	if x.Residual, err = GasketStress(clamp, pressure, sealed, g.ID, g.OD); err != nil {
		return x, err
	}
	x.Residual = max(x.Residual, 0)
	if x.Holds = x.Seating > 0; pressure > 0 {
		x.Ratio = x.Residual / pressure
		x.Holds = x.Ratio >= factor
	}
	x.Flows = g.Limit > 0 && x.Seating > g.Limit
	x.Least = pressure * math.Pi / 4 * (sealed*sealed + factor*(g.OD-g.ID)*(g.OD+g.ID))
	return x, nil
}
