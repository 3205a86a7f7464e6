package gen

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

// motion is the rod of a force-held drive with the pressures of its chambers, moved by small steps:
//
//	v = v_free·(1 − φ + d·Σ p_i (dV_i/dx)/F)        drive, friction φ, no inertia (it lasts milliseconds)
//	C_i dp_i/dt = −dV_i/dx·v·… + Σ Q_in − Σ Q_out    chambers and line
//	dz/dt = (ε C_h p − z)/τ                           delayed stretch of the hose, a sink of the line
//
// An open check valve equalises its two nodes within a step; a late one also lets fluid back until its share has passed.
type motion struct {
	w       *world
	d       pump.Dir
	scale   float64 // force over that of the sheet
	s       state
	x       float64
	p       [maxNodes]float64
	z       float64
	t       float64
	v       float64
	late    [maxValves]float64 // m³ that each ball still lets back
	tip     float64            // m², effective area of an open gun, 0 when shut
	out     float64            // m³ through the gun
	held    bool               // the motor reverses: no force
	cranked bool               // v is given by a crank
	most    float64            // s, longest step
}

func newMotion(w *world, d pump.Dir, scale float64, s state) *motion {
	return &motion{w: w, d: d, scale: scale, s: s, most: 0.05}
}

// step moves by one step, no longer than up to, and returns how long it was.
func (m *motion) step(upTo float64) float64 {
	r, w := m.w.r, m.w
	var c, dp [maxNodes]float64
	for i := 0; i < r.n; i++ {
		c[i] = w.compliance(i, m.p[i], m.x)
	}
	m.speed()
	dt := math.Min(math.Min(upTo, m.most), math.Min(0.4/m.rate(&c), m.filling()))
	m.s.xi = m.x / r.p.Stroke
	for j := range r.paths {
		a, b := r.from[j], r.to[j]
		q := w.flow(j, m.at(a)-m.at(b), m.s)
		if a >= 0 {
			dp[a] -= q
		}
		if b >= 0 {
			dp[b] += q
		}
	}
	dz := (w.hid.stretch*w.hoseCompliance(m.p[0])*m.p[0] - m.z) / w.hid.tau
	m.z += dz * dt
	dp[0] -= dz + w.shrink()
	if m.tip > 0 {
		q := m.tip * math.Sqrt(2*math.Max(m.p[0], 0)/w.f.rho)
		dp[0] -= q
		m.out += q * dt
	}
	dx := m.v * float64(m.d) * dt
	for i := r.n - 1; i >= 0; i-- { // the line last: joined asks for its old pressure
		in := m.back(i, dp[i]*dt-r.sweep[i]*dx)
		if i == 0 || m.joined(i) { // the valve passes on what comes in: linear, to lose nothing
			m.p[i] += in / c[i]
		} else {
			m.p[i] = w.f.squeezed(m.p[i], in/r.volume(i, m.x), w.hid.air)
			c[i] = w.compliance(i, m.p[i], m.x)
		}
	}
	m.x += dx
	m.t += dt
	m.valves(&c)
	return dt
}

// back returns what stays in chamber i of a volume that comes in, after a late ball has let its part back to the suction.
func (m *motion) back(i int, in float64) float64 {
	for k, v := range m.w.r.valves {
		if v[0] < 0 && v[1] == i && in > 0 {
			b := math.Min(in, m.late[k])
			m.late[k] -= b
			in -= b
		}
	}
	return in
}

// filling is the time [s] in which the rod takes up a tenth of what a chamber still gives way until it reaches the line's
// pressure or loses its own, or of what a late ball lets back.
func (m *motion) filling() float64 {
	r, w := m.w.r, m.w
	if m.v <= 0 {
		return math.Inf(1)
	}
	least := math.Inf(1) // m of travel
	for i := 1; i < r.n; i++ {
		p, to := math.Max(0, m.p[i]), m.p[0]
		if s := r.sweep[i] * float64(m.d); s > 0 {
			to = 0
		} else if m.joined(i) {
			continue
		}
		if math.Abs(p-to) < 1e4 {
			continue
		}
		gives := math.Abs(p-to)/w.f.modulus + w.hid.air*101325*(1/(101325+math.Min(p, to))-1/(101325+math.Max(p, to)))
		least = math.Min(least, r.volume(i, m.x)*gives/math.Abs(r.sweep[i]))
	}
	for k := range r.valves {
		if m.late[k] > 0 {
			least = math.Min(least, m.late[k]/r.stroked(k))
		}
	}
	return math.Max(2e-5, 0.1*least/m.v)
}

