package ode

import (
	"errors"
	"math"
	"slices"
	"testing"
)

// ball falls and bounces with the coefficient of restitution e.
type ball struct {
	g, e  float64
	times []float64
	tops  []float64 // heights reached, from the speed after each bounce
}

func (*ball) Dim() int                           { return 2 }
func (b *ball) Deriv(_ float64, y, dy []float64) { dy[0], dy[1] = y[1], -b.g }
func (*ball) Jac(_ float64, _, jac []float64)    { jac[1] = 1 }
func (*ball) NumEvents() int                     { return 1 }
func (*ball) Events(_ float64, y, g []float64)   { g[0] = y[0] }
func (*ball) Direction(int) int                  { return -1 }
func (b *ball) Handle(_ int, t float64, y []float64) Action {
	b.times = append(b.times, t)
	y[0], y[1] = 0, -b.e*y[1]
	b.tops = append(b.tops, y[1]*y[1]/(2*b.g))
	return Restart
}

// Bounces by the closed form: t1 = √(2h/g), t_n = t1·(1 + 2Σ_{k<n} e^k), apex
// h·e^{2k}; the times pile up at t1·(1+e)/(1-e), which must end in a
// *ZenoError, however fast they pile up.
func TestBouncingBall(t *testing.T) {
	for _, c := range []struct{ g, h, e float64 }{
		{9.81, 1, 0.8}, {9.80665, 10, 0.9}, {9.81, 1, 0.5}, {9.81, 1, 0.2}, {9.81, 1, 0.02}, {1.62, 0.01, 0.99},
	} {
		b := &ball{g: c.g, e: c.e}
		t1 := math.Sqrt(2 * c.h / c.g)
		limit := t1 * (1 + c.e) / (1 - c.e)
		s := mustNew(t, b, Options{Autonomous: true, MaxStep: t1 / 8})
		st, err := s.Run(0, []float64{c.h, 0}, 2*limit, nil)
		var zeno *ZenoError
		if !errors.As(err, &zeno) || zeno.Event != 0 {
			t.Fatalf("e=%g: error %v, want *ZenoError", c.e, err)
		}
		// Six bounces within 1e-10 of the run leave this much to the limit.
		if d := math.Abs(st.T - limit); d > 2e-10*limit/(1-c.e) {
			t.Errorf("e=%g: bounces end at %.12f, want %.12f", c.e, st.T, limit)
		}
		want, flight, apex := t1, 2*t1*c.e, c.h*c.e*c.e
		for k, got := range b.times {
			if math.Abs(got-want) > 1e-11*want {
				t.Fatalf("e=%g: bounce %d at %.15f, want %.15f", c.e, k+1, got, want)
			}
			// Later the height drowns in the round-off of the time of the bounce.
			if apex > 1e-8*c.h && math.Abs(b.tops[k]-apex) > 1e-8*apex {
				t.Fatalf("e=%g: apex %d is %g, want %g", c.e, k+1, b.tops[k], apex)
			}
			want += flight
			flight *= c.e
			apex *= c.e * c.e
		}
		if len(b.times) < 8 || st.Events != len(b.times) {
			t.Errorf("e=%g: %d bounces, %d counted", c.e, len(b.times), st.Events)
		}
	}
}

// Thrown up from the floor in one long step: the switching function starts at
// zero, leaves it and is back at 2v/g before anybody looks again.
func TestThrownFromFloor(t *testing.T) {
	b := &ball{g: 9.81, e: 0.5}
	s := mustNew(t, b, Options{Autonomous: true, FirstStep: 1, EventSamples: -1})
	const v = 1.5
	if _, err := s.Run(0, []float64{0, v}, 0.4, nil); err != nil {
		t.Fatal(err)
	}
	if want := 2 * v / 9.81; len(b.times) != 1 || math.Abs(b.times[0]-want) > 1e-12 {
		t.Errorf("bounces at %v, want %v", b.times, want)
	}
}

// watch is a system with switching functions and handlers given as functions.
type watch struct {
	System
	n      int
	g      func(t float64, y, g []float64)
	dir    func(i int) int
	handle func(i int, t float64, y []float64) Action
}

func (w *watch) NumEvents() int                              { return w.n }
func (w *watch) Events(t float64, y, g []float64)            { w.g(t, y, g) }
func (w *watch) Direction(i int) int                         { return w.dir(i) }
func (w *watch) Handle(i int, t float64, y []float64) Action { return w.handle(i, t, y) }

func anyWay(int) int { return 0 }

// oscillator is y” = -y: y = sin t, y' = cos t from (0, 1).
type oscillator struct{}

func (oscillator) Dim() int                         { return 2 }
func (oscillator) Deriv(_ float64, y, dy []float64) { dy[0], dy[1] = y[1], -y[0] }
func (oscillator) Jac(_ float64, _, jac []float64)  { jac[1], jac[2] = 1, -1 }

