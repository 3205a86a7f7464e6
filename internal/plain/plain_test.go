package plain

import (
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/fluid"
	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/num"
	"github.com/evenstroke/evenstroke/ode"
	"github.com/evenstroke/evenstroke/seal"
	"github.com/evenstroke/evenstroke/stroke"
	"github.com/evenstroke/evenstroke/unit"
)

// internal matches what only a programmer understands: names of packages, fields and functions, and how Go prints numbers.
var internal = regexp.MustCompile(`\b(num|ode|fluid|leak|seal|bolt|pump|stroke|hold|unit|sheet|strconv|json|yaml)\.[A-Za-z]|\b(num|ode): |\b[A-Z]\w*\.[A-Z]|\b[a-z]+[A-Z]\w{3,}|\b[A-Z][a-z]+[A-Z]\w+| = |\bwant\b|[<>]|\bNaN\b|\bInf\b|f\(|len\(|[a-z]\[`)

// science are the packages whose errors reach a person.
var science = []string{"num", "ode", "fluid", "leak", "seal", "bolt", "pump", "stroke", "hold"}

// files parses the sources of a science package.
func files(t *testing.T, pkg string) []*ast.File {
	t.Helper()
	set := token.NewFileSet()
	dir := filepath.Join("..", "..", pkg)
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var out []*ast.File
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
			continue
		}
		f, err := parser.ParseFile(set, filepath.Join(dir, e.Name()), nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, f)
	}
	return out
}

// literals are the strings among expressions; what is worked out is "".
func literals(args []ast.Expr) []string {
	out := make([]string, len(args))
	for i, a := range args {
		if kv, ok := a.(*ast.KeyValueExpr); ok {
			a = kv.Value
		}
		ast.Inspect(a, func(n ast.Node) bool { // of fmt.Sprintf("…", …) and path + ".Late" too
			if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING && out[i] == "" {
				out[i], _ = strconv.Unquote(lit.Value)
			}
			return true
		})
	}
	return out
}

// TestNoArgumentIsLeftUnsaid makes the error of every argument that a science package checks, out of range in every way, and looks for
// what only a programmer understands.
func TestNoArgumentIsLeftUnsaid(t *testing.T) {
	seen := map[string]bool{}
	for _, pkg := range science {
		for _, f := range files(t, pkg) {
			ast.Inspect(f, func(n ast.Node) bool {
				name, unitName, want := "", "", ""
				switch n := n.(type) {
				case *ast.CallExpr:
					fn, ok := n.Fun.(*ast.SelectorExpr)
					if !ok || !strings.HasPrefix(fn.Sel.Name, "Check") || len(n.Args) < 4 {
						return true
					}
					lits := literals(n.Args)
					name, unitName = lits[1], lits[len(lits)-1]
				case *ast.CompositeLit: // RangeError, and rows of tables: {"Bore", v, lo, hi, "m", true}
					lits := literals(n.Elts)
					if fmt.Sprint(n.Type) == "&{num RangeError}" {
						name, unitName, want = field(n, "Name"), field(n, "Unit"), field(n, "Want")
					} else if len(lits) >= 3 && lits[0] != "" {
						i := slices.IndexFunc(lits[1:], func(s string) bool { _, ok := dimension(s); return ok })
						if i < 0 {
							return true
						}
						name, unitName = lits[0], lits[i+1]
					}
				}
				if name == "" {
					return true
				}
				seen[name] = true
				for _, e := range refusals(pkg+".Func", strings.NewReplacer("%g", "3", "%s", "x").Replace(name), unitName, want) {
					check(t, e)
				}
				return true
			})
		}
	}
	if len(seen) < 100 || !seen["M"] || !seen["T"] || !seen["Pump.Hose.Bore"] || !seen["Height"] {
		t.Errorf("found only %d arguments", len(seen))
	}
}

func field(n *ast.CompositeLit, name string) string {
	for i, e := range n.Elts {
		if kv, ok := e.(*ast.KeyValueExpr); ok && fmt.Sprint(kv.Key) == name {
			return literals(n.Elts)[i]
		}
	}
	return ""
}

// refusals are the errors that an argument can give.
func refusals(fn, name, unitName, want string) []error {
	out := []error{
		num.CheckPositive(fn, name, -1, unitName), num.CheckFinite(fn, name, math.NaN(), unitName), num.CheckFinite(fn, name, math.Inf(1), unitName),
		num.CheckRange(fn, name, 1e9, 0, 1, unitName), num.CheckRange(fn, name, -1e9, 1, math.Inf(1), unitName), num.CheckRange(fn, name, -1, 0, math.MaxFloat64, unitName),
	}
	if want != "" {
		out = append(out, &num.RangeError{Func: fn, Name: name, Value: 3, Unit: unitName, Want: want})
	}
	return out
}

func check(t *testing.T, err error) {
	t.Helper()
	for _, sys := range []unit.System{unit.Metric(), unit.Imperial()} {
		wrapped := fmt.Errorf("packing set %q: %w", "throat", err)
		said := Text(wrapped, sys, nil)
		if bad := internal.FindString(said); bad != "" || !strings.HasPrefix(said, `packing set "throat": `) {
			t.Errorf("%v\nis said as %s\nwhich has %q", err, said, bad)
		}
	}
}

