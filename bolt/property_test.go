package bolt

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/evenstroke/evenstroke/num"
	"pgregory.net/rapid"
)

func threads() *rapid.Generator[Thread] {
	return rapid.Custom(func(t *rapid.T) Thread {
		d := rapid.Float64Range(3e-3, 60e-3).Draw(t, "d")
		p := d / rapid.Float64Range(4, 20).Draw(t, "d/P")
		return Thread{"drawn", rapid.SampledFrom([]System{Metric, Unified}).Draw(t, "system"), d, p}
	})
}

func contacts() *rapid.Generator[Contact] {
	return rapid.Custom(func(t *rapid.T) Contact {
		th := threads().Draw(t, "thread")
		return Contact{th, th.D * rapid.Float64Range(1, 2).Draw(t, "Db/d"),
			rapid.Float64Range(0, 0.4).Draw(t, "μth"), rapid.Float64Range(0, 0.4).Draw(t, "μb")}
	})
}

func must(t interface{ Fatal(...any) }, v float64, err error) float64 {
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// More torque, more clamp; more friction, less clamp; Clamp undoes Torque; the long form stays near the short one.
func TestTorqueProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := contacts().Draw(t, "contact")
		m := rapid.Float64Range(0.1, 1000).Draw(t, "M")
		f, err := Clamp(m, c)
		f = must(t, f, err)
		more, err := Clamp(m*1.01, c)
		if must(t, more, err) <= f {
			t.Fatalf("clamp fell from %g to %g with more torque", f, more)
		}
		rough := c
		rough.MuThread += 0.01
		less, err := Clamp(m, rough)
		if must(t, less, err) >= f {
			t.Fatalf("clamp rose from %g to %g with more friction", f, less)
		}
		back, err := Torque(f, c)
		if back = must(t, back, err); math.Abs(back-m) > 1e-12*m {
			t.Fatalf("Torque(Clamp(%g)) = %g", m, back)
		}
		loosen, err := Breakaway(f, c)
		loosen = must(t, loosen, err)
		if lead := m - loosen; math.Abs(lead-f*c.Thread.P/math.Pi) > 1e-9*m {
			t.Fatalf("tightening and loosening differ by %g, want F·P/π = %g", lead, f*c.Thread.P/math.Pi)
		}
		long, err := LongTorque(f, c)
		if long = must(t, long, err); math.Abs(long-m) > 0.05*m {
			t.Fatalf("long form %g against %g", long, m)
		}
	})
}

// Shigley and JIS B 1083 agree with Motosh within 0.6 % and 0.4 % for standard threads at usual friction.
func TestLongFormsAgree(t *testing.T) {
	for _, name := range []string{"M8", "M12", "M12x1.25", "M16", "M20x1.5", "M24", "M24x2", "M36", "3/4-16 UNF", "1-8"} {
		th, err := ParseThread(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, mu := range []float64{0.08, 0.12, 0.16} {
			c := Contact{th, 1.3 * th.D, mu, mu}
			m, _ := Torque(10e3, c)
			long, _ := LongTorque(10e3, c)
			k, err := NutFactor(c)
			if err != nil {
				t.Fatal(err)
			}
			if jis := k * 10e3 * th.D; math.Abs(long/m-1) > 6e-3 || math.Abs(jis/m-1) > 4e-3 {
				t.Errorf("%s μ %g: Motosh %g, Shigley %g, JIS %g", name, mu, m, long, jis)
			}
		}
	}
}

// Lengths in units k times larger and forces in units q times larger scale every output by its dimension.
func TestUnitSystem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := contacts().Draw(t, "contact")
		k := rapid.Float64Range(0.5, 3).Draw(t, "length")
		q := rapid.Float64Range(0.5, 3).Draw(t, "force")
		big := c
		big.Thread.D, big.Thread.P, big.Bearing = k*c.Thread.D, k*c.Thread.P, k*c.Bearing
		near := func(name string, got, want float64) {
			if math.Abs(got-want) > 1e-9*math.Abs(want) {
				t.Fatalf("%s: %g, want %g", name, got, want)
			}
		}
		m, _ := Torque(1e4, c)
		m2, _ := Torque(q*1e4, big)
		near("torque", m2, q*k*m)
		l, _ := LongTorque(1e4, c)
		l2, _ := LongTorque(q*1e4, big)
		near("long torque", l2, q*k*l)
		kf, _ := NutFactor(c)
		kf2, _ := NutFactor(big)
		near("nut factor", kf2, kf)
		b := 0.5 * c.Thread.Core()
		s, _ := EquivalentStress(1e4, c.Thread, b, c.MuThread)
		s2, _ := EquivalentStress(q*1e4, big.Thread, k*b, c.MuThread)
		near("stress", s2, q/(k*k)*s)
		w, _ := WorkingStress(1e4, 1.3e4, c.Thread, b, c.MuThread)
		w2, _ := WorkingStress(q*1e4, q*1.3e4, big.Thread, k*b, c.MuThread)
		near("working stress", w2, q/(k*k)*w)
		y, err := YieldPreload(c.Thread, b, s, c.MuThread, 1)
		near("preload that reaches the stress", must(t, y, err), 1e4)
	})
}

