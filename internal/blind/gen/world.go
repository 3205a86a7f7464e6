package gen

import (
	"math"
	"math/rand/v2"

	"github.com/evenstroke/evenstroke/pump"
)

// hidden is what no sheet says.
type hidden struct {
	hose, hoseBend float64 // expansion of the hose over that of the sheet, and how much it stiffens with pressure
	air            float64 // volume share at one atmosphere
	stretch, tau   float64 // delayed stretch over the immediate one, and its time [s]
	cooling        float64 // K/s of the fluid in the line
	friction       [2]float64
	late           [maxValves]float64 // share of the stroke that a late ball lets back, when running
	slow           float64            // that share at a stall, over running
	offset, slope  float64            // of the gauge: Pa, 1
	drop           float64            // m³ of one drop
}

// world is one pump as it really is, with the fluid in it.
type world struct {
	r   *rig
	f   Fluid
	mu  float64 // Pa·s at the sheet's temperature
	set int
	bad []int             // paths at fault
	q   [maxPaths]float64 // m³/s at rated pressure
	was [maxPaths]float64 // m³/s, what the path leaks where it is sound: on the side of the other one of two opposed sets
	law [maxPaths]law     // of the paths at fault
	is  [maxPaths]bool    // at fault
	hid hidden
}

// Gauge is a pressure gauge as the sheet states it.
type Gauge struct {
	Unit       string  // "bar" or "psi"
	Range      float64 // Pa
	Class      float64
	Resolution float64 // Pa
}

func (g Gauge) per() float64 {
	if g.Unit == "psi" {
		return 6894.757293168
	}
	return 1e5
}

// repeat is the sd of one reading beyond calibration and rounding.
func (g Gauge) repeat() float64 { return 0.25 * g.Class * g.Range / math.Sqrt(3) }

// drawHidden draws what no sheet says. All ranges are assumptions.
func drawHidden(rng *rand.Rand, r *rig, g Gauge) hidden {
	h := hidden{
		hose: lognormal(rng, 1, 1.15), hoseBend: between(rng, 0, 0.15), air: clamp(lognormal(rng, 0.003, 2), 0, 0.03),
		stretch: between(rng, 0.01, 0.05), tau: lognormal(rng, 12, 1.5), cooling: 0.15 / 60 * rng.NormFloat64(),
		slow:   between(rng, 0, 0.5),
		offset: between(rng, -0.45, 0.45) * g.Class * g.Range, slope: between(rng, -0.5, 0.5) * g.Class,
		drop: clamp(lognormal(rng, 0.05e-6, 1.25), 0.02e-6, 0.12e-6),
	}
	h.friction = [2]float64{between(rng, 0.01, 0.05), between(rng, 0.01, 0.05)}
	for i, v := range r.valves {
		h.late[i] = between(rng, 0, 0.03)
		if v[0] < 0 { // the larger inlet ball
			h.late[i] = between(rng, 0.01, 0.08)
		}
	}
	return h
}

// drawWorld fills w with a pump of the given fault set.
func drawWorld(rng *rand.Rand, w *world, r *rig, f Fluid, temperature float64, pr *Prior, set int, bad []int, g Gauge) {
	*w = world{r: r, f: f, mu: f.viscosity(temperature), set: set, bad: bad}
	for j := range r.paths {
		w.q[j] = r.sound(rng, j, pr.Sound)
		w.was[j] = w.q[j]
	}
	for _, j := range bad {
		mean, sd := pr.size(r.paths[j], r.limit)
		w.fault(rng, j, math.Exp(mean+sd*rng.NormFloat64()), pickForm(rng, r.paths[j].Kind))
	}
	w.hid = drawHidden(rng, r, g)
}

// sound draws the leak [m³/s] of path j when it is not at fault. Inside the pump nobody sees it: it is as usual in the shop. A path that leads
// out of the pump is at fault when it leaks more than its sheet allows. Where none is allowed a sound one is tight: a drop in two hours, within
// a factor of two. Where some is allowed most are as usual, and one in six weeps anything up to what is allowed.
func (r *rig) sound(rng *rand.Rand, j int, usual KindPrior) float64 {
	median := usual.OverLimit * r.limit
	most, visible := r.allowed(j)
	if !visible {
		return lognormal(rng, median, usual.Spread)
	}
	if most <= oneDrop {
		return math.Min(most, lognormal(rng, oneDrop/120, 2))
	}
	if rng.Float64() < 1.0/6 {
		return math.Exp(between(rng, math.Log(math.Min(median, most)), math.Log(most)))
	}
	for {
		if q := lognormal(rng, median, usual.Spread); q <= most {
			return q
		}
	}
}

