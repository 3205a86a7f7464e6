package draw

import (
	"encoding/xml"
	"strconv"
	"strings"
)

// canvas collects the elements of one picture and what its texts cover.
type canvas struct {
	b     strings.Builder
	used  map[string]bool // classes
	texts []box
	say   func(english string) string // nil: English
}

// use notes that a class occurs.
func (c *canvas) use(class string) string {
	if c.used == nil {
		c.used = map[string]bool{"es-paper": true}
	}
	c.used[class] = true
	return class
}

// box is a rectangle that a text covers.
type box struct {
	x, y, w, h float64
	text       string
}

// pt is a point of a picture; y grows downward.
type pt struct{ x, y float64 }

// escape makes text safe inside an element and inside a quoted attribute. What XML cannot hold becomes U+FFFD.
func escape(s string) string {
	var b strings.Builder
	if err := xml.EscapeText(&b, []byte(s)); err != nil { // a strings.Builder does not fail
		return ""
	}
	return b.String()
}

// num writes a coordinate with at most two decimals.
func num(x float64) string {
	s := strconv.FormatFloat(x, 'f', 2, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}

// element writes <name class= k=v .../>; empty classes are left out.
func (c *canvas) element(name, class string, kv ...string) {
	c.b.WriteString("<" + name)
	if class != "" {
		c.b.WriteString(` class="` + c.use(class) + `"`)
	}
	for i := 0; i+1 < len(kv); i += 2 {
		c.b.WriteString(" " + kv[i] + `="` + kv[i+1] + `"`)
	}
	c.b.WriteString("/>\n")
}

func (c *canvas) rect(class string, x, y, w, h, r float64) {
	kv := []string{"x", num(x), "y", num(y), "width", num(w), "height", num(h)}
	if r > 0 {
		kv = append(kv, "rx", num(r))
	}
	c.element("rect", class, kv...)
}

func (c *canvas) circle(class string, x, y, r float64) {
	c.element("circle", class, "cx", num(x), "cy", num(y), "r", num(r))
}

func (c *canvas) line(class string, x1, y1, x2, y2 float64) {
	c.element("line", class, "x1", num(x1), "y1", num(y1), "x2", num(x2), "y2", num(y2))
}

func (c *canvas) path(class, d string) { c.element("path", class, "d", d) }

// polygon draws a closed outline through x, y pairs.
func (c *canvas) polygon(class string, xy ...float64) { c.path(class, outline(xy)+"Z") }

// polyline draws an open line through x, y pairs.
func (c *canvas) polyline(class string, xy ...float64) { c.path(class, outline(xy)) }

func outline(xy []float64) string {
	var b strings.Builder
	for i := 0; i+1 < len(xy); i += 2 {
		b.WriteString([]string{"L", "M"}[b2i(i == 0)] + num(xy[i]) + " " + num(xy[i+1]))
	}
	return b.String()
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// push opens a group that is moved and scaled; pop closes it. No text stands inside, so that it keeps its size.
func (c *canvas) push(x, y, k float64) {
	c.b.WriteString(`<g transform="translate(` + num(x) + " " + num(y) + ") scale(" + num(k) + `)">` + "\n")
}

func (c *canvas) pop() { c.b.WriteString("</g>\n") }

// font is how a text is set.
type font struct {
	class string
	size  float64
	bold  bool
}

// Anchors of a text.
const (
	atStart  = "start"
	atMiddle = "middle"
	atEnd    = "end"
)

// text sets one line with its baseline at y and notes what it covers.
func (c *canvas) text(f font, x, y float64, anchor string, s said) {
	if s == "" {
		return
	}
	w := f.width(s)
	left := x
	switch anchor {
	case atMiddle:
		left = x - w/2
	case atEnd:
		left = x - w
	}
	c.texts = append(c.texts, box{left, y - 0.78*f.size, w, f.size, string(s)})
	c.b.WriteString(`<text class="` + c.use(f.class) + `" x="` + num(x) + `" y="` + num(y) + `" font-size="` + num(f.size) + `"`)
	if f.bold {
		c.b.WriteString(` font-weight="700"`)
	}
	if anchor != atStart {
		c.b.WriteString(` text-anchor="` + anchor + `"`)
	}
	c.b.WriteString(">" + escape(string(s)) + "</text>\n")
}

// lines sets several lines, the first baseline at y, and returns the baseline after the last.
func (c *canvas) lines(f font, x, y, pitch float64, anchor string, ss []said) float64 {
	for _, s := range ss {
		c.text(f, x, y, anchor, s)
		y += pitch
	}
	return y
}

// document closes the picture: the root with title and description, the colours, a sheet of paper, and what was drawn.
func (c *canvas) document(w, h float64, title, desc said) string {
	var b strings.Builder
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" class="es" role="img" viewBox="0 0 ` + num(w) + " " + num(h) + `" width="` + num(w) + `" height="` + num(h) + `">` + "\n")
	b.WriteString("<title>" + escape(string(title)) + "</title>\n<desc>" + escape(string(desc)) + "</desc>\n")
	b.WriteString("<style>" + style(c.used) + "</style>\n")
	b.WriteString(`<rect class="es-paper" width="` + num(w) + `" height="` + num(h) + `" rx="14"/>` + "\n")
	b.WriteString(c.b.String())
	b.WriteString("</svg>\n")
	return b.String()
}
