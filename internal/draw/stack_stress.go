package draw

import (
	"math"

	"github.com/evenstroke/evenstroke/unit"
)

// stressLeft is where the stresses begin in the wide picture.
const stressLeft = 640.0

// stresses draws, level with each ring, its contact stress as a bar and the axial stress as a line, and returns the lower edge.
func (s *stackPicture) stresses() float64 {
	f := font{"es-quiet", s.f.text, false}
	x0, x1 := stressLeft, s.f.w-s.f.margin-110
	top := s.a.Pressure
	for i := range s.a.Rings {
		q := &s.a.Rings[i]
		top = math.Max(top, math.Max(contact(q), math.Max(q.Near, q.Far)))
	}
	if !(top > 0) || math.IsInf(top, 1) {
		return s.y1
	}
	at := func(v float64) float64 { return x0 + (x1-x0)*math.Max(0, v)/top }
	s.line("es-edge", x0, s.y0-10, x0, s.y1+10)
	y := s.y1
	var line []float64
	for i, r := range s.st.Rings {
		q := s.state(i)
		h := r.Height * s.k
		bar := contact(q)
		lower, upper := q.Far, q.Near // the nut is above
		if s.nutBelow() {
			lower, upper = q.Near, q.Far
		}
		line = append(line, at(lower), y, at(upper), y-h)
		if bar > 0 {
			s.rect("es-bar", x0, y-h/2-math.Min(11, h*0.36), at(bar)-x0, 2*math.Min(11, h*0.36), 2)
			s.text(font{"es-ink", s.f.text, true}, x1+8, y-h/2+s.f.text*0.33, atStart, said(firm(s.sys.Show(bar, unit.Pressure))))
		}
		y -= h
	}
	s.polyline("es-s1", line...)
	y = s.y1 + 14
	if s.a.Pressure > 0 {
		s.line("es-mark", at(s.a.Pressure), s.y0-10, at(s.a.Pressure), s.y1+10)
	}
	y += 20
	y = s.key(x0, y, func(x, y float64) { s.rect("es-bar", x, y-9, 34, 14, 2) }, "contact stress", f)
	y = s.key(x0, y, func(x, y float64) { s.line("es-s1", x, y-2, x+34, y-2) }, "axial stress", f)
	if s.a.Pressure > 0 {
		y = s.key(x0, y, func(x, y float64) { s.line("es-mark", x, y-2, x+34, y-2) }, "pressure "+firm(s.sys.Show(s.a.Pressure, unit.Pressure)), f)
	}
	return y
}

// nutBelow says from which end the stress falls off: the nut stands where the rings go in.
func (s *stackPicture) nutBelow() bool { return s.st.FilledFrom == "bottom" }

// key explains one sign and returns the next line.
func (s *stackPicture) key(x, y float64, draw func(x, y float64), t string, f font) float64 {
	draw(x, y)
	s.text(f, x+46, y+s.f.text*0.25, atStart, s.t(t))
	return y + s.f.text*1.4
}
