package draw

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

// Sizes of the section [px at 100 %]. The bore is the measure of all diameters.
const (
	halfBore  = 85.0
	wall      = 14.0
	pipeX     = 194.0 // of the suction pipe on the left and of the line on the right
	valveX    = 146.0 // of a valve at the side
	slot      = 100.0 // height of a valve at the side
	ringPitch = 13.0
)

// section is where everything stands in the section of a pump. The axis is x = 0, y grows downward.
type section struct {
	p         *pump.Pump
	m         pump.Map
	rod, head *pump.Chamber // chambers on the two sides of the piston, nil when there is none
	hr, ht    float64       // half widths of rod and tail rod

	nut, throat, upper, piston, lower, foot, tail, pail, bottom float64 // y of the upper edges

	throats, bores, tails []packed
	valves                []seat
	outlets               []outlet
	statics               []static
	ports                 []float64 // y at which something joins the line
	drops                 []drip
}

// packed is a packing in its place.
type packed struct {
	seal   pump.Seal
	y, h   float64 // upper edge and height
	x0, x1 float64 // inner and outer half width
}

// where a valve sits.
type seatPlace int

const (
	inFoot seatPlace = iota
	inPiston
	atLeft
	atRight
	between // outside, from one chamber to the other
)

// seat is a ball valve in its place: y is the plane in which the ball meets its seat.
type seat struct {
	v           pump.Valve
	place       seatPlace
	x, y        float64
	ball, hole  float64 // half widths
	down        bool    // the ball lies below the seat
	chamberPort float64 // y of the port to the chamber
	farPort     float64 // y of the port to the line, the suction or the other chamber
}

// outlet is a drain or a fitting in its place.
type outlet struct {
	o    pump.Outlet
	x, y float64
}

// static is a static seal in its place.
type static struct {
	seal pump.Seal
	x, y float64
	both bool // on both sides of the axis
}

// drip is where a path leaks out: the drop's centre, the way it goes, and whether it may as well stand on the other side.
type drip struct {
	path     string
	at       []pt
	dir      []pt
	mirrored bool
}

// newSection finds the places of all parts.
func newSection(p *pump.Pump) *section {
	s := &section{p: p, m: p.Map()}
	for i := range p.Chambers {
		if p.Chambers[i].Rod {
			s.rod = &p.Chambers[i]
		} else {
			s.head = &p.Chambers[i]
		}
	}
	s.hr = halfBore * within(p.Rod/p.Bore, 0.2, 0.86)
	if p.TailRod > 0 {
		s.ht = halfBore * within(p.TailRod/p.Bore, 0.2, 0.86)
	}
	s.sortSeals()
	s.sortValves()
	s.levels()
	s.placeValves()
	s.placeOutlets()
	s.placeStatics()
	return s
}

// within keeps x between lo and hi; what is no number becomes the middle.
func within(x, lo, hi float64) float64 {
	if math.IsNaN(x) {
		return (lo + hi) / 2
	}
	return math.Max(lo, math.Min(hi, x))
}

// sortSeals sends each packing to throat, piston or tail.
func (s *section) sortSeals() {
	for _, q := range s.p.Seals {
		if q.Kind != pump.Packing {
			continue
		}
		k := packed{seal: q, h: s.packHeight(q)}
		thick := s.packWidth(q)
		inRod := s.rod != nil && (q.Between[0] == s.rod.Name || q.Between[1] == s.rod.Name)
		switch {
		case q.On == "bore":
			k.x0, k.x1 = halfBore-thick, halfBore
			s.bores = append(s.bores, k)
		case inRod || s.ht == 0:
			k.x0, k.x1 = s.hr, s.hr+thick
			s.throats = append(s.throats, k)
		default:
			k.x0, k.x1 = s.ht, s.ht+thick
			s.tails = append(s.tails, k)
		}
	}
}

// rings returns the rings of a packing from the lowest to the highest, with the gap between two stacks as a nil.
func (s *section) rings(q pump.Seal) []*pump.Ring {
	var out []*pump.Ring
	for i, name := range q.Stacks {
		st, ok := s.p.Stack(name)
		if !ok || len(st.Rings) == 0 {
			continue
		}
		if i > 0 {
			out = append(out, nil)
		}
		for k := range st.Rings {
			out = append(out, &st.Rings[k])
		}
	}
	return out
}

