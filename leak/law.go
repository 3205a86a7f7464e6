package leak

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Path is a leak path: its flow against pressure difference, the slope dQ/dΔp, and the exponent dlnQ/dlnΔp, which is 1
// for a viscous leak, 1/2 for an orifice, above 1 for a gap that opens and below 0 for one that closes under pressure.
// [Law], [ThinLaw], [Packing] and [Parallel] are paths.
type Path interface {
	Flow(dp float64) float64     // m³/s at dp [Pa]
	Slope(dp float64) float64    // m³/(s·Pa)
	Exponent(dp float64) float64 // 1
}

// Law is one leak path's flow against pressure: increasing, odd, with a continuous slope everywhere.
//
//	Δp = Lin·Q + Quad·Q|Q|      Q = 2Δp/(Lin + √(Lin² + 4·Quad·|Δp|))      dQ/dΔp = 1/√(Lin² + 4·Quad·|Δp|)
//
// The first term is viscous and goes with μ, the second inertial and goes with ρ. The zero Law is a tight path.
// A Law with Quad only has an infinite slope at rest; [FromRated] never makes one.
// Source: Hagen–Poiseuille plus a loss of kinetic energy (Hagenbach), as in any textbook on capillary viscometers.
type Law struct {
	Lin    float64 // Pa·s/m³, ≥ 0
	Quad   float64 // Pa·s²/m⁶, ≥ 0
	Liquid Liquid  // for which Lin and Quad hold
}

// Tight says that nothing flows.
func (l Law) Tight() bool { return l.Lin == 0 && l.Quad == 0 }

// Flow returns Q [m³/s] at dp [Pa].
func (l Law) Flow(dp float64) float64 {
	if l.Tight() || dp == 0 {
		return 0
	}
	return 2 * dp / (l.Lin + l.root(dp))
}

// Slope returns dQ/dΔp [m³/(s·Pa)] at dp [Pa].
func (l Law) Slope(dp float64) float64 {
	if l.Tight() {
		return 0
	}
	return 1 / l.root(dp)
}

// Exponent returns dlnQ/dlnΔp at dp, between 1/2 and 1; 1 for a tight path.
func (l Law) Exponent(dp float64) float64 {
	if l.Tight() || dp == 0 {
		return 1
	}
	root := l.root(dp)
	return (l.Lin + root) / (2 * root)
}

// root is √(Lin² + 4·Quad·|Δp|).
func (l Law) root(dp float64) float64 { return math.Hypot(l.Lin, 2*math.Sqrt(l.Quad*math.Abs(dp))) }

// For returns the same gap with another liquid: Lin goes with viscosity, Quad with density. A tight path stays tight.
// Errors: *num.RangeError if either liquid is not a liquid.
func (l Law) For(other Liquid) (Law, error) {
	const fn = "leak.Law.For"
	if err := other.check(fn); err != nil {
		return Law{}, err
	}
	if l.Tight() {
		return Law{Liquid: other}, nil
	}
	if err := l.Liquid.check(fn); err != nil {
		return Law{}, err
	}
	return Law{
		Lin:    l.Lin * (other.Viscosity / l.Liquid.Viscosity),
		Quad:   l.Quad * (other.Density / l.Liquid.Density),
		Liquid: other,
	}, nil
}

// leastShare is the least viscous share of a Law made by [FromRated]: it keeps the slope at rest finite.
const leastShare = 1e-4

// FromRated returns the law that leaks q [m³/s] of liquid l at the rated pressure dp [Pa], with the given viscous share
// of the pressure loss there: 1 is a purely laminar leak, 0 an orifice (taken as 1e-4, so that the slope at rest is finite).
//
//	Lin = share·Δp/Q      Quad = (1-share)·Δp/Q²
//
// q = 0 gives a tight path. Errors: *num.RangeError unless q ≥ 0, dp > 0, share of 0..1.
func FromRated(q, dp float64, l Liquid, share float64) (Law, error) {
	const fn = "leak.FromRated"
	if err := checkRated(fn, q, dp, l, share); err != nil {
		return Law{}, err
	}
	return rated(q, dp, l, share), nil
}

func checkRated(fn string, q, dp float64, l Liquid, share float64) error {
	if err := num.CheckRange(fn, "q", q, 0, math.MaxFloat64, "m³/s"); err != nil {
		return err
	}
	if err := num.CheckPositive(fn, "dp", dp, "Pa"); err != nil {
		return err
	}
	if err := num.CheckRange(fn, "share", share, 0, 1, "1"); err != nil {
		return err
	}
	return l.check(fn)
}

func rated(q, dp float64, l Liquid, share float64) Law {
	if q == 0 {
		return Law{Liquid: l}
	}
	share = math.Max(share, leastShare)
	return Law{Lin: share * dp / q, Quad: (1 - share) * dp / q / q, Liquid: l}
}

// Parallel is several paths side by side between the same two rooms, as a scratch across a worn seat. Flows add.
type Parallel []Path

// Flow returns the sum of the flows [m³/s].
func (p Parallel) Flow(dp float64) float64 {
	var q float64
	for _, one := range p {
		q += one.Flow(dp)
	}
	return q
}

// Slope returns the sum of the slopes [m³/(s·Pa)].
func (p Parallel) Slope(dp float64) float64 {
	var s float64
	for _, one := range p {
		s += one.Slope(dp)
	}
	return s
}

// Exponent returns dlnQ/dlnΔp of the sum; 1 where nothing flows.
func (p Parallel) Exponent(dp float64) float64 { return exponent(dp, p.Flow(dp), p.Slope(dp)) }

func exponent(dp, q, slope float64) float64 {
	if q == 0 {
		return 1
	}
	return dp * slope / q
}
