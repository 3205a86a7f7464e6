package leak

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The worn seat is a slot as long as the circle of contact, π·d·cos α.
func TestSeatIsASlot(t *testing.T) {
	s, err := BallOnCone{Diameter: 0.0127, HalfAngle: math.Pi / 3}.Seat(3e-4, 5e-6)
	if err != nil || math.Abs(s.Width/(math.Pi*0.00635)-1) > 1e-12 || s.Height != 5e-6 || s.Length != 3e-4 {
		t.Errorf("%+v, %v", s, err)
	}
}

// A thicker liquid, a lighter ball, a longer way take longer; free fall is the shortest.
func TestClosingLagOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lift, d := logRange(1e-4, 1e-2).Draw(t, "lift"), logRange(3e-3, 0.04).Draw(t, "d")
		rho, l := rapid.Float64Range(3000, 16000).Draw(t, "ball"), drawLiquid(t)
		lag := func(lift, rho float64, l Liquid) float64 {
			v, err := ClosingLag(lift, d, rho, l)
			if err != nil || !(v > 0 && v < math.MaxFloat64) {
				t.Fatal(v, err)
			}
			return v
		}
		base := lag(lift, rho, l)
		free, err := FreeFallLag(lift, rho, l.Density)
		if err != nil || base < free*(1-1e-4) {
			t.Fatalf("lag %g below free fall %g, %v", base, free, err)
		}
		if lag(1.1*lift, rho, l) <= base || lag(lift, 1.1*rho, l) >= base || lag(lift, rho, Liquid{2 * l.Viscosity, l.Density}) <= base*(1-1e-4) {
			t.Fatal("lag out of order")
		}
	})
}

// The lag agrees with a plain Runge–Kutta integration in time of the same equation of motion.
func TestClosingLagAgainstRungeKutta(t *testing.T) {
	for _, c := range []struct{ lift, d, rho, mu float64 }{
		{3e-3, 0.0127, 7850, 1e-3}, {5e-3, 0.006, 14900, 0.05}, {2e-3, 0.02, 7850, 0.5}, {4e-3, 0.009, 3900, 2}, {1e-5, 0.0127, 7850, 1e-3},
	} {
		l := Liquid{c.mu, 1200}
		volume := math.Pi / 6 * c.d * c.d * c.d
		accel := func(v float64) float64 {
			drag, err := SphereDrag(c.d, v, l)
			if err != nil {
				t.Fatal(err)
			}
			return ((c.rho-1200)*volume*Gravity - drag) / ((c.rho + 600) * volume)
		}
		got, err := ClosingLag(c.lift, c.d, c.rho, l)
		if err != nil {
			t.Fatal(err)
		}
		const steps = 20000
		dt := got / steps
		v, y := 0.0, 0.0
		for range steps {
			k1 := accel(v)
			k2 := accel(v + dt/2*k1)
			k3 := accel(v + dt/2*k2)
			k4 := accel(v + dt*k3)
			y += dt * (v + dt/6*(k1+k2+k3))
			v += dt / 6 * (k1 + 2*k2 + 2*k3 + k4)
		}
		// at the lag the ball is down to within 1e-4 of the time
		if miss := (y - c.lift) / v / got; math.Abs(miss) > 1e-4 {
			t.Errorf("%+v: off by %.1e of the lag", c, miss)
		}
	}
}
