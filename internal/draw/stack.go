package draw

import (
	"fmt"
	"math"
	"strconv"

	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/seal"
	"github.com/evenstroke/evenstroke/unit"
)

// StackError says that a stack cannot be drawn.
type StackError struct{ Stack, Why string }

// Error names the stack and says why.
func (e *StackError) Error() string { return fmt.Sprintf("draw: the stack %q %s", e.Stack, e.Why) }

// Stack draws one packing stack of a pump in section, ring by ring, heights and widths to one scale: lips, glands, the side that
// the pressure comes from. With an analysis of it (pump.StackUnder) each ring also shows its contact stress, the lesser of both
// walls, and the axial stress along the stack; a may be nil. Errors: *StackError for a stack that the pump does not have, that
// has no rings, or whose analysis has another number of rings.
func Stack(p *pump.Pump, name string, a *seal.Analysis, sys unit.System, opts ...Option) (string, error) {
	s, err := newStack(p, name, a, sys, wideStack, opts...)
	if err != nil {
		return "", err
	}
	return s.draw(), nil
}

// StackNarrow is Stack for a hand-held screen of 360 px; the stresses are numbers only.
func StackNarrow(p *pump.Pump, name string, a *seal.Analysis, sys unit.System, opts ...Option) (string, error) {
	s, err := newStack(p, name, a, sys, narrowStack, opts...)
	if err != nil {
		return "", err
	}
	return s.draw(), nil
}

// StackBare is Stack without an analysis, for a page of 600 px or more.
func StackBare(p *pump.Pump, name string, sys unit.System, opts ...Option) (string, error) {
	s, err := newStack(p, name, nil, sys, pageStack, opts...)
	if err != nil {
		return "", err
	}
	return s.draw(), nil
}

type stackForm struct {
	wide                   bool
	w, margin              float64
	head, name, text, ring float64 // font sizes; ring is the radial width of the packing at most
	pitch                  float64 // least mean height of a ring
}

var (
	wideStack   = stackForm{wide: true, w: 980, margin: 30, head: 28, name: 20, text: 18, ring: 110, pitch: 62}
	narrowStack = stackForm{w: 360, margin: 14, head: 22, name: 19, text: 18.5, ring: 60, pitch: 66}
	pageStack   = stackForm{wide: true, w: stressLeft + 20, margin: 20, head: 28, name: 21, text: 20, ring: 110, pitch: 62}
)

type stackPicture struct {
	canvas
	f      stackForm
	p      *pump.Pump
	st     pump.Stack
	a      *seal.Analysis
	sys    unit.System
	facing pump.Facing
	known  bool
	k      float64 // px per m
	x0, x1 float64 // walls of the stack
	y0, y1 float64 // top and bottom
	labels []*label
}

func newStack(p *pump.Pump, name string, a *seal.Analysis, sys unit.System, f stackForm, opts ...Option) (*stackPicture, error) {
	st, ok := p.Stack(name)
	switch {
	case !ok:
		return nil, &StackError{name, "is not one of " + p.Name}
	case len(st.Rings) == 0 || !(st.Height() > 0) || !(st.Outer > st.Inner):
		return nil, &StackError{name, "has no rings with a size"}
	case a != nil && len(a.Rings) != len(st.Rings):
		return nil, &StackError{name, fmt.Sprintf("has %d rings, its analysis %d", len(st.Rings), len(a.Rings))}
	}
	s := &stackPicture{canvas: with(opts), f: f, p: p, st: st, a: a, sys: sys}
	s.facing, s.known = p.FacingOf(p.Map(), st)
	return s, nil
}

// state returns what the analysis says of ring k, counted from the bottom; seal counts from the top.
func (s *stackPicture) state(k int) *seal.RingState {
	if s.a == nil {
		return nil
	}
	return &s.a.Rings[len(s.a.Rings)-1-k]
}

// contact is the contact stress that counts: that of the wall where it is less.
func contact(q *seal.RingState) float64 { return math.Min(q.Inner, q.Outer) }

func (s *stackPicture) draw() string {
	f := s.f
	y := f.margin + f.head*0.8
	head := font{"es-ink", f.head, true}
	y = s.lines(head, f.margin, y, f.head*1.2, atStart, head.wrap(s.t(s.st.Name+" stack"), f.w-2*f.margin))
	for _, t := range s.notes() {
		sub := font{"es-quiet", f.text, false}
		y = s.lines(sub, f.margin, y, f.text*1.35, atStart, sub.wrap(s.t(t), f.w-2*f.margin))
	}
	thick := (s.st.Outer - s.st.Inner) / 2
	s.k = math.Min(f.ring/thick, 1.3*f.pitch*float64(len(s.st.Rings))/s.st.Height())
	s.x0 = f.margin + map[bool]float64{true: 90, false: 26}[f.wide]
	s.x1 = s.x0 + thick*s.k
	y += 12
	if s.pressureAbove() {
		y = s.pressure(y, true)
	} else {
		y = s.away(y)
	}
	s.y0 = y
	s.y1 = y + s.st.Height()*s.k
	bottom := s.placeLabels()
	s.walls()
	s.rings()
	if s.a != nil && f.wide {
		bottom = math.Max(bottom, s.stresses())
	}
	y = math.Max(bottom, s.y1) + 12
	if s.pressureAbove() || !s.known {
		y = s.away(y)
	} else {
		y = s.pressure(y, false)
	}
	y = s.list(y)
	return s.document(f.w, y+f.margin*0.5, s.t("The "+s.st.Name+" stack of "+s.p.Name), s.describe())
}

