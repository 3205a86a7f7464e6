package sec

import (
	"go/ast"
	"go/printer"
	"go/token"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// looksLikeSQL tells a piece of SQL from another text: the program writes its words in capitals.
var looksLikeSQL = regexp.MustCompile(`\b(SELECT|INSERT INTO|UPDATE|DELETE FROM|FROM|WHERE|ORDER BY|VALUES|PRAGMA|LIMIT|AND|IN \(|AS)\b|\$%`)

// pastes is whatever is put into SQL that is no number and no constant, by file, function and expression: each was looked at by hand. They are names
// of columns and tables that the program lists itself, pieces of SQL that it made of constants, and marks of parameters; what people type is
// always a parameter.
var pastes = map[string]int{
	`verify.go checkTable: table`:                            1,
	`anchor.go Expect: table`:                                1,
	`anchor.go rowsByID: query`:                              1,
	`anchor.go stands: id`:                                   6,
	`anchor.go stands: k.columns`:                            1,
	`anchor.go stands: k.table`:                              2,
	`append.go link: s.forUpdate()`:                          1,
	`backup.go finish: name`:                                 1,
	`bulk.go finish: s.forUpdate()`:                          1,
	`guess.go guessing: s.forUpdate()`:                       2,
	`guess.go knownFrom: old`:                                2,
	`guess.go knownFrom: s.forUpdate()`:                      1,
	`import.go here: m.forUpdate()`:                          1,
	`import_items.go one: query`:                             1,
	`import_items.go same: where`:                            1,
	`items.go FindItems: sub`:                                1,
	`items.go lockItem: s.forUpdate()`:                       1,
	`jobs.go lockJob: s.forUpdate()`:                         1,
	`list.go List: strings.Join(q.conds, " AND ")`:           1,
	`list.go and: column`:                                    1,
	`list.go and: op`:                                        1,
	`origin.go originsOf: where`:                             1,
	`photos.go GetPhoto: column`:                             1,
	`prepared.go ExecContext: args`:                          1,
	`prepared.go ExecContext: query`:                         1,
	`prepared.go QueryContext: args`:                         1,
	`prepared.go QueryContext: query`:                        1,
	`prepared.go statement: query`:                           1,
	`restore.go copyTable: t.columns`:                        1,
	`restore.go copyTable: t.name`:                           2,
	`restore.go copyTable: t.order`:                          1,
	`restore.go fill: name`:                                  1,
	`rows.go flush: n.text(rows)`:                            2,
	`rows.go newInserter: columns`:                           1,
	`rows.go newInserter: table`:                             1,
	`search.go cond: column`:                                 3,
	`search.go fewBegin: sub`:                                1,
	`search.go ofEach: sub`:                                  1,
	`search.go query: sub`:                                   1,
	`search.go query: t.cond("c.word", &args)`:               1,
	`search.go query: t.cond("w.word", &args)`:               1,
	`search.go query: t.cond("word", &args)`:                 1,
	`search.go spreads: cond`:                                2,
	`search.go spreads: strings.Join(asked, ", ")`:           1,
	`search.go spreads: t.cond("w.word", &args)`:             1,
	`tx.go each: query`:                                      1,
	`verify.go check100: name`:                               1,
	`verify_links.go links: linkedKinds()`:                   1,
	`verify_subjects.go pictures: strings.Join(marks, ", ")`: 1,
	`wrong.go wrong: where`:                                  1,
}

// TestSQLTakesParameters: what is pasted into SQL is made of constants of the program: whatever is added to a piece of SQL, printed into one, or
// given to the database in place of one stands in the list above.
func TestSQLTakesParameters(t *testing.T) {
	constants := map[string]bool{}
	storeFiles(t, func(_ string, f *ast.File, _ *token.FileSet) {
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
	found := map[string]int{}
	storeFiles(t, func(file string, f *ast.File, files *token.FileSet) {
		for _, d := range f.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			for _, e := range pasted(fn, constants) {
				key := filepath.Base(file) + " " + fn.Name.Name + ": " + text(files, e)
				if found[key]++; found[key] > pastes[key] {
					t.Errorf("%s: %q goes into SQL", files.Position(e.Pos()), key)
				}
			}
		}
	})
	for key, n := range pastes {
		if found[key] < n {
			t.Errorf("%q goes into SQL %d times, %d are on the list: take it off", key, found[key], n)
		}
	}
}

func storeFiles(t *testing.T, see func(file string, f *ast.File, files *token.FileSet)) {
	walk(t, func(file string, f *ast.File, _ []byte, files *token.FileSet) {
		if isServed(file) && slices.Contains(imports(f), "database/sql") || strings.HasPrefix(file, "internal/store/") && !strings.HasSuffix(file, "_test.go") {
			see(file, f, files)
		}
	})
}

// pasted lists the expressions of a function that go into SQL and are neither texts nor constants.
func pasted(fn *ast.FuncDecl, constants map[string]bool) []ast.Expr {
	var out []ast.Expr
	inside := map[ast.Node]bool{} // sums that are part of a sum that was seen
	add := func(parts ...ast.Expr) {
		for _, e := range parts {
			if x, ok := e.(*ast.Ident); ok && constants[x.Name] {
				continue
			}
			if _, ok := e.(*ast.BasicLit); !ok && !isPrint(e) { // what is printed is looked at by itself
				out = append(out, e)
			}
		}
	}
	ast.Inspect(fn, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BinaryExpr:
			if n.Op != token.ADD || inside[n] {
				return true
			}
			parts := sum(n)
			for _, b := range sums(n) {
				inside[b] = true
			}
			if slices.ContainsFunc(parts, isSQL) {
				add(parts...)
			}
		case *ast.CallExpr:
			if name := called(n); name == "Sprintf" && len(n.Args) > 0 && slices.ContainsFunc(sum(n.Args[0]), isSQL) {
				add(printed(n)...)
			} else if i := sqlArgument(name); i >= 0 && i < len(n.Args) && !(n.Ellipsis.IsValid() && i == len(n.Args)-1) { // a statement that is prepared has parameters only
				if parts := sum(n.Args[i]); len(parts) == 1 && !isPrint(parts[0]) {
					add(parts...)
				}
			}
		case *ast.AssignStmt:
			if n.Tok == token.ADD_ASSIGN && slices.ContainsFunc(sum(n.Rhs[0]), isSQL) {
				if parts := sum(n.Rhs[0]); len(parts) == 1 {
					add(parts...)
				}
			}
		}
		return true
	})
	return out
}

