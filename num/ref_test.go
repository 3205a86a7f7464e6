package num

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/refcase"
)

// functions for the reference cases, with derivatives.
var functions = map[string]func(x float64) (y, dy float64){
	"wallis": func(x float64) (float64, float64) { return (x*x-2)*x - 5, 3*x*x - 2 },
	"kepler": func(x float64) (float64, float64) {
		return x - 0.9*math.Sin(x) - (2 - 0.9*math.Sin(2)), 1 - 0.9*math.Cos(x)
	},
	"triple":  func(x float64) (float64, float64) { d := x - 1; return d*d*d + 1e-18*d, 3*d*d + 1e-18 },
	"xex":     func(x float64) (float64, float64) { return x * math.Exp(x), (1 + x) * math.Exp(x) },
	"falling": func(x float64) (float64, float64) { return -x * x, -2 * x },
}

func TestRef(t *testing.T) {
	value := func(g refcase.Given) func(float64) float64 {
		f := functions[g.Text("f")]
		return func(x float64) float64 { y, _ := f(x); return y }
	}
	one := func(name string, f func(float64) float64) refcase.Formula {
		return func(g refcase.Given) (refcase.Want, error) { return refcase.Want{name: f(g.Num("x"))}, nil }
	}
	refcase.Run(t, "num", map[string]refcase.Formula{
		"Brent": func(g refcase.Given) (refcase.Want, error) {
			x, err := Brent(value(g), g.Num("a"), g.Num("b"), 0)
			return refcase.Want{"x": x}, err
		},
		"BrentFrom": func(g refcase.Given) (refcase.Want, error) {
			x, err := BrentFrom(value(g), g.Num("a"), g.Num("fa"), g.Num("b"), g.Num("fb"), 0)
			return refcase.Want{"x": x}, err
		},
		"Newton": func(g refcase.Given) (refcase.Want, error) {
			x, err := Newton(functions[g.Text("f")], g.Num("a"), g.Num("b"), 0)
			return refcase.Want{"x": x}, err
		},
		"Minimum": func(g refcase.Given) (refcase.Want, error) {
			x, fx, err := Minimum(value(g), g.Num("a"), g.Num("b"), 0)
			return refcase.Want{"x": x, "fx": fx}, err
		},
		"NormalPDF":    one("y", NormalPDF),
		"NormalCDF":    one("p", NormalCDF),
		"NormalLogCDF": one("l", NormalLogCDF),
		"Erfcx":        one("y", Erfcx),
		"NormalQuantile": func(g refcase.Given) (refcase.Want, error) {
			x, err := NormalQuantile(g.Num("p"))
			return refcase.Want{"x": x}, err
		},
		"Sum": func(g refcase.Given) (refcase.Want, error) {
			return refcase.Want{"s": Sum(list(t, g.Text("x")))}, nil
		},
		"LogSumExp": func(g refcase.Given) (refcase.Want, error) {
			return refcase.Want{"l": LogSumExp(list(t, g.Text("x")))}, nil
		},
		"WeightedQuantile": func(g refcase.Given) (refcase.Want, error) {
			q, err := WeightedQuantile(g.Num("p"), list(t, g.Text("x")), list(t, g.Text("w")))
			return refcase.Want{"q": q}, err
		},
		"RadicalInverse": func(g refcase.Given) (refcase.Want, error) {
			x, err := RadicalInverse(uint64(g.Num("i")), int(g.Num("base")))
			return refcase.Want{"x": x}, err
		},
	}, nil)
}

// list reads numbers; "NumAcc4" stands for that data set of NIST StRD:
// 10000000.2, then 500 times 10000000.1 and 10000000.3 by turns.
func list(t *testing.T, text string) []float64 {
	t.Helper()
	if text == "NumAcc4" {
		x := []float64{10000000.2}
		for range 500 {
			x = append(x, 10000000.1, 10000000.3)
		}
		return x
	}
	var x []float64
	for _, f := range strings.Fields(text) {
		v, err := strconv.ParseFloat(f, 64)
		if err != nil {
			t.Fatal(err)
		}
		x = append(x, v)
	}
	return x
}
