package pump

// Map says, for each stroke, which nodes stand at the line's pressure in a stall, which area the rod creeps with, and what
// follows for every leak path: on which strokes it leaks and which way its lips must open.
type Map struct {
	Pressed map[Dir]map[string]bool // node → stands at the line's pressure at a stall of that stroke
	Creep   map[Dir]float64         // m², net area: rod speed × area = flow that leaves the pressed nodes
	Paths   []Path
	Dead    []string // chambers that a stroke compresses with no valve to let the fluid out
	Dry     []string // chambers that a stroke expands with no way for fluid to come in
}

// PathKind groups leak paths by the law they follow.
type PathKind string

// The kinds of leak paths.
const (
	PathPacking PathKind = "packing"
	PathSeat    PathKind = "seat"
	PathStatic  PathKind = "static"
	PathDrain   PathKind = "drain"
	PathFitting PathKind = "fitting"
)

// Path is one way for fluid to get from a node under pressure to one without.
type Path struct {
	Name     string
	Kind     PathKind
	From, To string      // direction in which it leaks; for a seal pressed from both sides, From is the node pressed on Up
	Shows    map[Dir]int // +1 leaks From→To in a stall of that stroke, −1 leaks To→From, 0 is not under pressure
	Visible  bool        // it ends outside or in the pail, where drops can be counted or caught
	OnBore   bool        // a packing against the bore
	OnRod    bool        // a packing against the rod
}

// Both says whether the path leaks on both strokes.
func (p Path) Both() bool { return p.Shows[Up] != 0 && p.Shows[Down] != 0 }

// Map derives the pressure map. At a stall of stroke d the pressed nodes are the line, every chamber open to it, and every
// chamber that is pushed against them: the stroke compresses it, or another chamber feeds more into it than it grows by, and its
// valves lead to pressed nodes only. Volume balance of the pressed nodes gives the creep area:
//
//	A(d) = −d·Σ dV_i/dx   [m²] over the pressed chambers
func (p *Pump) Map() Map {
	m := Map{Pressed: map[Dir]map[string]bool{}, Creep: map[Dir]float64{}}
	dead, dry := map[string]bool{}, map[string]bool{}
	for _, d := range Dirs {
		pressed := p.pressed(d)
		m.Pressed[d] = pressed
		for _, c := range p.Chambers {
			switch {
			case pressed[c.Name]:
				m.Creep[d] -= float64(d) * p.Sweep(c)
			case p.compresses(c, d):
				dead[c.Name] = dead[c.Name] || !p.escapes(c, pressed)
			default:
				dry[c.Name] = dry[c.Name] || !p.fills(c, pressed)
			}
		}
	}
	for _, c := range p.Chambers {
		if dead[c.Name] {
			m.Dead = append(m.Dead, c.Name)
		}
		if dry[c.Name] {
			m.Dry = append(m.Dry, c.Name)
		}
	}
	m.Paths = p.paths(m)
	return m
}

func (p *Pump) compresses(c Chamber, d Dir) bool { return p.Sweep(c)*float64(d) < 0 }

func (p *Pump) pressed(d Dir) map[string]bool {
	pressed := map[string]bool{Line: true}
	for _, c := range p.Chambers {
		if c.OpenTo == Line {
			pressed[c.Name] = true
		}
	}
	for grew := true; grew; {
		grew = false
		for _, c := range p.Chambers {
			if !pressed[c.Name] && p.leadsTo(c.Name, pressed) && !p.escapes(c, pressed) && p.gain(c, d, pressed) > 0 {
				pressed[c.Name], grew = true, true
			}
		}
	}
	return pressed
}

// gain returns the volume per travel [m²] that a chamber has to give away on a stroke: what it loses itself, and what chambers
// that have no other way out push into it.
func (p *Pump) gain(c Chamber, d Dir, pressed map[string]bool) float64 {
	g := -float64(d) * p.Sweep(c)
	for _, v := range p.Valves {
		if feeder, ok := p.Chamber(v.From); ok && v.To == c.Name && p.compresses(feeder, d) && !p.escapesPast(feeder, c.Name, pressed) {
			g -= float64(d) * p.Sweep(feeder)
		}
	}
	return g
}

// leadsTo says whether a valve lets fluid out of the node into a pressed one.
func (p *Pump) leadsTo(node string, pressed map[string]bool) bool {
	for _, v := range p.Valves {
		if v.From == node && pressed[v.To] {
			return true
		}
	}
	return false
}

// escapes says whether a compressed chamber has a valve that lets fluid out without pressure.
func (p *Pump) escapes(c Chamber, pressed map[string]bool) bool { return p.escapesPast(c, "", pressed) }

// escapesPast is escapes by another way than into the node except.
func (p *Pump) escapesPast(c Chamber, except string, pressed map[string]bool) bool {
	for _, v := range p.Valves {
		if v.From == c.Name && v.To != except && !pressed[v.To] {
			return true
		}
	}
	return false
}