// Zeros of sin t at kπ: the error of the event times follows the tolerance,
// and every zero is found once, also by its direction only.
func TestZerosOfSine(t *testing.T) {
	for _, act := range []Action{Continue, Restart, Reguess} {
		last := math.Inf(1)
		for _, tol := range []float64{1e-4, 1e-6, 1e-8, 1e-10} {
			var times []float64
			w := &watch{System: oscillator{}, n: 3,
				g:   func(_ float64, y, g []float64) { g[0], g[1], g[2] = y[0], 2*y[0], -y[0] },
				dir: func(i int) int { return []int{0, 1, 1}[i] },
				handle: func(i int, tm float64, _ []float64) Action {
					if i == 0 {
						times = append(times, tm)
						return act
					}
					k := len(times)
					if times[k-1] != tm || (i == 1) != (k%2 == 0) {
						t.Errorf("event %d at %g, zero %d at %g", i, tm, k, times[k-1])
					}
					return act
				}}
			s := mustNew(t, w, Options{RelTol: tol, AbsTol: []float64{tol}, Autonomous: true})
			if _, err := s.Run(0, []float64{0, 1}, 32, nil); err != nil {
				t.Fatal(err)
			}
			if len(times) != 10 {
				t.Fatalf("action %d tol %g: %d zeros, want 10", act, tol, len(times))
			}
			var worst float64
			for k, tm := range times {
				worst = math.Max(worst, math.Abs(tm-float64(k+1)*math.Pi))
			}
			// Ten half-periods, the error of a period being some tolerances.
			if worst > 30*tol || worst > last/10 {
				t.Errorf("action %d tol %g: worst time off by %g (before %g)", act, tol, worst, last)
			}
			last = worst
		}
	}
}

// A stiff problem: exp(-t) = 1/2 at ln 2, exp(-2t) = 0.3 at ln(1/0.3)/2.
func TestEventInStiffProblem(t *testing.T) {
	for _, tol := range []float64{1e-4, 1e-7, 1e-10} {
		var at [2]float64
		w := &watch{System: kaps{1e-7}, n: 2,
			g:      func(_ float64, y, g []float64) { g[0], g[1] = y[1]-0.5, y[0]-0.3 },
			dir:    func(int) int { return -1 },
			handle: func(i int, tm float64, _ []float64) Action { at[i] = tm; return Restart }}
		s := mustNew(t, w, Options{RelTol: tol, AbsTol: []float64{tol}, Autonomous: true})
		st, err := s.Run(0, []float64{1, 1}, 2, nil)
		if err != nil || st.Events != 2 {
			t.Fatal(err, st.Events)
		}
		for i, want := range []float64{math.Ln2, -0.5 * math.Log(0.3)} {
			// The second state follows the first stiffly: the integrator takes
			// such long steps that the order 4 of the interpolant shows.
			if e := math.Abs(at[i] - want); !(e < []float64{5, 50}[i]*tol) {
				t.Errorf("tol %g: event %d off by %g", tol, i, e)
			}
		}
	}
}

// relay charges towards 1 until hi and discharges towards 0 until lo. From
// 0.2 to 0.8 and back each stretch lasts τ·ln 4, the first τ·ln 5, exactly.
type relay struct {
	tau, lo, hi float64
	up          bool
	at          []float64
}

func (*relay) Dim() int { return 1 }
func (r *relay) Deriv(_ float64, y, dy []float64) {
	dy[0] = -y[0] / r.tau
	if r.up {
		dy[0] = (1 - y[0]) / r.tau
	}
}
func (*relay) NumEvents() int { return 1 }
func (r *relay) Events(_ float64, y, g []float64) {
	g[0] = r.lo - y[0]
	if r.up {
		g[0] = y[0] - r.hi
	}
}
func (*relay) Direction(int) int { return 1 }
func (r *relay) Handle(_ int, t float64, _ []float64) Action {
	r.up = !r.up
	r.at = append(r.at, t)
	return Restart
}

