package hold

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v3"

	"github.com/evenstroke/evenstroke/schema"
	"github.com/evenstroke/evenstroke/schema/schematest"
)

func instance(t *testing.T, text []byte) any {
	t.Helper()
	var v any
	if err := yaml.Unmarshal(text, &v); err != nil {
		t.Fatal(err)
	}
	data, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// Every sheet that the reader takes is valid by the published schema.
func TestGoodFilesMeetTheSchema(t *testing.T) {
	for kind, read := range readers() {
		s := schematest.Compile(t, kind)
		files, err := filepath.Glob("testdata/good/" + kind + "*.yaml")
		if err != nil || len(files) == 0 {
			t.Fatalf("no good %s files (%v)", kind, err)
		}
		for _, f := range files {
			text, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			if err := read(f, text); err != nil {
				t.Errorf("reader: %v", err)
			}
			if err := s.Validate(instance(t, text)); err != nil {
				t.Errorf("%s: schema: %v", f, err)
			}
		}
	}
}

func readers() map[string]func(string, []byte) error {
	open := func(string) ([]byte, error) {
		return []byte("time (s);pressure (bar)\n0;200\n1;199\n2;198,5\n3;198\n4;197\n5;196\n"), nil
	}
	return map[string]func(string, []byte) error{
		"hold":  func(f string, b []byte) error { _, err := ReadSheet(f, b, open); return err },
		"prior": func(f string, b []byte) error { _, err := ReadPrior(f, b); return err },
	}
}

// Each good line of the full sheets, taken away or given an unknown neighbour, is judged alike by reader and schema when
// the schema objects: the reader is never laxer.
func TestReaderIsNoLaxerThanTheSchema(t *testing.T) {
	for kind, read := range readers() {
		s := schematest.Compile(t, kind)
		text, err := os.ReadFile("testdata/good/" + kind + "-full.yaml")
		if err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(string(text), "\n")
		for i := range lines {
			for name, mutant := range map[string]string{
				"without":  strings.Join(append(append([]string{}, lines[:i]...), lines[i+1:]...), "\n"),
				"misspelt": strings.Join(append(append(append([]string{}, lines[:i]...), strings.Replace(lines[i], ": ", "x: ", 1)), lines[i+1:]...), "\n"),
			} {
				var v any
				if yaml.Unmarshal([]byte(mutant), &v) != nil {
					continue
				}
				if s.Validate(instance(t, []byte(mutant))) != nil && read("x", []byte(mutant)) == nil {
					t.Errorf("%s %s line %d (%q): the schema refuses, the reader takes it", kind, name, i+1, lines[i])
				}
			}
		}
	}
}

// The published schema names every kind of reading that the reader knows, in its order.
func TestSchemaKnowsEveryKind(t *testing.T) {
	form, err := schema.FormOf("hold")
	if err != nil {
		t.Fatal(err)
	}
	var have []Kind
	for _, k := range form.Field("readings").Items {
		have = append(have, Kind(k.Title))
		if len(k.Fields) == 0 || k.Fields[0].Key != k.Title || !k.Fields[0].Required {
			t.Errorf("%s: its first key is not its kind", k.Title)
		}
	}
	if !slices.Equal(have, kindList) {
		t.Errorf("the schema has %v, the reader %v", have, kindList)
	}
}
