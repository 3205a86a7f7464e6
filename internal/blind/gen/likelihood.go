package gen

import (
	"math"

	"github.com/evenstroke/evenstroke/pump"
)

// weigh returns the likelihood of the readings for one prediction: each right with 1 − wrong, else anywhere.
func (s *Setup) weigh(pred []float32, readings []Reading) float64 {
	l, k, n := 1.0, 0, 0
	for i := range s.items {
		it := &s.items[i]
		f := pred[k : k+it.width()]
		k += it.width()
		if n >= len(readings) || readings[n].Item != i { // a sign that was not noticed
			l *= 1 - float64(f[0])
			continue
		}
		rd := &readings[n]
		n++
		if it.kind == doSign {
			l *= float64(f[0])
			continue
		}
		right, wrong := s.density(it, rd, f)
		if l *= (1-s.Prior.Wrong)*right + s.Prior.Wrong*wrong; l == 0 {
			return 0
		}
	}
	return l
}

func (s *Setup) density(it *item, rd *Reading, f []float32) (right, wrong float64) {
	switch it.kind {
	case doCreep, doStill:
		return s.densityMark(it, rd, float64(f[0]), float64(f[1]))
	case doChangeover:
		return s.densityChange(it, rd, f)
	case doWatch:
		q := s.corrected(it, rd, float64(f[0]), float64(f[1]))
		turn := math.Min(1, q*it.span/(s.r.area[it.stroke]*s.r.p.Stroke))
		if rd.Kind == "no_changeover" && rd.Stroke == it.stroke {
			if rd.Time > it.span {
				return 0, 1
			}
			return 1 - turn, 0.2
		}
		right, wrong = s.densityChange(it, rd, f[2:])
		return right * (0.001 + 0.999*turn), wrong * 0.5
	case doDrips:
		return s.densityDrips(it, rd, f)
	case doLocked:
		return s.densityLocked(rd, f)
	case doRestart:
		if rd.Kind == "locked" {
			return s.densityLocked(rd, []float32{1, f[1]})
		}
		t := float64(f[0])
		if t >= it.span {
			return 0, 0.2 * amissDensity(rd.Time, t)
		}
		return normal(rd.Time, t, math.Hypot(handTime, 0.02*t)+s.round/3), amissDensity(rd.Time, t)
	default:
		return s.densityRun(it, rd, f)
	}
}

// corrected takes the flow from the nominal pressure to the one that was read.
func (s *Setup) corrected(it *item, rd *Reading, q, e float64) float64 {
	return q * math.Pow(rd.Pressure/s.nominal(it), e)
}

// pressureError is the relative sd of the flow from reading the gauge.
func (s *Setup) pressureError(rd *Reading, e float64) float64 {
	u := math.Hypot(s.Gauge.repeat(), s.Gauge.Resolution/math.Sqrt(12))
	return math.Hypot(e*u/rd.Pressure, 0.01)
}

// densityMark: a mark timed over a travel, its travel measured, or still.
func (s *Setup) densityMark(it *item, rd *Reading, q, e float64) (right, wrong float64) {
	d := rd.Stroke
	v := math.Max(1e-12, s.corrected(it, rd, q, e)/s.r.area[d])
	rel := s.pressureError(rd, e)
	switch {
	case rd.Kind == "still":
		right = 0.5 * math.Erfc((v*rd.Time-seen)/(math.Sqrt2*math.Hypot(handLength, rel*v*rd.Time)))
		return right, 0.3
	case rd.Measured:
		y := v * rd.Time
		sd := math.Sqrt(sq(handLength) + sq(s.ruler)/12 + sq(rel*y) + sq(v*handTime))
		return normal(rd.Travel, y, sd), amissDensity(rd.Travel, math.Max(y, 0.5*seen))
	}
	t := rd.Travel / v
	sd := math.Sqrt(sq(handTime) + sq(s.round)/12 + sq(handLength/v) + sq(rel*t))
	return normal(rd.Time, t, sd), amissDensity(rd.Time, math.Min(t, 3*it.span))
}

func (s *Setup) densityChange(it *item, rd *Reading, f []float32) (right, wrong float64) {
	q, e := float64(f[0]), float64(f[1])
	if rd.Kind != "changeover" {
		return s.densityMark(it, rd, q, e)
	}
	r := s.r
	flow := s.corrected(it, rd, q, e)
	whole := r.area[rd.Stroke]*r.p.Stroke - float64(f[2])
	t := math.Max(0.3, whole/flow+r.p.Drive.Changeover+0.5*float64(f[2])/(r.area[rd.Stroke]*r.p.Drive.FreeSpeed))
	sd := math.Sqrt(sq(handTime) + sq(s.round)/12 + sq(t*s.pressureError(rd, e)) + sq(0.02*t))
	return normal(rd.Time, t, sd), amissDensity(rd.Time, math.Min(t, 3*it.span))
}

func (s *Setup) densityDrips(it *item, rd *Reading, f []float32) (right, wrong float64) {
	q, e := float64(f[0]), float64(f[1])
	flow := s.corrected(it, rd, q, e)
	if rd.Kind == "caught" {
		v := flow * rd.Time
		sd := math.Sqrt(sq(0.3e-6) + sq(jugStep(rd.Volume))/12 + sq(v*math.Hypot(0.02, s.pressureError(rd, e))))
		return normal(rd.Volume, v, sd), amissDensity(rd.Volume, v)
	}
	mean := math.Max(1e-9, flow*rd.Time/0.05e-6)
	const shape = 20 // of the size of drops, which spreads by 1.25
	n := float64(rd.Count)
	a, _ := math.Lgamma(n + shape)
	b, _ := math.Lgamma(shape)
	c, _ := math.Lgamma(n + 1)
	right = math.Exp(a - b - c + n*math.Log(mean/(mean+shape)) - shape*math.Log1p(mean/shape))
	return right, amissDensity(n+0.5, mean+0.5)
}

