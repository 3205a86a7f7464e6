package report

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// TestSayReachesBothFaces marks every sentence of the science and finds the mark on the page and on the paper.
func TestSayReachesBothFaces(t *testing.T) {
	doc := demoDocument(t)
	doc.Say = func(s string) string { return "ñ" + s }
	doc.Cautions = []string{"Mind the dog."}
	doc.Holds[0].Sheet.Readings = append(doc.Holds[0].Sheet.Readings, hold.Reading{Kind: hold.Sign, Sign: "spits"})
	doc.Departures = []pump.Departure{{Kind: pump.TorqueOff, Step: "torque throat nut", Found: "{read} on the wrench", Want: "{torque} at the joint", Why: "Only now.",
		Quantities: map[string]pump.Quantity{"read": {SI: 30, Dim: unit.Torque}, "torque": {SI: 20, Dim: unit.Torque}},
		Figures:    []pump.Figure{{What: "clamp gained", SI: 900, Dim: unit.Force}}, NoFigure: "nobody knows"}}
	safe := doc.Steps[slices.IndexFunc(doc.Steps, func(s pump.Step) bool { return len(s.Cautions) > 0 })]
	r := doc.Holds[0].Result
	want := []string{"ñMind the dog.", "ñ" + doc.Steps[0].Title, "ñ" + doc.Steps[0].Why, "ñ" + safe.Cautions[0], "ñtorque outside tolerance", "ñ30.0 N·m on the wrench", "ñ20.0 N·m at the joint", "ñOnly now.", "ñclamp gained: 900 N",
		"ñnobody knows", "ñ" + r.Doubts[0].Text, "ñ" + r.Next[0].Do, "ñ" + r.Next[0].Settles, "ñ" + r.Next[0].Hazards[0], "ñ" + r.Assumed[0], "ñworn", "ñspits"}
	var page bytes.Buffer
	if err := HTML(&page, doc); err != nil {
		t.Fatal(err)
	}
	said := text(t, paper(t, doc))
	for _, w := range want {
		if !strings.Contains(page.String(), strings.NewReplacer("'", "&#39;", "<", "&lt;").Replace(w)) {
			t.Errorf("the page does not say %q", w)
		}
		if !strings.Contains(said, w) {
			t.Errorf("the paper does not say %q", w)
		}
	}
}
