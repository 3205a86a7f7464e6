package gen

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

const (
	maxNodes  = 3
	maxPaths  = 16
	maxValves = 4
)

// rig is a pump as nodes joined by leak paths and check valves. Node 0 is the line with the chambers open to it; node −1 is any
// place without pressure.
type rig struct {
	p        *pump.Pump
	n        int
	sweep    []float64 // m², dV/dx by node
	base     []float64 // m³, volume at x = 0
	paths    []pump.Path
	from, to []int
	valves   [][2]int
	rated    float64
	area     map[pump.Dir]float64 // m², net displacement area of a stroke, from the areas of the sheet alone
	limit    float64              // m³/s, leak at which the stricter stroke takes the least time
}

func newRig(p *pump.Pump) *rig {
	r := &rig{p: p, rated: p.Limits.Rated, area: map[pump.Dir]float64{}}
	node := map[string]int{pump.Line: 0}
	h := p.Hose
	r.sweep, r.base = []float64{0}, []float64{h.Fittings + math.Pi/4*h.Bore*h.Bore*h.Length}
	for _, c := range p.Chambers {
		i := 0
		if c.OpenTo != pump.Line {
			i = len(r.base)
			r.sweep, r.base = append(r.sweep, 0), append(r.base, 0)
		}
		node[c.Name] = i
		r.sweep[i] += p.Sweep(c)
		r.base[i] += p.Volume(c, 0)
	}
	r.n = len(r.base)
	at := func(name string) int {
		if i, ok := node[name]; ok {
			return i
		}
		return -1
	}
	r.paths = p.Map().Paths
	for _, q := range r.paths {
		r.from, r.to = append(r.from, at(q.From)), append(r.to, at(q.To))
	}
	for _, v := range p.Valves {
		r.valves = append(r.valves, [2]int{at(v.From), at(v.To)})
	}
	r.areas()
	r.limit = math.Inf(1)
	for _, d := range pump.Dirs {
		r.limit = math.Min(r.limit, p.Stroke*r.area[d]/p.Limits.StrokeTime)
	}
	return r
}

// areas finds the displacement of each stroke: what the shrinking chambers lose, less what a chamber on the far side of a valve
// on the piston takes up.
func (r *rig) areas() {
	for _, d := range pump.Dirs {
		var a float64
		for i, s := range r.sweep {
			shrinks := s*float64(d) < 0
			if shrinks {
				a += math.Abs(s)
			}
			if i == 0 && !shrinks { // the open chamber grows: it keeps part of what comes through the valve
				a -= math.Abs(s)
			}
		}
		r.area[d] = a
	}
}

func (r *rig) volume(i int, x float64) float64 { return r.base[i] + r.sweep[i]*x }

// force returns the drive's force on a stroke.
func (r *rig) force(d pump.Dir) float64 {
	if d == pump.Up {
		return r.p.Drive.ForceUp
	}
	return r.p.Drive.ForceDown
}

// stroked is the area [m²] with which the rod moves fluid through valve k: the larger one of its chambers.
func (r *rig) stroked(k int) float64 {
	var a float64
	for _, i := range r.valves[k] {
		if i >= 0 {
			a = math.Max(a, math.Abs(r.sweep[i]))
		}
	}
	return a
}

// path returns the index of a path by name, −1 when the pump has none.
func (r *rig) path(name string) int {
	for j, q := range r.paths {
		if q.Name == name {
			return j
		}
	}
	return -1
}

// oneDrop is a drop of 0.05 mL a minute [m³/s]: the least that somebody sees who looks for a minute. Where a sheet allows none, nobody can
// ask for less.
const oneDrop = 0.05e-6 / 60

// allowed is what may leak out on path j [m³/s], by the pump sheet; false for a path that does not lead out of the pump.
func (r *rig) allowed(j int) (float64, bool) {
	a, ok := r.p.Allowed(r.paths[j])
	return math.Max(a.Flow, oneDrop), ok
}

// climbs says whether a leak into a chamber that grows by less than its stroke displaces can drive the line far beyond the pressure of a
// sound stall, see world.creep: its gauge needs room for it.
func (r *rig) climbs() bool {
	for _, d := range pump.Dirs {
		for i := 1; i < r.n; i++ {
			if s := r.sweep[i] * float64(d); s > 0 && s < 0.99*r.area[d] {
				return true
			}
		}
	}
	return false
}
