package main

import (
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestSmallBuild: the build of the README's first command leaves out what only the server needs, runs the demo, and says what it lacks.
func TestSmallBuild(t *testing.T) {
	deps, err := exec.Command("go", "list", "-deps", "-tags", "small", ".").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, dep := range strings.Fields(string(deps)) {
		for _, heavy := range []string{"modernc.org/", "github.com/jackc/pgx", "github.com/pressly/goose", "github.com/danielgtaylor/huma", "github.com/go-webauthn", "github.com/prometheus",
			"google.golang.org/protobuf", "github.com/carlos7ags/folio", "golang.org/x/text", "golang.org/x/image", "golang.org/x/net", "net/http", "crypto/", "math/big",
			"github.com/evenstroke/evenstroke/internal/web", "github.com/evenstroke/evenstroke/internal/store", "github.com/evenstroke/evenstroke/internal/record"} {
			if strings.HasPrefix(dep, heavy) {
				t.Errorf("%s is built for the demo", dep)
			}
		}
	}
	program := filepath.Join(t.TempDir(), "evenstroke")
	if out, err := exec.Command("go", "build", "-tags", "small", "-o", program, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	dir := filepath.Join(t.TempDir(), "demo")
	if out, err := exec.Command(program, "demo", "--dir", dir).CombinedOutput(); err != nil || !strings.Contains(string(out), "Open the report: ") {
		t.Errorf("demo: %v\n%s", err, out)
	}
	out, err := exec.Command(program, "serve").CombinedOutput()
	if err == nil || !strings.Contains(string(out), "this build (-tags small) has no commands for the records of a shop") {
		t.Errorf("serve: %v\n%s", err, out)
	}
}