// fault puts a leak of q on path j.
func (w *world) fault(rng *rand.Rand, j int, q float64, f form) {
	w.is[j], w.q[j] = true, q
	w.law[j] = drawLaw(rng, w.r.paths[j], f, q, w.r.rated, w.mu, w.f.rho)
}

// state is how a reading is taken: viscosity ratio, reseating, rod position.
type state struct {
	m     float64
	again int // number of the reseating
	xi    float64
}

// flow returns the leak [m³/s] of path j at a pressure difference dp = p_from − p_to; it may be negative.
func (w *world) flow(j int, dp float64, s state) float64 {
	if dp == 0 {
		return 0
	}
	x := math.Abs(dp) / w.r.rated
	var q float64
	if !w.is[j] {
		q = w.q[j] * x / s.m
	} else {
		l := &w.law[j]
		if l.side != 0 && float64(l.side)*dp < 0 { // the sound one of two opposed sets holds
			q = w.was[j] * x / s.m
		} else {
			q = w.q[j] * l.flow(x, s.m) * l.along(s.xi)
			if l.form == debris && s.again%2 == 1 {
				q *= l.again
			}
		}
	}
	return math.Copysign(q, dp)
}

// leak returns the quasi-steady leak [m³/s] of a stall of stroke d at pressure p: the paths that the stroke puts under pressure.
func (w *world) leak(d pump.Dir, p float64, s state) float64 {
	var sum float64
	for j := range w.r.paths {
		if side := w.r.paths[j].Shows[d]; side != 0 {
			sum += math.Abs(w.flow(j, float64(side)*p, s))
		}
	}
	return sum
}

// creep returns the flow [m³/s] that the rod's speed stands for (speed times area of the stroke) at a stall at pressure p, t [s]
// after it began. It is the leak, but for a leak into a chamber that grows by less than the stroke displaces (the rod side of a
// pump with four valves): it fills that chamber, presses on the piston and drives pressure and rod up until
//
//	Q_x = S v + C_x p_x' ,  A v = Q_x + Q_o + C_L p' ,  A p' = S p_x'    S sweep of the growing chamber, Q_o the other leaks
func (w *world) creep(d pump.Dir, p, t float64, st state) float64 {
	q, a := w.leak(d, p, st), w.r.area[d]
	for i := 1; i < w.r.n; i++ {
		s := w.r.sweep[i] * float64(d)
		if s <= 0 || s >= a {
			continue
		}
		into := func(dp float64) float64 {
			var sum float64
			for j := range w.r.paths {
				if side := w.r.paths[j].Shows[d]; side != 0 && (w.r.from[j] == i || w.r.to[j] == i) {
					sum += math.Abs(w.flow(j, float64(side)*dp, st))
				}
			}
			return sum
		}
		qx := into(p)
		cx, cl := w.compliance(i, 0.1*p, w.r.p.Stroke/2), w.compliance(0, p, w.r.p.Stroke/2)
		k := cl*s/a + cx*a/s
		rate := (qx*(a/s-1) - (q - qx)) / k
		if rate <= 0 {
			continue
		}
		px := clamp(rate*t, 0, 0.7*p)
		qx = into(p - px)
		rate = math.Max(0, (qx*(a/s-1)-(q-into(p)))/k)
		q = math.Max(q-into(p)+qx, (qx-cx*rate)*a/s)
	}
	return q
}

// strokeTime returns the time [s] of a whole stroke of creep at rated pressure: ∫ A dx / Q(x).
func (w *world) strokeTime(d pump.Dir) float64 {
	const n = 40
	var t float64
	for i := range n {
		t += w.r.p.Stroke / n * w.r.area[d] / w.creep(d, w.r.rated, 0, state{m: 1, xi: (float64(i) + 0.5) / n})
	}
	return t
}

// meets says whether the pump meets every limit of its sheet: no stroke at rated pressure takes less than the least time, and no path, at fault
// or sound, lets out more than may leak where it leads.
func (w *world) meets() bool {
	for j := range w.r.paths {
		if most, visible := w.r.allowed(j); visible && w.q[j] > most {
			return false
		}
	}
	for _, d := range pump.Dirs {
		if w.strokeTime(d) < w.r.p.Limits.StrokeTime {
			return false
		}
	}
	return true
}

// compliance returns C [m³/Pa] of node i at pressure p and rod position x.
func (w *world) compliance(i int, p, x float64) float64 {
	c := w.r.volume(i, x) / w.f.bulk(p, w.hid.air)
	if i == 0 {
		c += w.hoseCompliance(p)
	}
	return c
}

func (w *world) hoseCompliance(p float64) float64 {
	return w.r.p.Hose.Expansion * w.hid.hose * (1 + w.hid.hoseBend*(1-2*p/w.r.rated))
}

// shrink is the flow [m³/s] that cooling takes out of the line.
func (w *world) shrink() float64 { return w.f.expansion * w.r.base[0] * w.hid.cooling }
