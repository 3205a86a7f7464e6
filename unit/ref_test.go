package unit

import (
	"testing"

	"github.com/evenstroke/evenstroke/internal/refcase"
)

// dimNamed returns the kind of quantity with that name.
func dimNamed(t *testing.T, name string) Dim {
	t.Helper()
	for _, d := range Dims() {
		if d.String() == name {
			return d
		}
	}
	t.Fatalf("no kind of quantity is named %q", name)
	return 0
}

func TestRef(t *testing.T) {
	refcase.Run(t, "unit", map[string]refcase.Formula{
		"ToSI": func(g refcase.Given) (refcase.Want, error) {
			si, err := ToSI(g.Num("x"), g.Text("unit"), dimNamed(t, g.Text("dim")))
			return refcase.Want{"si": si}, err
		},
		"FromSI": func(g refcase.Given) (refcase.Want, error) {
			x, err := FromSI(g.Num("si"), g.Text("unit"), dimNamed(t, g.Text("dim")))
			return refcase.Want{"x": x}, err
		},
		"Convert": func(g refcase.Given) (refcase.Want, error) {
			y, err := Convert(g.Num("x"), g.Text("from"), g.Text("to"))
			return refcase.Want{"y": y}, err
		},
		"Parse": func(g refcase.Given) (refcase.Want, error) {
			v, err := Parse(g.Text("text"), dimNamed(t, g.Text("dim")))
			return refcase.Want{"si": v.SI, "u": v.U}, err
		},
	}, nil)
}