// fills says whether an expanding chamber has a valve that lets fluid in.
func (p *Pump) fills(c Chamber, pressed map[string]bool) bool {
	for _, v := range p.Valves {
		if v.To == c.Name && !pressed[v.From] {
			return true
		}
	}
	return false
}

func (p *Pump) paths(m Map) []Path {
	var out []Path
	add := func(q Path, a, b string) {
		q.From, q.To, q.Shows = a, b, map[Dir]int{}
		for _, d := range Dirs {
			switch pa, pb := m.Pressed[d][a], m.Pressed[d][b]; {
			case pa && !pb:
				q.Shows[d] = 1
			case pb && !pa:
				q.Shows[d] = -1
			}
		}
		if q.Shows[Up] < 0 || q.Shows[Up] == 0 && q.Shows[Down] < 0 {
			q.From, q.To = b, a
			q.Shows[Up], q.Shows[Down] = -q.Shows[Up], -q.Shows[Down]
		}
		q.Visible = q.To == Air || q.To == Pail
		out = append(out, q)
	}
	for _, s := range p.Seals {
		kind := PathPacking
		if s.Kind == Static {
			kind = PathStatic
		}
		add(Path{Name: s.Name, Kind: kind, OnBore: s.On == "bore", OnRod: s.On == "rod"}, s.Between[0], s.Between[1])
	}
	for _, v := range p.Valves { // a valve leaks against its own direction
		add(Path{Name: v.Name, Kind: PathSeat}, v.To, v.From)
	}
	for _, o := range p.Outlets {
		kind := PathFitting
		if o.Kind == "drain" {
			kind = PathDrain
		}
		add(Path{Name: o.Name, Kind: kind}, o.From, o.To)
	}
	return out
}

// LipsOf returns which way the lips of a seal's rings must open: toward the side with the higher pressure. Sides are given
// as node names; two of them when pressure comes from both sides on different strokes (then two opposed sets are needed, lips
// facing away from each other: US Navy NAVEDTRA 14105, Fluid Power, on V-packing).
func (m Map) LipsOf(seal Seal) []string {
	a, b := seal.Between[0], seal.Between[1]
	var sides []string
	for _, side := range [][2]string{{a, b}, {b, a}} {
		for _, d := range Dirs {
			if m.Pressed[d][side[0]] && !m.Pressed[d][side[1]] {
				sides = append(sides, side[0])
				break
			}
		}
	}
	return sides
}

// LipDirection turns a side into "up" or "down" for a seal on rod or bore: on the bore, toward the rod-side chamber is up; at
// a throat, toward the chamber, which lies below it, is down; at a tail-rod packing, toward the chamber above it, is up.
func (p *Pump) LipDirection(seal Seal, side string) string {
	other := seal.Between[0]
	if other == side {
		other = seal.Between[1]
	}
	height := func(node string) int {
		c, ok := p.Chamber(node)
		switch {
		case ok && c.Rod:
			return 1
		case ok:
			return -1
		}
		return 0
	}
	hs, ho := height(side), height(other)
	if seal.On == "bore" { // only the piston lies between: the rod side is above it
		hs, ho = -hs, -ho
	}
	if hs > ho {
		return "down"
	}
	return "up"
}

// Facing is the side that a stack's lips must open to.
type Facing struct {
	Node string // the side with the higher pressure
	Lips string // "up" or "down"
}

// Facings returns, for each stack of a packing from the lowest to the highest, the side that its lips must face. It is empty
// when no pressure ever stands across the packing, or when pressure comes from both sides and the packing has only one stack.
// With pressure from both sides the lowest stacks face down and the highest face up; the number of stacks must then be even.
func (p *Pump) Facings(m Map, seal Seal) []Facing {
	n := len(seal.Stacks)
	var facing []Facing
	for _, side := range m.LipsOf(seal) {
		facing = append(facing, Facing{side, p.LipDirection(seal, side)})
	}
	out := make([]Facing, n)
	switch {
	case len(facing) == 1:
		for i := range out {
			out[i] = facing[0]
		}
	case len(facing) == 2 && n > 0 && n%2 == 0:
		down, up := facing[0], facing[1]
		if down.Lips == "up" {
			down, up = up, down
		}
		for i := range out {
			if out[i] = down; i >= n/2 {
				out[i] = up
			}
		}
	default:
		return nil
	}
	return out
}

// FacingOf returns the side that the lips of one stack must face; ok is false when none follows from the map.
func (p *Pump) FacingOf(m Map, stack Stack) (f Facing, ok bool) {
	seal, ok := p.Seal(stack.Seal)
	if !ok {
		return Facing{}, false
	}
	for i, f := range p.Facings(m, seal) {
		if seal.Stacks[i] == stack.Name {
			return f, true
		}
	}
	return Facing{}, false
}
