package hold

import (
	"fmt"
	"math"
	"slices"

	"github.com/evenstroke/evenstroke/fluid"
	"github.com/evenstroke/evenstroke/pump"
)

// bench is a pump, a sheet and a prior made ready for sampling: paths by index, tables instead of maps.
type bench struct {
	p      *pump.Pump
	m      pump.Map
	prior  *Prior
	sheet  *Sheet
	paths  []pump.Path
	vars   [][]variant             // by path
	median []float64               // ln of the median leak at fault, by path
	sd     []float64               // sd of ln leak at fault, by path
	sound  []sound                 // leak of the path when sound
	leaks  [2][]bool               // by stroke (strokeIndex) and path: it is under pressure there
	base   [2]float64              // m³/s by stroke, leak of all paths when sound
	fill   [2]*filling             // by stroke; nil when no leak can fill a chamber
	full   [2]float64              // m³ by stroke, volume of a whole stroke
	made   [2]float64              // m³ by stroke, what a whole stroke at rated pressure makes up, measured at no pressure: see swellOf
	swell  func(p float64) float64 // volume at no pressure over volume at p
	out    []float64               // m³/s, what may leak out by path, see most
	limit  float64                 // m³/s, the strictest leak limit of the two strokes
	drift  float64                 // m³/s, standard deviation of the flow that cooling takes out of the line and the hose out of the pump, see driftOf
	visc   func(temperature float64) float64
	net    *network // the pump with its rod standing still
	obs    []observation
	takes  []take // the observations of each reading
	signs  []Reading
	sets   []faultSet
	index  map[string]int // of a set by setKey
	next   []Check        // see checks
}

func newBench(p *pump.Pump, s *Sheet, pr *Prior) (*bench, error) {
	b := &bench{p: p, m: p.Map(), prior: pr, sheet: s}
	b.paths = b.m.Paths
	if err := pr.check(b.paths); err != nil {
		return nil, err
	}
	f, err := s.Fluid.build()
	if err != nil {
		return nil, fmt.Errorf("fluid: %w", err)
	}
	if b.swell, err = swellOf(f, s.Fluid.Temperature); err != nil {
		return nil, fmt.Errorf("fluid: %w", err)
	}
	b.limit = math.Inf(1)
	for _, d := range pump.Dirs {
		b.limit = math.Min(b.limit, LeakLimit(p, d)*b.swell(p.Limits.Rated))
	}
	for _, q := range b.paths {
		b.vars = append(b.vars, variantsOf(q))
		med, sd := pr.size(q, b.limit)
		b.median, b.sd = append(b.median, math.Log(med)), append(b.sd, sd)
	}
	for j := range b.paths {
		b.out = append(b.out, b.most(j))
		b.sound = append(b.sound, newSound(pr.Sound, b.limit, b.out[j]))
	}
	for _, d := range pump.Dirs {
		i := strokeIndex(d)
		b.full[i] = p.Stroke * b.m.Creep[d]
		b.made[i] = b.full[i] * b.swell(p.Limits.Rated)
		for j, q := range b.paths {
			on := q.Shows[d] != 0
			b.leaks[i] = append(b.leaks[i], on)
			if on {
				b.base[i] += b.sound[j].median
			}
		}
	}
	b.fill = b.fillings()
	if err := b.setViscosity(f); err != nil {
		return nil, err
	}
	if b.net, err = newNetwork(b, f); err != nil {
		return nil, err
	}
	if b.drift, err = b.driftOf(f); err != nil {
		return nil, fmt.Errorf("fluid: %w", err)
	}
	for i, r := range s.Readings {
		b.observe(i, r)
	}
	b.sets = enumerate(b.paths, pr, pr.healthy(s.Stage))
	b.index = map[string]int{}
	for i, set := range b.sets {
		b.index[setKey(set.paths)] = i
	}
	return b, nil
}

// swellOf returns the volume that a fluid has at no pressure over the one that it has at the gauge pressure p [Pa]: the liquid by its
// density, entrained air x0 by Boyle's law.
//
//	ρ(p)/ρ(0) + x0·p/(p + p_a)
//
// Leaks are volumes as they are caught, at no pressure; a rod that creeps sweeps its volume at the pressure of the stall.
func swellOf(f fluid.Fluid, temperature float64) (func(p float64) float64, error) {
	loose, err := f.Density(temperature, 0)
	if err != nil {
		return nil, err
	}
	return func(p float64) float64 {
		p = math.Min(math.Max(p, 0), fluid.MaxPressure)
		dense, err := f.Density(temperature, p)
		if err != nil {
			dense = loose // the temperature was in range above, and so is p
		}
		return dense/loose + f.Air()*p/(p+fluid.Atmosphere)
	}, nil
}