// The closed scatter agrees with random draws within their own error, and the law of propagation is close to both.
func TestScatterAgainstDraws(t *testing.T) {
	th, err := ParseThread("M24x2")
	if err != nil {
		t.Fatal(err)
	}
	const n = 200_000
	for i, s := range []Scatter{
		{Thread: th, Bearing: 0.03, Torque: 52, Tool: 0.04, MuThread: Range{0.08, 0.16, Even}, MuBearing: Range{0.08, 0.16, Even}},
		{Thread: th, Bearing: 0.03, Torque: 52, Tolerance: 5, Tool: 0.06, Reading: 0.5, MuThread: Range{0.10, 0.14, TwoSigma}, Shared: true},
		{Thread: th, Bearing: 0.03, Torque: 52, Tolerance: 5, Tool: 0.04, MuThread: Range{0.20, 0.35, TwoSigma}, MuBearing: Range{0.04, 0.10, ""}},
		{Thread: th, Bearing: 0.03, Torque: 52, Tolerance: 12, Tool: 0.3, Reading: 3, MuThread: Range{0.08, 0.16, Even}, Shared: true},
		{Thread: th, Bearing: 0.03, Torque: 9, Tool: 0.005, Reading: 0.2, MuThread: Exactly(0.12), MuBearing: Exactly(0.12)},
	} {
		exact, err := s.Clamp()
		if err != nil {
			t.Fatal(err)
		}
		drawn, err := s.MonteCarlo(rand.New(rand.NewPCG(uint64(i), 37)), n)
		if err != nil {
			t.Fatal(err)
		}
		se := exact.Std / math.Sqrt(n)
		for _, c := range []struct {
			name            string
			got, want, band float64
		}{
			{"mean", exact.Mean, drawn.Mean, 4.5 * se},
			{"std", exact.Std, drawn.Std, 4.5 * se},
			{"q05", exact.Q05, drawn.Q05, 12 * se},
			{"q95", exact.Q95, drawn.Q95, 12 * se},
			{"linear", exact.Linear, exact.Std, 0.08 * exact.Std},
		} {
			if math.Abs(c.got-c.want) > c.band {
				t.Errorf("case %d: %s = %g, want %g ± %g", i, c.name, c.got, c.want, c.band)
			}
		}
		var shares float64
		for _, l := range exact.Budget {
			shares += l.Share
		}
		if math.Abs(shares-1) > 1e-12 {
			t.Errorf("case %d: shares of the variance sum to %g", i, shares)
		}
	}
}

// No valid input gives NaN; wider friction gives wider clamp; quantiles are in order.
func TestScatterProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := contacts().Draw(t, "contact")
		lo := rapid.Float64Range(0.03, 0.3).Draw(t, "lo")
		wide := rapid.Float64Range(0.01, 0.1).Draw(t, "width")
		s := Scatter{
			Thread: c.Thread, Bearing: c.Bearing, Torque: rapid.Float64Range(2, 500).Draw(t, "M"),
			Tool: rapid.Float64Range(0.005, 0.1).Draw(t, "tool"), MuThread: Range{lo, lo + wide, Even}, Shared: true,
			MuBearing: Range{},
		}
		s.Tolerance = s.Torque * rapid.Float64Range(0, 0.2).Draw(t, "tolerance")
		s.Reading = s.Torque * rapid.Float64Range(0, 0.05).Draw(t, "reading")
		d, err := s.Clamp()
		if err != nil {
			t.Fatal(err)
		}
		if !(0 < d.Q05 && d.Q05 < d.Mean && d.Mean < d.Q95 && d.Std > 0) {
			t.Fatalf("out of order: %+v", d)
		}
		s.MuThread.Hi += 0.05
		s.MuThread.Lo -= 0.02
		w, err := s.Clamp()
		if err != nil {
			t.Fatal(err)
		}
		if w.Linear <= d.Linear*0.95 {
			t.Fatalf("wider friction, less scatter: %g after %g", w.Linear, d.Linear)
		}
	})
}

