package archive

import (
	"bytes"
	"encoding/json"
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	reflector "github.com/invopop/jsonschema"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/schema/schematest"
)

var update = flag.Bool("update", false, "rewrite the schemas of archives")

var formats = []struct {
	name, what string
	doc        any
}{
	{"archive-manifest", "manifest.json of the archive of a job.", &Manifest{}},
	{"archive-entry", "One line of entries.jsonl of the archive of a job: an entry as it was hashed.", &Line{}},
	{"archive-item", "A file under items/ of the archive of a job: what a number in its entries stands for.", &Item{}},
}

// TestMain draws fewer jobs than rapid does by itself: each is written to disk some times.
func TestMain(m *testing.M) {
	flag.Parse()
	given := false
	flag.Visit(func(f *flag.Flag) { given = given || f.Name == "rapid.checks" })
	if !given {
		if err := flag.Set("rapid.checks", "3"); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}

// TestSchemas keeps the published schemas equal to what the program writes.
func TestSchemas(t *testing.T) {
	r := reflector.Reflector{DoNotReference: true, RequiredFromJSONSchemaTags: false, Anonymous: true, Mapper: func(t reflect.Type) *reflector.Schema {
		if t == reflect.TypeFor[record.Digest]() {
			return &reflector.Schema{Type: "string", Pattern: "^[0-9a-f]{64}$"}
		}
		return nil
	}}
	for _, f := range formats {
		s := r.Reflect(f.doc)
		s.ID, s.Title, s.Description = reflector.ID("urn:evenstroke:schema:"+f.name+":1"), f.name, f.what
		text, err := json.MarshalIndent(s, "", "  ")
		if err != nil {
			t.Fatal(err)
		}
		text = append(text, '\n')
		path := filepath.Join("..", "..", "schema", f.name+".schema.json")
		if *update {
			if err := os.WriteFile(path, text, 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if have, err := os.ReadFile(path); err != nil || !bytes.Equal(have, text) {
			t.Errorf("%s is stale: go test ./internal/archive -run TestSchemas -update (%v)", path, err)
		}
	}
}

// TestMeetsItsSchemas validates all members of an archive.
func TestMeetsItsSchemas(t *testing.T) {
	a := newWorkshop(t, "sqlite", "Aldersay", 1)
	job := a.book("u1", a.usual("Ferry yard", "ALD-1", ""))
	a.write(job, 0, &record.Found{Part: "piston", Text: "worn", Tool: a.tools[1]})
	a.write(job, 0, &record.Pictured{Photo: a.photo(rand.New(rand.NewPCG(1, 2)))})
	files := unpack(t, a.export(job))
	check := func(name string, data []byte) {
		t.Helper()
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		if err := schematest.Compile(t, name).Validate(v); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	check("archive-manifest", files[manifestName])
	for _, line := range bytes.Split(bytes.TrimSpace(files[entriesName]), []byte("\n")) {
		check("archive-entry", line)
	}
	items := 0
	for name, data := range files {
		if strings.HasPrefix(name, "items/") {
			check("archive-item", data)
			items++
		}
	}
	if items < 5 {
		t.Errorf("%d items: person, device, customer, pump, sheet, tool", items)
	}
}
