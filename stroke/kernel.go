package stroke

import (
	"math"

	"github.com/evenstroke/evenstroke/fluid"
)

const (
	atmosphere = fluid.Atmosphere
	gravity    = 9.80665 // m/s², standard
)

// kernel holds the equations of one pump in flat tables and the mode it is in. It is the ode.System of the present mode:
// its state y holds, in this order,
//
//	n of each node;  x and v of the rod as far as they move;  z, w of each free ball;  the totals
//
// where totals are volumes that have passed each counted way. Everything indexed by node has two places more than there
// are nodes: air (0 Pa, also the pail) and suction.
type kernel struct {
	soft, air float64 // 1/K, x0
	nodes     []node
	branches  []branch
	balls     []ball
	friction  friction
	mass      float64 // kg

	rod   rodMode
	push  push
	crank crank
	rest  float64 // x where the rod stands when it does not move

	lay     layout
	active  []int   // indices of the branches that are open
	totals  []total // counted ways of this mode
	intake  int     // state that counts the net flow out of the suction, −1 if none does
	watches []watch
	fired   []watch // what has happened at the end of the last run

	p, pn, px []float64 // pressure of each node, ∂p/∂n, ∂p/∂x
	in        []float64 // net flow into each node
	q         []float64 // flow of each branch
}

// layout says where in y the states of the present mode are.
type layout struct {
	x, v   int // −1 when not a state
	balls  int // first free ball
	totals int
	dim    int
}

// total is one counted way: a branch, or the suction (branch −1).
type total struct {
	branch int
	slot   int // place in the simulation's list of totals
}

func (k *kernel) airNode() int     { return len(k.nodes) }
func (k *kernel) suctionNode() int { return len(k.nodes) + 1 }

// arrange lays out the state for the present mode.
func (k *kernel) arrange() {
	l := layout{x: -1, v: -1}
	at := len(k.nodes)
	if k.rod == driven || k.rod == pushed {
		l.x, at = at, at+1
	}
	if k.rod == pushed {
		l.v, at = at, at+1
	}
	l.balls = at
	for i := range k.balls {
		if b := &k.balls[i]; b.mode == free {
			b.at, at = at, at+2
		}
	}
	l.totals = at
	l.dim = at + len(k.totals)
	k.intake = -1
	for i, c := range k.totals {
		if c.branch < 0 {
			k.intake = at + i
		}
	}
	k.lay = l
	k.arrangeCarries()
}

// arrangeCarries notes which rows of the Jacobian each flow feeds.
func (k *kernel) arrangeCarries() {
	for _, i := range k.active {
		b := &k.branches[i]
		count := -1
		for j, c := range k.totals {
			if c.branch == i {
				count = k.lay.totals + j
			}
		}
		b.carries = k.carry(b.from, b.to, count)
	}
	for i := range k.balls {
		b := &k.balls[i]
		b.carries = k.carry(b.from, b.to, -1)
	}
}

// Dim returns the number of states of the present mode.
func (k *kernel) Dim() int { return k.lay.dim }

// position returns x and v of the rod.
func (k *kernel) position(t float64, y []float64) (x, v float64) {
	switch k.rod {
	case pushed:
		return y[k.lay.x], y[k.lay.v]
	case driven:
		v, _, _ = k.crank.motion(t)
		return y[k.lay.x], v
	}
	return k.rest, 0
}

// Deriv sets dy = f(t, y).
func (k *kernel) Deriv(t float64, y, dy []float64) {
	x, v, a := k.rest, 0.0, 0.0
	switch k.rod {
	case pushed:
		x, v = y[k.lay.x], y[k.lay.v]
	case driven:
		x = y[k.lay.x]
		v, a, _ = k.crank.motion(t)
	}
	k.pressures(y, x)
	clear(k.in)
	k.flows(x)
	k.valves(y)
	for j := range k.nodes {
		dy[j] = k.in[j] - k.nodes[j].area*v
	}
	switch k.rod {
	case pushed:
		a = k.acceleration(t, v)
		dy[k.lay.x], dy[k.lay.v] = v, a
	case driven:
		dy[k.lay.x] = v
	}
	for i := range k.balls {
		b := &k.balls[i]
		if b.mode == free {
			w := y[b.at+1]
			dy[b.at] = w
			dy[b.at+1] = (b.force(k.p[b.from]-k.p[b.to], a) - w*(b.drag1+b.drag2*math.Abs(w))) / b.inertia
		}
	}
	for i, c := range k.totals {
		if c.branch >= 0 {
			dy[k.lay.totals+i] = k.q[c.branch]
		} else {
			dy[k.lay.totals+i] = -k.in[k.suctionNode()]
		}
	}
}

// flows sets the flow of every open branch.
func (k *kernel) flows(x float64) {
	p, in := k.p, k.in
	for _, i := range k.active {
		b := &k.branches[i]
		var q float64
		if b.shape == nil {
			q = lawFlow(b.lin, b.quad, p[b.from]-p[b.to])
		} else {
			q, _, _ = b.shape.flow(b.lin, b.quad, p[b.from]-p[b.to], x)
		}
		k.q[i] = q
		in[b.from] -= q
		in[b.to] += q
	}
}

// valves sets the flow through every ball off its seat.
func (k *kernel) valves(y []float64) {
	p, in := k.p, k.in
	for i := range k.balls {
		b := &k.balls[i]
		if b.mode == seated {
			continue
		}
		g, w := b.open, 0.0
		if b.mode == free {
			g, w = b.opening(y[b.at]), y[b.at+1]
		}
		q, _, _ := b.through(p[b.from]-p[b.to], g)
		q += b.seat * w
		in[b.from] -= q
		in[b.to] += q
	}
}

// acceleration returns x" of a pushed rod at the present pressures.
func (k *kernel) acceleration(t, v float64) float64 {
	s := v / math.Sqrt(v*v+roundSpeed*roundSpeed)
	return (k.thrust(t) - v*(k.push.damping+k.friction.viscous) - s*k.friction.normal(k.p)) / k.mass
}

// thrust returns the force [N] on a rod at rest: drive and Σ p_i·dV_i/dx, without friction.
func (k *kernel) thrust(t float64) float64 {
	f := k.push.force(t)
	for j := range k.nodes {
		f += k.p[j] * k.nodes[j].area
	}
	return f
}