func TestBadInput(t *testing.T) {
	th, _ := ParseThread("M24x2")
	good := Contact{th, 0.03, 0.1, 0.1}
	nan := math.NaN()
	for name, f := range map[string]func() (float64, error){
		"Torque NaN":      func() (float64, error) { return Torque(nan, good) },
		"Torque -1":       func() (float64, error) { return Torque(-1, good) },
		"Clamp Inf":       func() (float64, error) { return Clamp(math.Inf(1), good) },
		"Clamp μ 2":       func() (float64, error) { return Clamp(1, Contact{th, 0.03, 2, 0.1}) },
		"Clamp no thread": func() (float64, error) { return Clamp(1, Contact{Bearing: 0.03}) },
		"LongTorque":      func() (float64, error) { return LongTorque(1, Contact{th, 0, 0.1, 0.1}) },
		"Breakaway":       func() (float64, error) { return Breakaway(nan, good) },
		"NutFactor":       func() (float64, error) { return NutFactor(Contact{th, nan, 0.1, 0.1}) },
		"ShortClamp":      func() (float64, error) { return ShortClamp(0, 52, 0.024) },
		"AreaBearing":     func() (float64, error) { return AreaBearing(0.02, 0.03) },
		"YieldPreload nu": func() (float64, error) { return YieldPreload(th, 0, 640e6, 0.1, 1.2) },
		"EquivalentStress": func() (float64, error) {
			return EquivalentStress(1e4, th, 0.03, 0.1)
		},
		"WorkingStress": func() (float64, error) { return WorkingStress(1e4, nan, th, 0, 0.1) },
		"BearingStress": func() (float64, error) { return BearingStress(1e4, 0.02, 0.02) },
		"Compliance":    func() (float64, error) { return Compliance(0, 1e-4, 2e11) },
		"TurnAngle":     func() (float64, error) { return TurnAngle(1e4, 1e-9, 0) },
		"LoadFactor":    func() (float64, error) { return LoadFactor(0, 0) },
		"ResidualClamp": func() (float64, error) { return ResidualClamp(1e4, 1e3, 1.1) },
		"BoltForce":     func() (float64, error) { return BoltForce(1e4, nan, 0.1) },
		"OnScale":       func() (float64, error) { return OnScale(52, -1) },
		"WrenchSetting": func() (float64, error) { return WrenchSetting(52, 0, 0.05, 0) },
	} {
		v, err := f()
		var re *num.RangeError
		if !errors.As(err, &re) || v != 0 {
			t.Errorf("%s: %g, %v; want 0 and a *num.RangeError", name, v, err)
		}
	}
}

// The distribution of the torque against a double sum of the normal distribution over both even parts, which needs no
// closed form; a, b and s alike in size so that no term of it hides.
func TestSumCDF(t *testing.T) {
	const n = 400
	for _, c := range []struct{ a, b, s float64 }{{1, 0.7, 0.5}, {1, 0, 0.8}, {0.4, 1.3, 0.2}, {1, 0.5, 0}} {
		for _, x := range []float64{-1.9, -0.8, -0.1, 0, 0.35, 1.2} {
			var sum float64
			for i := range n {
				for j := range n {
					u := c.a*(2*(float64(i)+0.5)/n-1) + c.b*(2*(float64(j)+0.5)/n-1)
					if c.s > 0 {
						sum += math.Erfc((u-x)/c.s/math.Sqrt2) / 2
					} else if u <= x {
						sum++
					}
				}
			}
			want := sum / (n * n)
			tol := 2e-6
			if c.s == 0 {
				tol = 2e-3 // the sum counts whole cells of 1/400
			}
			if got := sumCDF(x, c.a, c.b, c.s); math.Abs(got-want) > tol {
				t.Errorf("a %g, b %g, s %g: P(x <= %g) = %.7f, want %.7f", c.a, c.b, c.s, x, got, want)
			}
		}
	}
}
