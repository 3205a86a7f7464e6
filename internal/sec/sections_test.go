package sec

import (
	"go/ast"
	"go/token"
	"path"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
)

// sectionOf is the text of a section of the document, with those below it, without its title.
func sectionOf(t *testing.T, title string) string {
	t.Helper()
	page := readPage(t)
	mark := strings.Repeat("#", strings.Count(strings.SplitN(title, " ", 2)[0], "#"))
	_, rest, ok := strings.Cut(page, "\n"+title+"\n")
	if !ok {
		t.Fatalf("no section %q", title)
	}
	next := regexp.MustCompile(`(?m)^#{1,` + strconv.Itoa(len(mark)) + `} `).FindStringIndex(rest)
	if next != nil {
		rest = rest[:next[0]]
	}
	return rest
}

// tableOf lists the cells of the table rows of a text that have so many cells, without the head of each table. An empty cell is a fault.
func tableOf(t *testing.T, text string, cells int) [][]string {
	t.Helper()
	var out [][]string
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		if !strings.HasPrefix(line, "| ") || i+1 < len(lines) && strings.HasPrefix(lines[i+1], "|---") {
			continue
		}
		row := strings.Split(strings.TrimSuffix(strings.TrimPrefix(line, "| "), " |"), " | ")
		if len(row) != cells {
			continue
		}
		for j := range row {
			if row[j] = strings.TrimSpace(row[j]); row[j] == "" {
				t.Errorf("cell %d of %q is empty", j+1, line)
			}
		}
		out = append(out, row)
	}
	return out
}

// quotedIn lists what stands in backquotes in a text.
func quotedIn(text string) []string {
	var out []string
	for _, m := range regexp.MustCompile("`([^`]+)`").FindAllStringSubmatch(text, -1) {
		out = append(out, m[1])
	}
	return out
}

// sections are those that come before the tables of the standard, each with words that it has to have, since a requirement rests on them.
var sections = map[string][]string{
	"## What is protected, from whom, and how": {"no secret key", "compare it with the screen of the server"},
	"## What the owner of the shop must do":    {"**Backup**", "**Updates**", "verify-full", "--proxies"},
	"## How to report a fault":                 {"what you did, what happened"},
	"## Ways in":                               {"no other way in", "no greatest number", "SP 800-63B", "As many sessions of a person as devices"},
	"## Roles":                                 {"Everybody corrects and strikes what one wrote oneself", "### Fields"},
	"## Limits":                                {"a session that is not used", "one for two processors"},
	"### Fields":                               {"everybody", "the server"},
	"### Files that come in":                   {"photo of a job", "archive of a job", "pump sheet", "signature", ".jpeg", ".zip", "768 MB unpacked", "encoded anew", "nothing of it is kept"},
	"### Guessing a PIN":                       {"Nothing here is to be configured", "Nobody is locked out by others", "a device has a pause", "1 chance in"},
	"## Ports":                                 {"It calls nobody, but its database"},
	"## What is kept":                          {"*Secret*", "*Personal*", "*Of the business*", "GDPR"},
	"## Cryptography":                          {"Keys, certificates and secrets", "PINs must not be kept under a plain digest"},
	"## The log":                               {"standard error", "Never PINs, codes, tokens, cookies, queries, bodies"},
	"## The chapters":                          {"| chapter | met | not met | does not apply |"},
}

// TestPlainWordsFirst: before the tables the page says where its numbers come from, and in each section what has to be written down; none is put off.
func TestPlainWordsFirst(t *testing.T) {
	page := readPage(t)
	first := strings.Index(page, "\n## V1 ")
	if first < 0 {
		t.Fatal("no chapter V1")
	}
	for _, want := range []string{"from memory", "compared with its\npublished text", "make claims"} {
		if i := strings.Index(page, want); i < 0 || i > first {
			t.Errorf("%q does not stand before the tables", want)
		}
	}
	for _, m := range regexp.MustCompile(`(?m)^#{2,3} .*$`).FindAllString(page[:first], -1) {
		if _, ok := sections[m]; !ok {
			t.Errorf("%q is a section of which nothing is asked", m)
		}
	}
	for title, wants := range sections {
		text := sectionOf(t, title)
		if words := len(strings.Fields(text)); words < 40 {
			t.Errorf("%q has %d words", title, words)
		}
		for _, want := range wants {
			if !strings.Contains(text, want) {
				t.Errorf("%q does not say %q", title, want)
			}
		}
	}
	if m := regexp.MustCompile(`(?i)to be written|\btodo\b|\btbd\b|\bfixme\b`).FindString(page); m != "" {
		t.Errorf("the document puts off: %q", m)
	}
}

