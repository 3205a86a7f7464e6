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
//
// The balance of forces gives the pressure in the chamber from that of the line, p_c = (p A − F)/a_c, and with it what is
// left to drive the leak.
type filling struct {
	gain  float64 // A/a_c
	force float64 // N
	area  float64 // m², A
	into  []bool  // by path: it leaks into the chamber
	out   []bool  // by path: it leaks from the chamber into the suction
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
			f := &filling{gain: area / grow, force: driveForce(b.p, d), area: area, into: make([]bool, len(b.paths)), out: make([]bool, len(b.paths))}
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

func driveForce(p *pump.Pump, d pump.Dir) float64 {
	if d == pump.Up {
		return p.Drive.ForceUp
	}
	return p.Drive.ForceDown
}

// behind is the pressure in the filled chamber when the line stands at p; zero when the drive alone explains p.
func (f *filling) behind(p float64) float64 {
	return math.Max(0, (p*f.area-f.force)*f.gain/f.area)
}

// highestStall is the highest pressure to which the drive can bring the line on a stroke: beyond F/A where a leak fills a
// chamber, up to F/(A − a_c) when that chamber has come to the line's pressure.
func highestStall(p *pump.Pump, m pump.Map, d pump.Dir) float64 {
	top := p.Limits.Rated
	if p.Drive.Kind != pump.ForceHeld {
		return top
	}
	for _, c := range p.Chambers {
		if grow := float64(d) * p.Sweep(c); !m.Pressed[d][c.Name] && grow > 0 && grow < m.Creep[d] {
			top = math.Max(top, driveForce(p, d)/(m.Creep[d]-grow))
		}
	}
	return top
}

// stall returns the coefficients of a stall reading: each path under the pressure of the line, one that ends in a filled
// chamber under what is left of it.
func (b *bench) stall(r Reading) []float64 {
	on := b.onStroke(r.Stroke)
	f := b.fill[strokeIndex(r.Stroke)]
	if f == nil || f.behind(r.Pressure) == 0 {
		return b.coefficients(r, r.Pressure, on)
	}
	pick := func(into bool) func(int) float64 {
		return func(j int) float64 {
			if f.into[j] != into {
				return 0
			}
			return on(j)
		}
	}
	out := b.coefficients(r, r.Pressure, pick(false))
	for i, c := range b.coefficients(r, r.Pressure-f.behind(r.Pressure), pick(true)) {
		out[i] += c
	}
	return out
}

// backflow returns the filling of a reading's stroke with the coefficients of the paths that empty the chamber.
func (b *bench) backflow(r Reading) (*filling, []float64) {
	f := b.fill[strokeIndex(r.Stroke)]
	if f == nil {
		return nil, nil
	}
	p := r.Pressure
	if behind := f.behind(p); behind > 0 {
		p = behind
	}
	return f, b.coefficients(r, p, func(j int) float64 {
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
