package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

var update = flag.Bool("update", false, "write the golden report anew")

// thePump is an invented differential pump.
func thePump() *pump.Pump {
	return &pump.Pump{
		Name: "example-30", Note: "Invented, like all in this test.", Invented: true, Bore: 0.03, Rod: 0.0212, Stroke: 0.1,
		Limits:   pump.Limits{Rated: 22e6, Hold: 22e6, StrokeTime: 60, HoldFor: 120},
		Drive:    pump.Drive{Kind: pump.ForceHeld},
		Chambers: []pump.Chamber{{Name: "upper", Rod: true, OpenTo: pump.Line}, {Name: "lower"}},
		Valves: []pump.Valve{
			{Name: "piston valve", From: "lower", To: "upper", Ball: 0.014, Seat: 0.01, OnPiston: true},
			{Name: "inlet valve", From: pump.Suction, To: "lower", Ball: 0.022, Seat: 0.016},
		},
		Seals: []pump.Seal{
			{Name: "throat packing", Kind: pump.Packing, On: "rod", Between: [2]string{"upper", pump.Air}, Stacks: []string{"throat"}},
			{Name: "piston packing", Kind: pump.Packing, On: "bore", Between: [2]string{"upper", "lower"}},
		},
		Outlets: []pump.Outlet{{Name: "drain valve", Kind: "drain", From: pump.Line, To: pump.Pail}},
		Joints:  []pump.Joint{{Name: "throat nut", Thread: "M36x2", Torque: 42, Tol: 3, Spanner: "hook spanner", Adapter: 0.06}},
		Stacks: []pump.Stack{{Name: "throat", Seal: "throat packing", Inner: 0.0212, Outer: 0.0312, FilledFrom: pump.Top, Rings: []pump.Ring{
			{Part: "male gland", Kind: pump.KindMale, Material: "steel", Height: 0.005},
			{Part: "leather ring", Kind: pump.KindVRing, Material: "leather", Height: 0.0034, Lips: "down"},
			{Part: "female gland", Kind: pump.KindFemale, Material: "steel", Height: 0.005},
		}}},
	}
}

func result(stage, word string) *hold.Result {
	return &hold.Result{
		Pump: "example-30", Stage: stage, Draws: 24000, StdErr: 0.004, Assumed: []string{"one reading in 20 may be wrong"},
		Verdict: hold.Verdict{Word: word, Meets: 0.03, Limit: 60, Stroke: map[string]hold.Quantiles{
			"up": {Q05: 21, Q50: 25, Q95: 33}, "down": {Q05: 7000, Q50: 9000, Q95: 1e5}}, Need: []hold.Need{{Text: "hold the upstroke 40 s longer"}}},
		Sets: []hold.SetShare{{Paths: []string{"piston valve"}, P: 0.6}, {Paths: []string{}, P: 0.02}},
		Paths: []hold.PathShare{
			{Path: "throat packing", P: 0.004, Flow: hold.Quantiles{Q05: 1, Q50: 5, Q95: 40}},
			{Path: "piston packing", P: 0.38, Flow: hold.Quantiles{Q05: 36, Q50: 60, Q95: 96}, How: map[string]float64{"worn": 0.62, "preload too low": 0.3, "scratched": 0.08}},
			{Path: "piston valve", P: 0.6, Flow: hold.Quantiles{Q05: 45, Q50: 80, Q95: 110}, Overall: hold.Quantiles{Q05: 0.004, Q50: 60, Q95: 104}},
			{Path: "inlet valve", P: 0.01, Flow: hold.Quantiles{Q05: 9, Q50: 80, Q95: 300}},
			{Path: "drain valve", P: 0.009, Flow: hold.Quantiles{Q05: 16, Q50: 40, Q95: 99}},
		},
		Groups: [][]string{{"piston packing", "piston valve"}},
		Doubts: []hold.Doubt{{Reading: 2, P: 0.8, Text: "reading 2 contradicts the others; take it again"}},
		Next: []hold.Check{
			{Do: "Time the creep again.", Settles: "what leaks", Minutes: 1.5, Hazards: []string{"The rod moves.", "Full pressure."}},
			{Do: "Warm the fluid.", Settles: "gap or seat", Minutes: 25, Hazards: []string{"The rod moves.", "Flash point."}},
		},
	}
}

