package draw

import (
	"fmt"
	"math"
	"strings"
)

// curve draws one series: a line with a few markers, so that its shape tells it apart as well as its colour and dash.
func (d *plotPicture) curve(i int, s Series) {
	class := fmt.Sprintf("es-s%d", i)
	var run []float64
	flush := func() {
		if len(run) >= 4 && !s.Dots {
			d.polyline(class, thin(run)...)
		}
		run = run[:0]
	}
	var points []pt
	for k := range s.X {
		x, y := s.X[k], s.Y[k]
		if !finite(x) || !finite(y) {
			flush()
			continue
		}
		run = append(run, d.px(x), d.py(y))
		points = append(points, pt{d.px(x), d.py(y)})
	}
	flush()
	if s.Dots || len(points) <= 12 {
		for _, p := range points {
			d.dot(i, p.x, p.y)
		}
		return
	}
	for n := range 7 { // shifted from curve to curve, so that markers do not cover each other
		share := (float64(n) + 0.3 + 0.15*float64(i)) / 7
		p := points[min(len(points)-1, int(share*float64(len(points))))]
		d.dot(i, p.x, p.y)
	}
}

// dot draws the marker of a series: disc, square, triangle, diamond.
func (d *plotPicture) dot(i int, x, y float64) {
	class := fmt.Sprintf("es-p%d", i)
	switch i {
	case 0:
		d.circle(class, x, y, 5.5)
	case 1:
		d.rect(class, x-5, y-5, 10, 10, 0)
	case 2:
		d.triangle(class, x, y, 7, true)
	default:
		d.polygon(class, x, y-7, x+7, y, x, y+7, x-7, y)
	}
}

// thin drops points of a line that no eye can see: within one pixel of x only the first, lowest, highest and last stay.
func thin(xy []float64) []float64 {
	if len(xy) < 2000 {
		return xy
	}
	var out []float64
	for i := 0; i < len(xy); {
		j, lo, hi := i, i, i
		for j+2 < len(xy) && math.Floor(xy[j+2]) == math.Floor(xy[i]) {
			j += 2
			if xy[j+1] < xy[lo+1] {
				lo = j
			}
			if xy[j+1] > xy[hi+1] {
				hi = j
			}
		}
		last := -1
		for _, k := range []int{i, min(lo, hi), max(lo, hi), j} {
			if k != last {
				out = append(out, xy[k], xy[k+1])
				last = k
			}
		}
		i = j + 2
	}
	return out
}

// describe adds to the description the range of each curve, the bands and the marks.
func (d *plotPicture) describe() said {
	var out []string
	if d.Desc != "" {
		out = append(out, strings.TrimRight(d.Desc, ". ")+".")
	}
	for _, s := range d.Series {
		one := Plot{Series: []Series{s}}
		x, y := one.extent(func(s Series) []float64 { return s.X }), one.extent(func(s Series) []float64 { return s.Y })
		name := s.Name
		if name == "" {
			name = d.Y.Label
		}
		out = append(out, name+": from "+d.sys.Show(y[0], d.Y.Dim)+" to "+d.sys.Show(y[1], d.Y.Dim)+" over "+
			d.X.Label+" "+d.sys.Show(x[0], d.X.Dim)+" to "+d.sys.Show(x[1], d.X.Dim)+".")
	}
	for _, k := range d.Bands {
		out = append(out, "Area: "+k.Name+".")
	}
	for i, m := range d.Marks {
		if i == 12 {
			out = append(out, fmt.Sprintf("And %d marks more.", len(d.Marks)-i))
			break
		}
		out = append(out, m.Word+" at "+d.sys.Show(m.X, d.X.Dim)+".")
	}
	return d.sentences(out...)
}
