package unit

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Worked by hand: 21.2 mm = 0.834646 in, 21.15 mm = 0.832677 in, 30 mm = 1.181102 in, 30.06 mm = 1.183465 in (1 in = 25.4 mm).
func TestApart(t *testing.T) {
	for _, c := range []struct {
		sys  System
		dim  Dim
		si   []float64
		want []string
	}{
		{Metric(), Length, []float64{0.0212, 0.02115}, []string{"21.20 mm", "21.15 mm"}},
		{Imperial(), Length, []float64{0.0212, 0.02115}, []string{"0.8346 in", "0.8327 in"}},
		{Metric(), Length, []float64{0.03, 0.03006}, []string{"30.00 mm", "30.06 mm"}},
		{Imperial(), Length, []float64{0.03, 0.03006}, []string{"1.1811 in", "1.1835 in"}}, // both were 1.18 in
		{Imperial(), Length, []float64{0.02115, 0.8325 * 0.0254}, []string{"0.8327 in", "0.8325 in"}},
		{Metric(), Length, []float64{0.0212, 0.021199}, []string{"21.200 mm", "21.199 mm"}},
		{Metric(), Length, []float64{0.0212, 0.0212}, []string{"21.20 mm", "21.20 mm"}},
		{Metric(), Length, []float64{2e-5, 5e-5}, []string{"20.0 µm", "50.0 µm"}},
		{Metric(), Torque, []float64{64, 60, 68}, []string{"64.0 N·m", "60.0 N·m", "68.0 N·m"}},
		{Metric(), Length, []float64{0.02115, 0.8325 * 0.0254}, []string{"21.150 mm", "21.146 mm"}}, // 21.1455, which is 21.15 too with two decimals
		{Metric(), Pressure, []float64{157.6e5, 158e5}, []string{"157.6 bar", "158.0 bar"}},
		{Metric(), Length, []float64{0.0212, math.NaN(), 0.02115}, []string{"21.20 mm", "no value mm", "21.15 mm"}},
		{Metric(), Torque, nil, []string{}},
	} {
		if got := c.sys.Apart(c.dim, c.si...); !slices.Equal(got, c.want) {
			t.Errorf("%v: got %q, want %q", c.si, got, c.want)
		}
	}
}

// No two different values print alike, in any units, and what is printed reads back to within half of its last place.
func TestApartProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sys := rapid.SampledFrom([]System{Metric(), Imperial()}).Draw(t, "units")
		base := rapid.Float64Range(1e-3, 0.5).Draw(t, "size")
		values := []float64{base}
		for range rapid.IntRange(1, 4).Draw(t, "more") {
			values = append(values, base*(1+rapid.Float64Range(-0.2, 0.2).Draw(t, "off")))
		}
		out := sys.Apart(Length, values...)
		for i, a := range out {
			got, err := Parse(a, Length)
			if err != nil {
				t.Fatal(err)
			}
			num, u, _ := strings.Cut(a, " ")
			_, rest, _ := strings.Cut(num, ".")
			half, err := Parse("0."+strings.Repeat("0", len(rest))+"51 "+u, Length)
			if err != nil {
				t.Fatal(err)
			}
			if off := math.Abs(got.SI - values[i]); off > half.SI {
				t.Fatalf("%q is %g m off %s m", a, off, strconv.FormatFloat(values[i], 'g', -1, 64))
			}
			if u == "in" && len(rest) < 4 {
				t.Fatalf("%q has fewer than four decimals of an inch", a)
			}
			for k, b := range out[:i] {
				if a == b && math.Abs(values[i]-values[k]) > 1e-8*base {
					t.Fatalf("%g m and %g m both print as %q", values[i], values[k], a)
				}
			}
		}
	})
}
