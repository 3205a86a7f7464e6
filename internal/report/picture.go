//go:build !small

package report

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// picture is a picture of package draw, read back for drawing on paper: in its light colours, on white, with its texts set in the
// fonts of the paper.
type picture struct {
	w, h        float64
	title, desc string
	ops         []drawing
}

// drawing is one shape or one line of text of a picture, in the coordinates of the picture.
type drawing struct {
	paint
	segs   []segment
	text   string
	x, y   float64
	size   float64
	anchor string
	bold   bool
}

// paint is how a shape is filled and drawn round.
type paint struct {
	fill, stroke        ink
	filled, stroked     bool
	width               float64
	dash                []float64
	roundCap, roundJoin bool
	opacity             float64 // 1 when opaque
}

// pictureError says what a picture has that this reader does not know. Package draw writes no such thing.
type pictureError struct{ what string }

func (e *pictureError) Error() string { return "report: picture: " + e.what }

// readPicture reads what package draw writes: groups that are moved and scaled, rectangles, circles, lines, paths, texts, and classes
// with their paint.
func readPicture(svg string) (*picture, error) {
	r := pictureReader{d: xml.NewDecoder(strings.NewReader(svg)), at: []place{{k: 1}}, pic: &picture{}}
	for {
		tok, err := r.d.Token()
		if errors.Is(err, io.EOF) {
			return r.pic, nil
		}
		if err != nil {
			return nil, err
		}
		switch e := tok.(type) {
		case xml.StartElement:
			if err := r.start(e); err != nil {
				return nil, err
			}
		case xml.EndElement:
			r.end(e)
		case xml.CharData:
			r.chars += string(e)
		}
	}
}

// place is a group: where its origin lies and how it is scaled.
type place struct{ x, y, k float64 }

type pictureReader struct {
	d     *xml.Decoder
	at    []place
	rules map[string]paint
	chars string
	text  *drawing
	pic   *picture
}

func (r *pictureReader) start(e xml.StartElement) error {
	a := map[string]string{}
	for _, k := range e.Attr {
		a[k.Name.Local] = k.Value
	}
	var bad error
	n := func(name string) float64 {
		if a[name] == "" {
			return 0
		}
		v, err := strconv.ParseFloat(a[name], 64)
		if err != nil || !finite(v) {
			bad = &pictureError{name + "=" + strconv.Quote(a[name]) + "; expected a number"}
		}
		return v
	}
	r.chars = ""
	switch tag := e.Name.Local; tag {
	case "svg":
		r.pic.w, r.pic.h = n("width"), n("height")
	case "title", "desc", "style":
	case "g":
		bad = r.push(a["transform"])
	case "rect":
		r.shape(a, rectangle(n("x"), n("y"), n("width"), n("height"), n("rx")))
	case "circle":
		r.shape(a, circle(n("cx"), n("cy"), n("r")))
	case "line":
		r.shape(a, []segment{{op: 'M', p: [6]float64{n("x1"), n("y1")}}, {op: 'L', p: [6]float64{n("x2"), n("y2")}}})
	case "path":
		segs, err := parsePath(a["d"])
		if err != nil {
			return err
		}
		r.shape(a, segs)
	case "text":
		k := r.at[len(r.at)-1]
		r.text = &drawing{paint: r.rules[a["class"]], x: k.x + k.k*n("x"), y: k.y + k.k*n("y"), size: k.k * n("font-size"), anchor: a["text-anchor"], bold: a["font-weight"] == "700"}
	default:
		return &pictureError{"found <" + tag + ">"}
	}
	return bad
}

func (r *pictureReader) end(e xml.EndElement) {
	switch e.Name.Local {
	case "title":
		r.pic.title = r.chars
	case "desc":
		r.pic.desc = r.chars
	case "style":
		r.rules = readRules(r.chars)
	case "g":
		r.at = r.at[:len(r.at)-1]
	case "text":
		r.text.text = r.chars
		r.pic.ops = append(r.pic.ops, *r.text)
	}
}

// push opens a group: translate(x y) scale(k).
func (r *pictureReader) push(transform string) error {
	var x, y, k float64
	if _, err := fmt.Sscanf(transform, "translate(%g %g) scale(%g)", &x, &y, &k); err != nil {
		return &pictureError{"transform=" + strconv.Quote(transform)}
	}
	o := r.at[len(r.at)-1]
	r.at = append(r.at, place{o.x + o.k*x, o.y + o.k*y, o.k * k})
	return nil
}

// shape adds an outline, moved to where its group lies.
func (r *pictureReader) shape(a map[string]string, segs []segment) {
	k := r.at[len(r.at)-1]
	for i := range segs {
		for j := 0; j < 6; j += 2 {
			segs[i].p[j], segs[i].p[j+1] = k.x+k.k*segs[i].p[j], k.y+k.k*segs[i].p[j+1]
		}
	}
	d := drawing{paint: r.rules[a["class"]], segs: segs}
	d.width *= k.k
	if k.k != 1 {
		d.dash = append([]float64(nil), d.dash...)
		for i := range d.dash {
			d.dash[i] *= k.k
		}
	}
	r.pic.ops = append(r.pic.ops, d)
}

