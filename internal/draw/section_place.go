package draw

import (
	"math"
	"slices"

	"github.com/evenstroke/evenstroke/pump"
)

// placeValves gives each valve its seat, its ports and the place of its drop.
func (s *section) placeValves() {
	used := map[string]float64{} // height taken at the side of a chamber
	riding, on := 0, 0
	for _, k := range s.valves {
		riding += b2i(k.place == inPiston)
	}
	for i := range s.valves {
		k := &s.valves[i]
		ratio := within(k.v.Ball/s.p.Bore, 0.2, 1)
		share := within(k.v.Seat/k.v.Ball, 0.5, 0.9)
		switch k.place {
		case inFoot:
			k.ball = within(ratio*halfBore, 18, 34)
			k.y = s.tail - 36
		case inPiston:
			k.ball = within(ratio*halfBore, 10, math.Max(11, math.Min(26, s.hr-16)))
			if riding > 1 {
				k.ball = 11
				k.x = (float64(on) - float64(riding-1)/2) * 44
			}
			on++
			k.y = s.lower - 22
			if k.down {
				k.y = s.piston + 22
			}
		case atLeft, atRight, between:
			k.ball = within(ratio*halfBore, 12, 17)
			s.placeAside(k, used)
		}
		k.hole = k.ball * share
		s.valveDrop(k)
	}
	for _, c := range s.p.Chambers {
		if c.OpenTo == pump.Line {
			s.ports = append(s.ports, s.openPort(c.Name))
		}
	}
	if len(s.ports) == 0 {
		s.ports = append(s.ports, s.upper+20)
	}
	slices.Sort(s.ports)
}

// placeAside stacks the valves at the side of a chamber, the first listed on top.
func (s *section) placeAside(k *seat, used map[string]float64) {
	node, side := k.v.From, "right"
	if k.place != atRight {
		node, side = k.v.To, "left"
	}
	_, chamber := s.p.Chamber(node)
	top := s.chamberTop(node)
	if !chamber { // from the suction straight to the line
		node, top = pump.Suction, s.foot
	}
	if k.place == between {
		node, top = "between", (s.upper+s.foot)/2-slot/2
	}
	top += used[side+" "+node]
	used[side+" "+node] += slot
	k.y = top + 54
	k.x = valveX
	switch k.place {
	case atRight:
		k.chamberPort, k.farPort = k.y+28, k.y-36
		s.ports = append(s.ports, k.farPort)
	case atLeft:
		k.x, k.chamberPort, k.farPort = -valveX, k.y-36, k.y+28
	case between:
		k.x, k.chamberPort, k.farPort = -valveX, s.chamberTop(k.v.To)+20, s.chamberTop(k.v.From)+20
	}
}

// openPort is the level at which a chamber opens to the line.
func (s *section) openPort(chamber string) float64 {
	if s.rod != nil && s.rod.Name == chamber {
		return s.upper + 20
	}
	return s.foot - 24
}

// valveDrop puts the drop of a valve on the side of the seat that it leaks to.
func (s *section) valveDrop(k *seat) {
	d := drip{path: k.v.Name}
	switch {
	case k.place == atLeft:
		d.add(pt{k.x - 42, k.farPort}, pt{-1, 0})
	case k.place == atRight && k.v.From != pump.Suction:
		d.add(pt{k.x - 40, k.chamberPort}, pt{-1, 0})
	case k.down:
		d.add(pt{k.x, k.y - 30}, pt{0, -1})
	case k.place == inPiston:
		d.add(pt{k.x, k.y + 17}, pt{0, 1})
	default:
		d.add(pt{k.x, k.y + 30}, pt{0, 1})
	}
	s.drops = append(s.drops, d)
}

// placeOutlets puts fittings on the line above its ports and drains below them.
func (s *section) placeOutlets() {
	above, below := s.ports[0]-36, s.ports[len(s.ports)-1]
	fittings := 0
	for _, o := range s.p.Outlets {
		fittings += b2i(o.Kind != "drain")
	}
	pitch := 46.0
	if fittings > 1 {
		pitch = math.Min(pitch, (above-36)/float64(fittings-1))
	}
	drains := 0
	for _, o := range s.p.Outlets {
		if o.Kind != "drain" {
			s.outlets = append(s.outlets, outlet{o, pipeX, above})
			s.drops = append(s.drops, drip{path: o.Name, at: []pt{{pipeX + 24, above}}, dir: []pt{{1, 0}}})
			above -= pitch
			continue
		}
		k := outlet{o, pipeX - 42*float64(drains), s.clear(below + 52)}
		if _, chamber := s.p.Chamber(o.From); chamber && !s.toLine(o.From) {
			k.y = s.chamberTop(o.From) + 60
			k.x = pipeX - 42*float64(drains+1)
		}
		drains++
		if low := k.y + 56; low > s.pail {
			s.pail, s.bottom = low, low+66
		}
		s.outlets = append(s.outlets, k)
		s.drops = append(s.drops, drip{path: o.Name, at: []pt{{k.x, k.y + 36}}, dir: []pt{{0, 1}}})
	}
}

