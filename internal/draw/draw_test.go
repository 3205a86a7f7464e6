package draw

import (
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/seal"
	"github.com/evenstroke/evenstroke/unit"
)

var update = flag.Bool("update", false, "write the golden pictures anew")

// picture is one picture with what its texts cover.
type picture struct {
	svg   string
	texts []box
}

var drawn struct {
	sync.Mutex
	pictures map[string]picture
}

// all draws every kind of picture, wide and narrow, of every pump and verdict, once for all tests.
func all(t *testing.T) map[string]picture {
	t.Helper()
	drawn.Lock()
	defer drawn.Unlock()
	if drawn.pictures == nil {
		drawn.pictures = drawAll(t)
	}
	return drawn.pictures
}

// drawAll draws them all with options.
func drawAll(t *testing.T, opts ...Option) map[string]picture {
	t.Helper()
	out := map[string]picture{}
	imperial := unit.Imperial()
	for name, p := range pumps(t) {
		for i, word := range []string{hold.Holds, hold.DoesNotHold, hold.NotProven, ""} {
			r := result(p, word)
			if word == "" {
				r = nil
			}
			m := newLeakMap(p, r, unit.Metric(), wideForm, opts...)
			out[fmt.Sprintf("map %s %d", name, i)] = picture{m.wide(), m.texts}
			m = newLeakMap(p, r, imperial, narrowForm, opts...)
			out[fmt.Sprintf("map narrow %s %d", name, i)] = picture{m.narrow(), m.texts}
			m = newLeakMap(p, r, imperial, pageForm, opts...)
			out[fmt.Sprintf("map page %s %d", name, i)] = picture{m.narrow(), m.texts}
		}
		for _, st := range p.Stacks {
			a, err := p.StackUnder(st, 0, pump.Conditions{})
			if err != nil {
				t.Fatal(err)
			}
			for i, f := range []stackForm{wideStack, narrowStack, pageStack} {
				if f != pageStack { // which shows no analysis
					s, err := newStack(p, st.Name, &a, unit.Metric(), f, opts...)
					if err != nil {
						t.Fatal(err)
					}
					out[fmt.Sprintf("stack %s %s %d", name, st.Name, i)] = picture{s.draw(), s.texts}
				}
				s, err := newStack(p, st.Name, nil, imperial, f, opts...)
				if err != nil {
					t.Fatal(err)
				}
				out[fmt.Sprintf("plain stack %s %s %d", name, st.Name, i)] = picture{s.draw(), s.texts}
			}
		}
		if len(p.Parts) > 0 {
			steps, err := p.Work(p.All(pump.Replace))
			if err != nil {
				t.Fatal(err)
			}
			for i, f := range []workForm{wideWork, narrowWork} {
				w := newWork(imperial, f, opts...)
				out[fmt.Sprintf("work %s %d", name, i)] = picture{w.draw(steps), w.texts}
			}
		}
	}
	for i, q := range plots() {
		for k, f := range []plotForm{widePlot, narrowPlot} {
			d := &plotPicture{canvas: with(opts), Plot: q, f: f, sys: unit.Metric()}
			out[fmt.Sprintf("plot %d %d", i, k)] = picture{d.draw(), d.texts}
		}
	}
	out["lips"] = picture{svg: Lips("down", opts...)}
	return out
}

// TestWellFormed checks that every picture is XML with title, description and viewBox, and fetches nothing.
func TestWellFormed(t *testing.T) {
	for name, q := range all(t) {
		checkSVG(t, name, q.svg)
	}
}

func checkSVG(t *testing.T, name, svg string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(svg))
	var order []string
	texts := map[string]string{}
	inside := ""
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			inside = e.Name.Local
			order = append(order, inside)
			checkAttributes(t, name, e)
		case xml.CharData:
			texts[inside] += strings.TrimSpace(string(e))
		case xml.EndElement:
			inside = ""
		}
	}
	if len(order) < 4 || order[0] != "svg" || order[1] != "title" || order[2] != "desc" || order[3] != "style" {
		t.Fatalf("%s begins with %v; want svg, title, desc, style", name, order[:min(4, len(order))])
	}
	if texts["title"] == "" || texts["desc"] == "" {
		t.Errorf("%s has an empty title or description", name)
	}
	if strings.Contains(texts["style"], "url(") || strings.Contains(texts["style"], "@import") || strings.Contains(texts["style"], "@font-face") {
		t.Errorf("%s fetches something in its style", name)
	}
}

