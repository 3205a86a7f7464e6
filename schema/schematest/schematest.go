// Package schematest compiles the published schemas for tests.
package schematest

import (
	"bytes"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"github.com/evenstroke/evenstroke/schema"
)

// Compile compiles one of the published schemas by its name.
func Compile(t testing.TB, name string) *jsonschema.Schema {
	t.Helper()
	data, err := schema.File(name)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource(name, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
