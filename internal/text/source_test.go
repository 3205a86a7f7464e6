package text_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/text"
)

// sources are the packages whose sentences reach a page or a paper. Only the files named are read where a package says other things
// too, which stay in the terminal.
var sources = map[string][]string{
	"hold": nil, "pump": nil, "unit": {"error.go", "parse.go", "number.go", "lookup.go", "convert.go", "compound.go", "dim.go"}, "sheet": nil,
	"internal/assess": nil, "internal/shop": nil, "internal/record": nil, "internal/gate": nil, "internal/picture": nil, "internal/archive": nil,
	"internal/store": {"access.go", "append.go", "fault.go", "guess.go", "items.go", "jobs.go", "keys.go", "photos.go", "import.go", "import_items.go"},
	"internal/web":   nil, "internal/draw": nil,
}

// gap stands for what is filled in.
const gap = "\x00"

var (
	verb     = regexp.MustCompile(`%%|%(\[\d+\])?[+#0-9.*]*[a-zA-Z]`)
	sentence = regexp.MustCompile(`\pL[\pL',.;:)]* [\pL("` + "`" + `]|\pL ` + gap + `|` + gap + `[,;:.]? \pL`)
)

// reader collects the texts of a package: what is put together by + or by Sprintf counts as one, with gaps.
type reader struct {
	set   *token.FileSet
	texts map[string]string // text → where
	said  map[string]bool   // what is handed over as a part of a fault, whatever it looks like
}

// told are the functions that take parts of a fault, with the first argument that is one.
var told = map[string]int{"Faultf": 2, "Fail": 1, "refuse": 0, "ignore": 1, "bad": 1, "broken": 1, "tooMany": 1, "shut": 0}

// fields are the parts of a fault in a literal.
var fields = map[string]bool{"Found": true, "Want": true, "Mend": true, "Fix": true, "Reason": true, "Why": true, "NoFigure": true, "Do": true, "Settles": true, "Text": true}

func (r *reader) hand(e ast.Expr) {
	if s, ok := r.join(e); ok && regexp.MustCompile(`\pL\pL`).MatchString(s) {
		r.note(e, s)
		r.said[s] = true
	}
}

func nameOf(call *ast.CallExpr) string {
	switch f := call.Fun.(type) {
	case *ast.SelectorExpr:
		return f.Sel.Name
	case *ast.Ident:
		return f.Name
	}
	return ""
}

func (r *reader) note(at ast.Node, s string) {
	if _, ok := r.texts[s]; !ok {
		p := r.set.Position(at.Pos())
		r.texts[s] = filepath.Base(p.Filename) + ":" + strconv.Itoa(p.Line)
	}
}

// join puts a text expression together; ok is false when no text stands in it.
func (r *reader) join(e ast.Expr) (string, bool) {
	switch x := e.(type) {
	case *ast.BasicLit:
		if s, err := strconv.Unquote(x.Value); err == nil && x.Kind == token.STRING {
			return s, true
		}
		return gap, false
	case *ast.ParenExpr:
		return r.join(x.X)
	case *ast.BinaryExpr:
		if x.Op == token.ADD {
			a, okA := r.join(x.X)
			b, okB := r.join(x.Y)
			return a + b, okA || okB
		}
	case *ast.CallExpr:
		if s, ok := r.formatted(x); ok {
			return s, true
		}
		r.visit(x.Fun)
		for _, a := range x.Args {
			r.visit(a)
		}
		return gap, false
	}
	r.visit(e)
	return gap, false
}

// formatted is the text of a call of Sprintf or Errorf, or of a function of the packages that works like it.
func (r *reader) formatted(call *ast.CallExpr) (string, bool) {
	name := nameOf(call)
	at := map[string]int{"Sprintf": 0, "Errorf": 0, "fail": 3}
	i, ok := at[name]
	if !ok || len(call.Args) <= i {
		return "", false
	}
	lit, ok := call.Args[i].(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return "", false
	}
	s, err := strconv.Unquote(lit.Value)
	if err != nil || !strings.Contains(s, "%") {
		return "", false
	}
	for k, a := range call.Args {
		if k != i {
			r.visit(a)
		}
	}
	return verb.ReplaceAllStringFunc(s, func(v string) string {
		if v == "%%" {
			return "%"
		}
		return gap
	}), true
}

