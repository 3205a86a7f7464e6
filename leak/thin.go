package leak

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// FlowThin returns the laminar flow [m³/s] of a power-law liquid between parallel plates.
//
//	Q = (w·h²/2)·(n/(2n+1))·(h·|Δp|/(2KL))^{1/n}, with the sign of Δp
//
// Valid as [Slot.Flow], with Re' = 12ρV²/τ_w (2ρVh/μ when n = 1) up to [LaminarRe]. Errors: *num.RangeError, *RegimeError.
// Source: Bird, Stewart & Lightfoot, Transport Phenomena, power-law flow in a slit.
func (s Slot) FlowThin(dp float64, l PowerLaw) (float64, error) {
	const fn = "leak.Slot.FlowThin"
	law, err := s.thin(fn, l)
	if err != nil {
		return 0, err
	}
	q, err := law.viscous(fn, dp)
	if err != nil {
		return 0, err
	}
	v := q / (s.Width * s.Height)
	return q, laminarThin(fn, 12*l.Density*v*v, math.Abs(dp)*s.Height/(2*s.Length))
}

// LawThin returns the flow of a power-law liquid against pressure for every Reynolds number; see [ThinLaw].
func (s Slot) LawThin(l PowerLaw) (ThinLaw, error) { return s.thin("leak.Slot.LawThin", l) }

func (s Slot) thin(fn string, l PowerLaw) (ThinLaw, error) {
	d, err := s.duct(fn)
	if err != nil {
		return ThinLaw{}, err
	}
	if err := l.check(fn); err != nil {
		return ThinLaw{}, err
	}
	w, h, n := s.Width, s.Height, l.N
	return ThinLaw{
		Viscous: 2 * l.K * s.Length / h * math.Pow(2*(2*n+1)/(n*w*h*h), n),
		N:       n,
		Quad:    d.inertia(l.Density),
	}, nil
}

// FlowThin returns the laminar leak [m³/s] of a power-law liquid through a centred annulus, as a slot of width π·d.
// With eccentricity it is refused: the factor of a Newtonian liquid does not hold. See [Slot.FlowThin].
func (a Annulus) FlowThin(dp float64, l PowerLaw) (float64, error) {
	s, err := a.unrolled("leak.Annulus.FlowThin")
	if err != nil {
		return 0, err
	}
	return s.FlowThin(dp, l)
}

// LawThin returns the flow of a power-law liquid through a centred annulus against pressure; see [ThinLaw].
func (a Annulus) LawThin(l PowerLaw) (ThinLaw, error) {
	s, err := a.unrolled("leak.Annulus.LawThin")
	if err != nil {
		return ThinLaw{}, err
	}
	return s.LawThin(l)
}

func (a Annulus) unrolled(fn string) (Slot, error) {
	if _, err := a.duct(fn); err != nil {
		return Slot{}, err
	}
	if a.Eccentricity != 0 {
		return Slot{}, &num.RangeError{Func: fn, Name: "Eccentricity", Value: a.Eccentricity, Unit: "1", Want: "0 for a power-law liquid"}
	}
	return Slot{Width: math.Pi * a.Diameter, Height: a.Gap, Length: a.Length}, nil
}

// FlowThin returns the laminar flow [m³/s] of a power-law liquid through a tube.
//
//	Δp = (2KL/R)·[((3n+1)/n)·Q/(πR³)]ⁿ
//
// Valid for Re' (see [TubeReynolds]) up to [LaminarRe]. Errors: *num.RangeError, *RegimeError.
// Source: Geankoplis, Transport Processes and Unit Operations §3.5.
func (t Tube) FlowThin(dp float64, l PowerLaw) (float64, error) {
	const fn = "leak.Tube.FlowThin"
	law, err := t.thin(fn, l)
	if err != nil {
		return 0, err
	}
	q, err := law.viscous(fn, dp)
	if err != nil {
		return 0, err
	}
	v := 4 * q / (math.Pi * t.Diameter * t.Diameter)
	return q, laminarThin(fn, 8*l.Density*v*v, math.Abs(dp)*t.Diameter/(4*t.Length))
}

