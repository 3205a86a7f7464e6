package report

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/demo"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// demoPump is a pump of the demo workshop.
func demoPump(t testing.TB, name string) *pump.Pump {
	t.Helper()
	p, err := pump.DemoPump(name)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func demoSheet(t testing.TB, name string) *hold.Sheet {
	t.Helper()
	data, ok := demo.File(name)
	if !ok {
		t.Fatalf("no demo file %s", name)
	}
	s, err := hold.ReadSheet(name, data, nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// foundResult and leftResult are numbers made up for this test; package hold has no say in them.
func foundResult() *hold.Result {
	q := func(a, b, c float64) hold.Quantiles { return hold.Quantiles{Q05: a, Q50: b, Q95: c} }
	return &hold.Result{
		Pump: "orrin-30", Stage: "as found", Draws: 24000, StdErr: 0.004, Assumed: []string{"one reading in 20 may be wrong"},
		Verdict: hold.Verdict{Word: hold.DoesNotHold, Meets: 0.013, Limit: 60, Stroke: map[string]hold.Quantiles{"up": q(18, 24, 32), "down": q(4000, 9000, 1e5)}},
		Sets:    []hold.SetShare{{Paths: []string{"piston packing"}, P: 0.6}, {Paths: []string{}, P: 0.02}},
		Paths: []hold.PathShare{
			{Path: "throat packing", P: 0.013, Flow: q(1, 5, 40)},
			{Path: "outside", P: 0.004, Flow: q(1, 5, 40)},
			{Path: "piston packing", P: 0.61, Flow: q(64, 90, 121), Overall: q(0.01, 66, 118), How: map[string]float64{"worn": 0.62, "preload too low": 0.3}},
			{Path: "piston valve", P: 0.38, Flow: q(52, 86, 119), Overall: q(0.004, 12, 104), How: map[string]float64{"dirt on the seat": 0.7, "seat worn": 0.3}},
			{Path: "inlet valve", P: 0.011, Flow: q(9, 80, 300)},
			{Path: "inlet seat seal", P: 0.006, Flow: q(9, 80, 300)},
			{Path: "drain valve", P: 0.009, Flow: q(16, 40, 99)},
		},
		Groups: [][]string{{"piston packing", "piston valve"}},
		Doubts: []hold.Doubt{{Reading: 2, P: 0.8, Text: "reading 2 contradicts the others; take it again"}},
		Next: []hold.Check{
			{Do: "Time the creep again at a third of the pressure.", Settles: "piston packing or piston valve", Minutes: 4, Hazards: []string{"The rod moves without warning.", "Fluid under full pressure: no hand near the gun, the hose or a leak."}},
			{Do: "Warm the fluid by 15 °C and time the creep.", Settles: "a gap or a seat", Minutes: 25, Hazards: []string{"The rod moves without warning.", "Keep under the flash point."}},
		},
	}
}

func leftResult() *hold.Result {
	r := foundResult()
	r.Stage, r.Groups, r.Doubts, r.Next = "as left", nil, nil, nil
	r.Verdict = hold.Verdict{Word: hold.Holds, Meets: 0.987, Limit: 60, Stroke: map[string]hold.Quantiles{"up": {Q05: 5000, Q50: 9000, Q95: 1e5}, "down": {Q05: 6000, Q50: 9000, Q95: 1e5}}}
	r.Sets = []hold.SetShare{{Paths: []string{}, P: 0.96}}
	for i := range r.Paths {
		r.Paths[i].P, r.Paths[i].How = 0.006, nil
	}
	return r
}

// sample is a made-up photograph: a disc on a grey ground, darker towards one corner.
func sample(w, h int) []byte {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{uint8(120 + 90*x/w), uint8(130 + 80*y/h), 140, 255}
			if math.Hypot(float64(x-w/3), float64(y-h/2)) < float64(h)/4 {
				c = color.RGBA{90, 60, 40, 255}
			}
			img.SetRGBA(x, y, c)
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 80}); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// inkPNG is a made-up signature as a picture with a clear ground.
func inkPNG() []byte {
	img := image.NewNRGBA(image.Rect(0, 0, 240, 80))
	for x := 10; x < 230; x++ {
		y := 40 + int(25*math.Sin(float64(x)/14)*float64(230-x)/220)
		for d := range 3 {
			img.SetNRGBA(x, y+d, color.NRGBA{20, 30, 90, 255})
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		panic(err)
	}
	return b.Bytes()
}

const scribble = "M10 60c12-40 22-48 26-30s-10 44-4 42 18-46 28-44-6 40 4 40 14-30 22-28-4 26 6 26 12-20 20-18 0 16 12 14 30-22 60-30"

// demoDocument is a whole report of a job of the demo workshop.
func demoDocument(t testing.TB) Document {
	p := demoPump(t, "orrin-30")
	steps, err := p.Work(pump.Chosen{"piston leather ring": pump.Replace, "piston polyethylene ring": pump.Replace, "throat leather ring": pump.Replace,
		"throat polyethylene ring": pump.Replace, "cylinder": pump.Keep, "rod": pump.Keep, "piston valve seat": pump.TurnOver, "piston valve ball": pump.Replace})
	if err != nil {
		t.Fatal(err)
	}
	doc := Document{
		Shop: "Coatings workshop, Aldersay ferry yard (invented)", ShopLines: []string{"Shed 3, North Quay, Aldersay · bench 2"}, Made: "12 May 2026, 16:40", Version: "0.0-test",
		At: time.Date(2026, 5, 12, 16, 40, 0, 0, time.UTC), Units: unit.Metric(), Pump: p, Steps: steps, Audited: true,
		Job: []Fact{{"Job", "ALD-2026-0117"}, {"Serial", "ALD-0417"}, {"Brought in by", "the deck gang"}, {"Complaint", "creeps at the stall with the gun shut"},
			{"Booked in", "11 May 2026, 08:15"}, {"Rebuilt by", "the apprentice, checked by the trainer"}},
		Holds:      []Hold{{Heading: "As found", Result: foundResult(), Sheet: demoSheet(t, "orrin-as-found-2.yaml")}, {Heading: "As left", Result: leftResult(), Sheet: demoSheet(t, "orrin-as-left.yaml")}},
		Departures: []pump.Departure{{Kind: pump.LipsReversed, Step: "stack piston 2", Found: "lips up", Want: "lips down", Why: "A reversed ring lets the pressure by."}},
		SignOffs:   []SignOff{{steps[0].ID, "M. Oake", "12 May, 09:05"}, {steps[1].Title, "M. Oake", "12 May, 09:20"}, {"Hold as left, seen", "T. Brand", "12 May, 16:10"}},
		Photos:     []Photo{{"Piston packing as found: the leather is cut on the loaded side", sample(640, 480), "11 May, 10:02", "M. Oake"}, {"Seat of the piston valve, turned over", sample(480, 640), "12 May, 11:30", "M. Oake"}, {"Rod", sample(300, 200), "", ""}},
		Prices:     []PriceLine{{"Set of packings, leather and polyethylene", "1", "86.40"}, {"Ball of the piston valve", "1", "12.90"}, {"Work at the bench", "2.5 h", "145.00"}},
		Total:      "244.30", Currency: "EUR", Signature: &Signature{Name: "T. Brand", Role: "Trainer", When: "12 May 2026, 16:35", SVGPath: scribble},
		RecordMark: "9f2c-41d7-0b6e-a135 77c0-e2d4-5b18-936f", QR: "https://bench.example/job/ALD-2026-0117?mark=9f2c41d70b6e",
		Unknown: []string{"Surfaces were not measured; what to keep was decided by the leak map alone."},
	}
	for _, st := range p.Stacks {
		doc.Stacks = append(doc.Stacks, Stack{Name: st.Name})
	}
	for i, j := range p.Joints {
		q := Torque{Joint: j, Analysis: &bolt.Analysis{Wrench: bolt.Wrench{Set: j.Torque * 0.94}, Clamp: bolt.Distribution{Q05: 5200, Q95: 9100}}}
		if i != 1 {
			q.Read = j.Torque * 1.01
		}
		doc.Torques = append(doc.Torques, q)
	}
	var x, y []float64
	for i := range 121 {
		x, y = append(x, float64(i)), append(y, 2.28e7*math.Exp(-float64(i)/9000))
	}
	doc.Plots = []draw.Plot{{Title: "Proof: the line at the stall, as left", X: draw.Axis{Label: "time", Dim: unit.Time}, Y: draw.Axis{Label: "pressure", Dim: unit.Pressure},
		Series: []draw.Series{{Name: "line", X: x, Y: y}}}}
	return doc
}

// demoCustomer is the page for the customer of the same job.
func demoCustomer() Customer {
	return Customer{
		Shop: "Coatings workshop, Aldersay ferry yard (invented)", ShopLines: []string{"Shed 3, North Quay, Aldersay · bench 2"}, Made: "12 May 2026", Version: "0.0-test",
		At: time.Date(2026, 5, 12, 16, 40, 0, 0, time.UTC), Note: "Demonstration: pump, people and prices are invented.", For: "the deck gang",
		Facts:   []Fact{{"Job", "ALD-2026-0117"}, {"Pump", "orrin-30, serial ALD-0417"}, {"Brought in", "11 May 2026"}},
		Brought: []string{"A paint pump that creeps when the gun is shut."},
		Found:   []string{"The packing on the piston let paint by. It was worn out on one side.", "The ball under it had dirt on its seat."},
		Done:    []string{"New packings on the piston and at the throat.", "A new ball, and its seat turned over to the unused side.", "All joints tightened to the maker's torques."},
		Verdict: hold.Holds, Proof: "We held it at 160 bar with the gun shut, once up and once down, for a minute each. The rod did not move.",
		Prices: []PriceLine{{"Set of packings, leather and polyethylene", "1", "86.40"}, {"Ball of the piston valve", "1", "12.90"}, {"Work at the bench", "2.5 h", "145.00"}},
		Total:  "244.30", Currency: "EUR", Ask: []string{"T. Brand, bench 2, extension 417"}, RecordMark: "9f2c-41d7-0b6e-a135 77c0-e2d4-5b18-936f", QR: "https://bench.example/c/9f2c41d70b6e",
		Signature: &Signature{Name: "T. Brand", Role: "Trainer", When: "12 May 2026", PNG: inkPNG()},
	}
}
