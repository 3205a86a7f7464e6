package draw

import (
	"math"
	"strings"

	"github.com/evenstroke/evenstroke/pump"
)

// ringClass picks the paint of a ring: leather, another soft material, or a hard part.
func ringClass(r *pump.Ring) string {
	switch r.Kind {
	case pump.KindVRing, pump.KindWiper, "backup":
		if strings.Contains(strings.ToLower(r.Material+" "+r.Part), "leather") {
			return "es-leather"
		}
		return "es-plastic"
	case "spacer", "spring":
		return "es-steel"
	}
	return "es-gland"
}

// profile draws the cut face of one ring between the half widths x0 and x1, from y0 (upper edge) down to y1. The lips of a
// v-ring stand at the ends of its V; depth is that of the V, lips the way the stack faces.
func (c *canvas) profile(r *pump.Ring, lips string, x0, x1, y0, y1, depth float64) {
	d := depth // the middle of a V lies below its ends when the lips point up
	if lips == "down" {
		d = -depth
	}
	xm := (x0 + x1) / 2
	class := ringClass(r)
	switch r.Kind {
	case pump.KindVRing:
		c.polygon(class, x0, y0, xm, y0+d, x1, y0, x1, y1, xm, y1+d, x0, y1)
	case pump.KindFemale:
		if d > 0 {
			c.polygon(class, x0, y0, xm, y0+d, x1, y0, x1, y1, x0, y1)
		} else {
			c.polygon(class, x0, y0, x1, y0, x1, y1, xm, y1+d, x0, y1)
		}
	case pump.KindMale:
		if d > 0 {
			c.polygon(class, x0, y0, x1, y0, x1, y1, xm, y1+d, x0, y1)
		} else {
			c.polygon(class, x0, y0, xm, y0+d, x1, y0, x1, y1, x0, y1)
		}
	case pump.KindWiper:
		c.wiper(class, r.Lips, x0, x1, y0, y1)
	case "spring":
		c.rect("es-slack", x0, y0, x1-x0, y1-y0, 0)
		h := (y1 - y0) / 3
		c.polyline("es-edge", x0, y0, x1, y0+h, x0, y0+2*h, x1, y1)
	default:
		c.rect(class, x0, y0, x1-x0, y1-y0, 0)
	}
}

// wiper is a ring with one lip on its inner edge.
func (c *canvas) wiper(class, lips string, x0, x1, y0, y1 float64) {
	lip := (y1 - y0) * 0.45
	if lips == "down" {
		c.polygon(class, x0, y0, x1, y0, x1, y1-lip, (x0+x1)/2, y1-lip, x0, y1)
		return
	}
	c.polygon(class, x0, y0, (x0+x1)/2, y0+lip, x1, y0+lip, x1, y1, x0, y1)
}

// set is one stack to be drawn: its rings from the lowest to the highest and the way that its lips face.
type set struct {
	rings []*pump.Ring
	lips  string
}

// setsOf returns the stacks of a packing from the lowest to the highest. A packing without a stack in the sheet gets a plain
// one with the lips that the pressure map asks for.
func setsOf(p *pump.Pump, m pump.Map, q pump.Seal) []set {
	var out []set
	facings := p.Facings(m, q)
	for i, name := range q.Stacks {
		st, ok := p.Stack(name)
		if !ok || len(st.Rings) == 0 {
			continue
		}
		k := set{}
		for n := range st.Rings {
			k.rings = append(k.rings, &st.Rings[n])
		}
		if i < len(facings) {
			k.lips = facings[i].Lips
		}
		out = append(out, k)
	}
	if len(out) > 0 {
		return out
	}
	for _, side := range m.LipsOf(q) {
		out = append(out, plainSet(p.LipDirection(q, side)))
	}
	if len(out) == 2 && out[0].lips == "up" {
		out[0], out[1] = out[1], out[0]
	}
	return out
}

// plainSet is a stack of three v-rings between their glands.
func plainSet(lips string) set {
	v := &pump.Ring{Kind: pump.KindVRing, Height: 1, Lips: lips}
	female, male := &pump.Ring{Kind: pump.KindFemale, Height: 1}, &pump.Ring{Kind: pump.KindMale, Height: 1}
	if lips == "down" {
		female, male = male, female
	}
	return set{[]*pump.Ring{female, v, v, v, male}, lips}
}

// lipsOf returns the lips of a ring: its own, or those of the set for a gland and for a ring that says nothing.
func (k set) lipsOf(r *pump.Ring) string {
	if r.Lips != "" && r.Kind == pump.KindVRing {
		return r.Lips
	}
	for _, q := range k.rings {
		if q.Kind == pump.KindVRing && q.Lips != "" {
			return q.Lips
		}
	}
	return k.lips
}

// height adds up the rings; a ring without a height counts as one of the mean height.
func (k set) height() float64 {
	sum := 0.0
	for _, r := range k.rings {
		sum += r.Height
	}
	return sum
}

// packing draws the sets of a packing in the space from y0 down to y1, on one side of the axis.
func (c *canvas) packing(sets []set, x0, x1, y0, y1 float64) {
	if len(sets) == 0 {
		c.rect("es-plastic", math.Min(x0, x1), y0, math.Abs(x1-x0), y1-y0, 0)
		return
	}
	gap := 6.0
	total := 0.0
	for _, k := range sets {
		total += k.height()
	}
	if total <= 0 {
		return
	}
	per := (y1 - y0 - gap*float64(len(sets)-1)) / total
	y := y1
	for _, k := range sets {
		for _, r := range k.rings {
			h := r.Height * per
			depth := math.Min(math.Abs(x1-x0)*0.3, 8)
			c.profile(r, k.lipsOf(r), x0, x1, y-h, y, depth)
			y -= h
		}
		y -= gap
	}
}