// LawThin returns the flow of a power-law liquid against pressure for every Reynolds number; see [ThinLaw].
func (t Tube) LawThin(l PowerLaw) (ThinLaw, error) { return t.thin("leak.Tube.LawThin", l) }

func (t Tube) thin(fn string, l PowerLaw) (ThinLaw, error) {
	d, err := t.duct(fn)
	if err != nil {
		return ThinLaw{}, err
	}
	if err := l.check(fn); err != nil {
		return ThinLaw{}, err
	}
	r, n := t.Diameter/2, l.N
	return ThinLaw{
		Viscous: 2 * l.K * t.Length / r * math.Pow((3*n+1)/(n*math.Pi*r*r*r), n),
		N:       n,
		Quad:    d.inertia(l.Density),
	}, nil
}

// laminarThin refuses a generalised Reynolds number kinetic/shear above the laminar limit.
func laminarThin(fn string, kinetic, shear float64) error {
	if shear == 0 {
		return nil
	}
	if re := kinetic / shear; re > LaminarRe {
		return &RegimeError{Func: fn, Re: re, Hi: LaminarRe}
	}
	return nil
}

// TubeReynolds returns the generalised Reynolds number Re' [1] (Metzner–Reed) of a power-law liquid in a tube.
//
//	Re' = Dⁿ·V^{2-n}·ρ/(K'·8^{n-1})      K' = K·((3n+1)/(4n))ⁿ
//
// d bore [m], v mean speed [m/s]. Laminar friction is then f = 16/Re' (Fanning). Valid for d > 0, v ≥ 0; otherwise a
// *num.RangeError. Source: Geankoplis, Transport Processes and Unit Operations §3.5.
func TubeReynolds(d, v float64, l PowerLaw) (float64, error) {
	const fn = "leak.TubeReynolds"
	if err := checkLengths(fn, length{"d", d}); err != nil {
		return 0, err
	}
	if err := num.CheckRange(fn, "v", v, 0, math.MaxFloat64, "m/s"); err != nil {
		return 0, err
	}
	if err := l.check(fn); err != nil {
		return 0, err
	}
	n := l.N
	k := l.K * math.Pow((3*n+1)/(4*n), n)
	return math.Pow(d, n) * math.Pow(v, 2-n) * l.Density / (k * math.Pow(8, n-1)), nil
}

// TubeShear returns the shear rate at the wall of a tube [1/s] of a power-law liquid with index n.
//
//	γ̇ = ((3n+1)/(4n))·32Q/(πd³)
//
// q flow [m³/s], d bore [m], n 0.1..1; otherwise a *num.RangeError. Source: Rabinowitsch–Mooney, Geankoplis §3.5.
func TubeShear(q, d, n float64) (float64, error) {
	const fn = "leak.TubeShear"
	if err := checkShear(fn, q, n, length{"d", d}); err != nil {
		return 0, err
	}
	return (3*n + 1) / (4 * n) * 32 * math.Abs(q) / (math.Pi * d * d * d), nil
}

// SlotShear returns the shear rate at the wall of a slot [1/s] of a power-law liquid with index n.
//
//	γ̇ = ((2n+1)/(3n))·6Q/(w·h²)
//
// q flow [m³/s], w width, h height [m], n 0.1..1; otherwise a *num.RangeError. Source: Rabinowitsch–Mooney for a slit.
func SlotShear(q, w, h, n float64) (float64, error) {
	const fn = "leak.SlotShear"
	if err := checkShear(fn, q, n, length{"w", w}, length{"h", h}); err != nil {
		return 0, err
	}
	return (2*n + 1) / (3 * n) * 6 * math.Abs(q) / (w * h * h), nil
}

func checkShear(fn string, q, n float64, all ...length) error {
	if err := num.CheckFinite(fn, "q", q, "m³/s"); err != nil {
		return err
	}
	if err := num.CheckRange(fn, "n", n, 0.1, 1, "1"); err != nil {
		return err
	}
	return checkLengths(fn, all...)
}