func (r *reader) visit(n ast.Node) {
	if n == nil {
		return
	}
	ast.Inspect(n, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.ImportSpec, *ast.Field:
			return false
		case *ast.CaseClause: // what is compared is not said
			for _, s := range x.Body {
				r.visit(s)
			}
			return false
		case *ast.CallExpr:
			if silent(x) {
				return false
			}
			if from, ok := told[nameOf(x)]; ok {
				for _, a := range x.Args[min(from, len(x.Args)):] {
					r.hand(a)
				}
			}
			s, ok := r.formatted(x)
			if ok {
				r.note(x, s)
			}
			return !ok
		case *ast.KeyValueExpr:
			if id, ok := x.Key.(*ast.Ident); ok && fields[id.Name] {
				r.hand(x.Value)
			}
		case *ast.BinaryExpr:
			if x.Op == token.EQL || x.Op == token.NEQ {
				return false
			}
			if x.Op != token.ADD {
				return true
			}
			if s, ok := r.join(x); ok {
				r.note(x, s)
			}
			return false
		case *ast.BasicLit:
			if s, err := strconv.Unquote(x.Value); err == nil && x.Kind == token.STRING {
				r.note(x, s)
			}
		}
		return true
	})
}

// silent calls say nothing to a person: they compare, cut or look up text, or they write to the log.
func silent(call *ast.CallExpr) bool {
	f, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return false
	}
	switch f.Sel.Name {
	case "HasPrefix", "HasSuffix", "Contains", "TrimPrefix", "TrimSuffix", "CutPrefix", "Cut", "MustCompile", "ReplaceAll", "NewReplacer", "Set", "Error", "Info", "Warn",
		"ErrorContext", "InfoContext", "WarnContext", "audit", "Exec", "ExecContext", "Query", "QueryContext", "QueryRow":
		id, ok := f.X.(*ast.Ident)
		return !ok || id.Name != "m"
	}
	return false
}

func readSources(t *testing.T) (texts map[string]string, said map[string]bool) {
	t.Helper()
	r := &reader{set: token.NewFileSet(), texts: map[string]string{}, said: map[string]bool{}}
	all := map[string]string{}
	for dir, only := range sources {
		for _, f := range only {
			if _, err := os.Stat(filepath.Join("..", "..", filepath.FromSlash(dir), f)); err != nil {
				t.Error(err)
			}
		}
		files, err := filepath.Glob(filepath.Join("..", "..", filepath.FromSlash(dir), "*.go"))
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %d files, %v", dir, len(files), err)
		}
		r.texts = map[string]string{}
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") || only != nil && !slices.Contains(only, filepath.Base(file)) {
				continue
			}
			tree, err := parser.ParseFile(r.set, file, nil, parser.SkipObjectResolution)
			if err != nil {
				t.Fatal(err)
			}
			for _, d := range tree.Decls {
				r.visit(d)
			}
		}
		for s, where := range r.texts {
			all[s] = dir + "/" + where
		}
	}
	return all, r.said
}

// exceptions are texts that no page and no paper says, each with the reason. where is the beginning of the place, text a pattern of the
// whole text ("" for all of the file).
var exceptions = []struct{ where, text, why string }{
	{"hold/trace.go", "", "logged traces are files of the terminal; no page takes one"},
	{"internal/store/", `(?s)\s*(SELECT|INSERT|UPDATE|DELETE|VALUES|ORDER BY|ON CONFLICT| ?UNION| AND ).*`, "SQL"},
	{"internal/store/", `[a-z_]+(, [a-z_]+)+`, "names of columns"},
	{"internal/", `(?s)(record|store|shop|gate|picture|archive|assess|web|draw): .*`, "an error of the program, for the log; a page says only that there was one"},
	{"internal/archive/format.go", "photos/" + gap + ".jpg", "the name of a member"},
	{"internal/gate/header.go", "", "headers of HTTP"},
	{"internal/gate/hash.go", "no PIN is this text", "it is hashed, so that a wrong name takes as long as a wrong PIN"},
	{"internal/gate/session.go", "signed in too long ago", "the cause of a fault, for the program"},
	{"internal/gate/limit.go", "wait " + gap, "the cause of a fault, for the log"},
	{"internal/gate/wrap.go", "token of " + gap, "the log"},
	{"internal/picture/read.go", "another size than its header states|the decoder: " + gap + "|no pixels", "the cause of a fault, for the log"},
	{"internal/web/pages.go", `\\\$.*`, "a pattern"},
	{"internal/web/door", "first screen", "the name of a device, kept as typed"},
	{"internal/draw/value.go", gap + ":" + gap + " min", "a time as on a watch"},
	{"internal/web/frame.go", "look-(dark|light|contrast) " + gap, "classes"},
	{"internal/web/", `(?s)(id: |: still here|// The words|<svg |<span ).*`, "what a script or a browser reads"},
	{"internal/web/static.go", ".*[;,] .*", "headers of HTTP"},
	{"hold/prior.go", "(rod|bore) packing", "keys of a prior file"},
	{"internal/shop/refs.go", ", or a ", "joins sorts of tools; the whole is there"},
	{"hold/need.go", gap + "; still then: it holds", "joins two sentences, each of which is there"},
	{"pump/plan_order.go", "turn over ", "the beginning of an ID"},
	{"pump/plan_steps.go", "rework " + gap, "the name of a group, never said"},
	{"pump/plan_build.go", ",? ?lips? " + gap + ".*", "the end of a title, which is there as a whole"},
	{"pump/demo.go", "", "the terminal names the demo pumps; pages list them"},
	{"pump/read.go", "bore, rod, stroke, moving_mass", "keys of a pump sheet"},
	{"internal/draw/style.go", "", "CSS"},
	{"internal/draw/svg.go", "", "elements of SVG"},
	{"internal/draw/stack.go", ", shims " + gap, "a part of a note, which is there as a whole"},
	{"internal/draw/plot.go", "has (the|" + gap + ") .*", "an error of the program, for the log"},
	{"internal/draw/stack.go", "has " + gap + " rings, .*|has no rings .*|is not one of " + gap, "an error of the program, for the log"},
	{"unit/error.go", "ask for unit.Pressure, .*", "for who writes a program"},
}

