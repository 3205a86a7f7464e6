package pump_test

import (
	"fmt"

	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// From a pump sheet to the order of work for one turned seat.
func ExamplePump_Work() {
	data, err := pump.DemoSheet("tolsk-18")
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := pump.Read("tolsk-18.yaml", data)
	if err != nil {
		fmt.Println(err)
		return
	}
	steps, err := p.Work(pump.Chosen{"inlet valve seat": pump.TurnOver})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range steps {
		if s.Kind == pump.StepRework || s.Kind == pump.StepTorque {
			fmt.Printf("%s\n  %s\n", s.Title, s.Text(unit.Imperial()))
		}
	}
	// Output:
	// Turn the inlet valve seat over
	//   Lay its unused side to the ball and mark the used one.
	// Torque the foot
	//   Tighten in one even pull to 40.6 lbf·ft ± 3.69 lbf·ft. It takes a 36 mm crowfoot spanner. The spanner adds 2.28 in to the wrench: held square to it no correction is needed; in line with it, set torque × wrench length / (wrench length + 2.28 in).
}