func (m *motion) at(i int) float64 {
	if i < 0 {
		return 0
	}
	return m.p[i]
}

// speed sets v from the force balance; friction holds the rod against being pushed back.
func (m *motion) speed() {
	r := m.w.r
	if m.cranked {
		return
	}
	if m.held {
		m.v = 0
		return
	}
	f, load := m.scale*r.force(m.d), 0.0
	for i := 0; i < r.n; i++ {
		load += m.p[i] * r.sweep[i] * float64(m.d)
	}
	phi := m.w.hid.friction[0]
	if m.d == pump.Down {
		phi = m.w.hid.friction[1]
	}
	m.v = clamp(r.p.Drive.FreeSpeed*(1-phi+load/f), 0, 1.5*r.p.Drive.FreeSpeed)
}

// joined says whether node i stands at the line's pressure.
func (m *motion) joined(i int) bool { return math.Abs(m.p[i]-m.p[0]) < 1e-3*m.p[0] }

// rate is the fastest rate [1/s] at which pressure answers the rod: v_free/F·(ΣS)²/ΣC of the nodes that stand together.
func (m *motion) rate(c *[maxNodes]float64) float64 {
	r := m.w.r
	sum, comp := r.sweep[0], c[0]
	var top float64
	for i := 1; i < r.n; i++ {
		if m.joined(i) {
			sum, comp = sum+r.sweep[i], comp+c[i]
		} else if r.sweep[i]*float64(m.d) < 0 {
			top = math.Max(top, r.sweep[i]*r.sweep[i]/c[i])
		}
	}
	var rate float64
	if !m.cranked {
		rate = math.Max(top, sum*sum/comp) * r.p.Drive.FreeSpeed / (m.scale * r.force(m.d))
	}
	if m.tip > 0 { // the gun answers pressure too
		rate += m.tip / math.Sqrt(2*math.Max(m.p[0], 1e5)*m.w.f.rho) / c[0]
	}
	return math.Max(1e-3, rate)
}

// valves equalises the nodes of open valves, keeping volume.
func (m *motion) valves(c *[maxNodes]float64) {
	r := m.w.r
	for range 2 {
		for k, v := range r.valves {
			pa, pb := m.at(v[0]), m.at(v[1])
			if pa <= pb && (m.late[k] <= 0 || v[0] < 0) {
				continue
			}
			var inv float64
			for _, i := range v {
				if i >= 0 {
					inv += 1 / c[i]
				}
			}
			moved := (pa - pb) / inv
			if moved < 0 {
				moved = math.Max(moved, -m.late[k])
				m.late[k] += moved
			}
			if v[0] >= 0 {
				m.p[v[0]] -= moved / c[v[0]]
			}
			if v[1] >= 0 {
				m.p[v[1]] += moved / c[v[1]]
			}
		}
	}
}

// wait steps for a time, or until the rod has moved by travel from where it is, or to the end of its stroke; it returns the
// time taken and whether it ended before the time was over.
func (m *motion) wait(t, travel float64) (float64, bool) {
	from, spent := m.x, 0.0
	stop := math.Min(travel, m.left())
	for spent < t-1e-12 {
		x0 := m.x
		dt := m.step(t - spent)
		spent += dt
		if moved := math.Abs(m.x - from); moved >= stop {
			if step := math.Abs(m.x - x0); step > 0 { // back to the moment it arrived
				spent -= dt * (moved - stop) / step
			}
			return spent, true
		}
	}
	return spent, false
}

// left is the rest of the stroke.
func (m *motion) left() float64 {
	if m.d == pump.Up {
		return m.w.r.p.Stroke - m.x
	}
	return m.x
}

// reverse turns the direction round: the balls that were open are late.
func (m *motion) reverse(share float64) {
	r := m.w.r
	m.d = -m.d
	for k, v := range r.valves {
		if m.late[k] = 0; m.at(v[0]) < m.at(v[1])-0.02*m.p[0] { // it was shut
			continue
		}
		m.late[k] = share * m.w.hid.late[k] * r.stroked(k) * r.p.Stroke
	}
}

// turn reverses the drive at the end of a stroke; the motor takes its time.
func (m *motion) turn(share float64) {
	m.reverse(share)
	if m.x = 0; m.d == pump.Down {
		m.x = m.w.r.p.Stroke
	}
	m.held = true
	m.wait(m.w.r.p.Drive.Changeover, math.Inf(1))
	m.held = false
}
