package hold_test

import (
	"errors"
	"fmt"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// From a hold sheet to the verdict: the mark on the rod creeps on the upstroke and stands still on the downstroke.
func ExampleAnalyse() {
	p, err := pump.DemoPump("orrin-30")
	if err != nil {
		fmt.Println(err)
		return
	}
	at := unit.Metric().Show(p.Limits.Hold, unit.Pressure)
	sheet := `hold: 1
pump: orrin-30
readings:
  - {creep: up, pressure: "` + at + `", travel: 60 mm, time: 14.2 s}
  - {still: down, pressure: "` + at + `", time: 60 s}
`
	s, err := hold.ReadSheet("orrin.yaml", []byte(sheet), nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := hold.Analyse(p, s, hold.DefaultPrior(), hold.Options{Seed: 1, Next: true})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("it", r.Verdict.Word)
	fmt.Println("these readings cannot tell apart:", r.Groups)
	fmt.Println("a check is worth doing:", len(r.Next) > 0)
	// Output:
	// it does not hold
	// these readings cannot tell apart: [[piston packing piston valve]]
	// a check is worth doing: true
}

// A reading that cannot come from the pump is refused with the reason, whatever leaks.
func ExampleRefuse() {
	p, err := pump.DemoPump("tolsk-18")
	if err != nil {
		fmt.Println(err)
		return
	}
	s := &hold.Sheet{Pump: "tolsk-18", Readings: []hold.Reading{{Kind: hold.Creep, Stroke: pump.Up, Pressure: p.Limits.Hold, Travel: 0.01, Time: 10}}}
	var r *hold.Refusal
	fmt.Println(errors.As(hold.Refuse(p, s), &r), r.Items[0].Found)
	// Output: true a creep reading
}

// A shop's own rates: what the file does not say stays as general experience has it.
func ExampleReadPrior() {
	pr, err := hold.ReadPrior("shop.yaml", []byte("prior: 1\nhealthy: 10 %\npaths:\n  - {kind: seat, weight: 3}\n"))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(pr.Healthy, pr.Weight["seat"], pr.Default)
	// Output: 0.1 3 false
}

// The rows of a log, with the units of its header.
func ExampleParseTrace() {
	tr, err := hold.ParseTrace([]byte("time (s),pressure (bar)\n0,160\n10,158\n20,156\n30,154\n40,152\n"))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d rows, %.1f MPa at the end\n", len(tr.T), tr.P[len(tr.P)-1]/1e6)
	// Output: 5 rows, 15.2 MPa at the end
}
