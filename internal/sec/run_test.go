package sec

import (
	"go/ast"
	"go/token"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
)

const module = "github.com/evenstroke/evenstroke/"

// reached are the folders of the packages that a request can reach: internal/serve and all that it imports, directly or not, of this module.
var reached = sync.OnceValue(func() map[string]bool {
	imported := map[string][]string{}
	all, err := goFiles()
	if err != nil {
		panic(err) // walk has told the test
	}
	for _, g := range all {
		if strings.HasSuffix(g.path, "_test.go") {
			continue
		}
		for _, i := range imports(g.file) {
			if own, ok := strings.CutPrefix(i, module); ok {
				imported[path.Dir(g.path)] = append(imported[path.Dir(g.path)], own)
			}
		}
	}
	out := map[string]bool{}
	todo := []string{"internal/serve"}
	for len(todo) > 0 {
		dir := todo[0]
		todo = todo[1:]
		if !out[dir] {
			out[dir] = true
			todo = append(todo, imported[dir]...)
		}
	}
	return out
})

func isServed(file string) bool {
	return !strings.HasSuffix(file, "_test.go") && reached()[path.Dir(file)]
}

func imports(f *ast.File) []string {
	var out []string
	for _, i := range f.Imports {
		out = append(out, strings.Trim(i.Path.Value, `"`))
	}
	return out
}

// forbidden packages start programs, load code, go about the types, ask other servers, show the inside, or read XML.
var forbidden = []string{"os/exec", "plugin", "unsafe", "net/rpc", "net/rpc/jsonrpc", "text/template", "net/smtp", "encoding/gob", "net/http/pprof", "net/http/httputil",
	"net/http/cgi", "net/http/fcgi", "expvar", "encoding/xml", "C"}

// unsafe is imported where a thread is given to analyses, for one call to the system that has no other form; XML is read where pictures are that the
// program draws itself.
var lookedAtImports = map[string]string{"unsafe": "internal/shop/desk_linux.go", "encoding/xml": "internal/draw internal/report"}

// asks are the functions of the standard library by which a program asks another server or starts another program.
var asks = map[string]*regexp.Regexp{
	"net":        regexp.MustCompile(`^(Dial.*|Lookup.*|Resolver|DefaultResolver)$`),
	"net/http":   regexp.MustCompile(`^(Get|Post|PostForm|Head|Client|DefaultClient|Transport|DefaultTransport|NewRequest|NewRequestWithContext|RoundTripper|ProxyFromEnvironment)$`),
	"crypto/tls": regexp.MustCompile(`^(Dial.*|Client)$`),
	"os":         regexp.MustCompile(`^(StartProcess)$`),
	"syscall":    regexp.MustCompile(`^(Exec|ForkExec|StartProcess|Connect)$`),
}

// TestNothingIsRun: what a request reaches starts no programs, loads no code, goes not about the types, asks no other server, and reads no XML but
// the pictures that the program draws itself.
func TestNothingIsRun(t *testing.T) {
	n := 0
	walk(t, func(file string, f *ast.File, _ []byte, files *token.FileSet) {
		if !isServed(file) {
			return
		}
		n++
		for _, p := range imports(f) {
			if slices.Contains(forbidden, p) && !lookedAt(p, file) {
				t.Errorf("%s imports %s", file, p)
			}
		}
		for _, use := range uses(f) {
			if re := asks[use.pkg]; re != nil && re.MatchString(use.name) {
				t.Errorf("%s: %s.%s asks another server, or starts a program", files.Position(use.at), use.pkg, use.name)
			}
		}
	})
	for _, dir := range []string{"sheet", "pump", "hold", "leak", "seal", "stroke", "fluid", "unit", "bolt", "num", "ode", "internal/gate", "internal/web", "internal/api", "internal/shop",
		"internal/store", "internal/record", "internal/picture", "internal/archive", "internal/localca", "internal/report", "internal/draw", "internal/text", "internal/assess"} {
		if !reached()[dir] {
			t.Errorf("%s was not looked at", dir)
		}
	}
	if n < 200 {
		t.Errorf("%d files were looked at", n)
	}
}

func lookedAt(pkg, file string) bool {
	return slices.ContainsFunc(strings.Fields(lookedAtImports[pkg]), func(where string) bool { return strings.HasPrefix(file, where) })
}

// use is a name of another package in a file.
type use struct {
	pkg, name string
	at        token.Pos
}

// uses lists the names of other packages that a file uses, by the path of the package, whatever it is called there.
func uses(f *ast.File) []use {
	paths := map[string]string{}
	for _, i := range f.Imports {
		p, err := strconv.Unquote(i.Path.Value)
		if err != nil {
			continue
		}
		name := path.Base(p)
		if i.Name != nil {
			name = i.Name.Name
		}
		paths[name] = p
	}
	var out []use
	ast.Inspect(f, func(n ast.Node) bool {
		if s, ok := n.(*ast.SelectorExpr); ok {
			if x, ok := s.X.(*ast.Ident); ok && paths[x.Name] != "" {
				out = append(out, use{paths[x.Name], s.Sel.Name, s.Pos()})
			}
		}
		return true
	})
	return out
}

// outputs are the ways by which a program writes past its log.
var outputs = map[string]*regexp.Regexp{
	"os":         regexp.MustCompile(`^(Stdout|Stderr)$`),
	"fmt":        regexp.MustCompile(`^Print(f|ln)?$`),
	"log":        regexp.MustCompile(`.`),
	"log/syslog": regexp.MustCompile(`.`),
	"log/slog":   regexp.MustCompile(`^(Default|SetDefault|Debug|Info|Warn|Error|Log|LogAttrs)(Context)?$`),
}

// TestLogsGoToOnePlace: what a request reaches writes nothing but into the log that serve gives it, which goes where the inventory says.
func TestLogsGoToOnePlace(t *testing.T) {
	makers := map[string]bool{}
	walk(t, func(file string, f *ast.File, _ []byte, files *token.FileSet) {
		if !isServed(file) {
			return
		}
		for _, use := range uses(f) {
			if re := outputs[use.pkg]; re != nil && re.MatchString(use.name) {
				t.Errorf("%s: %s.%s writes past the log", files.Position(use.at), use.pkg, use.name)
			}
			if use.pkg == "log/slog" && (use.name == "NewTextHandler" || use.name == "NewJSONHandler") {
				makers[path.Dir(file)] = true
			}
		}
	})
	if len(makers) != 1 || !makers["internal/serve"] {
		t.Errorf("logs are made in %v", makers)
	}
	if !strings.Contains(sectionOf(t, "## The log"), "| the program | the lines below |") || !strings.Contains(sectionOf(t, "## The log"), "| standard error |") {
		t.Error("the inventory does not say where the log goes")
	}
	if !strings.Contains(source(t, "internal/cli/serve.go"), "serve.Run(ctx, cfg, Version, a.out, a.err)") || !strings.Contains(source(t, "cmd/evenstroke/main.go"), "os.Stderr") {
		t.Error("serve does not get the standard error for its log")
	}
}