// coolingRate is by how much the fluid in the line cools or warms [K/s] while a mark is watched (standard deviation): ten kelvins from the room
// with a time constant of an hour. An assumption; no published source.
const coolingRate = 10.0 / 3600

// driftOf returns the flow [m³/s] by which a creep at a stall misleads for as long as it is watched: that of the prior, and what cooling takes
// out of the line: √(drift² + (α V r)²), with α the thermal expansion of the fluid, V the volume of the line, r the rate of cooling. A long wide
// hose holds litres, and a tenth of a kelvin then is a millilitre.
func (b *bench) driftOf(f fluid.Fluid) (float64, error) {
	alpha, err := f.Expansion(b.sheet.Fluid.Temperature, b.p.Limits.Rated)
	if err != nil {
		return 0, err
	}
	return math.Hypot(b.prior.Drift, alpha*b.net.volume[0]*coolingRate), nil
}

// hasCreep says whether a mark on a rod that may creep was watched.
func (b *bench) hasCreep() bool {
	return slices.ContainsFunc(b.sheet.Readings, func(r Reading) bool {
		return r.Kind == Creep || r.Kind == Still || r.Kind == Changeover || r.Kind == NoChangeover
	})
}

// LeakLimit returns the leak [m³/s] at rated pressure at which a stroke of direction d takes just the least time the pump
// sheet allows: s·A(d)/t_min, of a fluid that pressure does not make denser.
func LeakLimit(p *pump.Pump, d pump.Dir) float64 {
	return p.Stroke * p.Map().Creep[d] / p.Limits.StrokeTime
}

// build makes the fluid of the test; what the sheet does not say is a stated assumption of package fluid.
func (s FluidSpec) build() (fluid.Fluid, error) {
	spec := fluid.Spec{Kind: s.Kind, Grade: s.Grade, Cup: s.Cup, CupTime: s.CupTime, Density: s.Density}
	if s.Kind == "coating" { // the cup is taken to be timed at the temperature of the test
		spec.Temperature = s.Temperature
	}
	if s.ShearIndex > 0 && s.ShearIndex < 1 {
		spec.ShearIndex = s.ShearIndex
	}
	if spec.AirFraction = s.Air; math.IsNaN(s.Air) {
		spec.AirFraction = fluid.UsualAir
	}
	return fluid.New(spec)
}

// setViscosity prepares the ratio of viscosities between a reading's temperature and the sheet's.
func (b *bench) setViscosity(f fluid.Fluid) error {
	t0 := b.sheet.Fluid.Temperature
	mu0, err := f.Viscosity(t0, 0)
	if err != nil {
		return fmt.Errorf("fluid: %w", err)
	}
	ratios := map[float64]float64{}
	for i, r := range b.sheet.Readings {
		if math.IsNaN(r.Warmth) {
			continue
		}
		mu, err := f.Viscosity(r.Warmth, 0)
		if err != nil {
			return fmt.Errorf("reading %d: fluid: %w", i+1, err)
		}
		ratios[r.Warmth] = mu / mu0
	}
	b.visc = func(t float64) float64 {
		if m, ok := ratios[t]; ok {
			return m
		}
		return 1
	}
	return nil
}

// coefficients returns g_jv at a pressure for every path and variant that leaks on the given strokes; the rows of the
// others are zero. share(j) scales a path (0 to leave it out).
func (b *bench) coefficients(r Reading, p float64, share func(j int) float64) []float64 {
	out := make([]float64, len(b.paths)*maxVariants)
	x, m := p/b.p.Limits.Rated, b.visc(r.Warmth)
	for j := range b.paths {
		s := share(j)
		if s == 0 {
			continue
		}
		for v, vr := range b.vars[j] {
			c := s * vr.form.flow(x, m)
			if vr.mid && !math.IsNaN(r.At) && r.Stroke != 0 {
				from := r.At / b.p.Stroke
				c *= midWearOver(from, from+float64(r.Stroke)*math.Max(r.Travel, 0)/b.p.Stroke)
			}
			out[j*maxVariants+v] = c
		}
	}
	return out
}

// onStroke returns 1 for the paths under pressure at a stall of stroke d, with both strokes when d is 0.
func (b *bench) onStroke(d pump.Dir) func(int) float64 {
	return func(j int) float64 {
		shows := b.paths[j].Shows
		if d == 0 && shows[pump.Up] != 0 && shows[pump.Down] != 0 || d != 0 && shows[d] != 0 {
			return 1
		}
		return 0
	}
}
