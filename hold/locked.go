package hold

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/fluid"
	"github.com/evenstroke/evenstroke/pump"
)

// network is the pump with its rod standing still: nodes with a compliance, joined by leak paths and by the check valves.
//
//	C_i dp_i/dt = −Σ Q_j(p_from − p_to) ,  a check valve keeps p_from ≤ p_to
//
// Node 0 is the line with every chamber open to it; the others are the remaining chambers. A node index of −1 stands for a
// place at zero pressure.
type network struct {
	nodes   int
	volume  []float64 // m³ at mid stroke
	hose    float64   // m³/Pa, expansion of the hose
	modulus func(p float64) float64
	from    []int // by path
	to      []int
	valves  [][2]int
	chamber map[string]int
	weeps   []bool            // by path: from the line to the outside
	pressed [2][maxNodes]bool // by stroke (strokeIndex), nodes at the line's pressure when the rod stops
	holds   []lockedHold
}

const maxNodes = 4

// lockedHold is one locked hold made ready: time steps and initial pressures.
type lockedHold struct {
	stroke pump.Dir // 0 when not known
	vented bool
	visc   float64 // viscosity over that of the sheet's fluid
	p0, u0 float64
	comp   [maxNodes]float64 // m³/Pa
	dt     []float64
	at     []int     // step after which point k is due; point 0 is the start
	cool   []float64 // by point
	since  []float64 // s since the start, by point
}

func newNetwork(b *bench, f fluid.Fluid) (*network, error) {
	n := &network{nodes: 1, chamber: map[string]int{pump.Line: 0}, hose: b.p.Hose.Expansion}
	aer, err := f.Aerated(b.sheet.Fluid.Temperature, 1.0, false)
	if err != nil {
		return nil, fmt.Errorf("fluid: %w", err)
	}
	n.modulus = aer.Modulus
	h := b.p.Hose
	n.volume = []float64{h.Fittings + h.Length*math.Pi/4*h.Bore*h.Bore}
	for _, c := range b.p.Chambers {
		v := b.p.Volume(c, b.p.Stroke/2)
		if c.OpenTo == pump.Line {
			n.chamber[c.Name], n.volume[0] = 0, n.volume[0]+v
			continue
		}
		n.chamber[c.Name] = n.nodes
		n.volume = append(n.volume, v)
		n.nodes++
	}
	if n.nodes > maxNodes {
		return nil, fmt.Errorf("the pump has %d chambers; a locked hold handles %d", n.nodes, maxNodes)
	}
	for _, d := range pump.Dirs {
		for name, i := range n.chamber {
			n.pressed[strokeIndex(d)][i] = n.pressed[strokeIndex(d)][i] || b.m.Pressed[d][name]
		}
	}
	for _, q := range b.paths {
		n.from, n.to = append(n.from, n.node(q.From)), append(n.to, n.node(q.To))
		n.weeps = append(n.weeps, n.node(q.From) == 0 && n.node(q.To) < 0)
	}
	for _, v := range b.p.Valves {
		n.valves = append(n.valves, [2]int{n.node(v.From), n.node(v.To)})
	}
	return n, nil
}

func strokeIndex(d pump.Dir) int {
	if d == pump.Up {
		return 0
	}
	return 1
}

func (n *network) node(name string) int {
	if i, ok := n.chamber[name]; ok {
		return i
	}
	return -1
}

// compliance returns C [m³/Pa] of a node at pressure p: V/K(p), with the hose on the line.
func (n *network) compliance(i int, p float64) float64 {
	c := n.volume[i] / n.modulus(p)
	if i == 0 {
		c += n.hose
	}
	return c
}

// swallow returns the travel [m] that line and chambers take up when a force-held drive changes over into stroke d and
// stalls at p: the line goes from the stall pressure of the other stroke to p, newly pressed chambers from zero.
func (n *network) swallow(b *bench, d pump.Dir, p float64) float64 {
	other := -d
	before := p
	if now, then := driveForce(b.p, d), driveForce(b.p, other); now > 0 && then > 0 {
		before = p * then / now * b.m.Creep[d] / b.m.Creep[other]
	}
	v := n.compliance(0, p) * math.Abs(p-before)
	for name, i := range n.chamber {
		if i > 0 && b.m.Pressed[d][name] && !b.m.Pressed[other][name] {
			v += n.compliance(i, p) * p
		}
	}
	return v / b.m.Creep[d]
}

