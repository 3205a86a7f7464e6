package draw

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/unit"
)

// Plot is a picture of curves. Values are SI; the axes are written in the units of a person.
type Plot struct {
	Title  string
	Desc   string // what the curves show, for who cannot see them; SVG adds the range of each curve
	X, Y   Axis
	Series []Series // four at most
	Bands  []Band
	Marks  []Mark
}

// Axis is one axis. With From0 it begins at zero; Reach, when not zero, is a value that it covers whatever the curves do.
type Axis struct {
	Label string
	Dim   unit.Dim
	From0 bool
	Reach float64
}

// Series is one curve; NaN parts it. Dots draws its points only, for single readings.
type Series struct {
	Name string
	X, Y []float64
	Dots bool
}

// Band is an area between two curves over the same X, as that in which a pump holds. Infinite values reach to the edge.
type Band struct {
	Name      string
	X, Lo, Hi []float64
}

// Mark is a vertical line with a word, as a changeover.
type Mark struct {
	X    float64
	Word string
}

// PlotError says what is wrong with a plot.
type PlotError struct{ Title, Why string }

// Error names the plot and says why.
func (e *PlotError) Error() string { return fmt.Sprintf("draw: the plot %q %s", e.Title, e.Why) }

type plotForm struct {
	w, h, margin   float64 // h is that of the frame
	head, text     float64 // font sizes
	left           float64 // room for the numbers at the y axis
	xTicks, yTicks float64 // about how many steps
}

var (
	widePlot   = plotForm{w: 900, h: 360, margin: 26, head: 24, text: 18, left: 92, xTicks: 8, yTicks: 6}
	narrowPlot = plotForm{w: 360, h: 250, margin: 12, head: 20, text: 18.5, left: 78, xTicks: 4, yTicks: 5}
)

// SVG draws the plot. Errors: *PlotError when a curve has no finite point, has X and Y of different lengths, or there are none
// or more than four.
func (p Plot) SVG(sys unit.System, opts ...Option) (string, error) {
	return p.picture(sys, widePlot, opts)
}

// Narrow is SVG for a hand-held screen of 360 px.
func (p Plot) Narrow(sys unit.System, opts ...Option) (string, error) {
	return p.picture(sys, narrowPlot, opts)
}

type plotPicture struct {
	canvas
	Plot
	f              plotForm
	sys            unit.System
	x, y           scale
	x0, y0, x1, y1 float64 // frame
}

func (p Plot) picture(sys unit.System, f plotForm, opts []Option) (string, error) {
	if err := p.check(); err != nil {
		return "", err
	}
	d := &plotPicture{canvas: with(opts), Plot: p, f: f, sys: sys}
	return d.draw(), nil
}

func (d *plotPicture) draw() string {
	p, sys, f := d.Plot, d.sys, d.f
	d.x = newScale(p.X, sys, f.xTicks, p.extent(func(s Series) []float64 { return s.X }))
	d.y = newScale(p.Y, sys, f.yTicks, p.extent(func(s Series) []float64 { return s.Y }))
	head := font{"es-ink", f.head, true}
	y := d.lines(head, f.margin, f.margin+f.head*0.8, f.head*1.2, atStart, head.wrap(d.t(p.Title), f.w-2*f.margin))
	y = d.legend(y + 2)
	if len(p.Marks) > 0 {
		y += f.text * 1.3
	}
	d.x0, d.x1 = f.left, f.w-f.margin-14
	d.y0, d.y1 = y+f.text*2.1, y+f.text*2.1+f.h
	d.frame()
	d.bands()
	d.marks()
	for i, s := range p.Series {
		d.curve(i, s)
	}
	h := d.y1 + f.text*3.05 + f.margin
	return d.document(f.w, h, d.t(p.Title), d.describe())
}

