package ode

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/evenstroke/evenstroke/num"
)

// numeric hides the Jacobian of a system, so that differences are used.
type numeric struct{ sys System }

func (n numeric) Dim() int                         { return n.sys.Dim() }
func (n numeric) Deriv(t float64, y, dy []float64) { n.sys.Deriv(t, y, dy) }

// scaledErr is the largest error over the tolerance of its state.
func (p problem) scaledErr(y, want []float64, tol float64) float64 {
	var worst float64
	for i := range want {
		s := p.scale[min(i, len(p.scale)-1)]
		worst = math.Max(worst, math.Abs(y[i]-want[i])/(tol*(s+math.Abs(want[i]))))
	}
	return worst
}

// The error at the end stays below ten times the tolerance, with both
// methods, with the Jacobian and with differences.
func TestStiffSet(t *testing.T) {
	for _, p := range stiffSet() {
		for _, m := range methods {
			for _, tol := range []float64{1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 1e-8, 1e-9} {
				for _, sys := range []System{p.sys, numeric{p.sys}} {
					o := p.options(tol)
					o.Method = m.m
					y := append([]float64(nil), p.y0...)
					if _, err := mustNew(t, sys, o).Run(0, y, p.end, nil); err != nil {
						t.Errorf("%s %s %g: %v", p.name, m.name, tol, err)
						continue
					}
					if e := p.scaledErr(y, p.want, tol); !(e < 10) {
						t.Errorf("%s %s %T %g: error %.3g times the tolerance", p.name, m.name, sys, tol, e)
					}
				}
			}
		}
	}
}

type point struct {
	t float64
	y []float64
}

// Intermediate points; sources in problems_test.go.
func TestIntermediate(t *testing.T) {
	tables := map[string][]point{
		"Robertson": readRobertson(t),
		"VanDerPol": {
			{500, []float64{1.5967689510527, -1.0303911878394e-3}},
			{1000, []float64{-1.8636462548081, 7.5354308654356e-4}},
			{1500, []float64{-1.3547459194866, 1.6217887275974e-3}},
			{2000, []float64{1.7061677321705, -8.9280970102478e-4}}},
		"Oregonator": {
			{30, []float64{1.0006614671805, 1512.7789373482, 10358.543127672}},
			{300, []float64{1.7797247519370, 2.2818523855424, 1.6137540236717}},
			{360, []float64{1.0008148703185, 1228.1785215499, 132.05549428465}}},
	}
	for _, p := range stiffSet() {
		table := tables[p.name]
		if table == nil {
			continue
		}
		var times []float64
		for _, q := range table {
			times = append(times, q.t)
		}
		for _, tol := range []float64{1e-4, 1e-6, 1e-8, 1e-10} {
			k := 0
			out := At(times, func(tm float64, y []float64) error {
				if e := p.scaledErr(y, table[k].y, tol); !(e < 50) || tm != times[k] {
					t.Errorf("%s %g at %g: error %.3g times the tolerance", p.name, tol, tm, e)
				}
				k++
				return nil
			})
			y := append([]float64(nil), p.y0...)
			if _, err := mustNew(t, p.sys, p.options(tol)).Run(0, y, p.end, out); err != nil || k != len(table) {
				t.Errorf("%s: %v, %d points", p.name, err, k)
			}
		}
	}
}

