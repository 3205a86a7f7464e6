package ode_test

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/ode"
)

// tank empties through a hole: dh/dt = -k·√h (Torricelli), until it is down to
// 0.25 m and somebody shuts the hole.
type tank struct{ k float64 }

func (*tank) Dim() int                                  { return 1 }
func (s *tank) Deriv(_ float64, y, dy []float64)        { dy[0] = -s.k * math.Sqrt(y[0]) }
func (s *tank) Jac(_ float64, y, jac []float64)         { jac[0] = -s.k / (2 * math.Sqrt(y[0])) }
func (*tank) NumEvents() int                            { return 1 }
func (*tank) Events(_ float64, y, g []float64)          { g[0] = y[0] - 0.25 }
func (*tank) Direction(int) int                         { return -1 }
func (*tank) Handle(int, float64, []float64) ode.Action { return ode.Stop }

func Example() {
	s, err := ode.New(&tank{k: 0.1}, ode.Options{RelTol: 1e-8, Autonomous: true})
	if err != nil {
		fmt.Println(err)
		return
	}
	level := []float64{1}
	show := ode.At([]float64{0, 5}, func(t float64, y []float64) error {
		fmt.Printf("%4.1f s  %.4f m\n", t, y[0])
		return nil
	})
	st, err := s.Run(0, level, 60, show)
	if err != nil {
		fmt.Println(err)
		return
	}
	// √h falls by k/2 a second: √0.25 is reached after (1-0.5)/0.05 s.
	fmt.Printf("shut at %.4f s, %.4f m left, %d event\n", st.T, level[0], st.Events)
	// Output:
	//  0.0 s  1.0000 m
	//  5.0 s  0.5625 m
	// shut at 10.0000 s, 0.2500 m left, 1 event
}
