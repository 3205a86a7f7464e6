//go:build !small

package report

import (
	"fmt"
	"math"
	"strconv"

	"github.com/carlos7ags/folio/content"
	folioimage "github.com/carlos7ags/folio/image"
	"github.com/carlos7ags/folio/layout"
)

// ink is a colour, 0xRRGGBB.
type ink uint32

func (c ink) rgb() (r, g, b float64) {
	return round3(float64(c>>16&255) / 255), round3(float64(c>>8&255) / 255), round3(float64(c&255) / 255)
}

// The light colours of package draw, on white paper.
const (
	black   ink = 0x17232a
	quiet   ink = 0x48565e
	hair    ink = 0xd9d6cd
	white   ink = 0xffffff
	warning ink = 0xc2410c
	green   ink = 0x1d6b42
	red     ink = 0xa3281c
	amber   ink = 0x7a5900
)

// classInk is the colour of a verdict.
func classInk(class string) ink {
	switch class {
	case "holds":
		return green
	case "fails":
		return red
	case "open":
		return amber
	}
	return quiet
}

// pen draws on one page. Its y grows downward from the upper edge, in points; scale and shift are those of a picture.
type pen struct {
	s    *content.Stream
	page *layout.PageResult
	h    float64
}

func round2(v float64) float64 { return math.Round(v*100) / 100 }
func round3(v float64) float64 { return math.Round(v*1000) / 1000 }

func (p *pen) up(y float64) float64 { return round2(p.h - y) }

func (p *pen) fill(c ink)   { p.s.SetFillColorRGB(c.rgb()) }
func (p *pen) stroke(c ink) { p.s.SetStrokeColorRGB(c.rgb()) }

// box fills a rectangle with round corners.
func (p *pen) box(c ink, x, y, w, h, r float64) {
	p.fill(c)
	p.s.RoundedRect(round2(x), p.up(y+h), round2(w), round2(h), r)
	p.s.Fill()
}

// frame draws the outline of a rectangle with round corners.
func (p *pen) frame(c ink, x, y, w, h, r, width float64, dash ...float64) {
	p.s.SaveState()
	p.stroke(c)
	p.s.SetLineWidth(width)
	if len(dash) > 0 {
		p.s.SetDashPattern(dash, 0)
	}
	p.s.RoundedRect(round2(x), p.up(y+h), round2(w), round2(h), r)
	p.s.Stroke()
	p.s.RestoreState()
}

// rule draws a straight line.
func (p *pen) rule(c ink, x1, y1, x2, y2, width float64) {
	p.stroke(c)
	p.s.SetLineWidth(width)
	p.s.MoveTo(round2(x1), p.up(y1))
	p.s.LineTo(round2(x2), p.up(y2))
	p.s.Stroke()
}

// text sets a cleaned text with its baseline at y and returns where it ends.
func (p *pen) text(f *face, size float64, c ink, x, y float64, s string) float64 {
	p.useFont(f)
	p.fill(c)
	s = visual(s)
	p.s.BeginText()
	p.s.SetFont(f.name, size)
	p.s.MoveText(round2(x), p.up(y))
	p.show(f, s)
	p.s.EndText()
	return x + f.width(s, size)
}

// show writes the signs with their kerning.
func (p *pen) show(f *face, s string) {
	var parts []content.TextArrayElement
	var part []rune
	before := rune(0)
	flush := func() {
		if len(part) > 0 {
			parts = append(parts, content.TextArrayElement{HexData: f.encode(part)})
			part = part[:0]
		}
	}
	for _, r := range s {
		if k := f.kern(before, r); k != 0 {
			flush()
			parts = append(parts, content.TextArrayElement{IsAdjustment: true, Adjustment: math.Round(-1000 * k)})
		}
		part = append(part, r)
		before = r
	}
	flush()
	if len(parts) > 0 {
		p.s.ShowTextArrayHex(parts)
	}
}

// useFont makes a font known to the page.
func (p *pen) useFont(f *face) {
	for _, e := range p.page.Fonts {
		if e.Embedded == f.embedded {
			return
		}
	}
	p.page.Fonts = append(p.page.Fonts, layout.FontEntry{Name: f.name, Embedded: f.embedded})
}

// opacity makes what follows in this graphics state translucent.
func (p *pen) opacity(share float64) {
	name := ""
	for _, e := range p.page.ExtGStates {
		if e.Opacity == share {
			name = e.Name
		}
	}
	if name == "" {
		name = "GS" + strconv.Itoa(len(p.page.ExtGStates)+1)
		p.page.ExtGStates = append(p.page.ExtGStates, layout.ExtGStateEntry{Name: name, Opacity: share})
	}
	p.s.SetExtGState(name)
}

// image draws a picture into a box, turned as EXIF says.
func (p *pen) image(img *folioimage.Image, turn int, x, y, w, h float64) {
	name := fmt.Sprintf("Im%d", len(p.page.Images)+1)
	p.page.Images = append(p.page.Images, layout.ImageEntry{Name: name, Image: img})
	x0, y0, x1, y1 := x, p.h-y-h, x+w, p.h-y
	m := [6]float64{w, 0, 0, h, x0, y0}
	switch turn {
	case 2: // mirrored left to right
		m = [6]float64{-w, 0, 0, h, x1, y0}
	case 3: // upside down
		m = [6]float64{-w, 0, 0, -h, x1, y1}
	case 4:
		m = [6]float64{w, 0, 0, -h, x0, y1}
	case 5: // row 0 is the left side, column 0 the top
		m = [6]float64{0, -h, -w, 0, x1, y1}
	case 6: // row 0 is the right side, column 0 the top
		m = [6]float64{0, -h, w, 0, x0, y1}
	case 7:
		m = [6]float64{0, h, w, 0, x0, y0}
	case 8: // row 0 is the left side, column 0 the bottom
		m = [6]float64{0, h, -w, 0, x1, y0}
	}
	p.s.SaveState()
	p.s.ConcatMatrix(round2(m[0]), round2(m[1]), round2(m[2]), round2(m[3]), round2(m[4]), round2(m[5]))
	p.s.Do(name)
	p.s.RestoreState()
}

// trace puts an outline onto the path, each point moved by at.
func (p *pen) trace(segs []segment, at func(x, y float64) (float64, float64)) {
	point := func(x, y float64) (float64, float64) {
		x, y = at(x, y)
		return round2(x), p.up(y)
	}
	for _, s := range segs {
		switch s.op {
		case 'M':
			p.s.MoveTo(point(s.p[0], s.p[1]))
		case 'L':
			p.s.LineTo(point(s.p[0], s.p[1]))
		case 'C':
			x1, y1 := point(s.p[0], s.p[1])
			x2, y2 := point(s.p[2], s.p[3])
			x3, y3 := point(s.p[4], s.p[5])
			p.s.CurveTo(x1, y1, x2, y2, x3, y3)
		case 'Z':
			p.s.ClosePath()
		}
	}
}