// TestWaysIn: every function that begins a session, lets a device in or finds out a program stands in the table of the ways in, and nothing else.
func TestWaysIn(t *testing.T) {
	begins := map[string]bool{"start": true, "admit": true, "newDevice": true, "TokenBySecret": true, "StartSession": true, "StartDevice": true}
	inner := []string{"start", "admit", "newDevice"} // which only the others call
	found := map[string]bool{"Recover": true}        // sets a PIN that opens a session, for whoever rules the machine
	walk(t, func(file string, f *ast.File, _ []byte, files *token.FileSet) {
		if strings.HasSuffix(file, "_test.go") || strings.HasPrefix(file, "internal/store/") || strings.HasPrefix(file, "bench/") {
			return
		}
		eachCall(f, func(fn *ast.FuncDecl, call *ast.CallExpr) {
			sel, ok := call.Fun.(*ast.SelectorExpr)
			if !ok || !begins[sel.Sel.Name] || slices.Contains(inner, fn.Name.Name) {
				return
			}
			if x, ok := sel.X.(*ast.Ident); path.Dir(file) != "internal/gate" && (sel.Sel.Name == "start" || ok && x.Name != "st") {
				return // another start
			}
			if path.Dir(file) != "internal/gate" {
				t.Errorf("%s: %s lets somebody in past the gate", files.Position(call.Pos()), fn.Name.Name)
			}
			found[fn.Name.Name] = true
		})
	})
	written := map[string]bool{}
	for _, row := range tableOf(t, sectionOf(t, "## Ways in"), 5) {
		for _, name := range quotedIn(row[4]) {
			written[name] = true
		}
	}
	for name := range found {
		if !written[name] {
			t.Errorf("gate.%s lets somebody in, and is no way in of the document", name)
		}
	}
	for name := range written {
		if !found[name] {
			t.Errorf("the document knows a way in by %s, and nothing there lets anybody in", name)
		}
	}
	if len(found) < 6 {
		t.Errorf("only %v was found", found)
	}
}

// eachCall sees every call of a file with the function in which it stands.
func eachCall(f *ast.File, see func(fn *ast.FuncDecl, call *ast.CallExpr)) {
	for _, d := range f.Decls {
		fn, ok := d.(*ast.FuncDecl)
		if !ok {
			continue
		}
		ast.Inspect(fn, func(n ast.Node) bool {
			if call, ok := n.(*ast.CallExpr); ok {
				see(fn, call)
			}
			return true
		})
	}
}

// TestRolesAreWritten: the table of actions is what the gate does.
func TestRolesAreWritten(t *testing.T) {
	said := map[string][]string{}
	for _, row := range tableOf(t, sectionOf(t, "## Roles"), 3) {
		said[row[0]] = row[1:]
	}
	for _, a := range gate.Actions() {
		row := said[string(a)]
		if row == nil {
			t.Errorf("%q does not stand in the table", a)
			continue
		}
		if from := fromRole(a); row[0] != from {
			t.Errorf("%q: from the role %q, the gate says %q", a, row[0], from)
		}
		if programs := forPrograms(a); row[1] != programs {
			t.Errorf("%q: programs %q, the gate says %q", a, row[1], programs)
		}
	}
}

func fromRole(a gate.Action) string {
	for _, r := range record.Roles() {
		if gate.May(gate.Who{Person: 1, P: record.Person{Role: r}}, a) == nil {
			return string(r)
		}
	}
	return "nobody"
}

func forPrograms(a gate.Action) string {
	may := func(scope string, whole record.Role) bool {
		return gate.May(gate.Who{Person: 1, P: record.Person{Role: record.Office}, Token: true, Scope: scope, Whole: whole}, a) == nil
	}
	switch {
	case may("read", record.Office):
		return "read"
	case may("write", record.Office):
		return "write"
	case may("write", record.Owner):
		return "write, of an owner"
	}
	return "no"
}

