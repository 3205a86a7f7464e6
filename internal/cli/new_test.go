package cli

import (
	"regexp"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/schema"
)

// A file of `evenstroke new` reads back as it is, and every key of its schema stands in it.
func TestNew(t *testing.T) {
	for name, read := range map[string]func([]byte) error{
		"pump":  func(b []byte) error { _, err := pump.Read("new.yaml", b); return err },
		"hold":  func(b []byte) error { _, err := hold.ReadSheet("new.yaml", b, nil); return err },
		"prior": func(b []byte) error { _, err := hold.ReadPrior("new.yaml", b); return err },
	} {
		out, errw, code := runLine("new " + name)
		if code != 0 {
			t.Fatalf("%s: exit %d %s", name, code, errw)
		}
		if err := read([]byte(out)); err != nil {
			t.Errorf("%s does not read back: %v", name, err)
		}
		keys, err := schema.Keys(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range keys {
			last := strings.TrimSuffix(k.Path[strings.LastIndex(k.Path, ".")+1:], "[]")
			if !regexp.MustCompile(`(?m)(^|[\s{,#-])` + last + `:`).MatchString(out) {
				t.Errorf("%s: the key %s is not there", name, k.Path)
			}
		}
		if n := strings.Count(out, "# "); n < 12 {
			t.Errorf("%s has only %d comments", name, n)
		}
	}
	t.Chdir(t.TempDir())
	if _, errw, code := runLine("new pump my.yaml"); code != 0 {
		t.Fatal(errw)
	}
	if out, errw, code := runLine("sheet my.yaml"); code != 0 {
		t.Errorf("%s %s", out, errw)
	}
	plainly(t, "new pump my.yaml", "there already")
	plainly(t, "new pmup", `did you mean "pump"?`)
}
