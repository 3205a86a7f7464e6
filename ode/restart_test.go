package ode

import (
	"errors"
	"math"
	"testing"
)

// An event does not happen again where it starts: not at the start of a run,
// not after a handler that leaves the state as it is.
func TestNoSecondTrigger(t *testing.T) {
	for _, act := range []Action{Continue, Restart, Reguess} {
		for _, dir := range []int{-1, 0, 1} {
			var at []float64
			w := &watch{System: oscillator{}, n: 1,
				g:      func(_ float64, y, g []float64) { g[0] = y[0] },
				dir:    func(int) int { return dir },
				handle: func(_ int, tm float64, _ []float64) Action { at = append(at, tm); return act }}
			s := mustNew(t, w, Options{Autonomous: true})
			if _, err := s.Run(0, []float64{0, 1}, 20, nil); err != nil {
				t.Fatal(err)
			}
			want := map[int]int{-1: 3, 0: 6, 1: 3}[dir]
			if len(at) != want || math.Abs(at[0]-math.Pi) > 1e-4 && dir <= 0 {
				t.Errorf("action %d, direction %d: %v", act, dir, at)
			}
		}
	}
}

// A change of sign made by a handler is not an event.
func TestResetIsNoEvent(t *testing.T) {
	count := [2]int{}
	w := &watch{System: oscillator{}, n: 2, dir: anyWay,
		g: func(_ float64, y, g []float64) { g[0], g[1] = y[0]-0.5, y[1] },
		handle: func(i int, _ float64, y []float64) Action {
			count[i]++
			if i == 0 {
				y[0], y[1] = 0.9, -0.1
			}
			return Restart
		}}
	s := mustNew(t, w, Options{Autonomous: true})
	if _, err := s.Run(0, []float64{0, 1}, 0.8, nil); err != nil {
		t.Fatal(err)
	}
	if count != [2]int{1, 0} {
		t.Errorf("events %v, want 1 and 0", count)
	}
}

func TestEventFailures(t *testing.T) {
	base := func() *watch {
		return &watch{System: oscillator{}, n: 1, dir: anyWay,
			g:      func(_ float64, y, g []float64) { g[0] = y[0] - 0.5 },
			handle: func(int, float64, []float64) Action { return Restart }}
	}
	nan := base()
	nan.g = func(tm float64, y, g []float64) { g[0] = math.Log(0.5 - tm) }
	bad := base()
	bad.handle = func(_ int, _ float64, y []float64) Action { y[1] = math.NaN(); return Restart }
	start := base()
	start.g = func(_ float64, _, g []float64) { g[0] = math.Inf(1) }
	for want, w := range map[string]*watch{"Events": nan, "Handle": bad} {
		_, err := mustNew(t, w, Options{}).Run(0, []float64{0, 1}, 3, nil)
		var e *NaNError
		if !errors.As(err, &e) || e.Func != want || e.T < 0.5 || e.T > 3 {
			t.Errorf("%s: error %v", want, err)
		}
	}
	var e *NaNError
	if _, err := mustNew(t, start, Options{}).Run(0, []float64{0, 1}, 3, nil); !errors.As(err, &e) || e.T != 0 {
		t.Errorf("at the start: %v", err)
	}
}

// A relay with hardly any hysteresis chatters: a *ZenoError names it.
func TestChatter(t *testing.T) {
	r := &relay{tau: 1, lo: 0.5 - 1e-13, hi: 0.5 + 1e-13, up: true}
	st, err := mustNew(t, r, Options{}).Run(0, []float64{0}, 5, nil)
	var z *ZenoError
	if !errors.As(err, &z) || math.Abs(st.T-math.Ln2) > 1e-5 || z.Count != 6 {
		t.Errorf("%v at %g", err, st.T)
	}
}

func mustNew(t testing.TB, sys System, opt Options) *Solver {
	t.Helper()
	s, err := New(sys, opt)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// follower is a relay whose second state follows the square of the first a
// thousand times faster: every switching wakes a stiff transient.
type follower struct{ relay }

func (*follower) Dim() int { return 2 }
func (r *follower) Deriv(t float64, y, dy []float64) {
	r.relay.Deriv(t, y[:1], dy[:1])
	dy[1] = (y[0]*y[0] - y[1]) * 1e3 / r.tau
}
func (r *follower) Jac(_ float64, y, jac []float64) {
	jac[0], jac[2], jac[3] = -1/r.tau, 2e3*y[0]/r.tau, -1e3/r.tau
}

// A step size kept over a restart may be far too long. The step comes down in
// a few tries, also where the error falls slower than the order says.
func TestRejections(t *testing.T) {
	r := &follower{relay{tau: 1e-3, lo: 0.2, hi: 0.8, up: true}}
	s := mustNew(t, r, Options{RelTol: 1e-5, AbsTol: []float64{1e-5}, Autonomous: true})
	st, err := s.Run(0, []float64{0, 0}, 0.2, nil)
	if err != nil || st.Events < 100 {
		t.Fatal(err, st)
	}
	if perEvent := float64(st.Rejected) / float64(st.Events); perEvent > 4 {
		t.Errorf("%.1f rejections a restart", perEvent)
	}
}
