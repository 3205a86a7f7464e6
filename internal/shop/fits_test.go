package shop

import (
	"context"
	"errors"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// What does not go with the rest of the catalogue is refused where it is typed.
func TestCatalogueFits(t *testing.T) {
	b := newBench(t)
	keep := func(k record.SubjectKind, i record.Item) error {
		_, err := b.Keep(context.Background(), By{Who: b.owner}, record.Subject{Kind: k}, i)
		return err
	}
	for name, c := range map[string]struct {
		kind  record.SubjectKind
		item  record.Item
		field string // "" when it is taken
	}{
		"a price":                 {record.OfPrice, &record.Price{Text: "work", Each: 6400}, ""},
		"nothing":                 {record.OfPrice, &record.Price{Text: "look", Each: 0}, ""},
		"below nothing":           {record.OfPrice, &record.Price{Text: "discount", Each: -2000}, "each"},
		"of a model":              {record.OfPrice, &record.Price{Text: "seat", Each: 1, Model: "orrin-30", Part: "inlet valve seat"}, ""},
		"of a model that is none": {record.OfPrice, &record.Price{Text: "seat", Each: 1, Model: "orin-30"}, "model"},
		"of a part that is none":  {record.OfPrice, &record.Price{Text: "seat", Each: 1, Model: "orrin-30", Part: "inlet seat valve"}, "part"},
		"a serial":                {record.OfTool, &record.Tool{Name: "gauge", Sort: "gauge", Serial: "G-11"}, ""},
		"no serial":               {record.OfTool, &record.Tool{Name: "rule", Sort: "ruler"}, ""},
	} {
		err := keep(c.kind, c.item)
		var f *record.Fault
		errors.As(err, &f)
		if (err == nil) != (c.field == "") || err != nil && (f == nil || f.Where != c.field) {
			t.Errorf("%s: %v, want it refused at %q", name, err, c.field)
		}
	}
	err := keep(record.OfTool, &record.Tool{Name: "another gauge", Sort: "gauge", Serial: " g-11"})
	var f *record.Fault
	if errors.As(err, &f); f == nil || f.Where != "serial" {
		t.Errorf("a serial twice: %v", err)
	}
}
