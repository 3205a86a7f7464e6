package stroke

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// SingleActing returns the flow [m³/s] that a tight pump delivers when one face of its piston draws from the suction, as a
// two-ball differential pump does.
//
//	Q = (π/4)·D²·s·n
//
// bore D, stroke s [m]; rate n, double strokes per second [1/s]. The rod does not matter: it only shares the delivery out
// between the two strokes. Valid for values > 0; otherwise a *num.RangeError. Source: geometry; B. K. Sarkar, Fluid
// Mechanics and Hydraulic Machines, Ex 9.4.
func SingleActing(bore, stroke, rate float64) (float64, error) {
	if err := positive("stroke.SingleActing", quantity{"bore", bore, "m"}, quantity{"stroke", stroke, "m"}, quantity{"rate", rate, "1/s"}); err != nil {
		return 0, err
	}
	return math.Pi / 4 * bore * bore * stroke * rate, nil
}

// DoubleActing returns the flow [m³/s] that a tight pump delivers when both faces of its piston draw from the suction.
//
//	Q = (π/4)·(2D² − d²)·s·n
//
// bore D, rod d on one side (0 to leave it out), stroke s [m]; rate n, double strokes per second [1/s]. Valid for D, s,
// n > 0 and 0 ≤ d < D; otherwise a *num.RangeError. Source: Hydraulic Institute form (2A − a)·s·n; Sarkar, Ex 9.3.
func DoubleActing(bore, rod, stroke, rate float64) (float64, error) {
	const fn = "stroke.DoubleActing"
	if err := positive(fn, quantity{"bore", bore, "m"}, quantity{"stroke", stroke, "m"}, quantity{"rate", rate, "1/s"}); err != nil {
		return 0, err
	}
	if err := num.CheckRange(fn, "rod", rod, 0, bore, "m"); err != nil {
		return 0, err
	}
	return math.Pi / 4 * (2*bore*bore - rod*rod) * stroke * rate, nil
}

// Slip returns the share [1] of the theoretical delivery that a pump loses.
//
//	slip = (Qt − Qa)/Qt
//
// theoretical Qt > 0, actual Qa ≥ 0, both in the same unit of flow or volume. It is negative where the fluid's inertia keeps
// the valves open past the end of the stroke. Otherwise a *num.RangeError. Source: Sarkar, Ex 9.3.
func Slip(theoretical, actual float64) (float64, error) {
	ve, err := efficiency("stroke.Slip", theoretical, actual)
	return 1 - ve, err
}

// VolumetricEfficiency returns Qa/Qt [1], also called the coefficient of discharge of the pump; see [Slip].
func VolumetricEfficiency(theoretical, actual float64) (float64, error) {
	return efficiency("stroke.VolumetricEfficiency", theoretical, actual)
}

func efficiency(fn string, theoretical, actual float64) (float64, error) {
	if err := num.CheckPositive(fn, "theoretical", theoretical, "m³/s"); err != nil {
		return 0, err
	}
	if err := num.CheckRange(fn, "actual", actual, 0, math.MaxFloat64, "m³/s"); err != nil {
		return 0, err
	}
	return actual / theoretical, nil
}

// AccelerationHead returns the head [m] that accelerates the liquid in a pipe while a crank drives the piston in simple
// harmonic motion.
//
//	h_a = (L/g)·(A/a)·ω²·r·cos θ
//
// length L [m] and area a [m²] of the pipe, piston area A [m²], crank speed ω [rad/s], crank radius r = s/2 [m], crank angle θ
// [rad] from the dead centre where the stroke begins. Valid for values > 0 and finite θ; otherwise a *num.RangeError.
// Source: Sarkar, Ex 9.4.
func AccelerationHead(length, piston, pipe, omega, radius, angle float64) (float64, error) {
	const fn = "stroke.AccelerationHead"
	if err := positive(fn, quantity{"length", length, "m"}, quantity{"piston", piston, "m²"}, quantity{"pipe", pipe, "m²"}, quantity{"omega", omega, "rad/s"}, quantity{"radius", radius, "m"}); err != nil {
		return 0, err
	}
	if err := num.CheckFinite(fn, "angle", angle, "rad"); err != nil {
		return 0, err
	}
	return length / gravity * piston / pipe * omega * omega * radius * math.Cos(angle), nil
}

// MixingPressure returns the pressure [Pa] at which two closed volumes of constant compliance come to rest once a leak
// between them has done its work: where a locked hold ends that hides a bad piston seal.
//
//	p = (Cu·pu + Cl·pl)/(Cu + Cl)
//
// Compliances Cu, Cl > 0 [m³/Pa], pressures [Pa]; otherwise a *num.RangeError. Source: conservation of volume.
func MixingPressure(cu, pu, cl, pl float64) (float64, error) {
	const fn = "stroke.MixingPressure"
	if err := positive(fn, quantity{"cu", cu, "m³/Pa"}, quantity{"cl", cl, "m³/Pa"}); err != nil {
		return 0, err
	}
	if err := num.CheckFinite(fn, "pu", pu, "Pa"); err != nil {
		return 0, err
	}
	if err := num.CheckFinite(fn, "pl", pl, "Pa"); err != nil {
		return 0, err
	}
	return (cu*pu + cl*pl) / (cu + cl), nil
}

// LaminarHold returns the pressure [Pa] after time t of a closed volume that leaks to nothing by dp = lin·Q.
//
//	p = p0·exp(−t/(lin·C))
//
// p0 ≥ 0 [Pa], compliance C > 0 [m³/Pa], lin > 0 [Pa·s/m³], t ≥ 0 [s]; otherwise a *num.RangeError. C is constant: no air.
// Source: C·dp/dt = −p/lin integrated.
func LaminarHold(p0, c, lin, t float64) (float64, error) {
	if err := holdArguments("stroke.LaminarHold", p0, c, "lin", lin, "Pa·s/m³", t); err != nil {
		return 0, err
	}
	return p0 * math.Exp(-t/(lin*c)), nil
}

// OrificeHold returns the pressure [Pa] after time t of a closed volume that leaks to nothing by dp = quad·Q².
//
//	√p = √p0 − t/(2·C·√quad)   until p = 0
//
// Arguments as [LaminarHold], with quad > 0 [Pa·s²/m⁶]. Source: C·dp/dt = −√(p/quad) integrated.
func OrificeHold(p0, c, quad, t float64) (float64, error) {
	if err := holdArguments("stroke.OrificeHold", p0, c, "quad", quad, "Pa·s²/m⁶", t); err != nil {
		return 0, err
	}
	root := math.Max(0, math.Sqrt(p0)-t/(2*c*math.Sqrt(quad)))
	return root * root, nil
}

func holdArguments(fn string, p0, c float64, name string, law float64, unit string, t float64) error {
	if err := num.CheckRange(fn, "p0", p0, 0, math.MaxFloat64, "Pa"); err != nil {
		return err
	}
	if err := positive(fn, quantity{"c", c, "m³/Pa"}, quantity{name, law, unit}); err != nil {
		return err
	}
	return num.CheckRange(fn, "t", t, 0, math.MaxFloat64, "s")
}

// quantity is one argument with its name and unit.
type quantity struct {
	name  string
	value float64
	unit  string
}

func positive(fn string, all ...quantity) error {
	for _, q := range all {
		if err := num.CheckPositive(fn, q.name, q.value, q.unit); err != nil {
			return err
		}
	}
	return nil
}
