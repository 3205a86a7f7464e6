package gen

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

// ran is what a run gave.
type ran struct {
	time, volume float64 // s, m³ of the counted cycles
	up, down     float64 // s, mean stroke times (with the changeover before it)
	pressure     float64 // Pa, mean at the gauge
}

// gunFlow is the discharge coefficient of an open gun.
const gunFlow = 0.7

// runForce runs a force-held pump for n cycles with the gun open.
func runForce(w *world, scale, tip float64, n int, s state) ran {
	m := newMotion(w, pump.Down, scale, s)
	m.tip, m.most = gunFlow*math.Pi/4*tip*tip, 0.02
	m.x = 0.3 * w.r.p.Stroke
	m.p[0] = 0.8 * scale * w.r.force(pump.Down) / w.r.area[pump.Down]
	m.wait(300, math.Inf(1))
	var out ran
	var pt float64
	const runIn = 2
	for i := range 2*n + runIn {
		if i == runIn {
			m.t, m.out = 0, 0
		}
		t0, o0 := m.t, m.out
		m.turn(1)
		m.wait(600, math.Inf(1))
		if i < runIn {
			continue
		}
		dt := m.t - t0
		if m.d == pump.Up {
			out.up += dt / float64(n)
		} else {
			out.down += dt / float64(n)
		}
		if q := (m.out - o0) / dt / m.tip; dt > 0 {
			pt += 0.5 * w.f.rho * q * q * dt
		}
	}
	out.time, out.volume, out.pressure = m.t, m.out, pt/m.t
	return out
}

// runCrank runs a crank pump for n cycles with the gun open; the motor stops and starts between its two pressures.
func runCrank(w *world, stop, restart, tip float64, n int, s state) ran {
	m := newMotion(w, pump.Down, 1, s)
	m.tip, m.cranked, m.most = gunFlow*math.Pi/4*tip*tip, true, 0.005
	m.p[0] = 0.5 * (stop + restart)
	on, phase, pt := true, 0.0, 0.0
	cycle := func() {
		for phase < 1 {
			switch {
			case m.p[0] >= stop:
				on = false
			case m.p[0] <= restart:
				on = true
			}
			h := m.most
			if m.v = 0; on {
				h = 1e-3
				phase += w.r.p.Drive.Speed * h
				m.crank(phase, h)
			}
			pt += m.p[0] * m.step(h)
		}
		phase--
	}
	cycle()
	cycle()
	m.t, m.out, pt = 0, 0, 0
	for range n {
		cycle()
	}
	return ran{time: m.t, volume: m.out, pressure: pt / m.t, up: math.NaN(), down: math.NaN()}
}

// crank sets the rod's speed so that it reaches its place at a phase (0 and 1 are the bottom) in h; the balls are late at the
// dead centres.
func (m *motion) crank(phase, h float64) {
	dx := 0.5*m.w.r.p.Stroke*(1-math.Cos(2*math.Pi*phase)) - m.x
	d := pump.Up
	if dx < 0 {
		d = pump.Down
	}
	if d != m.d {
		m.reverse(1)
	}
	m.v = math.Abs(dx) / h
}