// curve makes the observations of a locked hold, or of the time to a restart.
func (b *bench) curve(r Reading) []observation {
	pts, u0 := r.Points, r.UPress
	extra := 0.0
	if r.Kind == Restart {
		d := b.p.Drive
		pts = []Point{{0, d.Stop}, {r.Time, d.Restart}}
		band := d.Stop - d.Restart
		u0 = 0
		extra = math.Hypot(0.05*band, band*r.UTime/r.Time)
	}
	h := b.net.prepare(r, pts, u0)
	h.visc = b.visc(r.Warmth)
	b.net.holds = append(b.net.holds, h)
	gauge := b.sheet.Gauge.repeat(pts[0].Pressure)
	var out []observation
	for k := 1; k < len(pts); k++ {
		o := observation{kind: obsCurve, y: pts[k].Pressure, hold: len(b.net.holds) - 1, point: k, bad: 1 / pts[0].Pressure}
		o.c0, o.c1 = sq(gauge)+sq(0.1e5), sq(2*b.prior.Model)
		if r.Kind == Restart {
			o.c0 = sq(extra)
		}
		if k == 1 || k == len(pts)-1 {
			b.guessCurve(&o, r, pts, k, h)
		}
		out = append(out, o)
	}
	return out
}

// guessCurve proposes, for each path alone, the leak that explains the fall of pressure up to point k.
func (b *bench) guessCurve(o *observation, r Reading, pts []Point, k int, h lockedHold) {
	drop := math.Max(pts[0].Pressure-pts[k].Pressure, 0.003*pts[0].Pressure)
	mean := pts[0].Pressure - drop/2
	c := h.comp[0]
	if r.Stroke == pump.Down && !r.Vented {
		for i := 1; i < b.net.nodes; i++ {
			c += h.comp[i]
		}
	}
	o.guess = b.coefficients(r, mean, func(j int) float64 {
		if b.net.from[j] < 0 && b.net.to[j] < 0 {
			return 0
		}
		return 1
	})
	o.guessY, o.tau = c*drop/(pts[k].Time-pts[0].Time), 0.08
	if drop < 0.04*pts[0].Pressure { // cooling alone may do as much
		o.tau = 1
	}
}

// prepare lays the time steps of a hold: short ones first, since chambers may equalise in a second.
func (n *network) prepare(r Reading, pts []Point, u0 float64) lockedHold {
	h := lockedHold{stroke: r.Stroke, vented: r.Vented, p0: pts[0].Pressure, u0: u0, at: []int{0}, cool: []float64{0}, since: []float64{0}}
	mean := 0.5 * (pts[0].Pressure + pts[len(pts)-1].Pressure)
	for i := 0; i < n.nodes; i++ {
		h.comp[i] = n.compliance(i, mean)
	}
	later := max(1, 8/len(pts))
	for k := 1; k < len(pts); k++ {
		span := pts[k].Time - pts[k-1].Time
		if k == 1 {
			w := span / 31
			for range 5 {
				h.dt = append(h.dt, w)
				w *= 2
			}
		} else {
			for range later {
				h.dt = append(h.dt, span/float64(later))
			}
		}
		h.at = append(h.at, len(h.dt))
		h.since = append(h.since, pts[k].Time-pts[0].Time)
		h.cool = append(h.cool, 1-math.Exp(-(pts[k].Time-pts[0].Time)/coolingTime))
	}
	return h
}

// leakOf is one path at fault in a locked hold.
type leakOf struct {
	q        float64 // m³/s at rated pressure
	form     form
	visc     float64
	from, to int
}

// simulate fills press[k] with the line pressure at each point, for the leaks given, all compliances times scale.
func (n *network) simulate(h *lockedHold, pressed [maxNodes]bool, leaks []leakOf, rated, p0, scale float64, press []float64) {
	var p, inv [maxNodes]float64
	for i := 0; i < n.nodes; i++ {
		inv[i] = 1 / (h.comp[i] * scale)
		if pressed[i] {
			p[i] = p0
		}
		if h.vented && i > 0 {
			p[i], inv[i] = 0, 0
		}
	}
	press[0] = p[0]
	k := 1
	linear := true // constant conductances need no look at mid step
	for i := range leaks {
		linear = linear && leaks[i].form == laminar
	}
	for s, dt := range h.dt {
		if n.nodes == 2 {
			n.step2(leaks, &p, &inv, dt, rated, linear)
		} else {
			n.step(leaks, &p, &inv, dt, rated, linear)
		}
		n.checkValves(&p, &inv)
		for k < len(h.at) && h.at[k] == s+1 {
			press[k] = p[0]
			k++
		}
	}
}

// step takes the pressures on by dt, with the conductances at mid step.
func (n *network) step(leaks []leakOf, p, inv *[maxNodes]float64, dt, rated float64, linear bool) {
	mid := *p
	if !linear {
		mid = n.relax(leaks, p, p, inv, dt/2, rated)
	}
	*p = n.relax(leaks, p, &mid, inv, dt, rated)
}

