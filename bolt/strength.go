package bolt

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// ProofStress returns Rp0.2 [Pa], the least value of a property class, for a thread of nominal diameter d [m].
//
//	"8.8" 640 MPa up to M16, 660 MPa above   "10.9" 940   "12.9" 1100 MPa   (as the tables of VDI 2230-1 use them)
//	"4.6" 240   "5.6" 300   "6.8" 480   "A2-70", "A4-70" 450   "A2-80", "A4-80" 600 MPa   (from memory of ISO 898-1, ISO 3506-1)
//
// An unknown class is a *ParseError.
func ProofStress(class string, d float64) (float64, error) {
	if err := num.CheckPositive("bolt.ProofStress", "d", d, "m"); err != nil {
		return 0, err
	}
	switch class {
	case "8.8":
		if d > 16.0001e-3 {
			return 660e6, nil
		}
		return 640e6, nil
	case "10.9":
		return 940e6, nil
	case "12.9":
		return 1100e6, nil
	case "4.6":
		return 240e6, nil
	case "5.6":
		return 300e6, nil
	case "6.8":
		return 480e6, nil
	case "A2-70", "A4-70":
		return 450e6, nil
	case "A2-80", "A4-80":
		return 600e6, nil
	}
	return 0, &ParseError{"property class", class, "4.6, 5.6, 6.8, 8.8, 10.9, 12.9, A2-70, A4-70, A2-80 or A4-80"}
}

// section is the stressed section of a bolt with a bore: its area [m²] and τ/σ while it is tightened with the friction mu
// in the thread, the section taken as fully plastic in torsion (a solid one gives the 1.5·d2/d0 of VDI 2230-1).
func section(t Thread, bore, mu float64) (area, shear float64) {
	d0 := t.stressDiameter()
	area = math.Pi / 4 * (d0*d0 - bore*bore)
	polar := math.Pi / 12 * (d0*d0*d0 - bore*bore*bore)
	return area, threadArm(t, mu) * area / polar
}

// threadArm is the torque in the thread over the clamp [m]: P/2π + μ·d2/(2·cos30°).
func threadArm(t Thread, mu float64) float64 { return (t.P/math.Pi + mu*t.PitchDiameter()*sec30) / 2 }

func checkSection(fn string, t Thread, bore, mu float64) error {
	return first(
		num.CheckPositive(fn, "P", t.P, "m"),
		num.CheckPositive(fn, "d3", t.Core(), "m"),
		num.CheckRange(fn, "bore", bore, 0, 0.98*t.Core(), "m"),
		num.CheckRange(fn, "μth", mu, 0, 1, "1"),
	)
}

// EquivalentStress returns the von Mises stress [Pa] in the thread section at the end of tightening:
//
//	σ_eq = (F/A)·√(1 + 3·(τ/σ)²)     A = π/4·(d0²−b²)     d0 = (d2+d3)/2
//	τ/σ  = A·[P/2π + μth·d2/(2·cos30°)] / (π/12·(d0³−b³))
//
// F [N] clamp, b [m] bore through a hollow bolt (0 for a solid one; up to 0.98·d3), μth thread friction 0..1.
// For b = 0 τ/σ is VDI's 1.5·(d2/d0)·(P/(π·d2) + 1.155·μth); the bore is our extension with the same plastic section.
// Source: VDI 2230-1.
func EquivalentStress(clamp float64, t Thread, bore, muThread float64) (float64, error) {
	fn := "bolt.EquivalentStress"
	if err := first(num.CheckRange(fn, "F", clamp, 0, math.Inf(1), "N"), checkSection(fn, t, bore, muThread)); err != nil {
		return 0, err
	}
	area, shear := section(t, bore, muThread)
	return clamp / area * math.Sqrt(1+3*shear*shear), nil
}

// underLoad is the share k_τ of the torsion of tightening that counts once the bolt is loaded: a part of it springs back when the
// wrench lets go, and the load takes more of it away.
const underLoad = 0.5

// WorkingStress returns the von Mises stress [Pa] in the thread section of a tightened bolt that carries the force FS [N] under load,
// step R8 of VDI 2230-1:
//
//	σ_red = √(σz² + 3·(k_τ·τ)²)     σz = FS/A     τ = F·[P/2π + μth·d2/(2·cos30°)]/Wp     k_τ = 0.5
//	A = π/4·(d0²−b²)     Wp = π/16·(d0⁴−b⁴)/d0     d0 = (d2+d3)/2
//
// F [N] >= 0 the clamp that the torque brought, whose torsion is left in the bolt; FS [N] >= 0, at least what is left of F and mostly
// F and the load; b and μth as EquivalentStress. Unlike there the section is elastic in torsion: a bolt that has to stay below yield.
// Source: VDI 2230-1, 5.5.2 (R8), from memory; the bore is our extension with the same section.
func WorkingStress(clamp, force float64, t Thread, bore, muThread float64) (float64, error) {
	fn := "bolt.WorkingStress"
	if err := first(
		num.CheckRange(fn, "F", clamp, 0, math.Inf(1), "N"), num.CheckRange(fn, "FS", force, 0, math.Inf(1), "N"),
		checkSection(fn, t, bore, muThread),
	); err != nil {
		return 0, err
	}
	d0 := t.stressDiameter()
	tension := force / (math.Pi / 4 * (d0 - bore) * (d0 + bore))
	torsion := clamp * threadArm(t, muThread) / (math.Pi / 16 * (d0*d0*d0*d0 - bore*bore*bore*bore) / d0)
	return math.Sqrt(tension*tension + 3*underLoad*underLoad*torsion*torsion), nil
}

// YieldPreload returns the clamp [N] at which the thread section reaches the share nu of the proof stress Rp [Pa] while
// being tightened; nu = 0.9 gives the preloads tabulated in VDI 2230-1:
//
//	F = nu·Rp·A/√(1 + 3·(τ/σ)²)
//
// Symbols, range and source as EquivalentStress; 0 < nu <= 1, Rp > 0.
func YieldPreload(t Thread, bore, proof, muThread, nu float64) (float64, error) {
	fn := "bolt.YieldPreload"
	if err := first(
		num.CheckPositive(fn, "Rp", proof, "Pa"),
		num.CheckPositive(fn, "nu", nu, "1"), num.CheckRange(fn, "nu", nu, 0, 1, "1"),
		checkSection(fn, t, bore, muThread),
	); err != nil {
		return 0, err
	}
	area, shear := section(t, bore, muThread)
	return nu * proof * area / math.Sqrt(1+3*shear*shear), nil
}

// BearingStress returns the mean pressure [Pa] under the turned face, p = F/(π/4·(Do²−Di²)): clamp F [N] >= 0, outer and
// inner diameter of the face [m], 0 < Di < Do. Source: VDI 2230-1, surface pressure.
func BearingStress(clamp, outer, inner float64) (float64, error) {
	fn := "bolt.BearingStress"
	if err := first(num.CheckRange(fn, "F", clamp, 0, math.Inf(1), "N"), annulus(fn, outer, inner)); err != nil {
		return 0, err
	}
	return clamp / (math.Pi / 4 * (outer - inner) * (outer + inner)), nil
}
