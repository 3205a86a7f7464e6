package bolt

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Compliance returns δ = L/(A·E) [m/N] of a prismatic part: length L [m], section A [m²], Young's modulus E [Pa], all > 0.
func Compliance(length, area, modulus float64) (float64, error) {
	fn := "bolt.Compliance"
	if err := first(
		num.CheckPositive(fn, "L", length, "m"), num.CheckPositive(fn, "A", area, "m²"), num.CheckPositive(fn, "E", modulus, "Pa"),
	); err != nil {
		return 0, err
	}
	return length / (area * modulus), nil
}

// TurnAngle returns the angle [rad] past snug by which the nut must be turned for the clamp F [N]:
//
//	θ = 2π·F·δ/P
//
// δ [m/N] compliance of what is stretched and squeezed (bolt alone, or bolt plus joint), P [m] pitch. F >= 0, δ, P > 0.
// Source: T. H. Wentzell, Machine Design, example 6-2.
func TurnAngle(clamp, compliance, pitch float64) (float64, error) {
	fn := "bolt.TurnAngle"
	if err := first(
		num.CheckRange(fn, "F", clamp, 0, math.Inf(1), "N"),
		num.CheckPositive(fn, "δ", compliance, "m/N"), num.CheckPositive(fn, "P", pitch, "m"),
	); err != nil {
		return 0, err
	}
	return 2 * math.Pi * clamp * compliance / pitch, nil
}

// SeparatingForce returns F_A = p·π/4·Dp² [N], with which the gauge pressure p [Pa] >= 0 pushes a joint apart that is
// sealed on the diameter Dp [m] > 0.
func SeparatingForce(pressure, sealDiameter float64) (float64, error) {
	fn := "bolt.SeparatingForce"
	if err := first(
		num.CheckRange(fn, "p", pressure, 0, math.Inf(1), "Pa"), num.CheckPositive(fn, "Dp", sealDiameter, "m"),
	); err != nil {
		return 0, err
	}
	return pressure * math.Pi / 4 * sealDiameter * sealDiameter, nil
}

// LoadFactor returns φ = cb/(cb+cj), the share of an outer load that the bolt takes on top of the clamp: stiffness of the
// bolt cb and of the clamped parts cj [N/m], >= 0, not both 0. The load is taken to act at the faces of the joint.
// Source: Shigley's Mechanical Engineering Design, chapter 8 (joint constant C); VDI 2230-1 (Φ with n = 1).
func LoadFactor(boltStiffness, jointStiffness float64) (float64, error) {
	fn := "bolt.LoadFactor"
	if err := first(
		num.CheckRange(fn, "cb", boltStiffness, 0, math.Inf(1), "N/m"),
		num.CheckRange(fn, "cj", jointStiffness, 0, math.Inf(1), "N/m"),
		num.CheckPositive(fn, "cb+cj", boltStiffness+jointStiffness, "N/m"),
	); err != nil {
		return 0, err
	}
	return boltStiffness / (boltStiffness + jointStiffness), nil
}

// ResidualClamp returns F_R = F − (1−φ)·F_A [N], the clamp left between the parts under the separating force F_A [N] >= 0.
// Negative: the joint gapes; the magnitude then says by how much it is too weak. F >= 0, 0 <= φ <= 1.
// Source: Shigley's Mechanical Engineering Design, chapter 8; VDI 2230-1.
func ResidualClamp(clamp, separating, loadFactor float64) (float64, error) {
	if err := checkLoad("bolt.ResidualClamp", clamp, separating, loadFactor); err != nil {
		return 0, err
	}
	return clamp - (1-loadFactor)*separating, nil
}

// BoltForce returns F_S = max(F + φ·F_A, F_A) [N], the force in the bolt under the separating force F_A [N] >= 0; once the
// joint gapes the bolt carries the whole load. Range and source as ResidualClamp.
func BoltForce(clamp, separating, loadFactor float64) (float64, error) {
	if err := checkLoad("bolt.BoltForce", clamp, separating, loadFactor); err != nil {
		return 0, err
	}
	return math.Max(clamp+loadFactor*separating, separating), nil
}

func checkLoad(fn string, clamp, separating, loadFactor float64) error {
	return first(
		num.CheckRange(fn, "F", clamp, 0, math.Inf(1), "N"),
		num.CheckRange(fn, "FA", separating, 0, math.Inf(1), "N"),
		num.CheckRange(fn, "φ", loadFactor, 0, 1, "1"),
	)
}
