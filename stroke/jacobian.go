package stroke

import "math"

// Jac sets the partial derivatives of Deriv, analytically. jac arrives filled with zeros.
func (k *kernel) Jac(t float64, y, jac []float64) {
	x, v := k.position(t, y)
	k.pressureSlopes(y, x)
	m := matrix{jac, k.lay.dim}
	k.branchSlopes(m, x)
	k.ballSlopes(m, y)
	k.rodSlopes(m, v)
	for i := range k.balls {
		if b := &k.balls[i]; b.mode == free {
			k.ballForceSlopes(m, b, y[b.at+1])
		}
	}
}

// matrix is row-major n by n.
type matrix struct {
	a []float64
	n int
}

func (m matrix) row(i int) []float64 { return m.a[i*m.n : (i+1)*m.n] }

// carries lists the rows of the Jacobian that one flow feeds: −1 for the node it leaves, +1 for the one it enters and for
// the totals that count it.
type carries struct {
	n    int
	at   [4]int // start of the row in the matrix
	sign [4]float64
}

func (c *carries) add(row, dim int, sign float64) {
	c.at[c.n], c.sign[c.n] = row*dim, sign
	c.n++
}

// set adds v to column col of each row.
func (c *carries) set(m matrix, col int, v float64) {
	for i := range c.n {
		m.a[c.at[i]+col] += c.sign[i] * v
	}
}

// carry lists the rows that a flow between two nodes feeds, count the state that counts it or −1.
func (k *kernel) carry(from, to, count int) carries {
	var c carries
	n, dim := len(k.nodes), k.lay.dim
	if from < n {
		c.add(from, dim, -1)
	}
	if to < n {
		c.add(to, dim, 1)
	}
	if count >= 0 {
		c.add(count, dim, 1)
	}
	if k.intake >= 0 && from == k.suctionNode() {
		c.add(k.intake, dim, 1)
	} else if k.intake >= 0 && to == k.suctionNode() {
		c.add(k.intake, dim, -1)
	}
	return c
}

// across adds the slopes of a flow with the pressures on both sides: g = ∂Q/∂dp, along = ∂Q/∂x at fixed dp.
func (k *kernel) across(m matrix, c *carries, from, to int, g, along float64) {
	if from < len(k.nodes) {
		c.set(m, from, g*k.pn[from])
	}
	if to < len(k.nodes) {
		c.set(m, to, -g*k.pn[to])
	}
	if k.lay.x >= 0 {
		c.set(m, k.lay.x, g*(k.px[from]-k.px[to])+along)
	}
}

func (k *kernel) branchSlopes(m matrix, x float64) {
	for _, i := range k.active {
		b := &k.branches[i]
		var g, along float64
		if dp := k.p[b.from] - k.p[b.to]; b.shape == nil {
			g = lawSlope(b.lin, b.quad, dp)
		} else {
			_, g, along = b.shape.flow(b.lin, b.quad, dp, x)
		}
		k.across(m, &b.carries, b.from, b.to, g, along)
	}
}

func (k *kernel) ballSlopes(m matrix, y []float64) {
	for i := range k.balls {
		b := &k.balls[i]
		switch dp := k.p[b.from] - k.p[b.to]; b.mode {
		case seated:
		case free:
			_, g, byZ := b.through(dp, b.opening(y[b.at]))
			k.across(m, &b.carries, b.from, b.to, g, 0)
			b.carries.set(m, b.at, byZ)
			b.carries.set(m, b.at+1, b.seat)
		default:
			_, g, _ := b.through(dp, b.open)
			k.across(m, &b.carries, b.from, b.to, g, 0)
		}
	}
}

// rodSlopes fills the rows of x and v.
func (k *kernel) rodSlopes(m matrix, v float64) {
	if k.rod != pushed {
		return
	}
	for j := range k.nodes {
		m.row(j)[k.lay.v] = -k.nodes[j].area
	}
	m.row(k.lay.x)[k.lay.v] = 1
	row := m.row(k.lay.v)
	r := 1 / math.Sqrt(v*v+roundSpeed*roundSpeed)
	s := v * r
	im := 1 / k.mass
	for j := range k.nodes {
		k.pressureSlope(row, j, k.nodes[j].area*im)
	}
	normal := k.friction.steady
	for i := range k.friction.rubs {
		f := &k.friction.rubs[i]
		dp := k.p[f.from] - k.p[f.to]
		size := math.Sqrt(dp*dp + roundPressure*roundPressure)
		normal += f.perPa * size
		d := -s * im * f.perPa * dp / size
		k.pressureSlope(row, f.from, d)
		k.pressureSlope(row, f.to, -d)
	}
	row[k.lay.v] = -im * (k.push.damping + k.friction.viscous + normal*roundSpeed*roundSpeed*r*r*r)
}

// pressureSlope adds c·p_j to a row.
func (k *kernel) pressureSlope(row []float64, j int, c float64) {
	if j < len(k.nodes) {
		row[j] += c * k.pn[j]
	}
	if k.lay.x >= 0 {
		row[k.lay.x] += c * k.px[j]
	}
}

// ballForceSlopes fills the rows of z and w of a free ball.
func (k *kernel) ballForceSlopes(m matrix, b *ball, w float64) {
	m.row(b.at)[b.at+1] = 1
	row := m.row(b.at + 1)
	im := 1 / b.inertia
	if b.onPiston && k.rod == pushed {
		for c, a := range m.row(k.lay.v) {
			row[c] -= b.heavy * im * a
		}
	}
	k.pressureSlope(row, b.from, b.seat*im)
	k.pressureSlope(row, b.to, -b.seat*im)
	row[b.at+1] -= im * (b.drag1 + 2*b.drag2*math.Abs(w))
}

// DerivT sets ∂f/∂t: the force of a motor that changes over, the speed of a crank.
func (k *kernel) DerivT(t float64, _, dfdt []float64) {
	clear(dfdt)
	var jerk float64
	switch k.rod {
	case pushed:
		jerk = k.push.rate / k.mass
		dfdt[k.lay.v] = jerk
	case driven:
		_, a, j := k.crank.motion(t)
		jerk = j
		dfdt[k.lay.x] = a
		for j := range k.nodes {
			dfdt[j] = -k.nodes[j].area * a
		}
	}
	for i := range k.balls {
		if b := &k.balls[i]; b.mode == free && b.onPiston {
			dfdt[b.at+1] = -b.heavy * jerk / b.inertia
		}
	}
}
