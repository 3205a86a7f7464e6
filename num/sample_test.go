package num

import (
	"errors"
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Points of the unscrambled sequence. Source: SciPy 1.10.1 qmc.Sobol (Joe &
// Kuo direction numbers); the first eight in three dimensions also in Joe &
// Kuo's list, in the same order (from memory).
func TestSobolPoints(t *testing.T) {
	s, err := NewSobol(3, nil)
	if err != nil {
		t.Fatal(err)
	}
	got := make([]float64, 3)
	for i, want := range [][]float64{
		{0, 0, 0}, {0.5, 0.5, 0.5}, {0.75, 0.25, 0.25}, {0.25, 0.75, 0.75}, {0.375, 0.375, 0.625}, {0.875, 0.875, 0.125},
		{0.625, 0.125, 0.875}, {0.125, 0.625, 0.375}, {0.1875, 0.3125, 0.9375}, {0.6875, 0.8125, 0.4375}, {0.9375, 0.0625, 0.6875}, {0.4375, 0.5625, 0.1875},
	} {
		s.Next(got)
		for j := range want {
			if got[j] != want[j] {
				t.Errorf("point %d is %v, want %v", i+1, got, want)
				break
			}
		}
	}
	// All dimensions, by index from 0. A point below 64 shows the initial
	// numbers of every dimension, the last one the recurrence.
	s, err = NewSobol(MaxSobolDim, nil)
	if err != nil {
		t.Fatal(err)
	}
	got = make([]float64, MaxSobolDim)
	for i, want := range map[uint32][]float64{
		3:    {0.25, 0.75, 0.75, 0.75, 0.25, 0.25, 0.75, 0.25, 0.25, 0.25, 0.25, 0.25, 0.75, 0.75, 0.25, 0.75},
		5:    {0.875, 0.875, 0.125, 0.375, 0.875, 0.625, 0.875, 0.375, 0.375, 0.125, 0.375, 0.875, 0.875, 0.125, 0.875, 0.375},
		77:   {0.8359375, 0.8359375, 0.0078125, 0.7734375, 0.8359375, 0.5078125, 0.2265625, 0.6484375, 0.1796875, 0.4296875, 0.1328125, 0.7890625, 0.4921875, 0.3359375, 0.9921875, 0.0703125},
		1000: {0.2197265625, 0.0966796875, 0.5185546875, 0.6767578125, 0.2802734375, 0.9072265625, 0.0458984375, 0.8994140625, 0.5009765625, 0.0693359375, 0.0849609375, 0.2548828125, 0.1611328125, 0.3837890625, 0.1435546875, 0.3701171875},
	} {
		s.Seek(i)
		s.Next(got)
		for j := range want {
			if got[j] != want[j] {
				t.Errorf("point %d, dimension %d: %g, want %g", i, j+1, got[j], want[j])
			}
		}
	}
}

// Every dimension has exactly one of the first 2^m points in each interval of
// length 2^-m, with and without a shift, and Seek agrees with Next.
func TestSobolEven(t *testing.T) {
	for _, rng := range []*rand.Rand{nil, rand.New(rand.NewPCG(3, 4))} {
		s, err := NewSobol(MaxSobolDim, rng)
		if err != nil {
			t.Fatal(err)
		}
		const m = 1 << 12
		var seen [MaxSobolDim][m]bool
		x, y := make([]float64, MaxSobolDim), make([]float64, MaxSobolDim)
		for i := range uint32(m) {
			s.Next(x)
			for j, v := range x {
				k := int(v * m)
				if seen[j][k] {
					t.Fatalf("dimension %d: two points in interval %d", j+1, k)
				}
				seen[j][k] = true
			}
			if i%101 == 0 {
				s.Seek(i)
				s.Next(y)
				for j := range x {
					if x[j] != y[j] {
						t.Fatalf("Seek(%d) gives %v, Next %v", i, y, x)
					}
				}
			}
		}
	}
	s, err := NewSobol(2, nil)
	if err != nil {
		t.Fatal(err)
	}
	s.Seek(math.MaxUint32)
	x := make([]float64, 3)
	s.Next(x)
	s.Next(x)
	if x[0] != 0 || x[1] != 0 || x[2] != 0 {
		t.Errorf("after the last point %v, want the first", x)
	}
}

// The g-function of Sobol, a = 0 1 4.5 9 99 99, has the mean 1. Estimates with
// the first points: SciPy 1.10.1, as TestSobolPoints.
func TestSobolIntegral(t *testing.T) {
	a := []float64{0, 1, 4.5, 9, 99, 99}
	s, err := NewSobol(6, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := map[int]float64{64: 1.0084221266, 256: 1.0001648160, 1024: 1.0000275160, 4096: 1.0000076733}
	x := make([]float64, 6)
	sum := 0.0
	for n := 1; n <= 4096; n++ {
		s.Next(x)
		g := 1.0
		for j, v := range x {
			g *= (math.Abs(4*v-2) + a[j]) / (1 + a[j])
		}
		sum += g
		if w, ok := want[n]; ok && math.Abs(sum/float64(n)-w) > 1e-10 {
			t.Errorf("%d points: %.10f, want %.10f", n, sum/float64(n), w)
		}
	}
}

func TestSampleErrors(t *testing.T) {
	var re *RangeError
	for _, dim := range []int{0, -1, MaxSobolDim + 1} {
		if _, err := NewSobol(dim, nil); !errors.As(err, &re) {
			t.Errorf("dim %d: %v", dim, err)
		}
	}
	nan := math.NaN()
	for i, c := range []struct {
		p    float64
		x, w []float64
	}{
		{nan, []float64{1}, nil}, {-0.1, []float64{1}, nil}, {1.1, []float64{1}, nil}, {0.5, nil, nil}, {0.5, []float64{1, 2}, []float64{1}},
		{0.5, []float64{1, nan}, nil}, {0.5, []float64{1}, []float64{0}}, {0.5, []float64{1}, []float64{-1}}, {0.5, []float64{1, 2}, []float64{1, math.Inf(1)}},
	} {
		if _, err := WeightedQuantile(c.p, c.x, c.w); !errors.As(err, &re) {
			t.Errorf("%d: %v", i, err)
		}
	}
	for _, p := range []float64{nan, 0, 1, -1, 2} {
		if _, err := NormalQuantile(p); !errors.As(err, &re) {
			t.Errorf("p = %g: %v", p, err)
		}
	}
}

// Against the empirical quantile of gonum, for random weights.
func TestWeightedQuantile(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 300 {
		n := 1 + r.IntN(30)
		x, w := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i], w[i] = r.NormFloat64(), 0.01+r.Float64()
		}
		p := r.Float64()
		got, err := WeightedQuantile(p, x, w)
		if err != nil {
			t.Fatal(err)
		}
		idx := make([]int, n)
		for i := range idx {
			idx[i] = i
		}
		sort.Slice(idx, func(i, j int) bool { return x[idx[i]] < x[idx[j]] })
		xs, ws := make([]float64, n), make([]float64, n)
		for i, k := range idx {
			xs[i], ws[i] = x[k], w[k]
		}
		if want := stat.Quantile(p, stat.Empirical, xs, ws); got != want {
			t.Errorf("p = %g of %d: %g, want %g", p, n, got, want)
		}
	}
	if got, err := WeightedQuantile(1, []float64{3, 9, 5}, []float64{1, 0, 1}); err != nil || got != 5 {
		t.Errorf("largest with weight: %g, %v", got, err)
	}
}

// Quantile and distribution undo each other, and agree with gonum.
func TestNormalInverse(t *testing.T) {
	n := distuv.UnitNormal
	for x := -37.0; x < 8; x += 0.37 {
		p := NormalCDF(x)
		got, err := NormalQuantile(p)
		if err != nil {
			t.Fatal(err)
		}
		// dx = dp/φ(x): in the upper tail p itself is known to ε only.
		if tol := 1e-13*math.Abs(x) + 2*eps*p/NormalPDF(x); math.Abs(got-x) > tol {
			t.Errorf("Φ⁻¹(Φ(%g)) = %g", x, got)
		}
		if want := n.CDF(x); math.Abs(p-want) > 1e-12*want {
			t.Errorf("Φ(%g) = %g, gonum %g", x, p, want)
		}
		if l := NormalLogCDF(x); math.Abs(l-math.Log(p)) > 1e-13*math.Abs(l)+eps {
			t.Errorf("ln Φ(%g) = %g, want %g", x, l, math.Log(p))
		}
		if want := n.Prob(x); math.Abs(NormalPDF(x)-want) > 1e-12*want {
			t.Errorf("φ(%g) = %g, gonum %g", x, NormalPDF(x), want)
		}
	}
}

// Ends of the range.
func TestLimits(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"pdf inf", NormalPDF(-inf), 0}, {"pdf 60", NormalPDF(60), 0}, {"cdf -inf", NormalCDF(-inf), 0}, {"cdf inf", NormalCDF(inf), 1},
		{"logcdf -inf", NormalLogCDF(-inf), -inf}, {"logcdf inf", NormalLogCDF(inf), 0}, {"erfcx inf", Erfcx(inf), 0},
		{"erfcx -inf", Erfcx(-inf), inf}, {"erfcx -30", Erfcx(-30), inf}, {"erfcx nan", Erfcx(nan), nan}, {"pdf nan", NormalPDF(nan), nan},
		{"cdf nan", NormalCDF(nan), nan}, {"logcdf nan", NormalLogCDF(nan), nan},
		{"sum", Sum(nil), 0}, {"sum inf", Sum([]float64{1, inf, 2}), inf}, {"sum nan", Sum([]float64{inf, -inf}), nan},
		{"lse none", LogSumExp(nil), -inf}, {"lse inf", LogSumExp([]float64{1, inf}), inf}, {"lse -inf", LogSumExp([]float64{-inf, -inf}), -inf},
		{"lse nan", LogSumExp([]float64{inf, nan}), nan}, {"lse one", LogSumExp([]float64{-inf, 3}), 3},
	} {
		if c.got != c.want && !(c.got != c.got && c.want != c.want) {
			t.Errorf("%s: %g, want %g", c.name, c.got, c.want)
		}
	}
}

// Sum does not depend on the order to speak of.
func TestSumOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 9))
	x := make([]float64, 1000)
	for i := range x {
		x[i] = math.Exp(20*r.Float64()) * (r.Float64() - 0.5)
	}
	first := Sum(x)
	for range 20 {
		r.Shuffle(len(x), func(i, j int) { x[i], x[j] = x[j], x[i] })
		if s := Sum(x); math.Abs(s-first) > 2*eps*math.Abs(first)+1e-9*eps {
			t.Errorf("%.17g and %.17g", s, first)
		}
	}
}