// document uses every part of a report.
func document() Document {
	p := thePump()
	return Document{
		Title: "Rebuild report", Shop: "Coatings workshop, Aldersay ferry yard (invented)", Made: "12 May", Version: "0.0-test", Units: unit.Metric(),
		Job: []Fact{{"Job", "17"}, {"Serial", "E-0042"}}, Pump: p,
		Holds: []Hold{
			{Result: result("as found", hold.DoesNotHold), Sheet: &hold.Sheet{Readings: []hold.Reading{
				{Kind: hold.Creep, Stroke: pump.Up, Travel: 0.06, UTravel: 0.0005, Time: 14.2, UTime: 0.3, Pressure: 22e6, Warmth: 293.15},
				{Kind: hold.Still, Stroke: pump.Down, Travel: 0.0005, Time: 30, UTime: 0.3, Pressure: 22e6},
				{Kind: hold.Locked, Stroke: pump.Up, Vented: true, Points: []hold.Point{{Time: 0, Pressure: 2.2e7}, {Time: 60, Pressure: 2e7}}},
				{Kind: hold.Run, Count: 20, Time: 30, UTime: 0.3, Volume: 0.0014, UVolume: 1e-5, UpTime: 0.7, DownTime: 0.8, Pressure: 15e6},
				{Kind: hold.Drips, Path: "throat packing", Count: 3, Time: 60, UTime: 0.3, Pressure: 22e6},
				{Kind: hold.Sign, Sign: "surges"},
			}}},
			{Heading: "After the rebuild", Result: result("as left", hold.Holds)},
		},
		Stacks: []Stack{{Name: "throat"}},
		Steps: []pump.Step{
			{ID: "lock out", Title: "Lock out the drive", Detail: "Shut the supply.", Why: "Nobody may start it.", Cautions: []string{"The rod starts without warning.", "Mind the hose."}},
			{ID: "stack throat 2", Title: "Put the leather ring in", Lips: "down", Wait: 12},
			{ID: "torque throat nut", Title: "Torque the throat nut", Detail: "To {torque}.", Torque: 42, Tol: 3, Cautions: []string{"Mind the hose."},
				Quantities: map[string]pump.Quantity{"torque": {SI: 42, Dim: unit.Torque}}},
		},
		Departures: []pump.Departure{{Kind: pump.LipsReversed, Step: "stack throat 2", Found: "lips up", Want: "lips down", Why: "It does not seal.",
			Figures: []pump.Figure{{What: "pressure that the stack seals", SI: 1.2e6, Dim: unit.Pressure}}}},
		Torques: []Torque{
			{Joint: p.Joints[0], Read: 40, Analysis: &bolt.Analysis{Wrench: bolt.Wrench{Set: 39}, Clamp: bolt.Distribution{Q05: 5200, Q95: 9100}}},
			{Joint: pump.Joint{Name: "foot", Thread: "M48x2", Torque: 135}},
		},
		Plots: []draw.Plot{{Title: "A curve", X: draw.Axis{Label: "time", Dim: unit.Time}, Y: draw.Axis{Label: "pressure", Dim: unit.Pressure},
			Series: []draw.Series{{Name: "line", X: []float64{0, 1, 2}, Y: []float64{2e7, 1.9e7, 1.7e7}}}}},
		Cautions: []string{"Read the maker's manual."},
		Unknown:  []string{"Wear of parts that were not measured."},
	}
}

func write(t *testing.T, doc Document) string {
	t.Helper()
	var b bytes.Buffer
	if err := HTML(&b, doc); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestWellFormed reads the report as strict XML (it is written so that it is both) and checks headings, tables and pictures.
func TestWellFormed(t *testing.T) {
	for name, doc := range map[string]Document{"full": document(), "least": {Pump: thePump()}, "imperial": imperial(), "demo": demoDocument(t)} {
		check(t, name, write(t, doc))
	}
}

func imperial() Document {
	doc := document()
	doc.Units = unit.Imperial()
	return doc
}

func check(t *testing.T, name, html string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(html))
	level := 0
	var last string
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		attr := map[string]string{}
		for _, a := range e.Attr {
			attr[a.Name.Local] = a.Value
			if a.Name.Local == "src" && e.Name.Local == "img" && strings.HasPrefix(a.Value, "data:image/") {
				continue
			}
			if a.Name.Local == "src" || a.Name.Local == "href" || a.Name.Local == "id" || strings.HasPrefix(a.Name.Local, "on") {
				t.Errorf("%s: <%s> has the attribute %s", name, e.Name.Local, a.Name.Local)
			}
		}
		switch tag := e.Name.Local; tag {
		case "html":
			if attr["lang"] != "en" {
				t.Errorf("%s: no language", name)
			}
		case "script", "link", "iframe":
			t.Errorf("%s: has a <%s>", name, tag)
		case "img":
			if attr["alt"] == "" || !strings.HasPrefix(attr["src"], "data:image/") {
				t.Errorf("%s: a picture without alternative text, or from outside", name)
			}
		case "h1", "h2", "h3":
			if n := int(tag[1] - '0'); n > level+1 {
				t.Errorf("%s: <%s> after level %d", name, tag, level)
			} else {
				level = n
			}
		case "th":
			if attr["scope"] == "" {
				t.Errorf("%s: a <th> without scope", name)
			}
		case "caption", "title":
		default:
			if last == "table" && tag != "caption" {
				t.Errorf("%s: a table without caption", name)
			}
			if last == "svg" && tag != "title" {
				t.Errorf("%s: a picture without title", name)
			}
		}
		last = e.Name.Local
	}
}

