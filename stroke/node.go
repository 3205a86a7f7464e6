package stroke

import "math"

// node is a volume of fluid at one pressure: a chamber, the fittings with every chamber open to them, or one segment of
// the hose.
//
// Its state is the excess content n [m³], the volume of fluid (measured at zero gauge pressure) that it holds beyond its
// own volume:
//
//	n = (V/K + E)·p + V·x0·p/(p + p_a)       V = V0 + A·x
//
// the fluid compressed (K), the wall stretched (E), and the room that entrained air (x0 at p_a) gives up by Boyle's law.
// dn/dp = V·(1/K + x0·p_a/(p+p_a)²) + E is the C of the balance C·dp/dt = ΣQ − A·x', and n is its exact integral: volume
// that leaves one node enters another, and any linear method keeps their sum to round-off.
type node struct {
	volume  float64 // V0, m³ at x = 0
	area    float64 // A = dV/dx, m²
	stretch float64 // E, m³/Pa
}

// content returns n [m³] at gauge pressure p [Pa].
func (k *kernel) content(j int, p, x float64) float64 {
	nd := &k.nodes[j]
	v := nd.volume + nd.area*x
	return (v*k.soft+nd.stretch)*p + v*k.air*p/(p+atmosphere)
}

// pressures sets p of every node from its content. The equation above is a quadratic in p:
//
//	C·p² + b·p − n·p_a = 0      C = V/K + E      b = C·p_a + V·x0 − n      s = √(b² + 4·C·n·p_a)
//
// of which the larger root is taken; it never falls below −p_a, where the fluid parts (cavitation).
func (k *kernel) pressures(y []float64, x float64) {
	nodes := k.nodes
	y, p := y[:len(nodes)], k.p[:len(nodes)]
	for j := range nodes {
		nd := &nodes[j]
		n := y[j]
		v := nd.volume + nd.area*x
		c := v*k.soft + nd.stretch
		b := c*atmosphere + v*k.air - n
		s := math.Sqrt(b*b + 4*c*n*atmosphere)
		if b < 0 {
			p[j] = (s - b) / (2 * c)
		} else {
			p[j] = 2 * n * atmosphere / max(b+s, tiny)
		}
	}
}

// pressureSlopes sets also ∂p/∂n = (p+p_a)/s and ∂p/∂x = −A·p·((p+p_a)/K + x0)/s.
func (k *kernel) pressureSlopes(y []float64, x float64) {
	k.pressures(y, x)
	for j := range k.nodes {
		nd := &k.nodes[j]
		v := nd.volume + nd.area*x
		c := v*k.soft + nd.stretch
		b := c*atmosphere + v*k.air - y[j]
		s := max(math.Sqrt(b*b+4*c*y[j]*atmosphere), tiny)
		q := k.p[j]
		k.pn[j] = (q + atmosphere) / s
		k.px[j] = -q * (k.soft*(q+atmosphere) + k.air) / s * nd.area
	}
}

// tiny stands for a root of zero: a node without air at the very moment when the fluid parts.
const tiny = 1e-300
