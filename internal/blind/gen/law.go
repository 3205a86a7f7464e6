package gen

import (
	"math"
	"math/rand/v2"

	"github.com/evenstroke/evenstroke/pump"
)

// form is the physics of one leak.
type form uint8

const (
	annulus form = iota // worn packing: laminar gap that widens or narrows a little with pressure
	duct                // scratch or groove: laminar friction plus the loss at entry and exit
	slack               // preload too low: the gap closes as pressure energises the lips
	cut                 // cut lip: an opening that pressure widens
	lift                // reversed lip: pressure gets under it
	nick                // open seat: an orifice that becomes laminar at low Reynolds number
	debris              // particle on a seat: an orifice, another one after each reseat
	forms               // how many
)

// Names of the forms, for the truth beside a sheet.
var formName = [forms]string{"worn", "scratch", "preload too low", "cut lip", "reversed lip", "open seat", "debris"}

// law gives the flow of a path over its flow at rated pressure.
type law struct {
	form form
	a, b float64 // parameters, see flow
	// wear of the bore along the stroke: 1 + amp·exp(−((ξ−at)/wide)²), cubed, over its mean
	amp, at, wide, mean float64
	side                int     // two opposed packing sets: +1 or −1 when only the set against that direction is bad
	again               float64 // debris: leak after a reseat over that before
}

// flow returns Q/q at x = p/p_rated ≥ 0 and viscosity ratio m.
//
//	annulus  x/m·((1+a x)/(1+a))³
//	duct     a m g + (1−a) g² = x, a the share of the pressure that friction takes at rated flow
//	slack    x/m·(h(x)/h(1))³, h = a + (1−a)e^(−x/b)
//	cut      √x·(1+a x)/(1+a)
//	lift     x^a/m
//	nick     √x·tanh(a√x/m)/tanh(a), a = 2λ/λc at rated pressure (debris alike)
func (l *law) flow(x, m float64) float64 {
	switch l.form {
	case annulus:
		r := (1 + l.a*x) / (1 + l.a)
		return x / m * r * r * r
	case duct:
		f := l.a * m
		if l.a > 0.9999 {
			return x / f
		}
		return (math.Sqrt(f*f+4*(1-l.a)*x) - f) / (2 * (1 - l.a))
	case slack:
		r := (l.a + (1-l.a)*math.Exp(-x/l.b)) / (l.a + (1-l.a)*math.Exp(-1/l.b))
		return x / m * r * r * r
	case cut:
		return math.Sqrt(x) * (1 + l.a*x) / (1 + l.a)
	case lift:
		return math.Pow(x, l.a) / m
	default:
		r := math.Sqrt(x)
		if l.a > 20 {
			return r * math.Tanh(l.a*r/m)
		}
		return r * math.Tanh(l.a*r/m) / math.Tanh(l.a)
	}
}

// along returns the leak at relative rod position xi over its mean along the stroke.
func (l *law) along(xi float64) float64 {
	if l.amp == 0 {
		return 1
	}
	return l.bore(xi) / l.mean
}

func (l *law) bore(xi float64) float64 {
	z := (xi - l.at) / l.wide
	h := 1 + l.amp*math.Exp(-z*z)
	return h * h * h
}

// shares of the forms by kind of path.
func shares(k pump.PathKind) []struct {
	f     form
	share float64
} {
	type row = struct {
		f     form
		share float64
	}
	switch k {
	case pump.PathPacking:
		return []row{{annulus, 0.45}, {duct, 0.20}, {slack, 0.22}, {cut, 0.08}, {lift, 0.05}}
	case pump.PathSeat, pump.PathDrain:
		return []row{{nick, 0.58}, {duct, 0.22}, {debris, 0.20}}
	default:
		return []row{{duct, 0.50}, {annulus, 0.25}, {nick, 0.25}}
	}
}

func pickForm(rng *rand.Rand, k pump.PathKind) form {
	u := rng.Float64()
	rows := shares(k)
	for _, r := range rows {
		if u -= r.share; u < 0 {
			return r.f
		}
	}
	return rows[len(rows)-1].f
}

