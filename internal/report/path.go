package report

import (
	"math"
	"strconv"
	"strings"
)

// segment is one piece of an outline with absolute coordinates: 'M' and 'L' with one point, 'C' with three, 'Z' with none.
type segment struct {
	op byte
	p  [6]float64
}

// pathError says what is wrong with path data.
type pathError struct{ what string }

func (e *pathError) Error() string { return "path data: " + e.what }

const maxSegments = 100_000

// parsePath reads the path data of SVG 1.1, chapter 8.3 (M L H V C S Q T A Z, absolute and relative) and turns every curve into
// cubic ones. Numbers must be finite and under a million.
func parsePath(d string) ([]segment, error) {
	r := pathReader{s: d}
	for {
		cmd, ok := r.command()
		if !ok {
			break
		}
		if err := r.run(cmd); err != nil {
			return nil, err
		}
		if len(r.out) > maxSegments {
			return nil, &pathError{"found more than 100000 pieces"}
		}
	}
	if r.i < len(r.s) {
		return nil, &pathError{"found " + strconv.Quote(r.s[r.i:min(len(r.s), r.i+12)]) + "; expected a command"}
	}
	return r.out, nil
}

type pathReader struct {
	s      string
	i      int
	out    []segment
	x, y   float64 // current point
	sx, sy float64 // start of the part
	cx, cy float64 // last control point, of a cubic or a quadratic curve
	last   byte    // last command in capitals
}

func (r *pathReader) space() {
	for r.i < len(r.s) && strings.IndexByte(" \t\r\n,", r.s[r.i]) >= 0 {
		r.i++
	}
}

// command returns the next command letter.
func (r *pathReader) command() (byte, bool) {
	r.space()
	if r.i >= len(r.s) || strings.IndexByte("MmLlHhVvCcSsQqTtAaZz", r.s[r.i]) < 0 {
		return 0, false
	}
	r.i++
	return r.s[r.i-1], true
}

// more says whether a number follows.
func (r *pathReader) more() bool {
	r.space()
	return r.i < len(r.s) && strings.IndexByte("+-.0123456789", r.s[r.i]) >= 0
}

func (r *pathReader) number() (float64, error) {
	r.space()
	from := r.i
	digits := func() {
		for r.i < len(r.s) && r.s[r.i] >= '0' && r.s[r.i] <= '9' {
			r.i++
		}
	}
	if r.i < len(r.s) && (r.s[r.i] == '+' || r.s[r.i] == '-') {
		r.i++
	}
	digits()
	if r.i < len(r.s) && r.s[r.i] == '.' {
		r.i++
		digits()
	}
	if r.i < len(r.s) && (r.s[r.i] == 'e' || r.s[r.i] == 'E') {
		r.i++
		if r.i < len(r.s) && (r.s[r.i] == '+' || r.s[r.i] == '-') {
			r.i++
		}
		digits()
	}
	v, err := strconv.ParseFloat(r.s[from:r.i], 64)
	if err != nil || math.Abs(v) > 1e6 {
		return 0, &pathError{"found " + strconv.Quote(r.s[from:min(len(r.s), from+12)]) + "; expected a number under a million"}
	}
	return v, nil
}

// flag reads one digit 0 or 1 of an arc.
func (r *pathReader) flag() (float64, error) {
	r.space()
	if r.i < len(r.s) && (r.s[r.i] == '0' || r.s[r.i] == '1') {
		r.i++
		return float64(r.s[r.i-1] - '0'), nil
	}
	return 0, &pathError{"expected 0 or 1 in an arc"}
}

// counts of numbers after a command.
var pathArgs = map[byte]int{'M': 2, 'L': 2, 'H': 1, 'V': 1, 'C': 6, 'S': 4, 'Q': 4, 'T': 2, 'A': 7, 'Z': 0}

// run reads the numbers of a command, as often as they are repeated.
func (r *pathReader) run(cmd byte) error {
	up := cmd &^ 0x20
	if len(r.out) == 0 && up != 'M' {
		return &pathError{"expected M first"}
	}
	for first := true; first || up != 'Z' && r.more(); first = false {
		var a [7]float64
		for k := range pathArgs[up] {
			var err error
			if up == 'A' && (k == 3 || k == 4) {
				a[k], err = r.flag()
			} else {
				a[k], err = r.number()
			}
			if err != nil {
				return err
			}
		}
		if cmd != up {
			r.absolute(up, &a)
		}
		if up == 'M' && !first {
			r.step('L', a)
		} else {
			r.step(up, a)
		}
		if len(r.out) > maxSegments {
			return &pathError{"found more than 100000 pieces"}
		}
	}
	return nil
}

// absolute adds the current point to relative coordinates.
func (r *pathReader) absolute(up byte, a *[7]float64) {
	switch up {
	case 'V':
		a[0] += r.y
	case 'H':
		a[0] += r.x
	case 'A':
		a[5] += r.x
		a[6] += r.y
	default:
		for k := 0; k < pathArgs[up]; k += 2 {
			a[k] += r.x
			a[k+1] += r.y
		}
	}
}

