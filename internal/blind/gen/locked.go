package gen

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

// rest is a pump whose rod stands still: chambers and line, joined by leaks and check valves.
//
//	C_i dp_i/dt = Σ Q_in − Σ Q_out
//
// Each step is linearly implicit: with the conductance G = Q/Δp of each leak at the step's start, (C/dt + L(G)) p' = C/dt p + sinks.
// It is stable for any step, keeps volume, and a chamber ends at the right balance.
type rest struct {
	w      *world
	s      state
	x      float64
	p      [maxNodes]float64
	z      float64
	vented [maxNodes]bool
}

// stopped is a rod that has just stopped at x on stroke d with the line at p.
func stopped(w *world, d pump.Dir, p, x float64, vented bool, s state) *rest {
	k := &rest{w: w, s: s, x: x}
	k.s.xi = x / w.r.p.Stroke
	for i := 0; i < w.r.n; i++ {
		switch {
		case i == 0 || w.r.sweep[i]*float64(d) < 0: // the stroke pushed it against the line
			k.p[i] = p
		case vented:
			k.vented[i] = true
		}
	}
	k.z = 0.5 * w.hid.stretch * w.hoseCompliance(p) * p // it has been under pressure for a while
	return k
}

func (k *rest) at(i int) float64 {
	if i < 0 {
		return 0
	}
	return k.p[i]
}

func (k *rest) step(dt float64) {
	r, w := k.w.r, k.w
	var a [maxNodes][maxNodes]float64
	var b, c [maxNodes]float64
	for i := 0; i < r.n; i++ {
		c[i] = w.compliance(i, k.p[i], k.x)
		a[i][i] = c[i] / dt
		b[i] = a[i][i] * k.p[i]
	}
	for j := range r.paths {
		f, t := r.from[j], r.to[j]
		dp := k.at(f) - k.at(t)
		if math.Abs(dp) < 2e3 { // below a gauge's sight
			dp = math.Copysign(2e3, dp)
		}
		g := w.flow(j, dp, k.s) / dp
		if f >= 0 {
			a[f][f] += g
		}
		if t >= 0 {
			a[t][t] += g
		}
		if f >= 0 && t >= 0 {
			a[f][t] -= g
			a[t][f] -= g
		}
	}
	dz := (w.hid.stretch*w.hoseCompliance(k.p[0])*k.p[0] - k.z) / (w.hid.tau + dt)
	k.z += dz * dt
	b[0] -= dz + w.shrink()
	k.solve(&a, &b)
	for i := 0; i < r.n; i++ {
		if k.vented[i] {
			k.p[i] = 0
		}
	}
	k.valves(&c)
}

// solve puts the solution of a p = b into k.p: elimination without pivoting, since a is diagonally dominant.
func (k *rest) solve(a *[maxNodes][maxNodes]float64, b *[maxNodes]float64) {
	n := k.w.r.n
	for i := 0; i < n; i++ {
		if k.vented[i] {
			a[i] = [maxNodes]float64{}
			a[i][i], b[i] = 1, 0
		}
	}
	for i := 0; i < n; i++ {
		for l := i + 1; l < n; l++ {
			if f := a[l][i] / a[i][i]; f != 0 {
				for m := i; m < n; m++ {
					a[l][m] -= f * a[i][m]
				}
				b[l] -= f * b[i]
			}
		}
	}
	for i := n - 1; i >= 0; i-- {
		s := b[i]
		for m := i + 1; m < n; m++ {
			s -= a[i][m] * k.p[m]
		}
		k.p[i] = s / a[i][i]
	}
}

// valves lets a valve open whose upstream side has come to stand higher, and the pail feed what would fall below it.
func (k *rest) valves(c *[maxNodes]float64) {
	for _, v := range k.w.r.valves {
		pa, pb := k.at(v[0]), k.at(v[1])
		if pa <= pb {
			continue
		}
		var inv float64
		for _, i := range v {
			if i >= 0 && !k.vented[i] {
				inv += 1 / c[i]
			}
		}
		if inv == 0 {
			continue
		}
		for side, i := range v {
			if i >= 0 && !k.vented[i] {
				k.p[i] += (2*float64(side) - 1) * (pa - pb) / inv / c[i]
			}
		}
	}
	k.p[0] = math.Max(k.p[0], 0)
}

// hold lets time pass and shows the line pressure at each of the times. Steps grow from the first by a factor up to the longest,
// since a chamber may fill within a second.
func (k *rest) hold(times []float64, first, grow, longest float64, see func(i int, p float64)) {
	t, dt := 0.0, first
	for i, due := range times {
		for t < due-1e-9 {
			h := math.Min(dt, due-t)
			k.step(h)
			t += h
			dt = math.Min(dt*grow, longest)
		}
		see(i, k.p[0])
	}
}

// fall returns the time until the line has fallen to p, or limit.
func (k *rest) fall(p, first, grow, longest, limit float64) (float64, bool) {
	t, dt := 0.0, first
	for t < limit {
		before := k.p[0]
		h := math.Min(dt, limit-t)
		k.step(h)
		if k.p[0] <= p {
			return t + h*(before-p)/math.Max(before-k.p[0], 1e-9), true
		}
		t += h
		dt = math.Min(dt*grow, longest)
	}
	return limit, false
}

// soon is when the first gauge reading is taken: after a wait, but before much of the pressure is gone.
func (w *world) soon(d pump.Dir, wait float64) float64 {
	p := w.r.p.Drive.Stop
	leak := math.Max(1e-12, w.leak(d, p, state{m: 1, xi: 0.5}))
	return math.Min(wait, 0.2*p*w.compliance(0, p, w.r.p.Stroke/2)/leak)
}
