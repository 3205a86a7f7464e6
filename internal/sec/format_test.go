package sec

import (
	"go/ast"
	"go/token"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// formats is the place of the format among the arguments of the functions that take one, by name.
var formats = map[string]int{"Sprintf": 0, "Errorf": 0, "Printf": 0, "Fatalf": 0, "Appendf": 1, "Fprintf": 1, "Sscanf": 1, "Fscanf": 1}

// lookedAtFormats are the formats that are no text of the program themselves, each looked at by hand: the text of a key of the catalogue, and what
// was made of such texts.
var lookedAtFormats = map[string]int{
	"internal/store/search.go Search: query":           2, // SQL, see TestSQLTakesParameters
	"internal/store/verify.go wrong: format":           1, // of its callers, as the next
	"internal/store/verify_check.go wrong: format":     1,
	"internal/text/text.go Say: message.Key(key, key)": 1, // the text of the catalogue
	"unit/error.go fail: format":                       1, // of its callers
}

// TestFormatsAreConstants: no format is made of what was typed: each is a text or a constant of the program, or stands in the list above.
func TestFormatsAreConstants(t *testing.T) {
	constants := map[string]bool{}
	walk(t, func(file string, f *ast.File, _ []byte, _ *token.FileSet) {
		for _, d := range f.Decls {
			if g, ok := d.(*ast.GenDecl); ok && g.Tok == token.CONST {
				for _, s := range g.Specs {
					for _, n := range s.(*ast.ValueSpec).Names {
						constants[n.Name] = true
					}
				}
			}
		}
	})
	found, n := map[string]int{}, 0
	walk(t, func(file string, f *ast.File, _ []byte, files *token.FileSet) {
		if !isServed(file) {
			return
		}
		eachCall(f, func(fn *ast.FuncDecl, call *ast.CallExpr) {
			at, ok := formats[called(call)]
			if !ok || at >= len(call.Args) {
				return
			}
			n++
			for _, part := range sum(call.Args[at]) {
				if _, ok := part.(*ast.BasicLit); ok {
					continue
				}
				if x, ok := part.(*ast.Ident); ok && constants[x.Name] {
					continue
				}
				key := file + " " + fn.Name.Name + ": " + text(files, part)
				if found[key]++; found[key] > lookedAtFormats[key] {
					t.Errorf("%s: %q is a format", files.Position(call.Pos()), key)
				}
			}
		})
	})
	for key, m := range lookedAtFormats {
		if found[key] < m {
			t.Errorf("%q is a format no more: take it off the list", key)
		}
	}
	if n < 300 {
		t.Errorf("%d formats were looked at", n)
	}
}

// TestScriptsCompareStrictly: no script compares values of two types.
func TestScriptsCompareStrictly(t *testing.T) {
	loose := regexp.MustCompile(`[^=!<>]==[^=]|!=[^=]`)
	files := 0
	each(t, filepath.Join(root, "internal", "web", "static"), ".js", func(path, text string) {
		if strings.Contains(path, "vendor") {
			return
		}
		files++
		for i, line := range strings.Split(text, "\n") {
			if code, _, _ := strings.Cut(line, "//"); loose.MatchString(code) {
				t.Errorf("%s:%d: %s", path, i+1, strings.TrimSpace(line))
			}
		}
	})
	if files < 15 {
		t.Errorf("%d scripts were looked at", files)
	}
}