func checkAttributes(t *testing.T, name string, e xml.StartElement) {
	t.Helper()
	attr := map[string]string{}
	for _, a := range e.Attr {
		attr[a.Name.Local] = a.Value
		if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
			t.Errorf("%s: <%s %s=%q>", name, e.Name.Local, a.Name.Local, a.Value)
		}
		if a.Name.Local == "href" || a.Name.Local == "id" || strings.HasPrefix(a.Name.Local, "on") {
			t.Errorf("%s: <%s> has the attribute %s", name, e.Name.Local, a.Name.Local)
		}
	}
	switch e.Name.Local {
	case "svg":
		if attr["viewBox"] == "" || attr["role"] != "img" {
			t.Errorf("%s: no viewBox or role on its root", name)
		}
	case "script", "foreignObject", "image", "use", "animate":
		t.Errorf("%s: has a <%s>", name, e.Name.Local)
	case "text":
		if size, err := strconv.ParseFloat(attr["font-size"], 64); err != nil || size < 16 {
			t.Errorf("%s: a text of size %q, want 16 or more", name, attr["font-size"])
		}
	}
}

// TestTextsDoNotOverlap checks every pair of texts of every picture, and that each lies inside its picture.
func TestTextsDoNotOverlap(t *testing.T) {
	apartInside(t, all(t))
}

func apartInside(t *testing.T, pictures map[string]picture) {
	t.Helper()
	for name, q := range pictures {
		w, h := viewBox(t, q.svg)
		for i, a := range q.texts {
			if a.x < 0 || a.y < 0 || a.x+a.w > w || a.y+a.h > h {
				t.Errorf("%s: %q at %.0f, %.0f, %.0f wide, leaves the picture of %.0f × %.0f", name, a.text, a.x, a.y, a.w, w, h)
			}
			for _, b := range q.texts[i+1:] {
				if a.x < b.x+b.w && b.x < a.x+a.w && a.y < b.y+b.h && b.y < a.y+a.h {
					t.Errorf("%s: %q overlaps %q", name, a.text, b.text)
				}
			}
		}
	}
}

func viewBox(t *testing.T, svg string) (w, h float64) {
	t.Helper()
	if _, err := fmt.Sscanf(svg[strings.Index(svg, `viewBox="0 0 `)+len(`viewBox="0 0 `):], "%g %g", &w, &h); err != nil {
		t.Fatal(err)
	}
	return w, h
}

