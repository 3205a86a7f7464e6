package draw

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

// draw draws the whole section without words.
func (s *section) draw(c *canvas) {
	s.drawPail(c)
	s.drawPipes(c)
	s.drawBodies(c)
	s.drawChambers(c)
	s.drawRod(c)
	s.drawPiston(c)
	s.drawPackings(c)
	for _, k := range s.valves {
		s.drawValve(c, k)
	}
	for _, k := range s.statics {
		s.drawStatic(c, k)
	}
	for _, k := range s.outlets {
		s.drawOutlet(c, k)
	}
	s.drawGlyphs(c)
}

// both draws something on the right and, mirrored, on the left.
func both(f func(sign float64)) {
	f(1)
	f(-1)
}

// span draws a rectangle between two x, whichever is the lesser.
func (c *canvas) span(class string, x0, x1, y, h float64) {
	c.rect(class, math.Min(x0, x1), y, math.Abs(x1-x0), h, 0)
}

// pipe draws a pipe through x, y pairs, with what is in it.
func (c *canvas) pipe(tone string, xy ...float64) {
	d := outline(xy)
	c.path("es-wall", d)
	c.path("es-metal", d)
	c.path("es-lane-"+tone, d)
}

func (s *section) drawPail(c *canvas) {
	left, right := -112.0, 112.0
	for _, k := range s.valves {
		if k.place == atLeft {
			left = -pipeX - 22
		}
	}
	for _, o := range s.outlets {
		if o.o.Kind == "drain" {
			right = pipeX + 22
		}
	}
	c.rect("es-slack", left+8, s.pail+18, right-left-16, 42, 4)
	d := "M" + num(left) + " " + num(s.pail) + "L" + num(left+6) + " " + num(s.pail+56) + "Q" + num(left+7) + " " + num(s.pail+62) +
		" " + num(left+14) + " " + num(s.pail+62) + "L" + num(right-14) + " " + num(s.pail+62) + "Q" + num(right-7) + " " + num(s.pail+62) +
		" " + num(right-6) + " " + num(s.pail+56) + "L" + num(right) + " " + num(s.pail)
	c.path("es-edge", d)
	c.line("es-edge", left+8, s.pail+18, right-8, s.pail+18)
}

// drawPipes draws the line, the suction and the pipes between them and the valves.
func (s *section) drawPipes(c *canvas) {
	line, suction := s.tone(pump.Line), s.tone(pump.Suction)
	for _, ch := range s.p.Chambers {
		if ch.OpenTo == pump.Line {
			y := s.openPort(ch.Name)
			c.pipe(line, halfBore, y, pipeX, y)
		}
	}
	lowest, suctionTop := s.ports[len(s.ports)-1], math.Inf(1)
	for _, k := range s.valves {
		switch k.place {
		case inFoot:
			c.pipe(suction, 0, s.tail-2, 0, s.pail+46)
		case atRight:
			c.pipe(line, k.x, k.farPort, pipeX, k.farPort)
			if k.v.From == pump.Suction {
				c.pipe(suction, k.x, k.y+20, k.x, s.pail+46)
			} else {
				c.pipe(s.tone(k.v.From), halfBore, k.chamberPort, k.x, k.chamberPort)
			}
		case atLeft:
			c.pipe(suction, k.x, k.farPort, -pipeX, k.farPort)
			c.pipe(s.tone(k.v.To), -halfBore, k.chamberPort, k.x, k.chamberPort)
			suctionTop = math.Min(suctionTop, k.farPort)
		case between:
			c.pipe(s.tone(k.v.To), -halfBore, k.chamberPort, k.x, k.chamberPort, k.x, k.y-20)
			c.pipe(s.tone(k.v.From), -halfBore, k.farPort, k.x, k.farPort, k.x, k.y+20)
		}
	}
	if !math.IsInf(suctionTop, 1) {
		c.pipe(suction, -pipeX, suctionTop, -pipeX, s.pail+46)
	}
	for _, o := range s.outlets {
		if o.o.Kind != "drain" {
			continue
		}
		if _, chamber := s.p.Chamber(o.o.From); chamber && !s.toLine(o.o.From) {
			c.pipe(s.tone(o.o.From), halfBore, o.y-40, o.x, o.y-40, o.x, o.y)
		} else {
			c.pipe(line, pipeX, lowest, pipeX, o.y-26, o.x, o.y-26, o.x, o.y)
		}
		c.pipe("slack", o.x, o.y, o.x, s.pail+30)
	}
	c.pipe(line, pipeX, lowest, pipeX, 22)
	c.line("es-edge", pipeX-15, 18, pipeX+15, 26)
	c.line("es-edge", pipeX-15, 24, pipeX+15, 32)
}

