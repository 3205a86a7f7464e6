package draw

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

// drawValve draws a ball on its seat with its passage. up is −1 with the ball above the seat (y grows downward).
func (s *section) drawValve(c *canvas, k seat) {
	up := -1.0
	if k.down {
		up = 1
	}
	before, behind := s.tone(k.v.From), s.tone(k.v.To)
	room := k.ball + 7 // half width of the cavity around the ball
	switch k.place {
	case inFoot:
		s.passage(c, before, k.x, k.hole*0.92, k.y, s.tail)
		s.passage(c, behind, k.x, room, s.foot, k.y)
	case inPiston:
		s.passage(c, before, k.x, k.hole*0.92, k.y, pick(k.down, s.piston, s.lower))
		top := k.y + up*(2*k.ball+24)
		if k.down {
			s.passage(c, behind, k.x, room, k.y, s.lower)
			break
		}
		top = math.Min(top, s.piston-26)
		s.passage(c, behind, k.x, room, top, k.y)
		c.line("es-edge", k.x-room, top, k.x+room, top)
		both(func(g float64) {
			x0, x1 := k.x+g*room, g*s.hr
			if g*(x1-x0) < 0 {
				x1 = x0
			}
			c.span("es-"+behind, x0-g, x1+g, s.piston-22, 14)
			c.line("es-edge", x0, s.piston-22, x1, s.piston-22)
			c.line("es-edge", x0, s.piston-8, x1, s.piston-8)
		})
	default:
		c.rect("es-steel", k.x-31, k.y-52, 62, 98, 3)
		s.passage(c, before, k.x, k.hole*0.92, k.y, k.y+36)
		s.passage(c, behind, k.x, room, k.y-45, k.y)
		s.sidePorts(c, k)
	}
	s.drawSeat(c, k, up, room)
}

func pick(b bool, x, y float64) float64 {
	if b {
		return x
	}
	return y
}

// passage paints the fluid between two levels and its two walls.
func (s *section) passage(c *canvas, tone string, x, half, y0, y1 float64) {
	y, h := math.Min(y0, y1), math.Abs(y1-y0)
	s.fill(c, tone, x-half, x+half, y, y+h)
	both(func(g float64) { c.line("es-edge", x+g*half, y, x+g*half, y+h) })
}

// lane opens a port between two x at the level y, with its two walls.
func (c *canvas) lane(tone string, x0, x1, y float64) {
	c.span("es-"+tone, x0, x1, y-5, 10)
	c.line("es-edge", x0, y-5, x1, y-5)
	c.line("es-edge", x0, y+5, x1, y+5)
}

// sidePorts opens the block of a valve at the side to its pipes.
func (s *section) sidePorts(c *canvas, k seat) {
	below, above, out := k.hole*0.92, k.ball+7, 31.0
	c.line("es-edge", k.x-above, k.y-45, k.x+above, k.y-45)
	switch {
	case k.place == atRight && k.v.From != pump.Suction:
		c.line("es-edge", k.x-below, k.y+36, k.x+below, k.y+36)
		c.lane(s.tone(pump.Line), k.x+above-1, k.x+out, k.farPort)
		c.lane(s.tone(k.v.From), k.x-out, k.x-below+1, k.chamberPort)
	case k.place == atRight:
		c.lane(s.tone(pump.Line), k.x+above-1, k.x+out, k.farPort)
		c.span("es-slack", k.x-5, k.x+5, k.y+34, 14)
	case k.place == atLeft:
		c.line("es-edge", k.x-below, k.y+36, k.x+below, k.y+36)
		c.lane(s.tone(pump.Suction), k.x-out, k.x-below+1, k.farPort)
		c.lane(s.tone(k.v.To), k.x+above-1, k.x+out, k.chamberPort)
	default:
		c.span("es-"+s.tone(k.v.To), k.x-5, k.x+5, k.y-54, 12)
		c.span("es-"+s.tone(k.v.From), k.x-5, k.x+5, k.y+34, 14)
	}
}

// seatRing returns the half width of the seat ring and its height.
func (k seat) seatRing() (outer, thick float64) {
	if k.place != inFoot && k.place != inPiston {
		return k.ball + 9, 11
	}
	return k.ball + 13, 15
}

// drawSeat draws the seat ring, the ball on it, and the stop that limits its lift.
func (s *section) drawSeat(c *canvas, k seat, up, room float64) {
	outer, thick := k.seatRing()
	bevel := 4.0
	both(func(g float64) {
		c.polygon("es-gland", k.x+g*k.hole*0.92, k.y-up*bevel, k.x+g*(k.hole+1.5), k.y, k.x+g*outer, k.y, k.x+g*outer, k.y-up*thick,
			k.x+g*k.hole*0.92, k.y-up*thick)
	})
	cy := k.y + up*math.Sqrt(math.Max(0, k.ball*k.ball-k.hole*k.hole))
	c.circle("es-ball", k.x, cy, k.ball)
	c.circle("es-glint", k.x-k.ball*0.36, cy-k.ball*0.36, k.ball*0.2)
	stop := cy + up*(k.ball+5)
	c.line("es-edge", k.x-room, stop, k.x-room*0.35, stop)
	c.line("es-edge", k.x+room*0.35, stop, k.x+room, stop)
}