// TestWidthIsNotLess checks the estimate against widths measured in DejaVu Sans, regular and bold, with a browser (canvas
// measureText, in units of the font size).
func TestWidthIsNotLess(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("testdata", "widths.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(data)) {
		f := strings.SplitN(strings.TrimRight(line, "\n"), "\t", 3)
		if strings.HasPrefix(line, "#") {
			continue
		}
		for i, bold := range []bool{false, true} {
			want, err := strconv.ParseFloat(f[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			got := font{size: 1, bold: bold}.width(said(f[2]))
			if got < want || got > 1.5*want {
				t.Errorf("%q bold %v: %.3f, measured %.3f", f[2], bold, got, want)
			}
		}
	}
}

// TestHostileNames puts markup, quotes and characters that XML cannot hold into every name.
func TestHostileNames(t *testing.T) {
	evil := `<script>alert("x")</script> & ' ]]> ` + "\x00\x1b\u202e" + ` onload="y" `
	p := demoLike()
	p.Name = evil
	for i := range p.Valves {
		p.Valves[i].Name = evil + strconv.Itoa(i)
	}
	for i := range p.Outlets {
		p.Outlets[i].Name = strings.Repeat("endless", 60) + strconv.Itoa(i)
	}
	p.Chambers[1].Name, p.Valves[0].From, p.Valves[1].To = evil, evil, evil
	p.Seals[1].Between[1], p.Seals[2].Between[0] = evil, evil
	r := result(p, hold.NotProven)
	r.Stage, r.Verdict.Need[0].Text, r.Verdict.Word = evil, evil, evil
	for name, svg := range map[string]string{"wide": LeakMap(p, r, unit.Metric()), "narrow": LeakMapNarrow(p, r, unit.Metric())} {
		checkSVG(t, name, svg)
		if strings.Contains(svg, "<script") || strings.Contains(svg, "onload=\"") {
			t.Errorf("%s carries the markup of a name", name)
		}
	}
	steps := []pump.Step{{Title: evil, Lips: "up", Cautions: []string{evil}}}
	checkSVG(t, "work", Work(steps, unit.Metric()))
	svg, err := Plot{Title: evil, X: Axis{Label: evil, Dim: unit.Time}, Y: Axis{Label: evil, Dim: unit.Length},
		Series: []Series{{Name: evil, X: []float64{0, 1}, Y: []float64{0, 1}}}, Marks: []Mark{{0.5, evil}}}.SVG(unit.Metric())
	if err != nil {
		t.Fatal(err)
	}
	checkSVG(t, "plot", svg)
}

// TestGolden compares some pictures with those that were looked at. Write them anew with -update, and look at them.
func TestGolden(t *testing.T) {
	p, four := demoLike(), throughRod()
	p.Stacks = []pump.Stack{{Name: "piston", Seal: "piston packing", Inner: 0.02, Outer: 0.03, Depth: 0.016, Shim: 0.0004, FilledFrom: pump.Bottom, Rings: []pump.Ring{
		{Part: "female gland", Kind: pump.KindFemale, Material: "steel", Height: 0.005},
		{Part: "leather ring", Kind: pump.KindVRing, Material: "leather", Height: 0.0034, Lips: "up"},
		{Part: "polyethylene ring", Kind: pump.KindVRing, Material: "UHMWPE", Height: 0.0032, Lips: "up"},
		{Part: "male gland", Kind: pump.KindMale, Material: "steel", Height: 0.005},
	}}}
	p.Seals[1].Stacks = []string{"piston"}
	a := &seal.Analysis{Pressure: 2e7, Capacity: 4e7, State: seal.Sound, Rings: []seal.RingState{
		{Near: 7e6, Far: 7e6, Mean: 7e6},
		{Near: 8e6, Far: 7e6, Mean: 7.5e6, Inner: 2.4e7, Outer: 2.5e7, Pressure: 2e7, Toward: true, Seals: true},
		{Near: 9e6, Far: 8e6, Mean: 8.5e6, Inner: 6e6, Outer: 7e6, Seals: true},
		{Near: 9e6, Far: 9e6, Mean: 9e6},
	}}
	stack, err := Stack(p, "piston", a, unit.Metric())
	if err != nil {
		t.Fatal(err)
	}
	plot, err := plots()[0].SVG(unit.Metric())
	if err != nil {
		t.Fatal(err)
	}
	steps := []pump.Step{
		{Title: "Lay the leather rings to soak", Kind: pump.StepSoak, Minutes: 2, Ready: 62},
		{Title: "Lock out the drive", Cautions: []string{"The rod starts without warning."}},
		{Title: "Put the leather ring in, lips up", Part: "leather ring", Lips: "up", Wait: 40},
		{Title: "Torque the throat nut", Torque: 42, Tol: 3, Cautions: []string{"The rod starts without warning."}},
	}
	for name, svg := range map[string]string{
		"leakmap":        LeakMap(p, result(p, hold.DoesNotHold), unit.Metric()),
		"leakmap_four":   LeakMap(four, result(four, hold.Holds), unit.Metric()),
		"leakmap_narrow": LeakMapNarrow(p, result(p, hold.NotProven), unit.Imperial()),
		"stack":          stack,
		"plot":           plot,
		"work":           WorkNarrow(steps, unit.Imperial()),
	} {
		file := filepath.Join("testdata", name+".golden.svg")
		if *update {
			if err := os.WriteFile(file, []byte(svg), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if svg != string(want) {
			t.Errorf("%s differs from %s", name, file)
		}
	}
}