// TestSays checks what the report must say, in the units of the document.
func TestSays(t *testing.T) {
	html := strings.ReplaceAll(write(t, document()), "\u00a0", " ")
	for _, want := range []string{
		"This pump and its data are invented", "As found", "After the rebuild", "does not hold", "36–96 mL/min", "worn 62 %, preload too low 30 %",
		"Chance that nothing is at fault: <b>2 %</b>", "reading 2 contradicts", "About 90 s", "as in check 1", "60.00 ± 0.50 mm in 14.20 ± 0.30 s at 220 bar",
		"with the other chamber vented", "1.400 ± 0.010 L caught", "3 drops in", "noticed: surges", "first wait 12", "Cautions 2, 3", "Cautions 3</p>",
		"42.0 N·m ± 3.00 N·m", "hook spanner, adds 60.0 mm", "39.0 N·m", "5200–9100 N", "not recorded", "lips reversed", "12.0 bar", "Wear of parts that were not measured.",
		"one reading in 20 may be wrong", "stress in the throat stack was not worked out", "Generated by evenstroke 0.0-test",
	} {
		if !strings.Contains(html, want) {
			t.Errorf("the report does not say %q", want)
		}
	}
	if n := strings.Count(html, "Read the maker"); n != 1 {
		t.Errorf("a caution is said %d times, want once", n)
	}
	us := strings.ReplaceAll(write(t, imperial()), "\u00a0", " ")
	for _, want := range []string{"lbf·ft", "psi", "fl oz/min"} {
		if !strings.Contains(us, want) {
			t.Errorf("the report in US units does not say %q", want)
		}
	}
	doc := document()
	doc.Pump.Note, doc.Pump.Invented = "The pump of bay 3. Its owner invented the stand.", false
	doc.Departures, doc.Audited = nil, true
	html = write(t, doc)
	if strings.Contains(html, "are invented") || !strings.Contains(html, "The pump of bay 3. Its owner") || !strings.Contains(html, "<p>None.</p>") {
		t.Error("a real pump is called invented, its note is missing, or a build without departures is not said to be one")
	}
}

// TestHostileNames puts markup into every text that a person can write.
func TestHostileNames(t *testing.T) {
	evil := `</style><script>alert(1)</script><img src=x onerror="y"> & "' ` + "\x01"
	doc := document()
	doc.Title, doc.Shop, doc.Made, doc.Version = evil, evil, evil, evil
	doc.Job = []Fact{{evil, evil}}
	doc.Pump.Name, doc.Pump.Note = evil, evil
	doc.Pump.Stacks[0].Rings[1].Part = evil
	doc.Holds[0].Heading, doc.Holds[0].Result.Paths[1].How = evil, map[string]float64{evil: 1}
	doc.Holds[0].Result.Next[0].Do, doc.Holds[0].Sheet.Readings[5].Sign = evil, evil
	doc.Steps[0].Title, doc.Steps[0].Cautions = evil, []string{evil}
	doc.Torques[0].Joint.Name, doc.Plots[0].Title, doc.Unknown = evil, evil, []string{evil}
	html := write(t, doc)
	if strings.Contains(html, "<script") || strings.Contains(html, "<img") || strings.Count(html, "</style>") != 1 {
		t.Error("markup of a name reached the page")
	}
	check(t, "hostile", strings.ReplaceAll(html, "\x01", "")) // HTML allows what XML does not
}

func TestErrors(t *testing.T) {
	var want *DocumentError
	if err := HTML(io.Discard, Document{}); !errors.As(err, &want) {
		t.Errorf("no pump: %v, want a *DocumentError", err)
	}
	if err := HTML(io.Discard, Document{Pump: thePump(), Holds: []Hold{{}}}); !errors.As(err, &want) {
		t.Errorf("a hold without result: %v, want a *DocumentError", err)
	}
	var stack *draw.StackError
	if err := HTML(io.Discard, Document{Pump: thePump(), Stacks: []Stack{{Name: "no such"}}}); !errors.As(err, &stack) {
		t.Errorf("an unknown stack: %v, want a *draw.StackError", err)
	}
	if err := HTML(broken{}, document()); !errors.Is(err, errBroken) {
		t.Errorf("a writer that fails: %v, want its error", err)
	}
}

var errBroken = errors.New("no space left")

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errBroken }

// TestGolden compares the report with the one that was looked at. Write it anew with -update, and look at it.
func TestGolden(t *testing.T) {
	got := write(t, document())
	file := filepath.Join("testdata", "report.golden.html")
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("the report differs from %s", file)
	}
}
