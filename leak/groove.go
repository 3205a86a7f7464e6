package leak

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Section is the cross-section of a groove closed by the other part. Make it with [Round], [Rectangle], [Vee] or
// [Semicircle].
type Section struct {
	Area       float64 // m²
	Perimeter  float64 // m, with the lid
	Poiseuille float64 // Po = Darcy f·Re [1]
}

// Hydraulic returns the hydraulic diameter 4A/P [m].
func (s Section) Hydraulic() float64 { return 4 * s.Area / s.Perimeter }

// Round returns a round section of diameter d [m]: Po = 64. Errors: *num.RangeError unless d > 0.
func Round(d float64) (Section, error) {
	if err := checkLengths("leak.Round", length{"d", d}); err != nil {
		return Section{}, err
	}
	return Section{Area: math.Pi * d * d / 4, Perimeter: math.Pi * d, Poiseuille: 64}, nil
}

// Rectangle returns a rectangular section of sides w and h [m].
//
//	Q = (a·b³Δp/(12μL))·[1 - (192b/(π⁵a)) Σ_{k odd} tanh(kπa/2b)/k⁵],  a ≥ b;  Po = 2·Dh²·A·Δp/(μ·L·Q)
//
// Errors: *num.RangeError unless w, h > 0. Source: exact series, as in F. M. White, Viscous Fluid Flow (3-48).
func Rectangle(w, h float64) (Section, error) {
	if err := checkLengths("leak.Rectangle", length{"w", w}, length{"h", h}); err != nil {
		return Section{}, err
	}
	a, b := max(w, h), min(w, h)
	sum := 0.0
	for k := 1.0; k < 40; k += 2 {
		sum += math.Tanh(k*math.Pi*a/(2*b)) / math.Pow(k, 5)
	}
	bracket := 1 - 192*b/(math.Pow(math.Pi, 5)*a)*sum
	// with Q = ab³/12·bracket and Dh = 2ab/(a+b):
	ratio := a / (a + b)
	return Section{Area: w * h, Perimeter: 2 * (w + h), Poiseuille: 96 * ratio * ratio / bracket}, nil
}

// Semicircle returns a half-round section of radius r [m] under a flat lid.
//
//	Q = (π/8 - 1/π)·r⁴·Δp/(μ·L), so Po = 4π³/((π+2)²·(π/8 - 1/π)) = 63.07
//
// Errors: *num.RangeError unless r > 0. Source: exact, by the analogy with the torsion of a half-round bar (Saint-Venant,
// J = (π/2 - 4/π)r⁴); Shah & London (1978) print 4·15.767.
func Semicircle(r float64) (Section, error) {
	if err := checkLengths("leak.Semicircle", length{"r", r}); err != nil {
		return Section{}, err
	}
	const round = math.Pi + 2
	po := 4 * math.Pi * math.Pi * math.Pi / (round * round * (math.Pi/8 - 1/math.Pi))
	return Section{Area: math.Pi * r * r / 2, Perimeter: round * r, Poiseuille: po}, nil
}

// veePo is Po of isosceles triangles against the apex angle [degrees]. The ends are the exact limit of a thin triangle;
// 60° is exact (equilateral); 90° agrees with a finite-difference solution, 52.610; the others are computed by
// testdata/poiseuille.py. Shah & London (1978) tabulate the same function (from memory: 90° 52.612, 120° 50.98).
var veePo = [...][2]float64{
	{0, 48}, {20, 51.288}, {30, 52.262}, {45, 53.092}, {60, 53.3333}, {75, 53.135}, {90, 52.610}, {105, 51.855},
	{120, 50.953}, {135, 49.987}, {150, 49.046}, {160, 48.496}, {180, 48},
}

// Vee returns a V-shaped section of width w at the lid and depth h [m]: a scratch. Po by its apex angle, 2·atan(w/2h),
// linear between 13 angles, within 0.6 %. Valid for apex angles of 5..178°; otherwise a *num.RangeError.
func Vee(w, h float64) (Section, error) {
	const fn = "leak.Vee"
	if err := checkLengths(fn, length{"w", w}, length{"h", h}); err != nil {
		return Section{}, err
	}
	apex := 2 * math.Atan(w/(2*h)) * 180 / math.Pi
	if err := num.CheckRange(fn, "apex angle", apex, 5, 178, "°"); err != nil {
		return Section{}, err
	}
	return Section{Area: w * h / 2, Perimeter: w + 2*math.Hypot(w/2, h), Poiseuille: veePoiseuille(apex)}, nil
}

func veePoiseuille(apex float64) float64 {
	k := 1
	for apex > veePo[k][0] {
		k++
	}
	lo, hi := veePo[k-1], veePo[k]
	return lo[1] + (hi[1]-lo[1])*(apex-lo[0])/(hi[0]-lo[0])
}

// Groove is a straight channel of constant section: a scratch along a rod or across a seat.
type Groove struct {
	Section Section
	Length  float64 // along the flow [m]: of a scratch across a seat the contact band, along a rod the packing
}

// Scratch returns a V-shaped groove of width w and depth h [m] with the given length [m]. Errors: as [Vee].
func Scratch(w, h, along float64) (Groove, error) {
	s, err := Vee(w, h)
	if err != nil {
		return Groove{}, err
	}
	return Groove{Section: s, Length: along}, checkLengths("leak.Scratch", length{"along", along})
}

func (g Groove) duct(fn string) (duct, error) {
	s := g.Section
	if err := num.CheckPositive(fn, "Area", s.Area, "m²"); err != nil {
		return duct{}, err
	}
	if err := num.CheckPositive(fn, "Poiseuille", s.Poiseuille, "1"); err != nil {
		return duct{}, err
	}
	if err := checkLengths(fn, length{"Perimeter", s.Perimeter}, length{"Length", g.Length}); err != nil {
		return duct{}, err
	}
	dh := s.Hydraulic()
	return duct{resist: s.Poiseuille * g.Length / (2 * dh * dh * s.Area), area: s.Area, dh: dh, ends: grooveEnds}, nil
}

// Flow returns the laminar flow along the groove [m³/s].
//
//	Q = 2·A·Dh²·Δp/(Po·μ·L)
//
// Valid for Re on Dh up to [LaminarRe] and L much above Dh. Errors: *num.RangeError, *RegimeError (a scratch across a seat
// leaves the laminar regime early with thin liquids). Source: definition of Po; sections see [Section].
func (g Groove) Flow(dp float64, l Liquid) (float64, error) {
	const fn = "leak.Groove.Flow"
	d, err := g.duct(fn)
	if err != nil {
		return 0, err
	}
	return d.flow(fn, dp, l)
}

// Law returns the flow against pressure for every Reynolds number: laminar when slow, a sharp orifice of the same area when
// fast and short; see [Annulus.Law]. Errors: *num.RangeError.
func (g Groove) Law(l Liquid) (Law, error) {
	const fn = "leak.Groove.Law"
	d, err := g.duct(fn)
	if err != nil {
		return Law{}, err
	}
	return d.law(fn, l)
}