// readRules reads the light rules of a style sheet of package draw: .class{fill:…;stroke:…;…}, up to the first @media. The paper of a
// picture is white here.
func readRules(css string) map[string]paint {
	css, _, _ = strings.Cut(css, "@media")
	out := map[string]paint{}
	for _, rule := range strings.Split(css, "}") {
		class, body, ok := strings.Cut(rule, "{")
		class, dotted := strings.CutPrefix(class, ".")
		if !ok || !dotted || strings.Contains(class, " ") {
			continue
		}
		p := paint{width: 1, opacity: 1}
		for _, decl := range strings.Split(body, ";") {
			name, value, _ := strings.Cut(decl, ":")
			p.set(name, value)
		}
		out[class] = p
	}
	return out
}

const screenPaper = "#f7f5f0"

func (p *paint) set(name, value string) {
	if value == screenPaper {
		value = "#ffffff"
	}
	hex := func() (ink, bool) {
		v, err := strconv.ParseUint(strings.TrimPrefix(value, "#"), 16, 24)
		return ink(v), err == nil
	}
	switch name {
	case "fill":
		p.fill, p.filled = hex()
	case "stroke":
		p.stroke, p.stroked = hex()
	case "stroke-width":
		p.width, _ = strconv.ParseFloat(value, 64)
	case "opacity":
		p.opacity, _ = strconv.ParseFloat(value, 64)
	case "stroke-linecap":
		p.roundCap = value == "round"
	case "stroke-linejoin":
		p.roundJoin = value == "round"
	case "stroke-dasharray":
		for _, f := range strings.Fields(value) {
			if v, err := strconv.ParseFloat(f, 64); err == nil {
				p.dash = append(p.dash, v)
			}
		}
	}
}

func rectangle(x, y, w, h, r float64) []segment {
	r = math.Min(r, math.Min(w, h)/2)
	m := func(op byte, p ...float64) segment {
		s := segment{op: op}
		copy(s.p[:], p)
		return s
	}
	if r <= 0 {
		return []segment{m('M', x, y), m('L', x+w, y), m('L', x+w, y+h), m('L', x, y+h), m('Z')}
	}
	c := r * (1 - kappa)
	return []segment{
		m('M', x+r, y), m('L', x+w-r, y), m('C', x+w-c, y, x+w, y+c, x+w, y+r), m('L', x+w, y+h-r), m('C', x+w, y+h-c, x+w-c, y+h, x+w-r, y+h),
		m('L', x+r, y+h), m('C', x+c, y+h, x, y+h-c, x, y+h-r), m('L', x, y+r), m('C', x, y+c, x+c, y, x+r, y), m('Z'),
	}
}

// kappa places the control points of a cubic curve that stands for a quarter of a circle: 4/3·(√2−1).
const kappa = 0.5522847498307936

func circle(x, y, r float64) []segment { return rectangle(x-r, y-r, 2*r, 2*r, r) }

// draw draws the picture w points wide with its upper left corner at x, y.
func (pic *picture) draw(p *pen, regular, bold *face, x, y, w float64) {
	k := w / pic.w
	at := func(px, py float64) (float64, float64) { return x + k*px, y + k*py }
	for _, d := range pic.ops {
		if d.segs == nil {
			f := regular
			if d.bold {
				f = bold
			}
			s, _ := f.clean(d.text)
			tx, ty := at(d.x, d.y)
			size := math.Max(smallest, d.size*k)
			switch d.anchor {
			case "middle":
				tx -= f.width(s, size) / 2
			case "end":
				tx -= f.width(s, size)
			}
			p.text(f, round2(size), d.fill, tx, ty, s)
			continue
		}
		if d.filled || d.stroked {
			p.shape(d, at, k)
		}
	}
}

// shape fills and strokes one outline of a picture.
func (p *pen) shape(d drawing, at func(x, y float64) (float64, float64), k float64) {
	p.s.SaveState()
	if d.opacity < 1 {
		p.opacity(d.opacity)
	}
	if d.filled {
		p.fill(d.fill)
	}
	if d.stroked {
		p.stroke(d.stroke)
		p.s.SetLineWidth(round3(d.width * k))
		if d.roundCap {
			p.s.SetLineCap(1)
		}
		if d.roundJoin {
			p.s.SetLineJoin(1)
		}
		if len(d.dash) > 0 {
			dash := make([]float64, len(d.dash))
			for i, v := range d.dash {
				dash[i] = round3(v * k)
			}
			p.s.SetDashPattern(dash, 0)
		}
	}
	p.trace(d.segs, at)
	switch {
	case d.filled && d.stroked:
		p.s.FillAndStroke()
	case d.filled:
		p.s.Fill()
	default:
		p.s.Stroke()
	}
	p.s.RestoreState()
}
