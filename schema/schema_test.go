package schema

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// Every published schema compiles as JSON Schema 2020-12, says what it is, and has an $id of its own.
func TestSchemas(t *testing.T) {
	names := Names()
	for _, want := range []string{"build", "pump"} {
		if !slices.Contains(names, want) {
			t.Errorf("no schema %q among %v", want, names)
		}
	}
	ids := map[string]string{}
	for _, name := range names {
		data, err := File(name)
		if err != nil {
			t.Fatal(err)
		}
		var head struct {
			Schema      string `json:"$schema"`
			ID          string `json:"$id"`
			Title       string
			Description string
		}
		if err := json.Unmarshal(data, &head); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if head.Schema != "https://json-schema.org/draft/2020-12/schema" || head.Title == "" || head.Description == "" || head.ID == "" {
			t.Errorf("%s: incomplete head %+v", name, head)
		}
		if other := ids[head.ID]; other != "" {
			t.Errorf("%s and %s share the $id %s", name, other, head.ID)
		}
		ids[head.ID] = name
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		c := jsonschema.NewCompiler()
		c.DefaultDraft(jsonschema.Draft2020)
		if err := c.AddResource(name, doc); err != nil {
			t.Fatal(err)
		}
		if _, err := c.Compile(name); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestFileUnknown(t *testing.T) {
	if _, err := File("no"); err == nil || !strings.Contains(err.Error(), "build") {
		t.Errorf("want an error that names the schemas, got %v", err)
	}
}