// sum is what is added up in an expression.
func sum(e ast.Expr) []ast.Expr {
	if p, ok := e.(*ast.ParenExpr); ok {
		return sum(p.X)
	}
	if b, ok := e.(*ast.BinaryExpr); ok && b.Op == token.ADD {
		return append(sum(b.X), sum(b.Y)...)
	}
	return []ast.Expr{e}
}

func isPrint(e ast.Expr) bool {
	call, ok := e.(*ast.CallExpr)
	return ok && called(call) == "Sprintf"
}

// sums are all sums within a sum, itself as well.
func sums(e ast.Expr) []ast.Expr {
	if p, ok := e.(*ast.ParenExpr); ok {
		return sums(p.X)
	}
	if b, ok := e.(*ast.BinaryExpr); ok && b.Op == token.ADD {
		return append([]ast.Expr{b}, append(sums(b.X), sums(b.Y)...)...)
	}
	return nil
}

func isSQL(e ast.Expr) bool {
	lit, ok := e.(*ast.BasicLit)
	return ok && lit.Kind == token.STRING && looksLikeSQL.MatchString(lit.Value)
}

// printed are the arguments of a Sprintf, but those that are printed as numbers.
func printed(call *ast.CallExpr) []ast.Expr {
	format := ""
	for _, part := range sum(call.Args[0]) {
		if lit, ok := part.(*ast.BasicLit); ok {
			if s, err := strconv.Unquote(lit.Value); err == nil {
				format += s
			}
		}
	}
	var out []ast.Expr
	verbs := regexp.MustCompile(`%(\[(\d+)\])?([a-z])`).FindAllStringSubmatch(format, -1)
	next := 1
	for _, v := range verbs {
		if n, err := strconv.Atoi(v[2]); err == nil {
			next = n
		}
		if v[3] != "d" && next < len(call.Args) {
			out = append(out, call.Args[next])
		}
		next++
	}
	return out
}

// sqlArgument is the place of the SQL among the arguments of a call to the database, -1 for another call.
func sqlArgument(name string) int {
	switch name {
	case "QueryContext", "QueryRowContext", "ExecContext", "PrepareContext":
		return 1
	case "Query", "QueryRow", "Exec", "Prepare":
		return 0
	}
	return -1
}

func called(call *ast.CallExpr) string {
	switch f := call.Fun.(type) {
	case *ast.SelectorExpr:
		return f.Sel.Name
	case *ast.Ident:
		return f.Name
	}
	return ""
}

// text is an expression as it is written, on one line.
func text(files *token.FileSet, e ast.Expr) string {
	var b strings.Builder
	if err := printer.Fprint(&b, files, e); err != nil {
		return err.Error()
	}
	return strings.Join(strings.Fields(b.String()), " ")
}