// ThinLaw is the flow of a power-law liquid against pressure: increasing and odd.
//
//	Δp = Viscous·Qⁿ + Quad·Q²      for Q ≥ 0
//
// With n = 1 it is [Law]. The zero ThinLaw is a tight path.
type ThinLaw struct {
	Viscous float64 // Pa·(s/m³)ⁿ, ≥ 0
	N       float64 // n [1], 0.1..1
	Quad    float64 // Pa·s²/m⁶, ≥ 0
}

// RatedThin returns the law that leaks q [m³/s] of a liquid with power-law index n at the rated pressure dp [Pa], with the
// given viscous share of the pressure loss there: [FromRated] for a thinning liquid.
//
//	Viscous = share·Δp/Qⁿ      Quad = (1-share)·Δp/Q²
//
// A viscous leak of a thinning liquid has exponent 1/n, above 1. q = 0 gives a tight path.
// Errors: *num.RangeError unless q ≥ 0, dp > 0, n of 0.1..1, share of 0..1 (taken as at least 1e-4).
func RatedThin(q, dp, n, share float64) (ThinLaw, error) {
	const fn = "leak.RatedThin"
	if err := checkRated(fn, q, dp, Liquid{1, 1}, share); err != nil {
		return ThinLaw{}, err
	}
	if err := num.CheckRange(fn, "n", n, 0.1, 1, "1"); err != nil {
		return ThinLaw{}, err
	}
	if q == 0 {
		return ThinLaw{N: n}, nil
	}
	share = max(share, leastShare)
	return ThinLaw{Viscous: share * dp / math.Pow(q, n), N: n, Quad: (1 - share) * dp / q / q}, nil
}

// Tight says that nothing flows.
func (t ThinLaw) Tight() bool { return t.Viscous == 0 && t.Quad == 0 }

func (t ThinLaw) viscous(fn string, dp float64) (float64, error) {
	if err := checkPressure(fn, dp); err != nil {
		return 0, err
	}
	return signed(math.Pow(math.Abs(dp)/t.Viscous, 1/t.N), dp), nil
}

// Flow returns Q [m³/s] at dp [Pa].
//
// In x = ln Q the equation ln(Viscous·e^{nx} + Quad·e^{2x}) = ln Δp is convex with slopes of n..2, so Newton's method from
// the smaller of the two pure solutions falls onto the root without overshoot.
func (t ThinLaw) Flow(dp float64) float64 {
	if t.Tight() || dp == 0 {
		return 0
	}
	p := math.Abs(dp)
	q := math.Inf(1)
	if t.Viscous > 0 {
		q = math.Pow(p/t.Viscous, 1/t.N)
	}
	if t.Quad > 0 {
		q = min(q, math.Sqrt(p/t.Quad))
	}
	if q == 0 {
		return 0 // below the smallest float
	}
	for range 50 {
		visc, kin := t.Viscous*math.Pow(q, t.N), t.Quad*q*q
		step := math.Log((visc+kin)/p) * (visc + kin) / (t.N*visc + 2*kin)
		q *= math.Exp(-step)
		if math.Abs(step) < 1e-15 {
			break
		}
	}
	return signed(q, dp)
}

// Slope returns dQ/dΔp [m³/(s·Pa)] at dp [Pa]; 0 at rest when n < 1.
func (t ThinLaw) Slope(dp float64) float64 {
	q := math.Abs(t.Flow(dp))
	switch {
	case t.Tight():
		return 0
	case q == 0 && t.N == 1:
		return 1 / t.Viscous
	case q == 0:
		return 0
	}
	return q / (t.N*t.Viscous*math.Pow(q, t.N) + 2*t.Quad*q*q)
}

// Exponent returns dlnQ/dlnΔp at dp, between 1/2 and 1/n; 1 for a tight path.
func (t ThinLaw) Exponent(dp float64) float64 {
	q := math.Abs(t.Flow(dp))
	switch {
	case t.Tight():
		return 1
	case q == 0:
		return 1 / t.N
	}
	visc, kin := t.Viscous*math.Pow(q, t.N), t.Quad*q*q
	return (visc + kin) / (t.N*visc + 2*kin)
}