func readRobertson(t *testing.T) []point {
	t.Helper()
	f, err := os.Open("testdata/robertson_reference.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []point
	for _, row := range rows[1:] {
		var v [4]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(row[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		out = append(out, point{v[0], v[1:]})
	}
	if len(out) != 13 {
		t.Fatalf("%d rows, want 13", len(out))
	}
	return out
}

// What the equations conserve linearly, the method conserves to round-off:
// the sum of all states of Robertson, y7+y8 of HIRES.
func TestInvariants(t *testing.T) {
	for _, c := range []struct {
		p    problem
		of   []int
		want float64
	}{{stiffSet()[0], []int{0, 1, 2}, 1}, {stiffSet()[1], []int{6, 7}, 0.0057}} {
		var worst float64
		y := append([]float64(nil), c.p.y0...)
		_, err := mustNew(t, c.p.sys, c.p.options(1e-3)).Run(0, y, c.p.end, func(p *Step) error {
			sum := -c.want
			for _, i := range c.of {
				sum += p.Y[i]
			}
			worst = math.Max(worst, math.Abs(sum)/c.want)
			return nil
		})
		if err != nil || worst > 1e-13 {
			t.Errorf("%s: %v, invariant off by %.3g", c.p.name, err, worst)
		}
	}
}

// scaled is a system in other units: its time runs 1/a times, its states are
// b times as large.
type scaled struct {
	sys  System
	a, b float64
	buf  []float64
}

func (s scaled) Dim() int { return s.sys.Dim() }
func (s scaled) Deriv(t float64, y, dy []float64) {
	for i := range y {
		s.buf[i] = y[i] / s.b
	}
	s.sys.Deriv(t*s.a, s.buf, dy)
	for i := range dy {
		dy[i] *= s.a * s.b
	}
}

// A change of units changes nothing: with powers of two, to the last bit.
func TestUnits(t *testing.T) {
	p := stiffSet()[1]
	const a, b = 1024.0, 1.0 / 4096
	one := append([]float64(nil), p.y0...)
	st1, err := mustNew(t, numeric{p.sys}, p.options(1e-6)).Run(0, one, p.end, nil)
	if err != nil {
		t.Fatal(err)
	}
	two := append([]float64(nil), p.y0...)
	o := p.options(1e-6)
	o.AbsTol = []float64{o.AbsTol[0] * b}
	for i := range two {
		two[i] *= b
	}
	st2, err := mustNew(t, scaled{p.sys, a, b, make([]float64, 8)}, o).Run(0, two, p.end/a, nil)
	if err != nil {
		t.Fatal(err)
	}
	if st1.Steps != st2.Steps || st1.Derivs != st2.Derivs {
		t.Errorf("%d steps in one unit, %d in the other", st1.Steps, st2.Steps)
	}
	for i := range one {
		if one[i]*b != two[i] {
			t.Errorf("state %d: %g and %g", i, one[i]*b, two[i])
		}
	}
}

// Looking at the solution does not change it, and a Solver forgets its runs.
func TestRepeatable(t *testing.T) {
	p := stiffSet()[2]
	s := mustNew(t, p.sys, p.options(1e-5))
	var first []float64
	for k := range 3 {
		y := append([]float64(nil), p.y0...)
		out := At([]float64{0, 1, 800, 2000}, func(float64, []float64) error { return nil })
		if k == 1 {
			out = nil
		}
		if _, err := s.Run(0, y, p.end, out); err != nil {
			t.Fatal(err)
		}
		if k == 0 {
			first = y
		} else if distance(first, y) != 0 {
			t.Errorf("run %d ends at %v, the first at %v", k, y, first)
		}
	}
}

// Cutting a run in pieces and going on with NextStep gives the same within
// the tolerance, at little extra work.
func TestPieces(t *testing.T) {
	p := stiffSet()[1]
	whole := append([]float64(nil), p.y0...)
	st, err := mustNew(t, p.sys, p.options(1e-6)).Run(0, whole, p.end, nil)
	if err != nil {
		t.Fatal(err)
	}
	y := append([]float64(nil), p.y0...)
	o := p.options(1e-6)
	steps := 0
	for k := range 20 {
		st, err := mustNew(t, p.sys, o).Run(p.end*float64(k)/20, y, p.end*float64(k+1)/20, nil)
		if err != nil {
			t.Fatal(err)
		}
		o.FirstStep = st.NextStep
		steps += st.Steps + st.Rejected
	}
	if e := p.scaledErr(y, whole, 1e-6); e > 10 || steps > st.Steps+st.Rejected+60 {
		t.Errorf("differ by %.3g times the tolerance, %d steps for %d", e, steps, st.Steps)
	}
}

// MaxStep bounds every step, FirstStep is the first.
func TestStepBounds(t *testing.T) {
	first := true
	s := mustNew(t, oscillator{}, Options{MaxStep: 0.05, FirstStep: 0.01})
	st, err := s.Run(0, []float64{0, 1}, 3, func(p *Step) error {
		if h := p.T1 - p.T0; h > 0.05*(1+1e-12) || first && math.Abs(h-0.01) > 1e-15 {
			t.Errorf("step of %g", h)
		}
		first = false
		return nil
	})
	if err != nil || st.Steps < 60 {
		t.Errorf("%v %+v", err, st)
	}
}

// wrong is Robertson with one sign wrong in the Jacobian.
type wrong struct{ robertson }

func (w wrong) Jac(t float64, y, jac []float64) {
	w.robertson.Jac(t, y, jac)
	jac[5] = -jac[5]
}

// slightly is Robertson with an element a thousandth off.
type slightly struct{ robertson }

func (w slightly) Jac(t float64, y, jac []float64) {
	w.robertson.Jac(t, y, jac)
	jac[0] *= 1.001
}

// The differences that stand in for a Jacobian have some six good digits.
func TestDifferences(t *testing.T) {
	for _, c := range []struct {
		sys System
		y   []float64
		tol []float64
	}{
		{robertson{}, []float64{0.7, 1e-5, 0.3}, []float64{1e-6, 1e-10, 1e-6}},
		{hires{}, []float64{0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.002, 0.003}, []float64{1e-6}},
		{oregonator{}, []float64{2, 1200, 300}, []float64{1e-6}},
	} {
		s := mustNew(t, numeric{c.sys}, Options{AbsTol: c.tol})
		copy(s.y, c.y)
		s.h = 1e-3
		s.deriv(0, s.y, s.f)
		s.differences()
		n := len(c.y)
		want := make([]float64, n*n)
		c.sys.(Jacobian).Jac(0, c.y, want)
		for j := range n {
			var most float64
			for i := range n {
				most = math.Max(most, math.Abs(want[i*n+j]))
			}
			for i := range n {
				if e := math.Abs(s.jac[i*n+j] - want[i*n+j]); !(e < 2e-6*most) {
					t.Errorf("%T: element (%d, %d) is %g, want %g", c.sys, i, j, s.jac[i*n+j], want[i*n+j])
				}
			}
		}
	}
}

func TestCheckJacobian(t *testing.T) {
	for _, c := range []struct {
		sys      System
		y, scale []float64
	}{
		{robertson{}, []float64{0.7, 1e-5, 0.3}, []float64{1, 1e-4, 1}},
		{hires{}, []float64{0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.002, 0.003}, []float64{1, 1, 1, 1, 1, 1, 1e-2, 1e-2}},
		{vanDerPol{1000}, []float64{1.7, -0.3}, []float64{1, 1}},
		{oregonator{}, []float64{2, 1200, 300}, []float64{1, 1e3, 1e3}},
		{kaps{1e-3}, []float64{0.3, 0.6}, []float64{1, 1}},
		{rational{}, []float64{0.3, -0.6}, []float64{1, 1}},
		{newLinear([][2]float64{{-1e3, 2e3}, {-1, 0}}), []float64{1, 2, -3}, []float64{1, 1, 1}},
	} {
		if err := CheckJacobian(c.sys, 0.7, c.y, c.scale); err != nil {
			t.Errorf("%T: %v", c.sys, err)
		}
	}
	var je *JacobianError
	if err := CheckJacobian(wrong{}, 0, []float64{0.7, 1e-5, 0.3}, []float64{1, 1e-4, 1}); !errors.As(err, &je) || je.Row != 1 || je.Col != 2 {
		t.Errorf("wrong sign: %v", err)
	}
	if err := CheckJacobian(slightly{}, 0, []float64{0.7, 1e-5, 0.3}, []float64{1, 1e-4, 1}); !errors.As(err, &je) || je.Row != 0 || je.Col != 0 {
		t.Errorf("a thousandth off: %v", err)
	}
	var re *num.RangeError
	if err := CheckJacobian(arenstorf{}, 0, make([]float64, 4), make([]float64, 4)); !errors.As(err, &re) {
		t.Errorf("no Jacobian: %v", err)
	}
}

// A run does not allocate, whatever happens in it.
func TestNoAllocation(t *testing.T) {
	b := &ball{g: 9.81, e: 0.9, times: make([]float64, 0, 1e4), tops: make([]float64, 0, 1e4)}
	s := mustNew(t, b, Options{})
	y, at := make([]float64, 2), make([]float64, 1)
	out := func(p *Step) error { return p.Interp(p.T0, at) }
	if n := testing.AllocsPerRun(20, func() {
		b.times, b.tops = b.times[:0], b.tops[:0]
		y[0], y[1] = 1, 0
		if _, err := s.Run(0, y, 4, out); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%g allocations a run", n)
	}
}

// Solvers share nothing: for the race detector.
func TestParallel(t *testing.T) {
	for range 4 {
		t.Run("", func(t *testing.T) {
			t.Parallel()
			p := stiffSet()[1]
			y := append([]float64(nil), p.y0...)
			if _, err := mustNew(t, p.sys, p.options(1e-5)).Run(0, y, p.end, nil); err != nil {
				t.Error(err)
			}
		})
	}
}
