package stroke

import (
	"math"

	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/pump"
)

// Coefficients of the flow through openings.
const (
	ballCd    = 0.7   // discharge coefficient of the gap between ball and seat; common practice, no published source
	ballDelta = 0.157 // laminar coefficient δ of a slit orifice, Cd = δ√Re; H. E. Merritt, Hydraulic Control Systems (1967) §3-4, from memory
	tipCd     = 0.8   // of an equivalent-orifice tip; common practice, no published source
	tipDelta  = 0.2   // δ of a round sharp orifice; Merritt as above, from memory
	hoseRough = 0.025 // friction factor added to 64/Re; within 20 % of Blasius' for Re 3000..30000
)

// builder turns a setup into a kernel.
type builder struct {
	s     *Setup
	k     *kernel
	index map[string]int // node by name
	names []string       // of the nodes
	line  int            // number of nodes that make up the line
}

// build makes the tables. The setup has been checked.
func build(s *Setup) (*builder, error) {
	k := &kernel{soft: 1 / s.Fluid.Bulk, air: s.Fluid.Air, mass: s.Pump.MovingMass, rest: s.X0, intake: -1}
	b := &builder{s: s, k: k, index: map[string]int{}}
	if err := b.lineNodes(); err != nil {
		return nil, err
	}
	b.chamberNodes()
	n := len(k.nodes)
	b.index[pump.Air], b.index[pump.Pail], b.index[pump.Suction] = n, n, n+1
	for _, name := range s.Vented {
		b.index[name] = n
	}
	k.p, k.pn, k.px, k.in = make([]float64, n+2), make([]float64, n+2), make([]float64, n+2), make([]float64, n+2)
	k.p[n+1] = s.Suction
	b.hose()
	b.valves()
	b.frictions()
	return b, nil
}

// lineNodes makes the node of the fittings with every chamber open to them, and the hose.
func (b *builder) lineNodes() error {
	p, h := b.s.Pump, b.s.Pump.Hose
	bore := math.Pi / 4 * h.Bore * h.Bore * h.Length
	segments := h.Segments
	if b.s.WholeLine || h.Length == 0 {
		segments = 0
	}
	first := node{volume: h.Fittings}
	for _, c := range p.Chambers {
		if c.OpenTo == pump.Line {
			first.volume += p.Volume(c, 0)
			first.area += p.Sweep(c)
			b.index[c.Name] = 0
		}
	}
	if segments == 0 {
		first.volume += bore
		first.stretch = h.Expansion
	}
	b.index[pump.Line] = 0
	b.add(pump.Line, first)
	for range segments {
		b.add("hose", node{volume: bore / float64(segments), stretch: h.Expansion / float64(segments)})
	}
	b.line = 1 + segments
	if v := first.volume + min(0, first.area*p.Stroke); v <= 0 && first.stretch == 0 {
		return &SetupError{"Pump.Hose", "fittings, hose and open chambers together have no volume"}
	}
	return nil
}

func (b *builder) add(name string, n node) {
	b.k.nodes = append(b.k.nodes, n)
	b.names = append(b.names, name)
}

func (b *builder) chamberNodes() {
	p := b.s.Pump
	vented := map[string]bool{}
	for _, name := range b.s.Vented {
		vented[name] = true
	}
	for _, c := range p.Chambers {
		if c.OpenTo == "" && !vented[c.Name] {
			b.index[c.Name] = len(b.k.nodes)
			b.add(c.Name, node{volume: p.Volume(c, 0), area: p.Sweep(c)})
		}
	}
}

// hose joins the segments of the line: laminar and turbulent loss of a pipe added up.
func (b *builder) hose() {
	h, f, n := b.s.Pump.Hose, b.s.Fluid, b.line-1
	d2 := h.Bore * h.Bore
	area := math.Pi / 4 * d2
	for i := range n {
		length := h.Length / float64(n)
		if i == 0 {
			length /= 2
		}
		b.branch(branch{from: i, to: i + 1,
			lin:  128 * f.Viscosity * length / (math.Pi * d2 * d2),
			quad: hoseRough * length / h.Bore * f.Density / (2 * area * area)})
	}
}

// branch adds a branch and returns its index.
func (b *builder) branch(br branch) int {
	b.k.branches = append(b.k.branches, br)
	b.k.q = append(b.k.q, 0)
	return len(b.k.branches) - 1
}

// tip adds the orifice at the end of the line and returns its branch.
func (b *builder) tip() int {
	d, f := b.s.Pump.Hose.Tip, b.s.Fluid
	area := math.Pi / 4 * d * d
	return b.branch(branch{from: b.line - 1, to: b.k.airNode(),
		lin:  f.Viscosity / (2 * tipDelta * tipDelta * d * area),
		quad: f.Density / (2 * tipCd * tipCd * area * area)})
}