// step adds one piece, given in absolute coordinates.
func (r *pathReader) step(up byte, a [7]float64) {
	switch up {
	case 'M':
		r.move(a[0], a[1])
	case 'L':
		r.line(a[0], a[1])
	case 'H':
		r.line(a[0], r.y)
	case 'V':
		r.line(r.x, a[0])
	case 'C':
		r.cubic(a[0], a[1], a[2], a[3], a[4], a[5])
	case 'S':
		x, y := r.mirror("CS")
		r.cubic(x, y, a[0], a[1], a[2], a[3])
	case 'Q':
		r.quadratic(a[0], a[1], a[2], a[3])
	case 'T':
		x, y := r.mirror("QT")
		r.quadratic(x, y, a[0], a[1])
	case 'A':
		r.arc(a)
	case 'Z':
		r.out = append(r.out, segment{op: 'Z'})
		r.x, r.y = r.sx, r.sy
	}
	r.last = up
}

// mirror is the last control point seen from the other side, if the last command was one of those named.
func (r *pathReader) mirror(after string) (x, y float64) {
	if strings.IndexByte(after, r.last) < 0 || r.last == 0 {
		return r.x, r.y
	}
	return 2*r.x - r.cx, 2*r.y - r.cy
}

func (r *pathReader) move(x, y float64) {
	r.out = append(r.out, segment{op: 'M', p: [6]float64{x, y}})
	r.x, r.y, r.sx, r.sy = x, y, x, y
}

func (r *pathReader) line(x, y float64) {
	r.out = append(r.out, segment{op: 'L', p: [6]float64{x, y}})
	r.x, r.y = x, y
}

func (r *pathReader) cubic(x1, y1, x2, y2, x, y float64) {
	r.out = append(r.out, segment{op: 'C', p: [6]float64{x1, y1, x2, y2, x, y}})
	r.x, r.y, r.cx, r.cy = x, y, x2, y2
}

// quadratic raises the degree of the curve: control points at 2/3 of the way to its own.
func (r *pathReader) quadratic(qx, qy, x, y float64) {
	r.cubic(r.x+2*(qx-r.x)/3, r.y+2*(qy-r.y)/3, x+2*(qx-x)/3, y+2*(qy-y)/3, x, y)
	r.cx, r.cy = qx, qy
}

// arc turns an elliptical arc into cubic curves of at most a quarter each. Source: SVG 1.1, appendix F.6.
func (r *pathReader) arc(a [7]float64) {
	rx, ry, x2, y2 := math.Abs(a[0]), math.Abs(a[1]), a[5], a[6]
	x1, y1 := r.x, r.y
	if rx == 0 || ry == 0 || x1 == x2 && y1 == y2 {
		r.line(x2, y2)
		return
	}
	sin, cos := math.Sincos(a[2] * math.Pi / 180)
	dx, dy := (x1-x2)/2, (y1-y2)/2
	px, py := cos*dx+sin*dy, -sin*dx+cos*dy
	if l := px*px/(rx*rx) + py*py/(ry*ry); l > 1 {
		rx, ry = rx*math.Sqrt(l), ry*math.Sqrt(l)
	}
	k := math.Sqrt(math.Max(0, (rx*rx*ry*ry-rx*rx*py*py-ry*ry*px*px)/(rx*rx*py*py+ry*ry*px*px)))
	if a[3] == a[4] {
		k = -k
	}
	qx, qy := k*rx*py/ry, -k*ry*px/rx
	cx, cy := cos*qx-sin*qy+(x1+x2)/2, sin*qx+cos*qy+(y1+y2)/2
	from := math.Atan2((py-qy)/ry, (px-qx)/rx)
	sweep := math.Atan2((-py-qy)/ry, (-px-qx)/rx) - from
	if a[4] == 0 && sweep > 0 {
		sweep -= 2 * math.Pi
	} else if a[4] == 1 && sweep < 0 {
		sweep += 2 * math.Pi
	}
	n := max(1, int(math.Ceil(math.Abs(sweep)/(math.Pi/2)-1e-9)))
	step := sweep / float64(n)
	t := 4.0 / 3 * math.Tan(step/4)
	at := func(u, v float64) (float64, float64) { return cx + cos*rx*u - sin*ry*v, cy + sin*rx*u + cos*ry*v }
	for i := range n {
		s0, c0 := math.Sincos(from + float64(i)*step)
		s1, c1 := math.Sincos(from + float64(i+1)*step)
		ax, ay := at(c0-t*s0, s0+t*c0)
		bx, by := at(c1+t*s1, s1-t*c1)
		ex, ey := at(c1, s1)
		r.cubic(ax, ay, bx, by, ex, ey)
	}
}

// bounds returns the box of all points and control points; ok is false when there are none.
func bounds(segs []segment) (x0, y0, x1, y1 float64, ok bool) {
	x0, y0, x1, y1 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, s := range segs {
		n := map[byte]int{'M': 2, 'L': 2, 'C': 6}[s.op]
		for k := 0; k < n; k += 2 {
			x0, x1 = math.Min(x0, s.p[k]), math.Max(x1, s.p[k])
			y0, y1 = math.Min(y0, s.p[k+1]), math.Max(y1, s.p[k+1])
			ok = true
		}
	}
	return x0, y0, x1, y1, ok
}

// pathData writes pieces as path data.
func pathData(segs []segment) string {
	var b strings.Builder
	for _, s := range segs {
		b.WriteByte(s.op)
		n := map[byte]int{'M': 2, 'L': 2, 'C': 6}[s.op]
		for k := range n {
			if k > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(strconv.FormatFloat(math.Round(s.p[k]*1000)/1000+0, 'f', -1, 64))
		}
	}
	return b.String()
}
