package pump

import (
	"fmt"
	"testing"

	"github.com/evenstroke/evenstroke/internal/refcase"
)

// arrangement makes a pump of one of the arrangements of the trade, with nothing but what the pressure map needs.
func arrangement(kind string, bore, rod, tail float64) (*Pump, error) {
	p := &Pump{Bore: bore, Rod: rod, TailRod: tail}
	switch kind {
	case "differential":
		p.Chambers = []Chamber{{Name: "upper", Rod: true, OpenTo: Line}, {Name: "lower"}}
		p.Valves = []Valve{{Name: "piston valve", From: "lower", To: "upper"}, {Name: "inlet valve", From: Suction, To: "lower"}}
	case "three valves":
		p.Chambers = []Chamber{{Name: "upper", Rod: true}, {Name: "lower"}}
		p.Valves = []Valve{{Name: "piston valve", From: "lower", To: "upper"}, {Name: "inlet valve", From: Suction, To: "lower"}, {Name: "outlet valve", From: "upper", To: Line}}
	case "four valves":
		p.Chambers = []Chamber{{Name: "upper", Rod: true}, {Name: "lower"}}
		for _, c := range []string{"upper", "lower"} {
			p.Valves = append(p.Valves, Valve{Name: c + " inlet", From: Suction, To: c}, Valve{Name: c + " outlet", From: c, To: Line})
		}
	default:
		return nil, fmt.Errorf("no arrangement %q", kind)
	}
	p.Seals = []Seal{
		{Name: "throat packing", Kind: Packing, On: "rod", Between: [2]string{"upper", Air}, Stacks: []string{"throat"}},
		{Name: "piston packing", Kind: Packing, On: "bore", Between: [2]string{"upper", "lower"}, Stacks: []string{"piston"}},
	}
	if tail > 0 {
		p.Seals = append(p.Seals, Seal{Name: "tail packing", Kind: Packing, On: "rod", Between: [2]string{Air, "lower"}, Stacks: []string{"tail"}})
	}
	return p, nil
}

func TestRef(t *testing.T) {
	refcase.Run(t, "pump", map[string]refcase.Formula{
		"Map.Creep": func(g refcase.Given) (refcase.Want, error) {
			p, err := arrangement(g.Text("arrangement"), g.Num("bore"), g.Num("rod"), g.Num("tail"))
			if err != nil {
				return nil, err
			}
			m := p.Map()
			return refcase.Want{"up": g.Num("force") / m.Creep[Up], "down": g.Num("force") / m.Creep[Down]}, nil
		},
		"Pump.Displacement": func(g refcase.Given) (refcase.Want, error) {
			p, err := arrangement(g.Text("arrangement"), g.Num("bore"), g.Num("rod"), 0)
			if err != nil {
				return nil, err
			}
			p.Stroke = g.Num("stroke")
			return refcase.Want{"Q": p.Displacement() * g.Num("n")}, nil
		},
		"Pump.Volume": func(g refcase.Given) (refcase.Want, error) {
			p, err := arrangement("differential", 0.03, 0.0212, 0)
			if err != nil {
				return nil, err
			}
			p.Stroke = 0.1
			out := refcase.Want{}
			for _, c := range p.Chambers {
				c.Dead = g.Num("dead")
				out[map[bool]string{true: "rod", false: "head"}[c.Rod]] = p.Volume(c, g.Num("x"))
			}
			return out, nil
		},
	}, nil)
}
