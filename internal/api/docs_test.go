package api

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/outside"
)

var fence = regexp.MustCompile("(?s)```(sh|json)\n(.*?)```")

// TestPage runs the examples of docs/api.md in their order, by curl, and looks that what they answer has what the page shows: the same
// fields and values, but for times, digests and what the model may find otherwise one day.
func TestPage(t *testing.T) {
	outside.Program(t, "sh", "dash")
	outside.Program(t, "curl", "curl")
	page, err := os.ReadFile(filepath.Join("..", "..", "docs", "api.md"))
	if err != nil {
		t.Fatal(err)
	}
	script, shown := "set -e\n", map[int]string{}
	n := 0
	for _, m := range fence.FindAllStringSubmatch(string(page), -1) {
		if m[1] == "sh" {
			n++
			script += fmt.Sprintf("echo; echo '=== %d'\n%s\n", n, m[2])
			continue
		}
		shown[n] = m[2]
	}
	if n < 10 || len(shown) != n {
		t.Fatalf("%d examples with %d answers", n, len(shown))
	}
	b := newBench(t)
	cmd := exec.Command("sh", "-c", script)
	cmd.Dir = t.TempDir()
	cmd.Env = append(os.Environ(), "SHOP="+b.srv.URL, "TOKEN="+b.write)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	parts := regexp.MustCompile(`(?m)^=== \d+$`).Split(string(out), -1)[1:]
	for i, got := range parts {
		var have, want any
		if err := json.Unmarshal([]byte(shown[i+1]), &want); err != nil {
			t.Fatalf("example %d: %v", i+1, err)
		}
		if err := json.Unmarshal([]byte(strings.TrimSpace(got)), &have); err != nil {
			t.Errorf("example %d: %v: %s", i+1, err, got)
			continue
		}
		like(t, fmt.Sprintf("example %d", i+1), have, want)
	}
}

// like says whether a value has at least what is shown of it.
func like(t *testing.T, where string, have, want any) {
	t.Helper()
	switch w := want.(type) {
	case map[string]any:
		h, ok := have.(map[string]any)
		if !ok {
			t.Errorf("%s: %v is no object", where, have)
			return
		}
		for k := range w {
			if _, ok := h[k]; !ok {
				t.Errorf("%s: no %q in %v", where, k, h)
				continue
			}
			like(t, where+"."+k, h[k], w[k])
		}
	case []any:
		h, ok := have.([]any)
		if !ok || len(h) < len(w) {
			t.Errorf("%s: %v, shown %v", where, have, want)
			return
		}
		for i := range w {
			like(t, where, h[i], w[i])
		}
	default:
		if fmt.Sprintf("%T", have) != fmt.Sprintf("%T", want) || !changing(where, want) && have != want {
			t.Errorf("%s: %v (%T), shown %v (%T)", where, have, have, want, want)
		}
	}
}

// changing says whether a value differs from time to time, or from one version of the model to the next.
func changing(where string, v any) bool {
	if s, ok := v.(string); ok && strings.Contains(s, "…") {
		return true
	}
	key := where[strings.LastIndex(where, ".")+1:]
	return strings.Contains(" at version p p_meets meets value path ", " "+key+" ")
}
