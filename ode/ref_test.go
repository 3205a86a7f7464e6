package ode

import (
	"fmt"
	"testing"

	"github.com/evenstroke/evenstroke/internal/refcase"
)

func TestRef(t *testing.T) {
	refcase.Run(t, "ode", map[string]refcase.Formula{
		"Run": func(g refcase.Given) (refcase.Want, error) {
			if name := g.Text("problem"); name != "ball" {
				return refRun(name, g.Num("t"))
			}
			return refBall(g.Num("g"), g.Num("h"), g.Num("e"))
		},
	}, nil)
}

// refRun returns the states y1 … at time t.
func refRun(name string, end float64) (refcase.Want, error) {
	set := append(stiffSet(),
		problem{name: "Arenstorf", sys: arenstorf{}, y0: []float64{0.994, 0, 0, -2.00158510637908252240537862224}, scale: []float64{1}},
		problem{name: "Kaps", sys: kaps{1e-7}, y0: []float64{1, 1}, scale: []float64{1}})
	for _, p := range set {
		if p.name != name {
			continue
		}
		s, err := New(p.sys, p.options(1e-10))
		if err != nil {
			return nil, err
		}
		y := append([]float64(nil), p.y0...)
		if _, err := s.Run(0, y, end, nil); err != nil {
			return nil, err
		}
		want := refcase.Want{}
		for i, v := range y {
			want[fmt.Sprintf("y%d", i+1)] = v
		}
		return want, nil
	}
	return nil, fmt.Errorf("no problem %q", name)
}

// refBall returns the times t1 … of the bounces and where they end.
func refBall(g, h, e float64) (refcase.Want, error) {
	b := &ball{g: g, e: e}
	s, err := New(b, Options{Autonomous: true, MaxStep: 0.1})
	if err != nil {
		return nil, err
	}
	st, err := s.Run(0, []float64{h, 0}, 40, nil)
	if len(b.times) == 0 {
		return nil, err // otherwise the end in a *ZenoError is what is looked for
	}
	want := refcase.Want{"limit": st.T}
	for i, t := range b.times {
		want[fmt.Sprintf("t%d", i+1)] = t
	}
	return want, nil
}
