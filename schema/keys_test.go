package schema

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite docs/keys.md")

// TestKeysPage keeps docs/keys.md equal to the schemas.
func TestKeysPage(t *testing.T) {
	var b bytes.Buffer
	b.WriteString("# Every key of the files that people write\n\nGenerated from the JSON Schemas (`evenstroke schema NAME`); `evenstroke new NAME` writes a file with all of them.\n" +
		"A quantity is a number with its unit, as `160 bar`, `0.0005 in`, `18 mL/min`. `[]` stands for each item of a list; ● is a key that its block must have.\n")
	for _, name := range []string{"pump", "hold", "prior", "build"} {
		keys, err := Keys(name)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&b, "\n## %s\n\n| key | | what | takes |\n|---|---|---|---|\n", name)
		for _, k := range keys {
			must := ""
			if k.Required {
				must = "●"
			}
			fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", k.Path, must, strings.ReplaceAll(k.About, "|", "\\|"), k.Takes)
		}
	}
	const page = "../docs/keys.md"
	if *update {
		if err := os.WriteFile(page, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	have, err := os.ReadFile(page)
	if err != nil || !bytes.Equal(have, b.Bytes()) {
		t.Errorf("%s is stale: go test ./schema -run TestKeysPage -update (%v)", page, err)
	}
}

func TestKeys(t *testing.T) {
	keys, err := Keys("pump")
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]Key{}
	for _, k := range keys {
		if _, twice := at[k.Path]; twice {
			t.Errorf("%s is listed twice", k.Path)
		}
		at[k.Path] = k
	}
	for path, must := range map[string]bool{"pump": true, "geometry.bore": true, "valves[].ball": true, "valves[].turnable": false, "hose.tip": false, "drive.speed": false} {
		if k, ok := at[path]; !ok || k.Required != must {
			t.Errorf("%s: %+v", path, k)
		}
	}
	if len(keys) < 80 {
		t.Errorf("only %d keys", len(keys))
	}
	if _, err := Keys("no"); err == nil {
		t.Error("a schema that is not there has keys")
	}
}