// step2 is step for the line and one chamber, the usual case, in scalars.
func (n *network) step2(leaks []leakOf, p, inv *[maxNodes]float64, dt, rated float64, linear bool) {
	mid0, mid1 := p[0], p[1]
	if !linear {
		mid0, mid1 = relax2(leaks, p, mid0, mid1, inv, dt/2, rated)
	}
	p[0], p[1] = relax2(leaks, p, mid0, mid1, inv, dt, rated)
}

// conductance is Q/Δp [m³/(s·Pa)] at a pressure difference.
func (l *leakOf) conductance(dp, rated float64) float64 {
	dp = math.Max(math.Abs(dp), 1e3)
	switch l.form {
	case laminar:
		return l.q / (rated * l.visc)
	case orifice:
		return l.q / math.Sqrt(rated*dp)
	}
	return l.q * l.form.flow(dp/rated, l.visc) / dp
}

// relax lets the leaks pass fluid for dt from the pressures p, with the conductances G = Q/Δp at the pressures at:
//
//	(I + A + A²/2) p' = p ,  A = dt·C⁻¹·L(G)
//
// the (0,2) Padé approximant of exp(−A): second order, and right for chambers that equalise within the step.
func (n *network) relax(leaks []leakOf, p, at, inv *[maxNodes]float64, dt, rated float64) [maxNodes]float64 {
	var a [maxNodes][maxNodes]float64
	for i := range leaks {
		l := &leaks[i]
		switch {
		case l.from >= 0 && l.to >= 0:
			g := l.conductance(at[l.from]-at[l.to], rated) * dt
			a[l.from][l.from] += g * inv[l.from]
			a[l.from][l.to] -= g * inv[l.from]
			a[l.to][l.to] += g * inv[l.to]
			a[l.to][l.from] -= g * inv[l.to]
		case l.from >= 0:
			a[l.from][l.from] += l.conductance(at[l.from], rated) * dt * inv[l.from]
		case l.to >= 0:
			a[l.to][l.to] += l.conductance(at[l.to], rated) * dt * inv[l.to]
		}
	}
	return n.solve(&a, p)
}

// relax2 is relax for two nodes.
func relax2(leaks []leakOf, p *[maxNodes]float64, at0, at1 float64, inv *[maxNodes]float64, dt, rated float64) (p0, p1 float64) {
	var out0, out1, between float64 // conductance × dt of each node to the outside, and between the two
	for i := range leaks {
		l := &leaks[i]
		switch {
		case l.from >= 0 && l.to >= 0:
			between += l.conductance(at0-at1, rated) * dt
		case l.from == 0 || l.to == 0:
			out0 += l.conductance(at0, rated) * dt
		default:
			out1 += l.conductance(at1, rated) * dt
		}
	}
	a, b := (out0+between)*inv[0], -between*inv[0]
	c, d := -between*inv[1], (out1+between)*inv[1]
	m00, m01 := 1+a+(a*a+b*c)/2, b+b*(a+d)/2
	m10, m11 := c+c*(a+d)/2, 1+d+(d*d+b*c)/2
	det := m00*m11 - m01*m10
	return (m11*p[0] - m01*p[1]) / det, (m00*p[1] - m10*p[0]) / det
}

// solve solves (I + A + A²/2) x = b. The matrix is an M-matrix plus a square: no pivoting is needed.
func (n *network) solve(a *[maxNodes][maxNodes]float64, b *[maxNodes]float64) (x [maxNodes]float64) {
	var m [maxNodes][maxNodes]float64
	k := n.nodes
	for i := 0; i < k; i++ {
		for j := 0; j < k; j++ {
			var sq float64
			for l := 0; l < k; l++ {
				sq += a[i][l] * a[l][j]
			}
			m[i][j] = a[i][j] + sq/2
		}
		m[i][i]++
	}
	x = *b
	for i := 0; i < k; i++ {
		for r := i + 1; r < k; r++ {
			f := m[r][i] / m[i][i]
			for c := i; c < k; c++ {
				m[r][c] -= f * m[i][c]
			}
			x[r] -= f * x[i]
		}
	}
	for i := k - 1; i >= 0; i-- {
		for c := i + 1; c < k; c++ {
			x[i] -= m[i][c] * x[c]
		}
		x[i] /= m[i][i]
	}
	return x
}

// checkValves equalises nodes whose valve would open.
func (n *network) checkValves(p, inv *[maxNodes]float64) {
	for _, v := range n.valves {
		var pa, pb, ia, ib float64
		if v[0] >= 0 {
			pa, ia = p[v[0]], inv[v[0]]
		}
		if v[1] >= 0 {
			pb, ib = p[v[1]], inv[v[1]]
		}
		if pa <= pb || ia+ib == 0 {
			continue
		}
		moved := (pa - pb) / (ia + ib)
		if v[0] >= 0 {
			p[v[0]] -= moved * ia
		}
		if v[1] >= 0 {
			p[v[1]] += moved * ib
		}
	}
}
