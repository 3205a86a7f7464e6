package stroke

import (
	"testing"

	"github.com/evenstroke/evenstroke/internal/refcase"
)

func TestRef(t *testing.T) {
	one := func(name string, v float64, err error) (refcase.Want, error) { return refcase.Want{name: v}, err }
	refcase.Run(t, "stroke", map[string]refcase.Formula{
		"SingleActing": func(g refcase.Given) (refcase.Want, error) {
			v, err := SingleActing(g.Num("D"), g.Num("s"), g.Num("n"))
			return one("Q", v, err)
		},
		"DoubleActing": func(g refcase.Given) (refcase.Want, error) {
			v, err := DoubleActing(g.Num("D"), g.Num("d"), g.Num("s"), g.Num("n"))
			return one("Q", v, err)
		},
		"Slip": func(g refcase.Given) (refcase.Want, error) {
			v, err := Slip(g.Num("Qt"), g.Num("Qa"))
			return one("slip", v, err)
		},
		"VolumetricEfficiency": func(g refcase.Given) (refcase.Want, error) {
			v, err := VolumetricEfficiency(g.Num("Qt"), g.Num("Qa"))
			return one("eta", v, err)
		},
		"AccelerationHead": func(g refcase.Given) (refcase.Want, error) {
			v, err := AccelerationHead(g.Num("L"), g.Num("A"), g.Num("a"), g.Num("omega"), g.Num("r"), g.Num("theta"))
			return one("h", v, err)
		},
		"MixingPressure": func(g refcase.Given) (refcase.Want, error) {
			v, err := MixingPressure(g.Num("Cu"), g.Num("pu"), g.Num("Cl"), g.Num("pl"))
			return one("p", v, err)
		},
		"LaminarHold": func(g refcase.Given) (refcase.Want, error) {
			v, err := LaminarHold(g.Num("p0"), g.Num("C"), g.Num("lin"), g.Num("t"))
			return one("p", v, err)
		},
		"OrificeHold": func(g refcase.Given) (refcase.Want, error) {
			v, err := OrificeHold(g.Num("p0"), g.Num("C"), g.Num("quad"), g.Num("t"))
			return one("p", v, err)
		},
	}, map[string]string{})
}