func (p Plot) check() error {
	if len(p.Series) == 0 || len(p.Series) > 4 {
		return &PlotError{p.Title, fmt.Sprintf("has %d curves, expected one to four", len(p.Series))}
	}
	for _, s := range p.Series {
		if len(s.X) != len(s.Y) {
			return &PlotError{p.Title, fmt.Sprintf("has the curve %q with %d times and %d values", s.Name, len(s.X), len(s.Y))}
		}
		some := false
		for i := range s.X {
			some = some || finite(s.X[i]) && finite(s.Y[i])
		}
		if !some {
			return &PlotError{p.Title, fmt.Sprintf("has the curve %q without a finite point", s.Name)}
		}
	}
	for _, b := range p.Bands {
		if len(b.X) != len(b.Lo) || len(b.X) != len(b.Hi) || len(b.X) < 2 {
			return &PlotError{p.Title, fmt.Sprintf("has the band %q with lists of different lengths or fewer than two points", b.Name)}
		}
	}
	return nil
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// extent returns the least and the largest value of the curves.
func (p Plot) extent(of func(Series) []float64) [2]float64 {
	e := [2]float64{math.Inf(1), math.Inf(-1)}
	for _, s := range p.Series {
		for _, v := range of(s) {
			if finite(v) {
				e[0], e[1] = math.Min(e[0], v), math.Max(e[1], v)
			}
		}
	}
	return e
}

// px moves a value into the frame.
func (d *plotPicture) px(v float64) float64 { return d.x0 + (d.x1-d.x0)*d.x.share(v) }
func (d *plotPicture) py(v float64) float64 { return d.y1 - (d.y1-d.y0)*d.y.share(v) }

// frame draws grid, ticks and the names of the axes.
func (d *plotPicture) frame() {
	f := font{"es-quiet", d.f.text, false}
	d.rect("es-card", d.x0, d.y0, d.x1-d.x0, d.y1-d.y0, 0)
	for _, t := range d.y.ticks {
		y := d.py(t.si)
		d.line("es-grid", d.x0, y, d.x1, y)
		d.text(f, d.x0-9, y+d.f.text*0.33, atEnd, said(t.text))
	}
	last := math.Inf(-1)
	for _, t := range d.x.ticks {
		x, w := d.px(t.si), f.width(said(t.text))
		d.line("es-grid", x, d.y0, x, d.y1)
		if x-w/2 > last+8 && x+w/2 < d.f.w {
			d.text(f, x, d.y1+d.f.text*1.4, atMiddle, said(t.text))
			last = x + w/2
		}
	}
	b := font{"es-ink", d.f.text, true}
	d.text(b, d.f.margin, d.y0-d.f.text*0.85, atStart, d.y.name(d.t(d.Y.Label)))
	d.text(b, d.x1, d.y1+d.f.text*2.75, atEnd, d.x.name(d.t(d.X.Label)))
}

// legend names the curves and the bands, and returns the next line.
func (d *plotPicture) legend(y float64) float64 {
	f := font{"es-ink", d.f.text, false}
	x := d.f.margin
	item := func(sign func(x, y float64), name said) {
		w := 48 + f.width(name)
		if x > d.f.margin && x+w > d.f.w-d.f.margin {
			x, y = d.f.margin, y+d.f.text*1.45
		}
		sign(x, y-d.f.text*0.3)
		end := d.lines(f, x+46, y, d.f.text*1.3, atStart, f.wrap(name, d.f.w-d.f.margin-x-46))
		y = math.Max(y, end-d.f.text*1.3)
		x += w + 26
	}
	for i, s := range d.Series {
		if s.Name == "" {
			continue
		}
		item(func(x, y float64) {
			if !s.Dots {
				d.line(fmt.Sprintf("es-s%d", i), x, y, x+36, y)
			}
			d.dot(i, x+18, y)
		}, d.t(s.Name))
	}
	for _, b := range d.Bands {
		if b.Name != "" {
			item(func(x, y float64) {
				d.rect("es-band", x, y-9, 36, 18, 2)
			}, d.t(b.Name))
		}
	}
	if x == d.f.margin {
		return y - d.f.text*0.6
	}
	return y + d.f.text*0.4
}

// bands fills the areas, with an edge where they end inside the frame.
func (d *plotPicture) bands() {
	for _, b := range d.Bands {
		var xy, back []float64
		for i := range b.X {
			x := within(d.px(b.X[i]), d.x0, d.x1)
			xy = append(xy, x, within(d.py(b.Hi[i]), d.y0, d.y1))
			back = append([]float64{x, within(d.py(b.Lo[i]), d.y0, d.y1)}, back...)
		}
		d.polygon("es-band", append(xy, back...)...)
		d.polyline("es-mark", xy...)
		d.polyline("es-mark", back...)
	}
}

// marks draws the vertical lines, with their words where there is room for them.
func (d *plotPicture) marks() {
	f := font{"es-quiet", d.f.text, false}
	free := d.x0
	for _, m := range d.Marks {
		if !finite(m.X) || d.x.share(m.X) < 0 || d.x.share(m.X) > 1 {
			continue
		}
		word := d.t(m.Word)
		x, w := d.px(m.X), f.width(word)
		d.line("es-mark", x, d.y0-4, x, d.y1)
		left := math.Min(x, d.x1-w)
		if word != "" && left >= free {
			d.text(f, left, d.y0-d.f.text*2.1, atStart, word)
			d.line("es-mark", x, d.y0-d.f.text*1.95, x, d.y0)
			free = left + w + 10
		}
	}
}