func (s *stackPicture) pressureAbove() bool { return s.known && s.facing.Lips == "up" }

// notes are the lines under the title.
func (s *stackPicture) notes() []string {
	var out []string
	switch s.st.FilledFrom {
	case pump.Top:
		out = append(out, "rings go in from the top, ring 1 first")
	case pump.Bottom:
		out = append(out, fmt.Sprintf("rings go in from the bottom, ring %d first", len(s.st.Rings)))
	}
	if s.st.Depth > 0 {
		t := "cavity " + s.sys.Show(s.st.Depth, unit.Length) + " deep"
		if s.st.Shim > 0 {
			t += ", shims " + s.sys.Show(s.st.Shim, unit.Length)
		}
		out = append(out, t+", stack "+s.sys.Show(s.st.Height(), unit.Length)+" high")
	}
	if s.a != nil && s.a.State != "" {
		t, rests := "under load: "+string(s.a.State), "rests on default friction and lateral factors of the ring materials"
		switch {
		case s.a.Rated:
			t += ", seals " + s.rough(s.a.Capacity) + " or more"
			rests = "rests on the rating of the ring, from memory, and on default friction and lateral factors"
		case s.a.Capacity > 0:
			t += ", seals up to " + s.rough(s.a.Capacity)
		}
		out = append(out, t, rests)
	}
	return out
}

// rough is a pressure whose constants are guesses: two digits.
func (s *stackPicture) rough(p float64) string {
	return firm(unit.Format(p, unit.Pressure, s.sys.UnitFor(p, unit.Pressure), 2))
}

// pressure draws the arrow of the pressure side and says where it comes from; above points down onto the stack.
func (s *stackPicture) pressure(y float64, above bool) float64 {
	xm := (s.x0 + s.x1) / 2
	if above {
		s.polygon("es-arrow", xm-9, y, xm+9, y, xm+9, y+20, xm+20, y+20, xm, y+42, xm-20, y+20, xm-9, y+20)
	} else {
		s.polygon("es-arrow", xm-9, y+42, xm+9, y+42, xm+9, y+22, xm+20, y+22, xm, y, xm-20, y+22, xm-9, y+22)
	}
	s.side(y, "pressure: "+s.facing.Node, "es-ink")
	return y + 54
}

// away names the side without pressure.
func (s *stackPicture) away(y float64) float64 {
	seal, _ := s.p.Seal(s.st.Seal)
	node := seal.Between[0]
	if node == s.facing.Node {
		node = seal.Between[1]
	}
	if !s.known {
		s.side(y, "the side of the pressure is not known", "es-quiet")
	} else {
		s.side(y, "the other side: "+node, "es-quiet")
	}
	return y + 46
}

func (s *stackPicture) side(y float64, t, class string) {
	f := font{class, s.f.text, class == "es-ink"}
	x := s.x1 + 40
	s.lines(f, x, y+24, s.f.text*1.25, atStart, f.wrap(s.t(t), s.f.w-s.f.margin-x))
}

// walls draws the sliding surface and the housing with their break lines.
func (s *stackPicture) walls() {
	out := map[bool]float64{true: 60, false: 20}[s.f.wide]
	owner, _ := s.p.Seal(s.st.Seal)
	left, right := "es-bright", "es-steel"
	if owner.On == "bore" { // the piston carries the stack, the cylinder slides past it
		left, right = "es-steel", "es-bright"
	}
	top, h := s.y0-16, s.y1-s.y0+32
	s.rect(left, s.x0-out, top, out, h, 0)
	s.rect(right, s.x1, top, out*0.6, h, 0)
}

// rings draws the rings and the badges with their numbers.
func (s *stackPicture) rings() {
	k := set{}
	for i := range s.st.Rings {
		k.rings = append(k.rings, &s.st.Rings[i])
	}
	if s.known {
		k.lips = s.facing.Lips
	}
	s.rect("es-slack", s.x0, s.y0-16, s.x1-s.x0, s.y1-s.y0+32, 0)
	y := s.y1
	depth := math.Min((s.x1-s.x0)*0.32, 0.75*s.k*s.leastHeight())
	for i := range s.st.Rings {
		r := &s.st.Rings[i]
		h := r.Height * s.k
		s.profile(r, k.lipsOf(r), s.x0, s.x1, y-h, y, depth)
		y -= h
	}
}

