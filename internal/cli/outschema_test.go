package cli

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"testing"

	reflector "github.com/invopop/jsonschema"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/schema/schematest"
)

var update = flag.Bool("update", false, "rewrite the schemas of the output")

// outputs are the documents that --json prints, with the command that prints each.
var outputs = []struct {
	name, what string
	doc        any
	args       []string
}{
	{"out-hold", "What `evenstroke hold --json` prints.", &hold.Result{}, []string{"hold", "orrin-as-found.yaml"}},
	{"out-sheet", "What `evenstroke sheet --json` prints, one document a pump.", &sheetDoc{}, []string{"sheet", "varn-40"}},
	{"out-torque", "What `evenstroke torque --json` prints.", &[]torqueDoc{}, []string{"torque", "orrin-30", "--length", "400 mm"}},
	{"out-stack", "What `evenstroke stack --json` prints.", &[]stackDoc{}, []string{"stack", "varn-40"}},
	{"out-work", "What `evenstroke work --json` prints: steps, or with --build departures.", &workDoc{}, []string{"work", "tolsk-18", "--all", "replace"}},
	{"out-stroke", "What `evenstroke stroke --json` prints.", &strokeDoc{}, []string{"stroke", "orrin-30", "--for", "1 s"}},
	{"out-line", "One line of what `evenstroke hold --lines` prints.", &lineResult{}, nil},
	{"out-error", "What --json prints on the standard error.", &errorDoc{}, nil},
}

// TestOutputSchemas keeps the published schemas of the output equal to what the program prints.
func TestOutputSchemas(t *testing.T) {
	r := reflector.Reflector{DoNotReference: true, RequiredFromJSONSchemaTags: false, Anonymous: true}
	for _, o := range outputs {
		s := r.Reflect(o.doc)
		s.ID, s.Title, s.Description = reflector.ID("urn:evenstroke:schema:"+o.name+":1"), o.name, o.what
		text, err := json.MarshalIndent(s, "", "  ")
		if err != nil {
			t.Fatal(err)
		}
		text = append(text, '\n')
		path := filepath.Join("..", "..", "schema", o.name+".schema.json")
		if *update {
			if err := os.WriteFile(path, text, 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		have, err := os.ReadFile(path)
		if err != nil || !bytes.Equal(have, text) {
			t.Errorf("%s is stale: go test ./internal/cli -run TestOutputSchemas -update (%v)", path, err)
		}
	}
}

// TestOutputMeetsItsSchema runs each command with --json and validates what it prints.
func TestOutputMeetsItsSchema(t *testing.T) {
	for _, o := range outputs {
		if o.args == nil {
			continue
		}
		var out, errw bytes.Buffer
		if code := Main(append(o.args, "--json"), bytes.NewReader(nil), &out, &errw); code != 0 {
			t.Fatalf("%v: exit %d: %s", o.args, code, errw.String())
		}
		validate(t, o.name, out.Bytes())
	}
	in := `{"hold":1,"pump":"tolsk-18","readings":[{"restart":"unknown","time":"12 s"}]}` + "\n{}\n"
	var out, errw bytes.Buffer
	if code := Main([]string{"hold", "--lines"}, bytes.NewReader([]byte(in)), &out, &errw); code != exitInput {
		t.Fatalf("exit %d, want %d", code, exitInput)
	}
	for _, line := range bytes.Split(bytes.TrimSpace(out.Bytes()), []byte("\n")) {
		validate(t, "out-line", line)
	}
	errw.Reset()
	Main([]string{"hold", "nowhere.yaml", "--json"}, bytes.NewReader(nil), &out, &errw)
	validate(t, "out-error", errw.Bytes())
}

func validate(t *testing.T, name string, text []byte) {
	t.Helper()
	s := schematest.Compile(t, name)
	got, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatalf("%s: %v: %s", name, err, text)
	}
	if err := s.Validate(got); err != nil {
		t.Errorf("%s: %v", name, err)
	}
}