func (b *builder) valves() {
	f := b.s.Fluid
	for _, v := range b.s.Pump.Valves {
		r, rs := v.Ball/2, v.Seat/2
		volume := 4.0 / 3 * math.Pi * r * r * r
		w := ball{
			from: b.index[v.From], to: b.index[v.To],
			rs: rs, r: r, y0: math.Sqrt(r*r - rs*rs), seat: math.Pi * rs * rs, lift: v.Lift,
			turb: f.Density / (2 * ballCd * ballCd), lam: f.Viscosity / (2 * ballDelta * ballDelta),
			inertia: volume * (v.Density + f.Density/2), heavy: volume * (v.Density - f.Density),
			drag1: 6 * math.Pi * f.Viscosity * r, drag2: 0.5 * 0.44 * f.Density * math.Pi * r * r,
			onPiston: v.OnPiston,
		}
		w.open = w.opening(w.lift)
		b.k.balls = append(b.k.balls, w)
	}
}

// fault adds the branches of a leak and returns their indices.
func (b *builder) fault(f Fault, path pump.Path) []int {
	for i, v := range b.s.Pump.Valves {
		if v.Name == f.Path {
			b.k.balls[i].late = max(b.k.balls[i].late, f.Late)
		}
	}
	var all []int
	for _, l := range flat(f.Leak) {
		br := branch{from: b.index[path.From], to: b.index[path.To]}
		plain := len(f.Along) == 0 && f.Zone == nil && f.Reseat == 0
		switch l := l.(type) {
		case leak.Law:
			br.lin, br.quad = l.Lin, l.Quad
		case leak.Packing:
			br.lin, br.quad = l.Rest.Lin, l.Rest.Quad
			plain = plain && l.Energise == 0
		default:
			plain = false
		}
		if !plain {
			br.shape = b.shape(f, l)
		}
		if br.lin > 0 || br.quad > 0 || br.shape != nil && br.shape.path != nil {
			all = append(all, b.branch(br))
		}
	}
	return all
}

func (b *builder) shape(f Fault, l leak.Path) *shape {
	s := &shape{factor: 1, along: [4]float64{1}}
	switch l := l.(type) {
	case leak.Law:
	case leak.Packing:
		if l.Energise > 0 {
			s.energise = float64(l.Facing) / l.Energise
		}
	default:
		s.path = l
	}
	if len(f.Along) > 0 {
		s.along = [4]float64{}
		for i, c := range f.Along {
			s.along[i] = c / math.Pow(b.s.Pump.Stroke, float64(i))
		}
	}
	if f.Zone != nil {
		s.zone = *f.Zone
	}
	return s
}

func (b *builder) frictions() {
	fr := b.s.Friction
	if fr == nil {
		def := PackingFriction(b.s.Pump)
		fr = &def
	}
	b.k.friction = friction{steady: fr.Steady, viscous: fr.Viscous}
	for _, s := range b.s.Pump.Seals {
		if c := fr.PerPa[s.Name]; c > 0 {
			b.k.friction.rubs = append(b.k.friction.rubs, rub{b.index[s.Between[0]], b.index[s.Between[1]], c})
		}
	}
}

// Values for the friction of V-packings where the sheet does not say more. Assumptions: common practice, no published source.
const (
	packingMu      = 0.05 // coefficient of friction, lubricated
	packingPressed = 0.5  // share of the set's height that the pressure loads
	packingHeight  = 0.3  // height of a set over its diameter where no stack is given
	packingSteady  = 20.0 // N per set, from its preload
)

// PackingFriction estimates the rod's friction from the packing sets of a pump: each v-ring rubs over its height, loaded by
// the pressure across the set. All of it is assumption; a measured friction is better.
func PackingFriction(p *pump.Pump) Friction {
	fr := Friction{PerPa: map[string]float64{}}
	for _, s := range p.Seals {
		if s.Kind != pump.Packing {
			continue
		}
		d := p.Bore
		if s.On == "rod" {
			d = rodAt(p, s)
		}
		height := 0.0
		for _, name := range s.Stacks {
			if st, ok := p.Stack(name); ok {
				for _, r := range st.Rings {
					if r.Kind == "v-ring" {
						height += r.Height
					}
				}
			}
		}
		if height == 0 {
			height = packingHeight * d
		}
		fr.PerPa[s.Name] = packingMu * packingPressed * math.Pi * d * height
		fr.Steady += packingSteady
	}
	return fr
}

// rodAt returns the diameter of the rod in a seal: that of the tail rod where the seal borders the head side.
func rodAt(p *pump.Pump, s pump.Seal) float64 {
	for _, name := range s.Between {
		if c, ok := p.Chamber(name); ok && !c.Rod {
			return p.TailRod
		}
	}
	return p.Rod
}
