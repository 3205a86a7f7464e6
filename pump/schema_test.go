package pump

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v3"

	"github.com/evenstroke/evenstroke/schema"
	"github.com/evenstroke/evenstroke/schema/schematest"
	"github.com/evenstroke/evenstroke/sheet"
)

// asJSON turns YAML into what a JSON reader would see.
func asJSON(t *testing.T, data []byte) any {
	t.Helper()
	var v any
	if err := yaml.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	out, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestDemoSheetsMeetTheSchema(t *testing.T) {
	s := schematest.Compile(t, "pump")
	for _, name := range Demo() {
		data, err := DemoSheet(name)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Validate(asJSON(t, data)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The schema refuses what the reader refuses, as far as a schema can say it.
func TestSchemaRefuses(t *testing.T) {
	s := schematest.Compile(t, "pump")
	refused := map[string]bool{}
	for _, b := range badSheets {
		var v any
		if yaml.Unmarshal([]byte(b.text(t)), &v) != nil {
			continue
		}
		if s.Validate(asJSON(t, []byte(b.text(t)))) != nil {
			refused[b.name] = true
		}
	}
	for _, name := range []string{"unknown key", "missing unit", "wrong version", "no version", "section missing", "static seal with a stack",
		"force-held without force", "force-held with keys of a crank", "drive of no kind", "price below zero", "part of no kind", "wear without limit",
		"yes or no of another sort", "quantity of none", "drain to the suction", "empty name", "seal with one node"} {
		if !refused[name] {
			t.Errorf("the schema takes the bad sheet %q", name)
		}
	}
}

// keysOf returns every key that a schema knows, written as sheet.Doc.Asked writes them, and complains about a key without
// description.
func keysOf(t *testing.T, name string) []string {
	t.Helper()
	data, err := schema.File(name)
	if err != nil {
		t.Fatal(err)
	}
	var root map[string]any
	if err := json.Unmarshal(data, &root); err != nil {
		t.Fatal(err)
	}
	var out []string
	var walk func(path string, node map[string]any)
	walk = func(path string, node map[string]any) {
		if items, ok := node["items"].(map[string]any); ok {
			walk(path+"[]", items)
		}
		props, _ := node["properties"].(map[string]any)
		for k, v := range props {
			p := strings.TrimPrefix(path+"."+k, ".")
			out = append(out, p)
			sub := v.(map[string]any)
			if d, _ := sub["description"].(string); len(d) < 4 {
				t.Errorf("%s: %s has no description", name, p)
			}
			if !exemplified(root, sub) {
				t.Errorf("%s: %s has no example", name, p)
			}
			walk(p, sub)
		}
		if props != nil && node["additionalProperties"] != false {
			t.Errorf("%s: %q takes any key", name, path)
		}
	}
	walk("", root)
	sort.Strings(out)
	return out
}

// exemplified says whether a reader of the schema can see how a value is written: examples, a list of choices, or keys of its own.
func exemplified(root, node map[string]any) bool {
	if ref, ok := node["$ref"].(string); ok {
		def := root["$defs"].(map[string]any)[strings.TrimPrefix(ref, "#/$defs/")].(map[string]any)
		return exemplified(root, def)
	}
	for _, k := range []string{"examples", "enum", "properties", "items"} {
		if node[k] != nil {
			return true
		}
	}
	return false
}

// Every key that the reader knows is in the schema and the other way round.
func TestSchemaKeysOfPump(t *testing.T) {
	asked := map[string]bool{}
	for _, name := range Demo() {
		data, err := DemoSheet(name)
		if err != nil {
			t.Fatal(err)
		}
		doc, err := sheet.Read(name, data)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := read(doc); err != nil {
			t.Fatal(err)
		}
		for _, k := range doc.Asked() {
			asked[k] = true
		}
	}
	if d := cmp.Diff(sorted(asked), keysOf(t, "pump")); d != "" {
		t.Errorf("keys (-reader +schema):\n%s", d)
	}
}

func TestSchemaKeysOfBuild(t *testing.T) {
	data := []byte("build: 1\npump: x\ndone: [{step: a}]\nstacks: [{name: b, rings: [{part: c}]}]\n")
	doc, err := sheet.Read("b", data)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := readBuild(doc); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(doc.Asked(), keysOf(t, "build")); d != "" {
		t.Errorf("keys (-reader +schema):\n%s", d)
	}
}

func TestBuildsMeetTheSchema(t *testing.T) {
	s := schematest.Compile(t, "build")
	files, err := filepath.Glob("testdata/*.build.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no builds in testdata (%v)", err)
	}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Validate(asJSON(t, data)); err != nil {
			t.Errorf("%s: %v", f, err)
		}
	}
}

// The choices that the schema lists are those of the reader.
func TestSchemaChoices(t *testing.T) {
	data, err := schema.File("pump")
	if err != nil {
		t.Fatal(err)
	}
	var root struct {
		Properties struct {
			Parts struct {
				Items struct {
					Properties struct{ Kind struct{ Enum []string } }
				}
			}
		}
	}
	if err := json.Unmarshal(data, &root); err != nil {
		t.Fatal(err)
	}
	got, want := root.Properties.Parts.Items.Properties.Kind.Enum, PartKinds()
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("schema has %v, reader %v", got, want)
	}
}

func sorted(set map[string]bool) []string {
	out := make([]string, 0, len(set))
	for k := range set {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