// drawBodies draws what stands still: head, nut, cylinder, foot, tail.
func (s *section) drawBodies(c *canvas) {
	out := halfBore + wall
	both(func(g float64) {
		top := s.upper
		if s.rod == nil {
			top -= 4
		}
		c.span("es-steel", g*halfBore, g*out, top, s.foot-top)
		if s.rod != nil {
			c.span("es-steel", g*s.hr, g*(out+14), s.throat, s.upper-s.throat)
		}
		if s.ht > 0 {
			c.span("es-steel", g*s.ht, g*(out+14), s.foot, s.tail-s.foot)
			c.span("es-bright", g*s.ht, g*(s.ht+36), s.tail, 22)
		}
	})
	if s.ht == 0 {
		c.span("es-steel", -out-14, out+14, s.foot, s.tail-s.foot)
	}
	if s.rod != nil && len(s.throats) > 0 {
		s.drawNut(c)
	}
}

// drawNut draws the throat nut with its wet cup.
func (s *section) drawNut(c *canvas) {
	both(func(g float64) {
		x0, x1 := g*(s.hr+2), g*(s.hr+44)
		c.span("es-bright", x0, x1, s.nut, s.throat-s.nut)
		c.line("es-edge", g*(s.hr+16), s.nut+8, g*(s.hr+16), s.throat)
		c.line("es-edge", g*(s.hr+31), s.nut+8, g*(s.hr+31), s.throat)
		c.span("es-slack", x0, g*(s.hr+37), s.nut-12, 12)
		c.polyline("es-edge", g*(s.hr+37), s.nut-20, g*(s.hr+37), s.nut, x0, s.nut)
	})
}

// drawChambers tints the chambers by their pressure.
func (s *section) drawChambers(c *canvas) {
	if s.rod != nil {
		s.fill(c, s.tone(s.rod.Name), -halfBore, halfBore, s.upper, s.lower)
	}
	if s.head != nil {
		s.fill(c, s.tone(s.head.Name), -halfBore, halfBore, s.lower-6, s.foot)
	}
	both(func(g float64) { c.line("es-edge", g*halfBore, s.upper, g*halfBore, s.foot) })
	s.openings(c)
	if s.rod != nil {
		c.line("es-edge", -halfBore, s.upper, halfBore, s.upper)
	}
	if s.head != nil {
		c.line("es-edge", -halfBore, s.foot, halfBore, s.foot)
	}
}

// openings opens the wall of the cylinder where a pipe joins it.
func (s *section) openings(c *canvas) {
	open := func(node string, side, y float64) {
		c.lane(s.tone(node), side*(halfBore-1), side*(halfBore+wall+1), y)
	}
	for _, ch := range s.p.Chambers {
		if ch.OpenTo == pump.Line {
			open(ch.Name, 1, s.openPort(ch.Name))
		}
	}
	for _, k := range s.valves {
		switch {
		case k.place == atRight && k.v.From != pump.Suction:
			open(k.v.From, 1, k.chamberPort)
		case k.place == atLeft:
			open(k.v.To, -1, k.chamberPort)
		case k.place == between:
			open(k.v.To, -1, k.chamberPort)
			open(k.v.From, -1, k.farPort)
		}
	}
	for _, o := range s.outlets {
		if _, chamber := s.p.Chamber(o.o.From); chamber && !s.toLine(o.o.From) {
			open(o.o.From, 1, o.y-40)
		}
	}
}

// fill paints fluid; on one stroke only it is striped.
func (s *section) fill(c *canvas, tone string, x0, x1, y0, y1 float64) {
	c.rect("es-"+tone, x0, y0, x1-x0, y1-y0, 0)
	if tone != "partial" {
		return
	}
	for y := y0 + 6; y < y1-1; y += 9 {
		c.line("es-stripe", x0, y, x1, y)
	}
}