// densityLocked: the readings share the unknown first pressure; it is taken out by least squares.
func (s *Setup) densityLocked(rd *Reading, f []float32) (right, wrong float64) {
	n := min(len(rd.Points), len(f))
	u := math.Hypot(s.Gauge.repeat(), s.Gauge.Resolution/math.Sqrt(12))
	var sd, rho [8]float64
	for k := range n {
		rho[k] = float64(f[k])
		sd[k] = u
		if k > 0 { // reading late or early, and one per cent of the fall for the coarse steps
			rate := (rho[k-1] - rho[k]) / (rd.Points[k][0] - rd.Points[k-1][0])
			sd[k] = math.Sqrt(u*u + sq(rd.Points[0][1]*rate*gaugeTime) + sq(0.01*rd.Points[0][1]*(1-rho[k])))
		}
	}
	right = curveDensity(rd.Points[:n], rho[:n], sd[:n], -1)
	p0 := rd.Points[0][1]
	wrong = 0.5 * math.Pow(1/p0, float64(n-1))
	for k := 1; k < n; k++ { // one of them misread
		wrong += 0.5 / float64(n-1) * curveDensity(rd.Points[:n], rho[:n], sd[:n], k) / p0
	}
	return right, wrong
}

// curveDensity is the density of the later readings given the first, without reading skip.
func curveDensity(pts [][2]float64, rho, sd []float64, skip int) float64 {
	var a, b float64
	for k := range pts {
		if k != skip {
			a += sq(rho[k] / sd[k])
			b += rho[k] * pts[k][1] / sq(sd[k])
		}
	}
	p, l := b/a, sd[0]*math.Sqrt(a)
	l = 1 / l
	for k := range pts {
		if k == skip {
			continue
		}
		l *= math.Exp(-0.5 * sq((pts[k][1]-rho[k]*p)/sd[k]))
		if k > 0 {
			l /= sd[k] * math.Sqrt(2*math.Pi)
		}
	}
	return l
}

// densityRun finds the gun's flow g from the time of the run, n Σ (D_d/(g_d + Q_d) + changeover) = T, and compares what the gun
// then gave, or the stroke times, with the readings. The gun may be open wide or little: the density of g is that of a lognormal
// too wide to matter, and the change of variables |d ln g/dT| is kept.
func (s *Setup) densityRun(it *item, rd *Reading, f []float32) (right, wrong float64) {
	g, t, slope := s.gun(it, rd, f)
	up, down := t[0], t[1]
	off := (float64(it.cycles)*(up+down) - rd.Time) / math.Hypot(handTime, 0.03*rd.Time) // leaks alone may be too fast for any gun
	jac := math.Exp(-0.5*off*off) / math.Max(slope, 0.02*rd.Time)
	if it.strokes {
		n := math.Sqrt(float64(it.cycles))
		a := normal(rd.Up, up, math.Sqrt(sq(handTime/n)+sq(0.03)+sq(0.025*up)))
		b := normal(rd.Down, down, math.Sqrt(sq(handTime/n)+sq(0.03)+sq(0.025*down)))
		return jac * a * b, jac * (0.5*a*amissDensity(rd.Down, down) + 0.5*b*amissDensity(rd.Up, up))
	}
	n := float64(it.cycles)
	v := n * g * (up + float64(f[4])*down)
	late := g * math.Hypot(handTime, s.round/3) // started or stopped too late
	sd := math.Sqrt(sq(jugShare*v) + sq(jugStep(rd.Volume))/12 + sq(0.01*v) + sq(late))
	return jac * normal(rd.Volume, v, sd), jac * amissDensity(rd.Volume, v)
}

// gun returns the flow of the gun on the upstroke that fits the time of the run, the two stroke times, and −dT/d ln g.
func (s *Setup) gun(it *item, rd *Reading, f []float32) (g float64, t [2]float64, slope float64) {
	var dwell float64
	if s.r.p.Drive.Kind == pump.ForceHeld {
		dwell = s.r.p.Drive.Changeover
	}
	cycle := rd.Time / float64(it.cycles)
	lo, hi := math.Log(1e-8), math.Log(1e-2)
	for range 26 {
		mid := (lo + hi) / 2
		g = math.Exp(mid)
		g2 := g * float64(f[4])
		t[0], t[1] = dwell+float64(f[0])/(g+float64(f[2])), dwell+float64(f[1])/(g2+float64(f[3]))
		slope = float64(it.cycles) * (g*float64(f[0])/sq(g+float64(f[2])) + g2*float64(f[1])/sq(g2+float64(f[3])))
		if t[0]+t[1] > cycle {
			lo = mid
		} else {
			hi = mid
		}
	}
	return g, t, slope
}

// amissDensity is the density of a number got wrong when x was due: seven in ten within a factor of ten, the others anywhere
// within two decades each way.
func amissDensity(x, due float64) float64 {
	x, due = math.Max(x, 1e-12), math.Max(due, 1e-12)
	l := math.Abs(math.Log(x / due))
	var d float64
	if l < math.Ln10 {
		d += 0.7 / (2 * math.Ln10)
	}
	if l < 2*math.Ln10 {
		d += 0.3 / (4 * math.Ln10)
	}
	return (d + 1e-4) / x
}

func normal(x, mean, sd float64) float64 {
	z := (x - mean) / sd
	return math.Exp(-0.5*z*z) / (sd * math.Sqrt(2*math.Pi))
}

func sq(x float64) float64 { return x * x }
