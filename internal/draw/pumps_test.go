package draw

import (
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
)

// demo reads one of the invented pumps that come with package pump.
func demo(t *testing.T, name string) *pump.Pump {
	t.Helper()
	p, err := pump.DemoPump(name)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// pumps returns the demo pumps and arrangements that none of them has: a rod that goes through, a plunger with one chamber, a
// valve outside between two chambers, two fittings and two drains, a chamber drained by itself, no outlet at all.
func pumps(t *testing.T) map[string]*pump.Pump {
	t.Helper()
	out := map[string]*pump.Pump{"through rod": throughRod(), "plunger": plunger(), "transfer": transfer(), "busy": busy()}
	for _, name := range pump.Demo() {
		out[name] = demo(t, name)
	}
	return out
}

func limits() pump.Limits {
	return pump.Limits{Rated: 20e6, Hold: 20e6, StrokeTime: 60, HoldFor: 120}
}

func throughRod() *pump.Pump {
	return &pump.Pump{
		Name: "through", Bore: 0.04, Rod: 0.02, TailRod: 0.02, Stroke: 0.1, Limits: limits(),
		Chambers: []pump.Chamber{{Name: "rod side", Rod: true}, {Name: "tail side"}},
		Valves: []pump.Valve{
			{Name: "upper inlet", From: pump.Suction, To: "rod side", Ball: 0.02, Seat: 0.014},
			{Name: "upper outlet", From: "rod side", To: pump.Line, Ball: 0.02, Seat: 0.014},
			{Name: "lower inlet", From: pump.Suction, To: "tail side", Ball: 0.02, Seat: 0.014},
			{Name: "lower outlet", From: "tail side", To: pump.Line, Ball: 0.02, Seat: 0.014},
		},
		Seals: []pump.Seal{
			{Name: "throat", Kind: pump.Packing, On: "rod", Between: [2]string{"rod side", pump.Air}},
			{Name: "tail packing", Kind: pump.Packing, On: "rod", Between: [2]string{"tail side", pump.Air}},
			{Name: "piston packing", Kind: pump.Packing, On: "bore", Between: [2]string{"rod side", "tail side"}, Stacks: []string{"low", "high"}},
			{Name: "head seal", Kind: pump.Static, Between: [2]string{"rod side", pump.Air}},
			{Name: "rod end seal", Kind: pump.Static, Between: [2]string{"rod side", "tail side"}},
		},
		Outlets: []pump.Outlet{{Name: "drain", Kind: "drain", From: pump.Line, To: pump.Pail}, {Name: "hose", Kind: "fitting", From: pump.Line, To: pump.Air}},
		Drive:   pump.Drive{Kind: pump.ForceHeld},
	}
}

func plunger() *pump.Pump {
	return &pump.Pump{
		Name: "plunger", Bore: 0.03, Rod: 0.01, Stroke: 0.05, Limits: limits(),
		Chambers: []pump.Chamber{{Name: "head side"}},
		Valves: []pump.Valve{
			{Name: "inlet", From: pump.Suction, To: "head side", Ball: 0.02, Seat: 0.014},
			{Name: "outlet", From: "head side", To: pump.Line, Ball: 0.016, Seat: 0.011},
		},
		Seals: []pump.Seal{
			{Name: "plunger packing", Kind: pump.Packing, On: "bore", Between: [2]string{"head side", pump.Air}},
			{Name: "foot seal", Kind: pump.Static, Between: [2]string{"head side", pump.Air}},
		},
		Drive: pump.Drive{Kind: pump.Crank},
	}
}

func transfer() *pump.Pump {
	p := demoLike()
	p.Name = "transfer"
	p.Valves[0].OnPiston = false
	return p
}

func busy() *pump.Pump {
	p := demoLike()
	p.Name = "busy"
	p.Valves = append(p.Valves, pump.Valve{Name: "second piston valve", From: "lower", To: "upper", Ball: 0.01, Seat: 0.007, OnPiston: true},
		pump.Valve{Name: "bypass", From: pump.Suction, To: pump.Line, Ball: 0.01, Seat: 0.007})
	p.Outlets = append(p.Outlets, pump.Outlet{Name: "second fitting", Kind: "fitting", From: pump.Line, To: pump.Air},
		pump.Outlet{Name: "second drain", Kind: "drain", From: pump.Line, To: pump.Pail},
		pump.Outlet{Name: "chamber drain", Kind: "drain", From: "lower", To: pump.Pail})
	p.Seals = append(p.Seals, pump.Seal{Name: "second throat packing", Kind: pump.Packing, On: "rod", Between: [2]string{"upper", pump.Air}},
		pump.Seal{Name: "line seal", Kind: pump.Static, Between: [2]string{pump.Line, pump.Air}},
		pump.Seal{Name: "second line seal", Kind: pump.Static, Between: [2]string{pump.Line, pump.Air}})
	return p
}

func demoLike() *pump.Pump {
	return &pump.Pump{
		Name: "differential", Bore: 0.03, Rod: 0.021, Stroke: 0.1, Limits: limits(),
		Chambers: []pump.Chamber{{Name: "upper", Rod: true, OpenTo: pump.Line}, {Name: "lower"}},
		Valves: []pump.Valve{
			{Name: "piston valve", From: "lower", To: "upper", Ball: 0.014, Seat: 0.01, OnPiston: true},
			{Name: "inlet valve", From: pump.Suction, To: "lower", Ball: 0.022, Seat: 0.016},
		},
		Seals: []pump.Seal{
			{Name: "throat packing", Kind: pump.Packing, On: "rod", Between: [2]string{"upper", pump.Air}},
			{Name: "piston packing", Kind: pump.Packing, On: "bore", Between: [2]string{"upper", "lower"}},
			{Name: "inlet seat seal", Kind: pump.Static, Between: [2]string{"lower", pump.Suction}},
		},
		Outlets: []pump.Outlet{{Name: "drain valve", Kind: "drain", From: pump.Line, To: pump.Pail}, {Name: "outside", Kind: "fitting", From: pump.Line, To: pump.Air}},
		Drive:   pump.Drive{Kind: pump.ForceHeld},
	}
}

// result makes up a result for a pump: invented numbers, groups of paths that follow each other in the sheet.
func result(p *pump.Pump, word string) *hold.Result {
	shares := []float64{0.63, 0.004, 0.31, 0.02, 0.12, 0.06, 0.2, 0.995}
	r := &hold.Result{
		Pump: p.Name, Stage: "as found", Sets: []hold.SetShare{{Paths: []string{}, P: 0.02}},
		Verdict: hold.Verdict{Word: word, Meets: 0.42, Limit: 60, Stroke: map[string]hold.Quantiles{
			"up": {Q05: 4.1, Q50: 4.6, Q95: 5.2}, "down": {Q05: 55, Q50: 70, Q95: 5e8},
		}, Courses: []hold.Course{{Stroke: "up", Seen: true, Seconds: 30, Asked: 120, AtLimit: 0.05}, {Stroke: "down", Seen: true, Seconds: 120, Asked: 120, AtLimit: 0.1}}},
	}
	if word == hold.NotProven {
		r.Verdict.Need = []hold.Need{{Stroke: "up", Seconds: 40, Text: "hold the upstroke for 45 s with a mark on the rod; still then: it holds"}}
	}
	for i, q := range p.Map().Paths {
		f := 6 + 5*float64(i)
		r.Paths = append(r.Paths, hold.PathShare{Path: q.Name, P: shares[i%len(shares)], Flow: hold.Quantiles{Q05: f / 2, Q50: f, Q95: 2.3 * f}})
	}
	for i := 1; i+1 < len(r.Paths); i += 4 {
		r.Groups = append(r.Groups, []string{r.Paths[i].Path, r.Paths[i+1].Path})
	}
	return r
}
