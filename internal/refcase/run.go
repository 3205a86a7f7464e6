package refcase

import (
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite docs/validation/<package>.md from the reference cases")

// Want is what a formula returned, by output name.
type Want map[string]float64

// Formula calls one exported function with the given values.
type Formula func(Given) (Want, error)

// Given hands out the given values of a case and notes which were used.
type Given struct {
	t    *testing.T
	c    Case
	used map[string]bool
}

// Num returns the SI number named name; the test fails if the case does not give it.
func (g Given) Num(name string) float64 {
	g.t.Helper()
	v, ok := g.c.Given[name]
	if !ok {
		g.t.Fatalf("%s:%d: case %s gives no %s", g.c.File, g.c.Line, g.c.Name, name)
	}
	g.used[name] = true
	number, _, _ := strings.Cut(v, " ")
	x, err := strconv.ParseFloat(number, 64)
	if err != nil {
		g.t.Fatalf("%s:%d: %s: %v", g.c.File, g.c.Line, name, err)
	}
	return x
}

// Has says whether the case gives name.
func (g Given) Has(name string) bool { _, ok := g.c.Given[name]; return ok }

// Text returns the quoted text named name; the test fails if the case does not give it.
func (g Given) Text(name string) string {
	g.t.Helper()
	v, ok := g.c.Given[name]
	if !ok || !strings.HasPrefix(v, `"`) {
		g.t.Fatalf("%s:%d: case %s gives no text %s", g.c.File, g.c.Line, g.c.Name, name)
	}
	g.used[name] = true
	return strings.Trim(v, `"`)
}

type row struct {
	c    Case
	text string
}

// Run runs every case in testdata/ref of the calling package pkg and enforces the gates: each formula has at least two
// cases of different kinds (that of practice does not count for an exported one), each exported function that returns a float64 is a formula or exempt with a reason, each given
// is used, and docs/validation/<pkg>.md is up to date.
func Run(t *testing.T, pkg string, formulas map[string]Formula, exempt map[string]string) {
	t.Helper()
	cases := load(t)
	var rows []row
	kindsOf := map[string]map[string]bool{}
	for _, c := range cases {
		f, ok := formulas[c.Func]
		if !ok {
			t.Errorf("%s:%d: func %s has no adapter in the test", c.File, c.Line, c.Func)
			continue
		}
		if kindsOf[c.Func] == nil {
			kindsOf[c.Func] = map[string]bool{}
		}
		if c.Kind != practice || !token.IsExported(c.Func) {
			kindsOf[c.Func][c.Kind] = true
		}
		t.Run(c.Name, func(t *testing.T) { rows = append(rows, row{c, c.run(t, f)}) })
	}
	for name := range formulas {
		if len(kindsOf[name]) < 2 {
			t.Errorf("%s has cases of %d kind(s); two different kinds are needed", name, len(kindsOf[name]))
		}
	}
	gateExported(t, formulas, exempt)
	report(t, pkg, rows)
}

func load(t *testing.T) []Case {
	t.Helper()
	files, err := filepath.Glob("testdata/ref/*.ref")
	if err != nil || len(files) == 0 {
		t.Fatalf("no reference cases in testdata/ref (%v)", err)
	}
	var all []Case
	seen := map[string]bool{}
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		cases, err := Parse(f, string(text))
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range cases {
			if seen[c.Name] {
				t.Errorf("%s:%d: case %s stands twice", c.File, c.Line, c.Name)
			}
			seen[c.Name] = true
		}
		all = append(all, cases...)
	}
	return all
}

// run executes the case and returns the text of its deviation for the validation page.
func (c Case) run(t *testing.T, f Formula) string {
	t.Helper()
	g := Given{t: t, c: c, used: map[string]bool{}}
	got, err := f(g)
	for name := range c.Given {
		if !g.used[name] {
			t.Errorf("%s:%d: given %s is not used", c.File, c.Line, name)
		}
	}
	if c.WantError {
		if err == nil {
			t.Errorf("%s:%d: an error is wanted, got %v", c.File, c.Line, got)
		}
		return "refused, as it must be"
	}
	if err != nil {
		t.Errorf("%s:%d: %v", c.File, c.Line, err)
		return "error"
	}
	worst := 0.0
	for _, w := range c.Want {
		x, ok := got[w.Name]
		if !ok {
			t.Errorf("%s:%d: formula returns no %s", c.File, c.Line, w.Name)
			continue
		}
		tol := c.TolAbs + c.TolRel*math.Abs(w.Value)
		dev := math.Abs(x - w.Value)
		if !(dev <= tol) {
			t.Errorf("%s:%d: %s = %.10g %s, want %.10g within %.3g", c.File, c.Line, w.Name, x, w.Unit, w.Value, tol)
		}
		if tol > 0 {
			worst = math.Max(worst, dev/tol)
		}
	}
	return band(worst)
}

// band keeps the page stable against last-digit differences between machines.
func band(ratio float64) string {
	for _, b := range []float64{0.01, 0.1, 0.25, 0.5, 0.75, 1} {
		if ratio <= b {
			return fmt.Sprintf("≤ %g of tolerance", b)
		}
	}
	return "outside"
}

func gateExported(t *testing.T, formulas map[string]Formula, exempt map[string]string) {
	t.Helper()
	names := exportedFloats(t)
	for _, n := range names {
		if _, ok := formulas[n]; !ok && exempt[n] == "" {
			t.Errorf("exported function %s returns a float64 but has no reference case and no exemption", n)
		}
	}
}

// exportedFloats lists the exported top-level functions of the package in the working directory whose first result is float64.
func exportedFloats(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(token.NewFileSet(), f, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range tree.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok || fn.Recv != nil || !fn.Name.IsExported() || fn.Type.Results == nil {
				continue
			}
			if id, ok := fn.Type.Results.List[0].Type.(*ast.Ident); ok && id.Name == "float64" {
				names = append(names, fn.Name.Name)
			}
		}
	}
	sort.Strings(names)
	return names
}

func report(t *testing.T, pkg string, rows []row) {
	t.Helper()
	if t.Failed() {
		return
	}
	sort.SliceStable(rows, func(i, j int) bool { return rows[i].c.Func < rows[j].c.Func })
	var b strings.Builder
	fmt.Fprintf(&b, "# Validation of package `%s`\n\nGenerated from `%s/testdata/ref` by its test with `-update`; not written by hand.\n\n", pkg, pkg)
	b.WriteString("| formula | case | kind | source | tolerance and why | deviation |\n|---|---|---|---|---|---|\n")
	for _, r := range rows {
		tol := "error wanted"
		if !r.c.WantError {
			tol = fmt.Sprintf("rel %g", r.c.TolRel)
			if r.c.TolAbs > 0 || r.c.TolRel == 0 {
				tol = fmt.Sprintf("abs %g", r.c.TolAbs)
			}
			tol += ": " + r.c.Because
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %s |\n", r.c.Func, r.c.Name, r.c.Kind, cell(r.c.Source), cell(tol), r.text)
	}
	path := filepath.Join(root(t), "docs", "validation", strings.ReplaceAll(pkg, "/", "-")+".md")
	if *update {
		if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	have, err := os.ReadFile(path)
	if err != nil || string(have) != b.String() {
		t.Errorf("%s is stale: go test ./%s -run TestRef -update", path, pkg)
	}
}

func cell(s string) string { return strings.ReplaceAll(s, "|", "\\|") }

// root walks up from the working directory to the folder that holds go.mod.
func root(t *testing.T) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("no go.mod above the test")
		}
		dir = up
	}
}
