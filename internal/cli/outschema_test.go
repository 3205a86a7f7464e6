package cli

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	reflector "github.com/invopop/jsonschema"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/spf13/cobra"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/schema/schematest"
)

var update = flag.Bool("update", false, "rewrite the schemas of the output")

// outputs are the documents that --json prints, with the command that prints each.
var outputs = []struct {
	name, what string
	doc        any
	line       string // what is run to see one; "" where a test of its own does so
}{
	{"out-demo", "What `evenstroke demo --json` prints.", &demoDoc{}, "demo --dir d"},
	{"out-hold", "What `evenstroke hold --json` prints.", &hold.Result{}, "hold orrin-as-found.yaml"},
	{"out-sheet", "What `evenstroke sheet --json` prints, one item a pump.", &[]sheetDoc{}, "sheet varn-40 tolsk-18"},
	{"out-torque", "What `evenstroke torque --json` prints.", &[]torqueDoc{}, "torque orrin-30 --length '400 mm'"},
	{"out-stack", "What `evenstroke stack --json` prints.", &[]stackDoc{}, "stack varn-40"},
	{"out-work", "What `evenstroke work --json` prints: steps, or with --build departures.", &workDoc{}, "work tolsk-18 --all replace"},
	{"out-stroke", "What `evenstroke stroke --json` prints.", &strokeDoc{}, "stroke orrin-30 --for '1 s'"},
	{"out-new", "What `evenstroke new --json` prints: the file that was written, or its text.", &newDoc{}, "new prior"},
	{"out-version", "What `evenstroke version --json` prints.", &versionDoc{}, "version"},
	{"out-schema", "What `evenstroke schema --json` prints: the names of the schemas.", &[]string{}, "schema"},
	{"out-backup", "What `evenstroke backup --json` prints.", &backupDoc{}, "backup copy.db"},
	{"out-restore", "What `evenstroke restore --json` prints.", &restoreDoc{}, "restore copy.db --data second"},
	{"out-verify", "What `evenstroke verify --json` prints.", &verifyDoc{}, "verify"},
	{"out-export", "What `evenstroke export --json` prints.", &exportDoc{}, "export 1 job.zip"},
	{"out-import", "What `evenstroke import --json` prints.", &importDoc{}, "import job.zip"},
	{"out-pin", "What `evenstroke pin --json` prints.", &pinDoc{}, "echo 804937 | pin 'Mara Kell'"},
	{"out-device", "What `evenstroke device --json` prints.", &deviceDoc{}, "device"},
	{"out-token", "What `evenstroke token make --json` and `evenstroke token end --json` print.", &tokenDoc{}, "token make 'Mara Kell' --name stock"},
	{"out-tokens", "What `evenstroke token list --json` prints.", &[]tokenDoc{}, "token list"},
	{"out-token", "", &tokenDoc{}, "token end 1"},
	{"out-authority", "What `evenstroke authority show --json` and `evenstroke authority replace --json` print.", &authorityDoc{}, "authority replace"},
	{"out-authority", "", &authorityDoc{}, "authority show"},
	{"out-line", "One line of what `evenstroke hold --lines` prints.", &lineResult{}, ""},
	{"out-error", "What --json prints on the standard error.", &errorDoc{}, ""},
}

// withoutJSON are the commands whose output is not for programs: a server, and scripts and pages for a shell.
var withoutJSON = []string{"serve", "help", "completion"}

// TestOutputSchemas keeps the published schemas of the output equal to what the program prints.
func TestOutputSchemas(t *testing.T) {
	r := reflector.Reflector{DoNotReference: true, RequiredFromJSONSchemaTags: false, Anonymous: true}
	for _, o := range outputs {
		if o.what == "" {
			continue // a second command with the same document
		}
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

// TestOutputMeetsItsSchema runs each command with --json, one after the other on the demo workshop, and validates what it prints: one
// document without names of the program's own.
func TestOutputMeetsItsSchema(t *testing.T) {
	demoShop(t)
	seen := map[string]bool{}
	for _, o := range outputs {
		if o.line == "" {
			continue
		}
		out, errw, code := runLine(o.line + " --json")
		if code != 0 {
			t.Fatalf("%s: exit %d: %s", o.line, code, errw)
		}
		validate(t, o.name, []byte(out))
		_, words, ok := strings.Cut(o.line, " | ")
		if !ok {
			words = o.line
		}
		c, _, err := (&app{}).root().Find(splitArgs(words))
		if err != nil {
			t.Fatal(err)
		}
		seen[name(c)] = true
	}
	each((&app{}).root(), func(c *cobra.Command) {
		if c.HasSubCommands() || slices.Contains(withoutJSON, strings.Fields(name(c))[0]) || seen[name(c)] {
			return
		}
		t.Errorf("%s prints no document with --json, or none that is published", name(c))
	})
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

// goName is a key as Go writes names, and not as documents do.
var goName = regexp.MustCompile(`"[A-Z]\w*":`)

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
	if k := goName.Find(text); k != nil {
		t.Errorf("%s has the key %s", name, k)
	}
}
