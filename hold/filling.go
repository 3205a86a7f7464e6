package hold

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

// filling is a stroke on which a leak can fill a closed chamber faster than the creep of the rod makes room there. It needs a
// chamber area a_c below the creep area A: the downstroke of a pump whose both sides deliver, not a differential one.
//
// The chamber then comes under pressure, which helps the drive: the stall pressure climbs, beyond the rating if nobody stops
// it, and the line takes up what the rod delivers. While it climbs, the rod makes room for just what leaks in. With E leaving
// to the outside, L leaking into the chamber and O leaving it for the suction,
//
//	A v = max( E + L , (L − O)·A/a_c )
type filling struct {
	gain float64 // A/a_c
	into []bool  // by path: it leaks into the chamber
	out  []bool  // by path: it leaks from the chamber into the suction
}

// fillings finds the filling of each stroke, nil when no leak can fill a chamber.
func (b *bench) fillings() (out [2]*filling) {
	for _, d := range pump.Dirs {
		area := b.m.Creep[d]
		for _, c := range b.p.Chambers {
			grow := float64(d) * b.p.Sweep(c)
			if b.m.Pressed[d][c.Name] || grow <= 0 || grow >= area {
				continue
			}
			f := &filling{gain: area / grow, into: make([]bool, len(b.paths)), out: make([]bool, len(b.paths))}
			for j, q := range b.paths {
				other := q.From
				if q.From == c.Name {
					other = q.To
				} else if q.To != c.Name {
					continue
				}
				f.into[j] = b.m.Pressed[d][other]
				f.out[j] = other == pump.Suction
			}
			out[strokeIndex(d)] = f
		}
	}
	return out
}

// backflow returns the filling of a reading's stroke with the coefficients of the paths that empty the chamber.
func (b *bench) backflow(r Reading) (*filling, []float64) {
	f := b.fill[strokeIndex(r.Stroke)]
	if f == nil {
		return nil, nil
	}
	return f, b.coefficients(r, r.Pressure, func(j int) float64 {
		if f.out[j] {
			return 1
		}
		return 0
	})
}

// total is A v = max(E + L, (L − O)·A/a_c).
func (f *filling) total(e, l, o float64) float64 {
	return math.Max(e+l, (l-o)*f.gain)
}
