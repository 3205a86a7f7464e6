package draw

import (
	"math"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// verdictClass is the paint of a verdict.
func verdictClass(word string) string {
	switch word {
	case hold.Holds:
		return "es-holds"
	case hold.DoesNotHold:
		return "es-fails"
	case hold.NotProven:
		return "es-open"
	}
	return "es-neutral"
}

// sign draws the symbol of a verdict: a tick, a cross, an hourglass; a drop for no verdict.
func (c *canvas) sign(word string, x, y, r float64) {
	switch word {
	case hold.Holds:
		c.polyline("es-sign", x-r*0.8, y+r*0.05, x-r*0.2, y+r*0.65, x+r*0.85, y-r*0.65)
	case hold.DoesNotHold:
		c.polyline("es-sign", x-r*0.65, y-r*0.65, x+r*0.65, y+r*0.65)
		c.polyline("es-sign", x+r*0.65, y-r*0.65, x-r*0.65, y+r*0.65)
	case hold.NotProven:
		c.path("es-sign", outline([]float64{x - r*0.6, y - r*0.75, x + r*0.6, y - r*0.75, x - r*0.6, y + r*0.75, x + r*0.6, y + r*0.75})+"Z")
	default:
		c.path("es-white", teardrop(pt{x, y + r*0.2}, pt{0, 1}, r*0.6))
	}
}

// needText says what would settle a verdict that is not proven yet.
func needText(r *hold.Result) string {
	if r.Verdict.Word != hold.NotProven || len(r.Verdict.Need) == 0 {
		return ""
	}
	return "to settle it: " + r.Verdict.Need[0].Text
}

// band draws the verdict across the top and returns its height.
func (c *canvas) band(p *pump.Pump, r *hold.Result, sys unit.System, f form) float64 {
	word, title := "", said(p.Name)
	lines := []said{c.t("where this pump can leak")}
	if r != nil {
		word = r.Verdict.Word
		title = c.t(word)
		lines = []said{said(strings.Trim(p.Name+" · "+string(c.t(r.Stage)), " ·"))}
		for _, f := range append(Findings(p, r, sys), needText(r)) {
			lines = append(lines, c.t(f))
		}
		if !f.wide {
			lines = slices.Insert(lines, 1, c.t("chance that it meets its limit: "+Chance(r.Verdict.Meets)))
		}
	}
	head, body := font{"es-white", f.head, true}, font{"es-white", f.text, false}
	right, chance, beside := 0.0, said(""), []said(nil)
	if r != nil && f.wide {
		right, chance = 190, c.t(Chance(r.Verdict.Meets))
		beside = body.wrap(c.t("chance that it meets its limit"), right-30)
	}
	x := f.margin + 2*f.sign + 22
	room := f.w - x - f.margin - right
	titles := head.wrap(title, room-math.Max(0, head.width(chance)+20-right))
	var rest []said
	for _, s := range lines {
		rest = append(rest, body.wrap(s, room)...)
	}
	h := 22 + float64(len(titles))*f.head*1.15 + float64(len(rest))*f.text*1.42 + 14
	top := 22 + f.head*0.82
	if n := len(beside); n > 0 {
		h = math.Max(h, top+f.text*(1.62+1.42*float64(n-1))+14)
	}
	c.path(verdictClass(word), bandShape(f.w, h))
	y := top
	c.sign(word, f.margin+f.sign, y-f.head*0.3+2, f.sign)
	y = c.lines(head, x, y, f.head*1.15, atStart, titles)
	c.lines(body, x, y-f.head*1.15+f.text*1.62, f.text*1.42, atStart, rest)
	if right > 0 {
		c.text(head, f.w-f.margin, top, atEnd, chance)
		c.lines(body, f.w-f.margin, top+f.text*1.62, f.text*1.42, atEnd, beside)
	}
	return h
}

// bandShape is the upper end of the sheet with its round corners.
func bandShape(w, h float64) string {
	return "M0 14Q0 0 14 0L" + num(w-14) + " 0Q" + num(w) + " 0 " + num(w) + " 14L" + num(w) + " " + num(h) + "L0 " + num(h) + "Z"
}
