package hold

import (
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/pump"
)

// netFor prepares a network of a pump with constant compliances.
func netFor(t *testing.T, p *pump.Pump, stroke pump.Dir, seconds float64) (*bench, lockedHold) {
	t.Helper()
	b, err := newBench(p, bench4(), DefaultPrior())
	if err != nil {
		t.Fatal(err)
	}
	pts := []Point{{0, 20e6}}
	for k := 1; k <= 12; k++ {
		pts = append(pts, Point{seconds * float64(k) / 12, 10e6})
	}
	h := b.net.prepare(Reading{Stroke: stroke}, pts, 0)
	h.visc = 1
	return b, h
}

func (b *bench) leak(name string, q float64, f form) leakOf {
	for j, p := range b.paths {
		if p.Name == name {
			return leakOf{q, f, 1, b.net.from[j], b.net.to[j]}
		}
	}
	panic(name)
}

// A laminar leak to the outside empties the line exponentially, p = p0 exp(−G t/C); an open seat follows the square-root law,
// p = (√p0 − k t/2C)² with Q = k √p. Analytic.
func TestLockedHoldAgainstClosedForms(t *testing.T) {
	p := differential()
	for _, f := range []form{laminar, orifice} {
		b, h := netFor(t, p, pump.Up, 40)
		c := h.comp[0]
		q := 0.4e-6 / 60 * 20 // m³/s at rated
		press := make([]float64, len(h.at))
		b.net.simulate(&h, b.net.pressed[strokeIndex(pump.Up)], []leakOf{b.leak("drain valve", q, f)}, p.Limits.Rated, 20e6, 1, press)
		for k := 1; k < len(press); k++ {
			tk := 40 * float64(k) / 12
			want := 20e6 * math.Exp(-q/p.Limits.Rated/c*tk)
			if f == orifice {
				want = sq(math.Max(0, math.Sqrt(20e6)-q/math.Sqrt(p.Limits.Rated)*tk/(2*c)))
			}
			if math.Abs(press[k]-want) > 0.012*20e6 {
				t.Errorf("form %d at %.0f s: %.4g Pa, closed form %.4g", f, tk, press[k], want)
			}
		}
	}
}

// A locked hold hides a leaking piston seal when the inlet valve is tight: the closed lower chamber fills until both are at
// (C_u p0)/(C_u + C_l), and there the pressure stays. Analytic: conservation of volume.
func TestLockedHoldHidesAPistonLeak(t *testing.T) {
	p := differential()
	b, h := netFor(t, p, pump.Up, 120)
	press := make([]float64, len(h.at))
	b.net.simulate(&h, b.net.pressed[0], []leakOf{b.leak("piston packing", 2e-6, laminar)}, p.Limits.Rated, 20e6, 1, press)
	want := 20e6 * h.comp[0] / (h.comp[0] + h.comp[1])
	last, before := press[len(press)-1], press[len(press)-2]
	if math.Abs(last/want-1) > 1e-3 || math.Abs(last-before) > 1e3 {
		t.Errorf("the pressure ends at %.5g Pa (before %.5g), want to stay at %.5g", last, before, want)
	}
	h.vented = true
	b.net.simulate(&h, b.net.pressed[0], []leakOf{b.leak("piston packing", 2e-6, laminar)}, p.Limits.Rated, 20e6, 1, press)
	if press[len(press)-1] > 0.3*20e6 {
		t.Errorf("with the lower chamber vented the leak must show; the pressure stays at %.4g Pa", press[len(press)-1])
	}
}

// A lone inlet leak hides behind a tight piston after an upstroke, and shows after a downstroke.
func TestLockedHoldAndTheInlet(t *testing.T) {
	p := differential()
	b, h := netFor(t, p, pump.Up, 60)
	press := make([]float64, len(h.at))
	leak := []leakOf{b.leak("inlet valve", 2e-6, laminar)}
	b.net.simulate(&h, b.net.pressed[0], leak, p.Limits.Rated, 20e6, 1, press)
	if press[len(press)-1] != 20e6 {
		t.Errorf("after an upstroke the pressure falls to %g Pa behind a tight piston", press[len(press)-1])
	}
	b.net.simulate(&h, b.net.pressed[1], leak, p.Limits.Rated, 20e6, 1, press)
	if press[len(press)-1] != 20e6 {
		// the lower chamber empties through the inlet; the piston valve keeps the line
		t.Errorf("after a downstroke the piston valve must keep the line, it falls to %g Pa", press[len(press)-1])
	}
}

// Leaks of sound paths empty a locked line: mean and spread of soundLoss against Q t/C for a known line.
func TestSoundLeaksInALockedHold(t *testing.T) {
	p, s := cranked(), bench4()
	s.Readings = []Reading{lockedReading(pump.Up, 20e6, 19.8e6, 19.6e6)}
	b, err := newBench(p, s, DefaultPrior())
	if err != nil {
		t.Fatal(err)
	}
	h := &b.net.holds[0]
	d := &draw{x: []float64{0}}
	lost, sd := newSampler(b, nil).soundLoss(h, nil, d)
	lost, sd = lost*20e6*40, sd*20e6*40 // at the second point
	var mean, square float64
	for j, q := range b.paths {
		if q.Visible { // throat, drain, outside
			m, sd := momentsOfSound(b.prior.Sound.absolute(b.limit), b.prior.Sound.Spread, b.out[j])
			mean += m
			square += sd * sd
		}
	}
	per := (20e6 / p.Limits.Rated) * 40 / h.comp[0]
	if want := mean * per; math.Abs(lost/want-1) > 1e-6 {
		t.Errorf("sound leaks take %.5g Pa, want %.5g", lost, want)
	}
	if want := math.Sqrt(square) * per; math.Abs(sd/want-1) > 1e-6 {
		t.Errorf("with a spread of %.5g Pa, want %.5g", sd, want)
	}
}

// A locked line from which sound paths take a certain pressure: that fall is likelier than a rise by as much.
func TestSoundLeaksLowerALockedHold(t *testing.T) {
	var like [2]float64
	for i, sign := range []float64{-1, 1} {
		p, s := cranked(), bench4()
		s.Readings = []Reading{lockedReading(pump.Up, 20e6, 20e6+sign*0.4e6)}
		pr := DefaultPrior()
		b, err := newBench(p, s, pr)
		if err != nil {
			t.Fatal(err)
		}
		d := &draw{x: []float64{0}}
		sm := newSampler(b, nil)
		lost, _ := sm.soundLoss(&b.net.holds[0], nil, d)
		for j := range b.sound {
			more := 0.4e6 / (lost * 20e6 * b.net.holds[0].since[1])
			b.sound[j].mean *= more
			b.sound[j].sd = 0
		}
		like[i] = sm.likelihood(nil, d)
	}
	if like[0] < 2*like[1] {
		t.Errorf("a fall has the likelihood %.3g, a rise %.3g", like[0], like[1])
	}
}