func (s *stackPicture) leastHeight() float64 {
	least := math.Inf(1)
	for _, r := range s.st.Rings {
		if r.Kind == pump.KindFemale || r.Kind == pump.KindMale || r.Kind == pump.KindVRing {
			least = math.Min(least, r.Height)
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}

// placeLabels writes what each ring is beside it, or puts its number there when there is no room for words, and returns the
// lower edge of the last label.
func (s *stackPicture) placeLabels() float64 {
	f := s.f
	edge, reach := s.x1+26, 17.0
	if f.wide {
		edge, reach = s.x1+66, 44
	}
	col := column{edge: edge, gap: 6}
	y := s.y1
	for i, r := range s.st.Rings {
		l := &label{n: i + 1, h: 33}
		if f.wide {
			s.fit(l, stressLeft-edge-64)
		}
		l.at = []pt{{s.x1, y - r.Height*s.k/2}}
		y -= r.Height * s.k
		s.labels = append([]*label{l}, s.labels...)
		col.clusters = append([]*cluster{{labels: []*label{l}, h: l.h}}, col.clusters...)
	}
	col.top, col.bottom = s.y0-10, math.Max(s.y1+10, s.y0-10+col.height())
	col.place()
	for _, l := range s.labels {
		mid := l.y + l.h/2
		s.polyline("es-edge", s.x1-6, l.at[0].y, s.x1+reach, l.at[0].y, edge-2, mid)
		s.badge(edge+15, mid, l.n)
		if f.wide {
			s.entry(l, edge+40, l.y)
		}
	}
	last := s.labels[len(s.labels)-1]
	return last.y + last.h
}

// fit breaks the words of a label into lines.
func (s *stackPicture) fit(l *label, width float64) {
	name, text := font{"es-ink", s.f.name, true}, font{"es-quiet", s.f.text, false}
	l.name = name.wrap(said(s.st.Rings[l.n-1].Part), width)
	l.words = text.wrap(join(s.words(l.n-1), ", "), width)
	l.h = float64(len(l.name))*s.f.name*1.2 + float64(len(l.words))*s.f.text*1.25
}

// entry sets the words of a label with its upper edge at y.
func (s *stackPicture) entry(l *label, x, y float64) {
	y = s.lines(font{"es-ink", s.f.name, true}, x, y+s.f.name*0.95, s.f.name*1.2, atStart, l.name)
	s.lines(font{"es-quiet", s.f.text, false}, x, y-s.f.name*1.2+s.f.text*1.3, s.f.text*1.25, atStart, l.words)
}

// list sets the words of all rings below a narrow picture, from the highest ring to the lowest.
func (s *stackPicture) list(y float64) float64 {
	if s.f.wide {
		return y
	}
	y += 10
	for _, l := range s.labels {
		s.fit(l, s.f.w-2*s.f.margin-40)
		s.badge(s.f.margin+14, y+18, l.n)
		s.entry(l, s.f.margin+40, y)
		y += math.Max(l.h, 34) + 14
	}
	return y
}

// words says of ring k its lips, its material and what it does.
func (s *stackPicture) words(k int) []said {
	r := s.st.Rings[k]
	out := []said{s.t(r.Kind)}
	if r.Kind == pump.KindVRing {
		lips := r.Lips
		if lips == "" {
			lips = s.facing.Lips
		}
		out[0] = s.t("lips " + lips)
	}
	if r.Material != "" {
		out = append(out, s.t(r.Material))
	}
	out = append(out, said(firm(s.sys.Show(r.Height, unit.Length))))
	if q := s.state(k); q != nil && r.Kind == pump.KindVRing {
		if !s.f.wide {
			out = append(out, s.t("contact "+s.rough(contact(q))))
		}
		switch {
		case q.Away:
			out = append(out, s.t("faces away from the pressure"))
		case q.Seals && q.Pressure > 0:
			out = append(out, s.t("holds the pressure"))
		case q.Pressure > 0:
			out = append(out, s.t("lets it through"))
		}
	}
	return out
}

// badge draws a number in a disc.
func (c *canvas) badge(x, y float64, n int) {
	c.circle("es-ink", x, y, 15)
	c.text(font{"es-badge-ink", 19.5, true}, x, y+6.8, atMiddle, said(strconv.Itoa(n)))
}

// describe says in words what the picture shows, from the lowest ring to the highest.
func (s *stackPicture) describe() said {
	out := s.t("Packing stack in section, from the lowest ring to the highest.") + " "
	if s.known {
		out += s.t("The pressure comes from "+s.facing.Node+"; lips open "+s.facing.Lips+".") + " "
	}
	for i, r := range s.st.Rings {
		parts := append([]said{s.t(fmt.Sprintf("Ring %d: %s", i+1, r.Part))}, s.words(i)...)
		if q := s.state(i); q != nil {
			parts = append(parts, s.t("contact stress "+s.sys.Show(contact(q), unit.Pressure)), s.t("axial stress "+s.sys.Show(q.Mean, unit.Pressure)))
		}
		out += join(parts, ", ") + ". "
	}
	return out
}