func formShare(f form, k pump.PathKind) float64 {
	for _, r := range shares(k) {
		if r.f == f {
			return r.share
		}
	}
	return 0
}

// drawLaw draws the parameters of a leak of q [m³/s] at rated pressure dp [Pa] with the fluid's μ and ρ.
func drawLaw(rng *rand.Rand, path pump.Path, f form, q, dp, mu, rho float64) law {
	l := law{form: f, again: 1}
	switch f {
	case annulus:
		l.a = 0.03 * rng.NormFloat64()
	case duct:
		length := between(rng, 8e-3, 22e-3) // along a packing
		if path.Kind != pump.PathPacking {
			length = between(rng, 0.6e-3, 3e-3) // across a seat or a static seal
		}
		l.a = frictionShare(q, dp, mu, rho, length, lognormal(rng, 4, 2.2))
	case slack:
		l.a, l.b = between(rng, 0.2, 0.6), lognormal(rng, 0.4, 1.5)
	case cut:
		l.a = between(rng, 0.5, 3)
	case lift:
		l.a = between(rng, 1.5, 2.5)
	case nick, debris:
		l.a = openness(q, dp, mu, rho, clamp(lognormal(rng, 6, 2.5), 1, 80))
		if f == debris {
			l.again = lognormal(rng, 1, 2)
		}
	}
	if path.OnBore {
		drawBore(rng, &l, path)
	}
	return l
}

// drawBore adds wear of the bore in the middle to a third of the worn packings, and says which of two opposed sets is bad.
func drawBore(rng *rand.Rand, l *law, path pump.Path) {
	if l.form == annulus && rng.Float64() < 0.3 {
		l.amp, l.at, l.wide = between(rng, 0.3, 1.2), between(rng, 0.35, 0.65), between(rng, 0.15, 0.35)
		const n = 40
		for i := range n {
			l.mean += l.bore((float64(i)+0.5)/n) / n
		}
	}
	bothWays := path.Shows[pump.Up]*path.Shows[pump.Down] < 0
	if bothWays && l.form != duct && l.amp == 0 && rng.Float64() < 0.7 { // a scratch or a worn bore lets both sets leak
		l.side = 1
		if rng.Float64() < 0.5 {
			l.side = -1
		}
	}
}

// frictionShare returns the share of dp that laminar friction takes in one groove of width r·h, length L, which passes q:
//
//	dp = 12 μ L q/(r h⁴) + ½ζρ (q/(r h²))² ,  ζ = 1.5 (entry 0.5, exit 1)
//
// with the depth h [m] found by bisection. Plane Poiseuille flow; the loss figures are handbook values, from memory.
func frictionShare(q, dp, mu, rho, length, r float64) float64 {
	lo, hi := math.Log(1e-7), math.Log(3e-3)
	var share float64
	for range 30 {
		mid := (lo + hi) / 2
		h := math.Exp(mid)
		v := q / (r * h * h)
		friction := 12 * mu * length * v / (h * h)
		loss := 0.75 * rho * v * v
		share = friction / (friction + loss)
		if friction+loss > dp {
			lo = mid
		} else {
			hi = mid
		}
	}
	return share
}

// openness returns a = 2λ/λc of a slit of aspect r that passes q at dp: λ = (d_h/ν)√(2dp/ρ), λc = 120 for a sharp edge; the
// discharge coefficient is 0.62·tanh(2λ/λc). The tanh form joins the √Re branch of McCloy & Martin, Control of Fluid Power, to
// the turbulent value; λc from memory.
func openness(q, dp, mu, rho, r float64) float64 {
	jet := math.Sqrt(2 * dp / rho)
	a := 3.0
	for range 12 {
		area := q / (0.62 * math.Tanh(a) * jet)
		h := math.Sqrt(area / r)
		dh := 2 * h * r / (1 + r)
		a = 0.5*a + 0.5*clamp(2*dh*jet*rho/mu/120, 0.02, 1e4)
	}
	return a
}

func between(rng *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }

func lognormal(rng *rand.Rand, median, spread float64) float64 {
	return median * math.Exp(math.Log(spread)*rng.NormFloat64())
}

func clamp(x, lo, hi float64) float64 { return math.Min(hi, math.Max(lo, x)) }