// TestNoSetupIsLeftUnsaid does the same for what a setup or a description of a fluid lacks.
func TestNoSetupIsLeftUnsaid(t *testing.T) {
	n := 0
	for _, pkg := range science {
		for _, f := range files(t, pkg) {
			ast.Inspect(f, func(node ast.Node) bool {
				lit, ok := node.(*ast.CompositeLit)
				if !ok {
					return true
				}
				lits := append(literals(lit.Elts), "", "", "")
				why := strings.NewReplacer("%q", `"x"`, "%s", "x", "%d", "3").Replace(lits[1])
				switch fmt.Sprint(lit.Type) {
				case "SetupError":
					check(t, &stroke.SetupError{Field: lits[0], Why: why})
				case "PathError":
					check(t, &stroke.PathError{Field: lits[0], Name: "x", Have: []string{"throat packing"}})
				case "SpecError":
					check(t, &fluid.SpecError{Field: lits[0], Got: why, Want: lits[2]})
				default:
					return true
				}
				if _, known := fields[lits[0]]; lits[0] != "" && !known {
					t.Errorf("%s: the field %s has no name", pkg, lits[0])
				}
				n++
				return true
			})
		}
	}
	if n < 15 {
		t.Errorf("found only %d setups", n)
	}
}

// TestEveryErrorTypeIsKnown finds every error that a science package can make, and wants it said.
func TestEveryErrorTypeIsKnown(t *testing.T) {
	_, badThread := bolt.ParseThread("M99")
	_, badMaterial := seal.LookUp("felt", 300)
	_, badCup := fluid.CupViscosity("no cup", 30)
	known := map[string]error{
		"num.RangeError": num.CheckPositive("f", "x", -1, "m"), "num.BracketError": &num.BracketError{Func: "num.Brent", A: 1, B: 2},
		"ode.StepError": &ode.StepError{T: 1}, "ode.StepLimitError": &ode.StepLimitError{Steps: 9}, "ode.NaNError": &ode.NaNError{Func: "Deriv"},
		"ode.ZenoError": &ode.ZenoError{}, "ode.ErrCanceled": ode.ErrCanceled, "leak.RegimeError": &leak.RegimeError{Func: "leak.Annulus", Re: 1e5, Hi: 2000},
		"bolt.ParseError": badThread, "seal.NameError": badMaterial, "fluid.CupError": badCup, "fluid.SpecError": &fluid.SpecError{Field: "CupTime", Got: "given", Want: "nothing"},
		"stroke.PathError": &stroke.PathError{Field: "Faults", Name: "x"}, "stroke.SetupError": &stroke.SetupError{Field: "Rand", Why: "x"},
	}
	plainAlready := []string{"ode.JacobianError", "hold.Refusal", "hold.MissingError", "pump.BuildError", "pump.ChoiceError", "pump.CycleError", "pump.UnknownStepError"} // the first is for who writes a model
	for _, pkg := range science {
		for _, f := range files(t, pkg) {
			for _, d := range f.Decls {
				fn, ok := d.(*ast.FuncDecl)
				if !ok || fn.Name.Name != "Error" || fn.Recv == nil {
					continue
				}
				star, _ := fn.Recv.List[0].Type.(*ast.StarExpr)
				name := pkg + "." + fmt.Sprint(star.X)
				if known[name] == nil && !slices.Contains(plainAlready, name) {
					t.Errorf("%s has no words", name)
				}
			}
		}
	}
	for name, err := range known {
		if err == nil {
			t.Fatalf("%s was not made", name)
		}
		check(t, err)
	}
}

func TestText(t *testing.T) {
	hot := num.CheckRange("seal.LookUp", "T", 1173.15, 253.15, 473.15, "K")
	torque := num.CheckRange("bolt.Clamp", "M", -20, 0, math.Inf(1), "N·m")
	for _, c := range []struct {
		err      error
		imperial bool
		want     string
	}{
		{hot, false, "--temperature: found 900.0 °C; expected a temperature from -20.0 °C, up to 200.0 °C"},
		{hot, true, "--temperature: found 1652.0 °F; expected a temperature from -4.0 °F, up to 392.0 °F"},
		{torque, false, "torque: found -20.0 N·m; expected a torque from 0"},
		{errors.Join(hot, torque), false, "--temperature: found 900.0 °C; expected a temperature from -20.0 °C, up to 200.0 °C\ntorque: found -20.0 N·m; expected a torque from 0"},
		{fmt.Errorf("reading 3: fluid: %w", num.CheckRange("fluid.New", "AirFraction", 0.8, 0, 0.5, "1")), false, "reading 3: fluid: share of air in the fluid: found 80.0 %; expected a share of air in the fluid from 0, up to 50.0 %"},
		{&stroke.PathError{Field: "Faults", Name: "throat paking", Have: []string{"throat packing", "drain valve"}}, false,
			`fault: found "throat paking", which this pump does not have; expected one of throat packing, drain valve; did you mean "throat packing"?`},
		{fs.ErrNotExist, false, fs.ErrNotExist.Error()},
	} {
		sys := unit.Metric()
		if c.imperial {
			sys = unit.Imperial()
		}
		if got := Text(c.err, sys, map[string]string{"temperature": "--temperature"}); got != c.want {
			t.Errorf("%v\n got %s\nwant %s", c.err, got, c.want)
		}
	}
	if !Input(fmt.Errorf("x: %w", hot)) || Input(fs.ErrNotExist) || Input(&ode.StepError{}) {
		t.Error("what was given is told from what failed")
	}
}
