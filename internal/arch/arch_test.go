// Package arch keeps the arrows of the project pointing down: each package may import only what its line allows.
package arch

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"
)

const module = "github.com/evenstroke/evenstroke/"

// policy lists, for each package, the packages of this module that it may import. Tests are free. A package without a line
// fails. Do not widen a line merely to get a build through: move the code instead.
var policy = map[string]string{
	"unit":              "",
	"num":               "",
	"ode":               "num",
	"fluid":             "num",
	"leak":              "num",
	"bolt":              "num",
	"seal":              "num",
	"sheet":             "unit",
	"schema":            "",
	"schema/schematest": "schema",
	"pump":              "unit num sheet fluid leak bolt seal",
	"stroke":            "num ode fluid leak pump",
	"hold":              "unit num sheet fluid leak pump",

	"internal/refcase":         "",
	"internal/arch":            "",
	"internal/draw":            "unit pump hold seal stroke",
	"internal/report":          "unit pump hold seal bolt stroke internal/draw",
	"internal/demo":            "",
	"internal/record":          "",
	"internal/assess":          "unit num sheet fluid leak bolt seal pump stroke hold internal/record",
	"internal/store":           "internal/record",
	"internal/archive":         "pump internal/record internal/store internal/picture",
	"internal/localca":         "",
	"internal/outfile":         "",
	"internal/heads":           "internal/outfile internal/record",
	"internal/outside":         "",
	"internal/pgtest":          "",
	"internal/browser":         "",
	"internal/sec":             "",
	"internal/text":            "",
	"internal/picture":         "internal/record",
	"internal/plain":           "unit num sheet ode fluid leak seal bolt pump stroke",
	"internal/gate":            "internal/record internal/store",
	"internal/shop":            "unit pump hold internal/record internal/store internal/assess internal/gate",
	"internal/api":             "unit hold internal/record internal/store internal/assess internal/shop internal/gate internal/picture internal/archive",
	"internal/serve":           "unit sheet pump hold internal/record internal/store internal/assess internal/shop internal/gate internal/localca internal/archive internal/api internal/web internal/demo internal/heads",
	"internal/web":             "unit pump hold schema internal/record internal/store internal/assess internal/shop internal/gate internal/picture internal/archive internal/text internal/draw internal/report internal/localca internal/api",
	"internal/cli":             "unit num sheet schema fluid leak bolt seal pump stroke hold internal/draw internal/report internal/demo internal/record internal/store internal/gate internal/archive internal/serve internal/outfile internal/plain internal/heads",
	"internal/blind":           "",
	"internal/blind/gen":       "pump",
	"internal/blind/score":     "pump hold internal/blind/gen",
	"internal/blind/cmd/blind": "pump hold internal/blind/gen internal/blind/score",
	"cmd/evenstroke":           "internal/cli",
	"packaging/licences":       "",
	"packaging/sbom":           "",
	"packaging/man":            "",
	"packaging/extras":         "internal/cli packaging/man",
	"packaging/zipdir":         "",
	"bench/load":               "unit pump hold internal/record internal/store internal/assess internal/shop internal/gate internal/serve internal/pgtest",
	"bench/verify":             "",
	"bench/peers":              "num ode fluid leak pump stroke",

	"internal/claims":            "",
	"internal/claims/cmd/claims": "internal/claims",

	"internal/browser/cmd/shop": "internal/serve",
	"internal/slowest":          "",
}

// impure packages of the standard library that a science package may not import: no clock, no files, no network.
var impure = map[string]bool{
	"os": true, "net": true, "net/http": true, "database/sql": true, "log": true, "log/slog": true, "math/rand": true,
	"os/exec": true, "path/filepath": true, "flag": true, "time": true,
}

func TestArrowsPointDown(t *testing.T) {
	root := filepath.Join("..", "..")
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == ".git" || d.Name() == "testdata" || d.Name() == "node_modules" || d.Name() == "dist") {
			return filepath.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		rel, err := filepath.Rel(root, filepath.Dir(path))
		if err != nil {
			return err
		}
		checkFile(t, filepath.ToSlash(rel), path)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func checkFile(t *testing.T, pkg, path string) {
	t.Helper()
	allowed, ok := policy[pkg]
	if !ok {
		t.Errorf("%s: package %s has no line in the import policy", path, pkg)
		return
	}
	may := map[string]bool{}
	for _, p := range strings.Fields(allowed) {
		may[p] = true
	}
	f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
	if err != nil {
		t.Fatal(err)
	}
	science := !strings.HasPrefix(pkg, "internal/") && !strings.HasPrefix(pkg, "cmd/") && !strings.HasPrefix(pkg, "bench/") && !strings.HasPrefix(pkg, "packaging/")
	for _, im := range f.Imports {
		p := strings.Trim(im.Path.Value, `"`)
		if own, ok := strings.CutPrefix(p, module); ok && !may[own] {
			t.Errorf("%s: %s may not import %s", path, pkg, own)
		}
		if science && impure[p] {
			t.Errorf("%s: the science package %s may not import %s", path, pkg, p)
		}
	}
}
