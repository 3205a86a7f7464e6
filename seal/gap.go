package seal

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Closure turns contact stress into the height of the gap that is left between a ring and its wall.
type Closure struct {
	Rough float64 // m, gap when the ring just touches: the roughness of wall and ring
	Scale float64 // Pa, contact stress that closes the gap to 1/e of Rough
}

// DefaultClosure returns 1 µm and 5 MPa. Both are assumed: 1 µm is the height of the ridges of a wall with Ra 0.1 to 0.2 µm;
// the scale is the order of the hardness of a soft packing over ten.
func DefaultClosure() Closure { return Closure{Rough: 1e-6, Scale: 5e6} }

// Gap returns the mean height [m] of the gap between a ring and its wall, from the net contact stress n = q − p [Pa]:
//
//	n >= 0   h = h0·exp(−n/qc)          the ring presses its surface into the ridges
//	n <  0   h = h0 + (−n)·s/E          the pressure lifts the ring: its section s gives way elastically
//
// h0 = c.Rough, qc = c.Scale, s [m] > 0 radial section (D−d)/2, E [Pa] > 0 modulus of the ring. The height is continuous at
// n = 0. It is an index for comparing stacks and an order of magnitude for a leak, not a measured law: the two forms are
// assumptions of this package (the exponential as in contact of rough surfaces, the linear one as a bar under stress).
func Gap(c Closure, net, section, modulus float64) (float64, error) {
	fn := "seal.Gap"
	if err := first(
		num.CheckPositive(fn, "h0", c.Rough, "m"), num.CheckPositive(fn, "qc", c.Scale, "Pa"),
		num.CheckFinite(fn, "n", net, "Pa"),
		num.CheckPositive(fn, "s", section, "m"), num.CheckPositive(fn, "E", modulus, "Pa"),
	); err != nil {
		return 0, err
	}
	if net >= 0 {
		return c.Rough * math.Exp(-net/c.Scale), nil
	}
	return c.Rough - net*section/modulus, nil
}