func TestRelay(t *testing.T) {
	r := &relay{tau: 1e-3, lo: 0.2, hi: 0.8, up: true}
	s := mustNew(t, r, Options{RelTol: 1e-6, AbsTol: []float64{1e-6}, Autonomous: true})
	st, err := s.Run(0, []float64{0}, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	n := 1 + int((1-r.tau*math.Log(5))/(r.tau*math.Log(4)))
	if len(r.at) != n {
		t.Fatalf("%d switchings, want %d", len(r.at), n)
	}
	for k, got := range r.at {
		want := r.tau * (math.Log(5) + float64(k)*math.Log(4))
		if math.Abs(got-want) > float64(k+1)*r.tau*1e-5 {
			t.Fatalf("switching %d at %.12f, want %.12f", k, got, want)
		}
	}
	// A one-step method needs only a few steps for each smooth stretch.
	if perEvent := float64(st.Steps+st.Rejected) / float64(n); perEvent > 7 {
		t.Errorf("%.1f steps between events", perEvent)
	}
}

// still does not move: y' = 0, so that steps are as long as allowed.
type still struct{}

func (still) Dim() int                         { return 1 }
func (still) Deriv(_ float64, _, dy []float64) { dy[0] = 0 }

// The blind spot: two passages between neighbouring points at which the
// functions are looked at. Samples inside the step or MaxStep narrow it.
func TestBlindSpot(t *testing.T) {
	for _, c := range []struct {
		width   float64 // of the dip about t = 0.35
		samples int
		max     float64
		want    int
	}{
		{0.3, -1, 0, 0}, {0.3, 4, 0, 2}, {0.3, -1, 0.2, 2}, {0.02, 4, 0, 0}, {0.02, 4, 0.1, 2}, {0.02, -1, 0.02, 2},
	} {
		w := &watch{System: still{}, n: 1, dir: anyWay,
			g:      func(tm float64, _, g []float64) { g[0] = math.Abs(tm-0.35) - c.width/2 },
			handle: func(int, float64, []float64) Action { return Continue }}
		s := mustNew(t, w, Options{EventSamples: c.samples, MaxStep: c.max, FirstStep: 1})
		st, err := s.Run(0, []float64{1}, 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		if st.Events != c.want {
			t.Errorf("%+v: %d events", c, st.Events)
		}
	}
}

// Functions that become zero together but for round-off are one event,
// handled in the order of the index; the strongest action wins.
func TestSimultaneous(t *testing.T) {
	var order []int
	w := &watch{System: oscillator{}, n: 4, dir: anyWay,
		g: func(_ float64, y, g []float64) {
			g[3] = y[0] - 0.5
			g[1] = y[0] - (0.5 + 2*eps) // later, by less than time can tell
			g[2] = y[0] - 2             // never
			g[0] = math.Sqrt(math.Abs(y[0])) - math.Sqrt(0.5)
		},
		handle: func(i int, _ float64, y []float64) Action {
			order = append(order, i)
			if i == 1 {
				return Stop
			}
			return Continue
		}}
	s := mustNew(t, w, Options{Autonomous: true})
	st, err := s.Run(0, []float64{0, 1}, 10, func(p *Step) error {
		if p.Fired != nil && !slices.Equal(p.Fired, []int{0, 1, 3}) {
			t.Errorf("fired %v", p.Fired)
		}
		return nil
	})
	if err != nil || !st.Stopped || st.Events != 3 {
		t.Errorf("%v, %+v", err, st)
	}
	if !slices.Equal(order, []int{0, 1, 3}) {
		t.Errorf("handled %v, want 0 1 3", order)
	}
	if d := math.Abs(st.T - math.Asin(0.5)); d > 1e-5 {
		t.Errorf("stopped at %g", st.T)
	}
}

// Stretches follow one another without gap, end at events, and can be
// interpolated; the state after Stop is the one of the handler.
func TestStretches(t *testing.T) {
	w := &watch{System: oscillator{}, n: 1, dir: anyWay,
		g: func(_ float64, y, g []float64) { g[0] = y[0] },
		handle: func(i int, tm float64, y []float64) Action {
			if tm > 9 {
				y[0], y[1] = 7, 8
				return Stop
			}
			return Continue
		}}
	s := mustNew(t, w, Options{Autonomous: true, RelTol: 1e-9, AbsTol: []float64{1e-9}})
	at, fired := 0.0, 0
	y := []float64{0, 1}
	got := make([]float64, 2)
	st, err := s.Run(0, y, 32, func(p *Step) error {
		if p.T0 != at || p.T1 <= p.T0 {
			t.Errorf("stretch %g…%g after %g", p.T0, p.T1, at)
		}
		at = p.T1
		fired += len(p.Fired)
		for _, tm := range []float64{p.T0, 0.5 * (p.T0 + p.T1), p.T1} {
			if err := p.Interp(tm, got); err != nil {
				return err
			}
			if d := math.Abs(got[0]-math.Sin(tm)) + math.Abs(got[1]-math.Cos(tm)); d > 1e-7 {
				t.Errorf("at %g off by %g", tm, d)
			}
		}
		if d := distance(p.Y, got); d > 1e-14 {
			t.Errorf("Y differs from the interpolant by %g", d)
		}
		return nil
	})
	if err != nil || fired != 3 || st.Events != 3 || !st.Stopped || y[0] != 7 || y[1] != 8 {
		t.Errorf("%v %d events, %+v, y %v", err, fired, st, y)
	}
	if math.Abs(st.T-3*math.Pi) > 1e-7 || st.T != at {
		t.Errorf("ended at %g", st.T)
	}
}
