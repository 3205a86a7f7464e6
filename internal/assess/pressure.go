package assess

import (
	"math"
	"strconv"

	"github.com/evenstroke/evenstroke/pump"
)

// gaugeValue is a pressure that was typed at a time of a watch.
type gaugeValue struct {
	t, p, u float64 // s, Pa, Pa; u is 0 when nothing was said
	text    string
	by      *press
}

// pressures returns what was typed during strokes of a direction, in the order of time, and whether it had to be carried over
// from the other stroke.
func (m *maker) pressures(w *watch, all []*stretch, d pump.Dir) (vs []gaugeValue, carried bool) {
	var own, other []gaugeValue
	for _, q := range w.presses {
		if !q.hasP || q.pressure.SI <= 0 {
			continue
		}
		v := gaugeValue{t: q.t, p: q.pressure.SI, text: q.Pressed.Pressure, by: q}
		if q.pressure.HasU {
			v.u = q.pressure.U
		}
		if at := strokeAt(all, q); at == 0 || at == d {
			own = append(own, v)
		} else {
			other = append(other, v)
		}
	}
	if len(own) > 0 || len(other) == 0 {
		return own, false
	}
	ratio := m.stallRatio(d)
	if math.Abs(ratio-1) <= evenStall {
		return other, false
	}
	for i := range other {
		other[i].u = math.Hypot(m.gaugeError(other[i]), math.Abs(ratio-1)*other[i].p/math.Sqrt(12))
		other[i].p *= ratio
	}
	return other, true
}

// evenStall is the relative difference of the two stall pressures below which they are taken to be the same: less than a gauge
// tells (the best common class of EN 837-1 is 1.0).
const evenStall = 0.01

// stallRatio is the stall pressure of a stroke over that of the other one at the same setting of the drive:
//
//	p(d)/p(−d) = (F(d)/A(d)) / (F(−d)/A(−d))
func (m *maker) stallRatio(d pump.Dir) float64 {
	force := map[pump.Dir]float64{pump.Up: m.p.Drive.ForceUp, pump.Down: m.p.Drive.ForceDown}
	r := force[d] / m.creep[d] / (force[-d] / m.creep[-d])
	if !(r > 0) || math.IsInf(r, 0) {
		return 1
	}
	return r
}

// strokeAt is the stroke on which a press lies, 0 when not known; a press at a changeover lies on the stroke that begins there.
func strokeAt(all []*stretch, q *press) pump.Dir {
	for i := len(all) - 1; i >= 0; i-- {
		if s := all[i]; q == s.from || q.t > s.a || i == 0 {
			if s.bad != "" && s.from.Press == "start" {
				return dirOf(s.from.Stroke)
			}
			return s.dir
		}
	}
	return 0
}

// over returns the pressure of a reading from a to b as text, and the presses that it rests on; ok is false when none was typed.
func (m *maker) over(vs []gaugeValue, carried bool, a, b float64) (text string, by []*press, ok bool) {
	vs = around(vs, a, b)
	if len(vs) == 0 {
		return "", nil, false
	}
	same := !carried
	u := 0.0
	for _, v := range vs {
		by = append(by, v.by)
		same = same && v.p == vs[0].p
		u = math.Max(u, m.gaugeError(v))
	}
	if same {
		return vs[0].text, by, true
	}
	mean, lo, hi := meanOver(vs, a, b)
	return bars(mean) + " ± " + bars(math.Hypot(u, (hi-lo)/math.Sqrt(12))), by, true
}

// around keeps the values within [a, b] and the nearest one on either side.
func around(vs []gaugeValue, a, b float64) []gaugeValue {
	from, to := 0, len(vs)
	for i, v := range vs {
		if v.t <= a {
			from = i
		}
		if v.t >= b {
			to = i + 1
			break
		}
	}
	return vs[from:to]
}

// meanOver is the mean and the range over [a, b] of values joined by straight lines, constant outside.
func meanOver(vs []gaugeValue, a, b float64) (mean, lo, hi float64) {
	at := func(t float64) float64 {
		for i, v := range vs {
			if t <= v.t {
				if i == 0 || v.t == vs[i-1].t {
					return v.p
				}
				w := (t - vs[i-1].t) / (v.t - vs[i-1].t)
				return (1-w)*vs[i-1].p + w*v.p
			}
		}
		return vs[len(vs)-1].p
	}
	t, p := a, at(a)
	lo, hi = p, p
	var sum float64
	step := func(t1, p1 float64) {
		sum += (t1 - t) * (p + p1) / 2
		t, p = t1, p1
		lo, hi = math.Min(lo, p1), math.Max(hi, p1)
	}
	for _, v := range vs {
		if v.t > a && v.t < b {
			step(v.t, v.p)
		}
	}
	step(b, at(b))
	return sum / (b - a), lo, hi
}

// gaugeError is the standard uncertainty [Pa] of one value: what was said with it, else the class of the gauge as a rectangular
// limit of error of its range (of one and a half times the value when none is given), with its resolution.
func (m *maker) gaugeError(v gaugeValue) float64 {
	if v.u > 0 {
		return v.u
	}
	g := m.bench.Gauge
	span := g.Range
	if span == 0 {
		span = 1.5 * v.p
	}
	return math.Hypot(g.Class*span/math.Sqrt(3), g.Resolution/math.Sqrt(12))
}

func bars(pa float64) string   { return digits(pa/1e5) + " bar" }
func metres(m float64) string  { return digits(m*1e3) + " mm" }
func seconds(s float64) string { return strconv.FormatFloat(ms(s), 'f', -1, 64) + " s" }

// ms rounds to a thousandth of a second, which is what a watch tells.
func ms(s float64) float64 { return math.Round(s*1000) / 1000 }

// digits writes seven significant digits without an exponent.
func digits(x float64) string {
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', 6, 64), 64)
	if err != nil { // FormatFloat writes what ParseFloat reads
		return "0"
	}
	return strconv.FormatFloat(y, 'f', -1, 64)
}