// excepted gives the reason why a text needs no translation, "" when it does. used notes the exception.
func excepted(where, s string, used map[int]bool) string {
	for i, e := range exceptions {
		if strings.HasPrefix(where, e.where) && (e.text == "" || regexp.MustCompile("^(?:"+e.text+")$").MatchString(s)) {
			used[i] = true
			return e.why
		}
	}
	return ""
}

// TestEverySentenceOfTheSourceIsInTheCatalogue reads the source and wants a translation for each text that looks like a sentence for a
// person, so that a new one cannot be forgotten.
func TestEverySentenceOfTheSourceIsInTheCatalogue(t *testing.T) {
	c, err := text.Load()
	if err != nil {
		t.Fatal(err)
	}
	texts, said := readSources(t)
	used, seen := map[int]bool{}, 0
	for _, lang := range c.Languages()[1:] {
		keys := c.EngineKeys(lang)
		for s, where := range texts {
			if !sentence.MatchString(s) && !said[s] || excepted(where, s, used) != "" {
				continue
			}
			seen++
			if !covered(c.In(lang), keys, s) {
				t.Errorf("%s: no translation for %q (%s); put it into engine/%s.json, or name the reason in exceptions", lang, strings.ReplaceAll(s, gap, "{}"), where, lang)
			}
		}
	}
	if seen < 1000 {
		t.Errorf("only %d sentences were found in the source: the reader no longer fits it", seen)
	}
	for i, e := range exceptions {
		if !used[i] {
			t.Errorf("the exception %s %q is of no use any more", e.where, e.text)
		}
	}
}

// covered says whether a text of the source has a translation, whole with something in its gaps, or as a piece of a sentence of the
// catalogue.
func covered(v *text.Voice, keys []string, s string) bool {
	whole := strings.TrimSpace(s)
	for _, fill := range []string{"7", "alfa", `"alfa"`, "the size is not known"} {
		filled := strings.ReplaceAll(whole, gap, fill)
		for _, one := range []string{filled, `"` + filled + `"`} { // an ID stands in quotes
			if said, ok := v.Engine(one); ok && !leftOver(one, said) && (one == filled || said != one) {
				return true
			}
		}
	}
	return piece(keys, s)
}

var (
	code  = regexp.MustCompile("`[^`]*`|\"[^\"]*\"|\\{.*\\}|\\[[^\\]]*\\]|\\S*[A-Z0-9_/]\\S*")
	words = regexp.MustCompile(`[a-z]{2,}`)
)

// leftOver says whether two words of a sentence stand side by side in its translation too: a pattern took for a name what is none.
func leftOver(english, said string) bool {
	w, rest := words.FindAllString(code.ReplaceAllString(english, "."), -1), " "+strings.Join(words.FindAllString(code.ReplaceAllString(said, "."), -1), " ")+" "
	for i := 1; i < len(w); i++ {
		if strings.Contains(rest, " "+w[i-1]+" "+w[i]+" ") {
			return true
		}
	}
	return false
}

// piece says whether a text stands in a sentence of the catalogue between two words.
func piece(keys []string, s string) bool {
	parts := strings.Split(strings.TrimSpace(s), gap)
	for i, p := range parts {
		parts[i] = regexp.QuoteMeta(p)
	}
	like := regexp.MustCompile(`(^|[^\pL])` + strings.Join(parts, ".*") + `($|[^\pL])`)
	for _, k := range keys {
		if like.MatchString(k) {
			return true
		}
	}
	return false
}
