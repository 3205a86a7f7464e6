package seal

import (
	"testing"

	"github.com/evenstroke/evenstroke/internal/refcase"
)

// ofNums adapts a formula of plain numbers.
func ofNums(out string, f func(x []float64) (float64, error), in ...string) refcase.Formula {
	return func(g refcase.Given) (refcase.Want, error) {
		x := make([]float64, len(in))
		for i, name := range in {
			x[i] = g.Num(name)
		}
		v, err := f(x)
		return refcase.Want{out: v}, err
	}
}

// threeRings is the stack of the reference cases: PTFE, leather and UHMWPE of 14/30 mm, nut above, rod sliding.
func threeRings() Stack {
	ring := func(h, e float64, in, out Wall) Ring {
		return Ring{Kind: VRing, Material: "drawn", Height: h, ID: 0.014, OD: 0.030, Lips: Down, Inner: in, Outer: out, Modulus: e}
	}
	return Stack{Slides: Rod, Rings: []Ring{
		ring(0.004, 0.5e9, Wall{0.05, 0.8519}, Wall{0.05, 0.8519}),
		ring(0.005, 0.1e9, Wall{0.08, 0.6}, Wall{0.08, 0.6}),
		ring(0.006, 0.7e9, Wall{0.15, 0.85}, Wall{0.10, 0.85}),
	}}
}

func stackCase(g refcase.Given) (refcase.Want, error) {
	s := threeRings()
	a, err := s.Analyse(Duty{Load: g.Num("load")})
	if err != nil {
		return nil, err
	}
	c, err := s.Compliance()
	r := a.Rings[int(g.Num("ring"))]
	return refcase.Want{
		"near": r.Near, "far": r.Far, "mean": r.Mean, "Ti": r.ForceInner, "To": r.ForceOuter, "left": a.FarLoad,
		"compliance": c, "dragUp": a.Drag.Up, "dragDown": a.Drag.Down,
	}, err
}

func dashCase(g refcase.Given) (refcase.Want, error) {
	o, err := Dash(g.Text("dash"))
	return refcase.Want{"id": o.ID, "idtol": o.IDTol, "cs": o.Section, "cstol": o.SectTol}, err
}

func TestRef(t *testing.T) {
	refcase.Run(t, "seal", map[string]refcase.Formula{
		"LateralFactor": ofNums("K", func(x []float64) (float64, error) { return LateralFactor(x[0]) }, "nu"),
		"PTFEPoisson":   ofNums("nu", func(x []float64) (float64, error) { return PTFEPoisson(x[0]) }, "T"),
		"Decay": ofNums("beta", func(x []float64) (float64, error) {
			return Decay(Wall{x[0], x[1]}, Wall{x[2], x[3]}, x[4], x[5])
		}, "mui", "Ki", "muo", "Ko", "d", "D"),
		"AxialStress": ofNums("sigma", func(x []float64) (float64, error) { return AxialStress(x[0], x[1], x[2]) }, "sigma0", "beta", "z"),
		"MeanStress":  ofNums("mean", func(x []float64) (float64, error) { return MeanStress(x[0], x[1], x[2]) }, "sigma0", "beta", "h"),
		"WallForce": ofNums("T", func(x []float64) (float64, error) {
			return WallForce(Wall{x[0], x[1]}, x[2], x[3], x[4], x[5])
		}, "mu", "K", "diameter", "sigma0", "beta", "h"),
		"Contact":  ofNums("q", func(x []float64) (float64, error) { return Contact(x[0], x[1], x[2], x[3]) }, "K", "sigma", "e", "p"),
		"Capacity": ofNums("p", func(x []float64) (float64, error) { return Capacity(x[0], x[1], x[2]) }, "q0", "e", "limit"),
		"Gap": ofNums("h", func(x []float64) (float64, error) {
			return Gap(Closure{x[0], x[1]}, x[2], x[3], x[4])
		}, "h0", "qc", "n", "s", "E"),
		"Stack":             stackCase,
		"stack under a nut": nutCase,
		"Squeeze":           ofNums("squeeze", func(x []float64) (float64, error) { return Squeeze(x[0], x[1]) }, "c", "t"),
		"Fill":              ofNums("fill", func(x []float64) (float64, error) { return Fill(x[0], x[1], x[2]) }, "c", "w", "t"),
		"Stretch":           ofNums("stretch", func(x []float64) (float64, error) { return Stretch(x[0], x[1]) }, "d1", "D"),
		"StretchedSection": ofNums("c2", func(x []float64) (float64, error) {
			return StretchedSection(x[0], x[1], x[2])
		}, "d1", "c", "D"),
		"ExtrusionGap":    ofNums("gap", func(x []float64) (float64, error) { return ExtrusionGap(x[0], x[1]) }, "shore", "p"),
		"ClassBTolerance": ofNums("t", func(x []float64) (float64, error) { return ClassBTolerance(x[0]) }, "d1"),
		"Dash":            dashCase,
		"GasketStress": ofNums("sigma", func(x []float64) (float64, error) {
			return GasketStress(x[0], x[1], x[2], x[3], x[4])
		}, "F", "p", "Dp", "d", "D"),
	}, nil)
}