// TestFieldsAreWritten: every field of an entry and of a person says who reads and who writes it.
func TestFieldsAreWritten(t *testing.T) {
	said := map[string]bool{}
	for _, row := range tableOf(t, sectionOf(t, "### Fields"), 3) {
		for _, f := range quotedIn(row[0]) {
			said[f] = true
		}
	}
	fields := []string{"id"}
	for _, v := range []any{record.Entry{}, record.Person{}} {
		typ := reflect.TypeOf(v)
		for i := range typ.NumField() {
			f := typ.Field(i)
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			if name == "" || name == "-" {
				name = strings.ToLower(f.Name)
			}
			fields = append(fields, name)
		}
	}
	for _, f := range fields {
		if !said[f] {
			t.Errorf("nobody says who reads and writes the field %q", f)
		}
	}
	if len(fields) < 18 {
		t.Errorf("only %v was found", fields)
	}
}

// TestKeptIsWritten: every table of the database stands among what is kept, with its level and what is done for it.
func TestKeptIsWritten(t *testing.T) {
	said := map[string]string{}
	text := sectionOf(t, "## What is kept")
	rows := tableOf(t, text, 7)
	if lines := strings.Count(text, "\n| ") - 1; len(rows) != lines {
		t.Errorf("%d of %d lines of the table have seven cells", len(rows), lines)
	}
	for _, row := range rows {
		level, _, _ := strings.Cut(row[1], " ")
		if !slices.Contains([]string{"secret", "personal", "of"}, level) {
			t.Errorf("%s is of the level %q", row[0], row[1])
		}
		for _, name := range quotedIn(row[0]) {
			said[name] = row[1]
		}
	}
	n := 0
	each(t, filepath.Join(root, "internal", "store", "migrations"), ".sql", func(file, text string) {
		for _, m := range regexp.MustCompile(`(?i)CREATE (?:UNLOGGED )?TABLE (?:IF NOT EXISTS )?([a-z_]+)`).FindAllStringSubmatch(text, -1) {
			n++
			if said[m[1]] == "" {
				t.Errorf("%s keeps %s, of which the document says nothing", file, m[1])
			}
		}
	})
	if n < 30 {
		t.Errorf("%d tables were found", n)
	}
}

// TestLogInventory: every line that the program writes into its log stands in the inventory, and nothing else.
func TestLogInventory(t *testing.T) {
	text := sectionOf(t, "## The log")
	if layers := tableOf(t, text, 7); len(layers) < 4 {
		t.Errorf("%d layers", len(layers))
	}
	said := map[string]bool{"request": strings.Contains(text, "`request`")}
	for _, row := range tableOf(t, text, 2) {
		for _, line := range quotedIn(row[1]) {
			said[line] = true
		}
	}
	levels := regexp.MustCompile(`^(Debug|Info|Warn|Error)(Context)?$|^Log(Attrs)?$`)
	written := map[string]bool{}
	walk(t, func(file string, f *ast.File, _ []byte, files *token.FileSet) {
		if !isServed(file) {
			return
		}
		eachCall(f, func(_ *ast.FuncDecl, call *ast.CallExpr) {
			sel, ok := call.Fun.(*ast.SelectorExpr)
			if !ok || !levels.MatchString(sel.Sel.Name) || !isLog(sel.X) {
				return
			}
			for _, a := range call.Args {
				if lit, ok := a.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					line, err := strconv.Unquote(lit.Value)
					if err != nil {
						t.Fatal(err)
					}
					written[line] = true
					if !said[line] {
						t.Errorf("%s: %q is no line of the inventory", files.Position(call.Pos()), line)
					}
					return
				}
			}
			t.Errorf("%s: a line whose words are not a text of the program", files.Position(call.Pos()))
		})
	})
	for line := range said {
		if !written[line] {
			t.Errorf("%q is in the inventory, and nothing writes it", line)
		}
	}
	if len(written) < 30 {
		t.Errorf("%d lines were found", len(written))
	}
}

// isLog says whether an expression is a log: by its name, Log or log, or a function logger.
func isLog(e ast.Expr) bool {
	switch x := e.(type) {
	case *ast.SelectorExpr:
		return x.Sel.Name == "Log" || x.Sel.Name == "log"
	case *ast.Ident:
		return x.Name == "log" || x.Name == "slog"
	case *ast.CallExpr:
		return called(x) == "logger"
	}
	return false
}
