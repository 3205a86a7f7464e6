package assess

import (
	"bytes"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/schema"
)

// What is stored in a verdict is valid by the published schema of hold sheets.
func TestDraftsMeetTheSchema(t *testing.T) {
	text, err := schema.File("hold")
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("hold", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("hold")
	if err != nil {
		t.Fatal(err)
	}
	p, _ := demoPump(t, "tolsk-18")
	locked := newBook(t, p)
	locked.presses(record.AsLeft, "1", key{press: record.PressStart, pressure: "200 bar"}, key{at: 20, press: record.PressMark, pressure: "190 bar"})
	locked.read(record.AsLeft, `{"restart": "unknown", "time": "6.5 s"}`)
	for _, x := range []struct {
		b    *book
		pump string
		h    record.HoldStage
		n    int
	}{{stallBook(t), "orrin-30", record.AsFound, 6}, {locked, "tolsk-18", record.AsLeft, 2}, {locked, "tolsk-18", record.AsFound, 0}} {
		p, _ := demoPump(t, x.pump)
		d := draftOf(t, x.b.job(), x.h, p, nil)
		if len(d.Sheet.Readings) != x.n {
			t.Errorf("%d readings, want %d", len(d.Sheet.Readings), x.n)
		}
		made, err := jsonschema.UnmarshalJSON(bytes.NewReader(d.JSON))
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Validate(made); err != nil {
			t.Errorf("%s\n%v", d.JSON, err)
		}
	}
}