// clear moves a level below the valves at the right.
func (s *section) clear(y float64) float64 {
	for _, k := range s.valves {
		if k.place == atRight {
			y = math.Max(y, k.y+46+26)
		}
	}
	return y
}

// toLine says whether a chamber is open to the line at all times.
func (s *section) toLine(node string) bool {
	c, ok := s.p.Chamber(node)
	return ok && c.OpenTo == pump.Line
}

// placeStatics puts each static seal where its two nodes meet, and notes the drops of all seals.
func (s *section) placeStatics() {
	used := map[pt]int{}
	for _, q := range s.p.Seals {
		if q.Kind == pump.Packing {
			continue
		}
		k := s.staticPlace(q)
		key := pt{k.x, k.y}
		k.y += 16 * float64(used[key])
		used[key]++
		s.statics = append(s.statics, k)
		d := drip{path: q.Name, at: []pt{{k.x + 8, k.y + 17}}, dir: []pt{{0, 1}}, mirrored: k.both}
		if k.x > valveX && k.x < valveX+31 { // in the block of a valve at the right: out sideways, clear of the valve's own
			d.at[0], d.dir[0] = pt{valveX + 40, k.y - 10}, pt{1, 0}
		}
		s.drops = append(s.drops, d)
	}
	for i, k := range s.throats {
		above := pt{s.hr + 15, s.nut - 2}
		if i+1 < len(s.throats) { // another one stands above it
			above = pt{s.hr + 15, k.y - 4}
		}
		s.packingDrop(k, above, pt{s.hr + 15, k.y + k.h + 12}, s.rod)
	}
	for _, k := range s.bores {
		s.packingDrop(k, pt{halfBore - 17, s.piston - 14}, pt{halfBore - 17, s.lower + 14}, s.rod)
	}
	for _, k := range s.tails {
		s.packingDrop(k, pt{s.ht + 15, k.y - 12}, pt{s.ht + 15, s.tail + 12}, s.head)
	}
}

// packingDrop puts the drop of a packing at the end that it leaks to, on both strokes if need be. The packing keeps what is
// above and what is below apart; for throat and tail the chamber lies on one side and air on the other.
func (s *section) packingDrop(k packed, above, below pt, inner *pump.Chamber) {
	d := drip{path: k.seal.Name, mirrored: true}
	upper := pump.Air
	if inner != nil && k.seal.On == "bore" || inner == s.head {
		upper = nodeOf(inner)
	}
	for _, q := range s.m.Paths {
		if q.Name != k.seal.Name {
			continue
		}
		for _, dir := range pump.Dirs {
			to := q.To
			if q.Shows[dir] == 0 {
				continue
			}
			if q.Shows[dir] < 0 {
				to = q.From
			}
			if to == upper {
				d.add(above, pt{0, -1})
			} else {
				d.add(below, pt{0, 1})
			}
		}
	}
	if len(d.at) == 0 {
		d.add(below, pt{0, 1})
	}
	s.drops = append(s.drops, d)
}

func nodeOf(c *pump.Chamber) string {
	if c == nil {
		return pump.Air
	}
	return c.Name
}

func (d *drip) add(at, dir pt) {
	if !slices.Contains(d.at, at) {
		d.at, d.dir = append(d.at, at), append(d.dir, dir)
	}
}

// staticPlace finds the joint that a static seal closes.
func (s *section) staticPlace(q pump.Seal) static {
	is := func(a, b string) bool {
		return q.Between == [2]string{a, b} || q.Between == [2]string{b, a}
	}
	for _, k := range s.valves {
		if is(k.v.From, k.v.To) {
			outer, thick := k.seatRing()
			return static{q, k.x + outer - 6, k.y + thick + 6, k.place == inFoot || k.place == inPiston}
		}
	}
	rod, head := nodeOf(s.rod), nodeOf(s.head)
	switch {
	case s.rod != nil && is(rod, pump.Air):
		return static{q, halfBore + wall/2, s.upper - 6, true}
	case s.rod != nil && s.head != nil && is(rod, head):
		return static{q, s.hr - 10, s.piston + 6, true}
	case s.head != nil && (q.Between[0] == head || q.Between[1] == head):
		return static{q, halfBore + wall/2, s.foot + 6, true}
	case q.Between[0] == pump.Line || q.Between[1] == pump.Line:
		return static{q, pipeX - 12, s.ports[0] + 14, false}
	}
	return static{q, halfBore + wall/2, s.upper - 6, true}
}