func (s *section) packHeight(q pump.Seal) float64 {
	n := len(s.rings(q))
	if n == 0 {
		n = 6
	}
	return within(float64(n)*ringPitch, 60, 170)
}

// packWidth is the radial width of a packing, to scale within what can be drawn.
func (s *section) packWidth(q pump.Seal) float64 {
	for _, name := range q.Stacks {
		if st, ok := s.p.Stack(name); ok && st.Outer > st.Inner {
			return within((st.Outer-st.Inner)/s.p.Bore*halfBore, 20, 30)
		}
	}
	return 24
}

// sortValves says where each valve sits.
func (s *section) sortValves() {
	inlets := 0
	for _, v := range s.p.Valves {
		inlets += b2i(v.From == pump.Suction && v.To != pump.Line)
	}
	for _, v := range s.p.Valves {
		k := seat{v: v}
		switch {
		case v.OnPiston:
			k.place = inPiston
			k.down = s.head != nil && v.To == s.head.Name
		case v.From == pump.Suction && inlets == 1 && s.ht == 0 && s.head != nil && v.To == s.head.Name:
			k.place = inFoot
		case v.To == pump.Line:
			k.place = atRight
		case v.From == pump.Suction:
			k.place = atLeft
		default:
			k.place = between
		}
		s.valves = append(s.valves, k)
	}
}

// levels stacks the parts from top to bottom.
func (s *section) levels() {
	pack := func(ks []packed) float64 {
		h := 0.0
		for _, k := range ks {
			h += k.h + 8
		}
		return h
	}
	s.nut = 46
	s.throat = s.nut + 30
	s.upper = s.throat + math.Max(36, pack(s.throats)+8)
	if s.rod == nil {
		s.throat, s.upper = 46, 46
	}
	s.piston = s.upper + s.room(s.rod)
	height := math.Max(58, pack(s.bores)+16)
	for _, k := range s.valves {
		if k.place == inPiston {
			height = math.Max(height, 96)
		}
	}
	s.lower = s.piston + height
	s.foot = s.lower + s.room(s.head)
	footHeight := 34.0
	for _, k := range s.valves {
		if k.place == inFoot {
			footHeight = 104
		}
	}
	if len(s.tails) > 0 {
		footHeight = pack(s.tails) + 16
	}
	s.tail = s.foot + footHeight
	s.pail = s.tail + 30
	if s.ht > 0 {
		s.pail = s.tail + 84
	}
	s.bottom = s.pail + 66
	y := s.throat + 8.0
	for i := range s.throats { // the first listed is nearest to the chamber
		k := &s.throats[len(s.throats)-1-i]
		k.y, y = y, y+k.h+8
	}
	y = s.piston + 12
	for i := range s.bores {
		s.bores[i].y, y = y, y+s.bores[i].h+8
	}
	y = s.foot + 8
	for i := range s.tails {
		s.tails[i].y, y = y, y+s.tails[i].h+8
	}
}

// room is the height of a chamber: enough for the valves at its sides.
func (s *section) room(c *pump.Chamber) float64 {
	if c == nil {
		return 40
	}
	left, right := 0, 0
	for _, k := range s.valves {
		if k.v.From == c.Name || k.v.To == c.Name {
			left += b2i(k.place == atLeft)
			right += b2i(k.place == atRight)
		}
	}
	return math.Max(86, slot*float64(max(left, right)))
}

// chamberTop returns the upper edge of a chamber's room.
func (s *section) chamberTop(name string) float64 {
	if s.rod != nil && s.rod.Name == name {
		return s.upper
	}
	return s.lower
}

// tone says how a node stands: "full" under pressure on both strokes, "partial" on one, "slack" on none.
func (s *section) tone(node string) string {
	up, down := s.m.Pressed[pump.Up][node], s.m.Pressed[pump.Down][node]
	switch {
	case up && down:
		return "full"
	case up || down:
		return "partial"
	}
	return "slack"
}