// drawRod draws the rod from its drive down to the piston, and the tail rod.
func (s *section) drawRod(c *canvas) {
	c.rect("es-bright", -s.hr, 8, 2*s.hr, s.piston-8, 0)
	c.rect("es-shine", -s.hr*0.55, 10, s.hr*0.22, s.piston-12, 0)
	c.path("es-paper", "M"+num(-s.hr-2)+" 4L"+num(s.hr+2)+" 4L"+num(s.hr+2)+" 14Q"+num(s.hr/2)+" 20 0 14T"+num(-s.hr-2)+" 14Z")
	c.path("es-edge", "M"+num(-s.hr)+" 14Q"+num(-s.hr/2)+" 8 0 14T"+num(s.hr)+" 14")
	if s.ht > 0 {
		end := s.tail + 56
		c.rect("es-bright", -s.ht, s.lower, 2*s.ht, end-s.lower, 0)
		c.rect("es-shine", -s.ht*0.55, s.lower, s.ht*0.22, end-s.lower, 0)
	}
}

func (s *section) drawPiston(c *canvas) {
	x := halfBore - 3.5
	if len(s.bores) == 0 {
		x = halfBore - 1
	}
	c.rect("es-steel", -x, s.piston, 2*x, s.lower-s.piston, 0)
	riding := false
	for _, k := range s.valves {
		riding = riding || k.place == inPiston
	}
	if !riding && s.ht == 0 {
		w := s.hr * 0.6
		c.rect("es-bright", -w, s.lower, 2*w, 18, 2)
		c.line("es-edge", -w/3, s.lower, -w/3, s.lower+18)
		c.line("es-edge", w/3, s.lower, w/3, s.lower+18)
	}
}

func (s *section) drawPackings(c *canvas) {
	for _, ks := range [][]packed{s.throats, s.bores, s.tails} {
		for _, k := range ks {
			sets := setsOf(s.p, s.m, k.seal)
			both(func(g float64) {
				c.span("es-slack", g*k.x0, g*k.x1, k.y, k.h)
				c.packing(sets, g*k.x0, g*k.x1, k.y, k.y+k.h)
			})
		}
	}
}

func (s *section) drawStatic(c *canvas, k static) {
	ring := func(x float64) {
		c.circle("es-leather", x, k.y, 6)
		c.circle("es-glint", x-1.5, k.y-1.5, 1.6)
	}
	ring(k.x)
	if k.both {
		ring(-k.x)
	}
}

// drawOutlet draws a drain as a shut valve with its handle, a fitting as a union nut.
func (s *section) drawOutlet(c *canvas, k outlet) {
	if k.o.Kind != "drain" {
		c.rect("es-bright", k.x-17, k.y-12, 34, 24, 2)
		c.line("es-edge", k.x-6, k.y-12, k.x-6, k.y+12)
		c.line("es-edge", k.x+6, k.y-12, k.x+6, k.y+12)
		return
	}
	c.polygon("es-bright", k.x-15, k.y-17, k.x+15, k.y-17, k.x-15, k.y+17, k.x+15, k.y+17)
	c.line("es-edge", k.x, k.y, k.x-22, k.y)
	c.line("es-edge", k.x-22, k.y-10, k.x-22, k.y+10)
}

// drawGlyphs marks each chamber with the strokes on which it is under pressure.
func (s *section) drawGlyphs(c *canvas) {
	put := func(ch *pump.Chamber, x, y float64) {
		if ch == nil {
			return
		}
		both(func(g float64) {
			yy := y
			if s.tone(ch.Name) == "full" {
				yy -= 18
			}
			for _, d := range pump.Dirs {
				if s.m.Pressed[d][ch.Name] {
					c.triangle("es-ink", g*x, yy, 7, d == pump.Up)
					yy += 18
				}
			}
		})
	}
	put(s.rod, (s.hr+halfBore)/2, s.upper+42)
	put(s.head, halfBore-18, s.foot-18)
}

// triangle points up or down.
func (c *canvas) triangle(class string, x, y, r float64, up bool) {
	if !up {
		c.polygon(class, x-r, y-r*0.8, x+r, y-r*0.8, x, y+r*0.9)
		return
	}
	c.polygon(class, x-r, y+r*0.8, x+r, y+r*0.8, x, y-r*0.9)
}
