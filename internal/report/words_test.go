package report

import (
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// TestWords looks every fixed word up once and once only under a known key, and a translation reaches both faces.
func TestWords(t *testing.T) {
	seen := map[string]bool{}
	words := func(key string) string {
		seen[key] = true
		if s, ok := texts[key]; ok {
			return "ñ" + s
		}
		t.Errorf("the key %q is not in Texts", key)
		return ""
	}
	faces := func(doc Document) {
		doc.Words = words
		if err := errors.Join(PDF(io.Discard, doc), HTML(io.Discard, doc)); err != nil {
			t.Fatal(err)
		}
	}
	doc := demoDocument(t)
	doc.Overrides, doc.Shop = []string{"x"}, "\U000F0000"
	doc.Photos[0].Caption = ""
	doc.Holds[1].Result.Verdict.Word = hold.NotProven
	doc.Departures = append(doc.Departures, pump.Departure{Figures: []pump.Figure{{What: "clamp lost", SI: 9, Dim: unit.Force, Assumes: "friction", AtLeast: true}}}, pump.Departure{NoFigure: "the size is not known"})
	doc.Draft, doc.Torques[0].Outside, doc.Torques[0].Read = true, true, 9
	faces(doc)
	doc = document()
	doc.Version, doc.Signature, doc.Pump.Drive.Kind = "", &Signature{}, "crank"
	doc.Prices = []PriceLine{{Text: "x", Amount: "1"}}
	doc.Holds[0].Result.StdErr = 0.0001
	doc.Holds[0].Result.Stage = ""
	doc.Holds[0].Result.Verdict.Lost = &hold.Lost{Limit: 60, Least: 28}
	s := doc.Holds[0].Sheet
	for _, k := range []hold.Kind{hold.Changeover, hold.NoChangeover, hold.Restart, hold.Caught, hold.Locked} {
		s.Readings = append(s.Readings, hold.Reading{Kind: k, Path: "x", Derived: "log.csv"})
	}
	doc.SignOffs = []SignOff{{What: doc.Steps[0].ID, Who: "x"}}
	doc.Departures, doc.Audited = nil, true
	faces(doc)
	faces(Document{Pump: thePump()})
	for _, v := range []string{"", hold.Holds, hold.DoesNotHold, hold.NotProven} {
		c := demoCustomer()
		c.Verdict, c.Words, c.Back, c.Advised, c.Planned = v, words, "x", []string{"x"}, v == ""
		if err := errors.Join(CustomerPDF(io.Discard, c), CustomerHTML(io.Discard, c)); err != nil {
			t.Fatal(err)
		}
	}
	for key := range Texts() {
		if !seen[key] {
			t.Errorf("nothing looks up %q", key)
		}
	}
	c := demoCustomer()
	c.Words, c.Lang = words, "es"
	if got := text(t, customerPaper(t, c)); !strings.Contains(got, "ñWhat it costs") {
		t.Error("a translation does not reach the paper")
	}
}

// The limit of a pump with a crank is said in what its owner sees, not in strokes that nobody can time while its motor stands.
func TestLimitOfACrank(t *testing.T) {
	doc := document()
	if got := limitFact(doc); !strings.Contains(got, "a stroke at rated pressure takes") {
		t.Errorf("force-held: %q", got)
	}
	doc.Holds[0].Result.Verdict.Lost = &hold.Lost{Limit: 60, Least: 28}
	if got := strings.ReplaceAll(limitFact(doc), "\u00a0", " "); got != "it loses at most 60 bar a minute with the motor stopped" {
		t.Errorf("crank: %q", got)
	}
}
