package sec

import (
	"go/ast"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// served are the packages that a request can reach.
var served = []string{"gate", "web", "api", "shop", "store", "record", "picture", "archive", "localca", "report", "draw", "text", "assess", "serve"}

func isServed(path string) bool {
	return !strings.HasSuffix(path, "_test.go") && slices.ContainsFunc(served, func(p string) bool { return strings.HasPrefix(path, "internal/"+p+"/") })
}

func imports(f *ast.File) []string {
	var out []string
	for _, i := range f.Imports {
		out = append(out, strings.Trim(i.Path.Value, `"`))
	}
	return out
}

// TestNothingIsRun: what a request reaches starts no programs, loads no code, goes not about the types, asks no other server, and reads no XML but
// the pictures that the program draws itself.
func TestNothingIsRun(t *testing.T) {
	n := 0
	walk(t, func(path string, f *ast.File, src []byte, _ *token.FileSet) {
		if !isServed(path) {
			return
		}
		n++
		for _, p := range imports(f) {
			if slices.Contains([]string{"os/exec", "plugin", "unsafe", "net/rpc", "text/template", "net/smtp", "encoding/gob", "net/http/pprof", "expvar", "encoding/xml"}, p) && !(p == "encoding/xml" && (strings.HasPrefix(path, "internal/draw/") || strings.HasPrefix(path, "internal/report/"))) {
				t.Errorf("%s imports %s", path, p)
			}
		}
		if regexp.MustCompile(`\bhttp\.((Get|Post|Head|PostForm)\(|DefaultClient|Client\{)`).Match(src) {
			t.Errorf("%s asks another server", path)
		}
	})
	if n < 100 {
		t.Errorf("%d files were looked at", n)
	}
}

// TestRandomnessIsOfTheSystem: what makes secrets and keys takes them from crypto/rand.
func TestRandomnessIsOfTheSystem(t *testing.T) {
	makers := map[string]bool{}
	walk(t, func(path string, f *ast.File, _ []byte, _ *token.FileSet) {
		for _, p := range []string{"gate", "store", "shop", "localca"} {
			if !strings.HasPrefix(path, "internal/"+p+"/") || strings.HasSuffix(path, "_test.go") {
				continue
			}
			for _, i := range imports(f) {
				if i == "crypto/rand" {
					makers[p] = true
				}
				if strings.HasPrefix(i, "math/rand") {
					t.Errorf("%s imports %s", path, i)
				}
			}
		}
	})
	if !makers["gate"] || !makers["shop"] || !makers["localca"] {
		t.Errorf("crypto/rand is used by %v only", makers)
	}
}

// TestNoWeakCryptography: no broken or homemade algorithms where requests come.
func TestNoWeakCryptography(t *testing.T) {
	unchecked := regexp.MustCompile(`InsecureSkipVerify\s*(:|=[^=])`)
	walk(t, func(path string, f *ast.File, src []byte, _ *token.FileSet) {
		if !isServed(path) {
			return
		}
		for _, i := range imports(f) {
			if slices.Contains([]string{"crypto/md5", "crypto/sha1", "crypto/des", "crypto/rc4", "crypto/dsa", "crypto/elliptic/internal"}, i) {
				t.Errorf("%s imports %s", path, i)
			}
		}
		if unchecked.Match(src) { // asking of a configuration whether it checks is another thing
			t.Errorf("%s does not check certificates", path)
		}
	})
}

// TestSQLTakesParameters: what is pasted into SQL is made of constants of the program. Each call that builds a text stands here, looked at by
// hand: numbers of parameters, names of columns, pieces of SQL.
func TestSQLTakesParameters(t *testing.T) {
	looked := map[string]int{}
	pasted := regexp.MustCompile("(?i)fmt\\.Sprintf\\(`?[^`]*`?[^)]*\\b(select|insert into|update|delete from)\\b[^`]*%[sqv]")
	walk(t, func(path string, _ *ast.File, src []byte, _ *token.FileSet) {
		if !strings.HasPrefix(path, "internal/store/") || strings.HasSuffix(path, "_test.go") {
			return
		}
		for _, line := range strings.Split(string(src), "\n") {
			if pasted.MatchString(line) {
				looked[filepath.Base(path)]++
			}
		}
	})
	for file, n := range looked {
		if want := map[string]int{"items.go": 1, "search.go": 3, "list.go": 1}[file]; n > want { // (%s) is a sub-select of search.go, whose words are parameters, or conditions on columns that list.go names
			t.Errorf("%s builds %d SQL texts with %%s, %d of them were looked at", file, n, want)
		}
	}
}

// TestRawMarkup: only pictures that the program drew go into a page as they are.
func TestRawMarkup(t *testing.T) {
	raw := regexp.MustCompile(`\{\{-?\s*raw\s+([^}]*)\}\}`)
	n := 0
	each(t, filepath.Join(root, "internal", "web", "pages"), ".html", func(path, text string) {
		for _, m := range raw.FindAllStringSubmatch(text, -1) {
			n++
			if !regexp.MustCompile(`^(\$?[a-z]*\.)?(Wide|Narrow|QR|TrustQR)\s*$`).MatchString(strings.TrimSpace(m[1])) {
				t.Errorf("%s puts %q into the page as it is", path, m[1])
			}
		}
		if strings.Contains(text, "<style") || regexp.MustCompile(`<script(?:\s[^>]*)?>[^<]`).MatchString(text) || regexp.MustCompile(`\son[a-z]+="`).MatchString(text) || strings.Contains(text, "javascript:") {
			t.Errorf("%s has a script or a style within", path)
		}
	})
	if n == 0 {
		t.Error("no picture in any page")
	}
}

// TestScriptsHaveNoSinks: no script of the program runs text as code or makes elements of it, but for the one answer of this server that is a piece
// of a page.
func TestScriptsHaveNoSinks(t *testing.T) {
	sinks := regexp.MustCompile(`\beval\(|new Function|document\.write|insertAdjacentHTML|outerHTML\s*=|innerHTML\s*=|srcdoc|setTimeout\(\s*["'` + "`" + `]|addEventListener\("message"`)
	found := map[string]int{}
	files := 0
	each(t, filepath.Join(root, "internal", "web", "static"), ".js", func(path, text string) {
		if strings.Contains(path, "vendor") {
			return
		}
		files++
		if n := len(sinks.FindAllString(text, -1)); n > 0 {
			found[filepath.Base(path)] = n
		}
	})
	for name, n := range found {
		if want := map[string]int{"outcome.js": 1, "sw.js": 1}[name]; n != want { // sw.js hears its own pages only: a worker has no other origin
			t.Errorf("%s has %d places that make code or elements of text, %d of them were looked at", name, n, want)
		}
	}
	if files < 15 {
		t.Errorf("%d scripts were looked at", files)
	}
}

// TestNoKeysInTheTree: no private key, token or database of a shop lies in the source.
func TestNoKeysInTheTree(t *testing.T) {
	secret := regexp.MustCompile(`-----BEGIN [A-Z ]*PRIVATE KEY-----\n[A-Za-z0-9+/]{20}|\bes_[0-9a-f]{72}\b|postgres(ql)?://[^:@\s"]+:[^@\s"]{3,}@[a-z0-9.-]+\.(lan|local|com)`)
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if n := d.Name(); n == ".git" || n == "node_modules" || n == "dist" {
				return filepath.SkipDir
			}
			return nil
		}
		if !slices.Contains([]string{".go", ".md", ".yaml", ".yml", ".json", ".sh", ".pem", ".key", ".txt", ".service", ".mjs", ".js"}, filepath.Ext(path)) {
			return nil
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if m := secret.Find(data); m != nil {
			t.Errorf("%s holds %.40q", path, m)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// TestNothingFromElsewhere: no page, style or script asks another server for anything.
func TestNothingFromElsewhere(t *testing.T) {
	elsewhere := regexp.MustCompile(`(?i)(src|href|action|data-[a-z-]+)\s*=\s*"(https?:)?//|@import|url\(\s*["']?(https?:)?//|\bfetch\(\s*["'](https?:)?//|new (WebSocket|RTCPeerConnection)\b|importScripts`)
	for _, dir := range []string{"pages", "static"} {
		for _, ext := range []string{".html", ".css", ".js", ".webmanifest"} {
			each(t, filepath.Join(root, "internal", "web", dir), ext, func(path, text string) {
				if strings.Contains(path, "vendor") {
					return
				}
				if m := elsewhere.FindString(text); m != "" {
					t.Errorf("%s: %q", path, m)
				}
			})
		}
	}
}

// TestScriptsKeepNoSecrets: no script reads cookies or keeps a PIN, a code or a token in the browser.
func TestScriptsKeepNoSecrets(t *testing.T) {
	kept := regexp.MustCompile(`document\.cookie|(?i)(localStorage|sessionStorage)\.setItem\([^)]*(pin|token|secret|code)\b`)
	each(t, filepath.Join(root, "internal", "web", "static"), ".js", func(path, text string) {
		if m := kept.FindString(text); m != "" && !strings.Contains(path, "vendor") {
			t.Errorf("%s: %q", path, m)
		}
	})
	worker, err := os.ReadFile(filepath.Join(root, "internal", "web", "static", "sw.js"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`if (url.origin !== self.location.origin) return;`, `if (request.method !== "GET") return;`, `url.pathname === "/leave"`} {
		if !strings.Contains(string(worker), want) {
			t.Errorf("the service worker does not have %q", want)
		}
	}
}

func each(t *testing.T, dir, ext string, see func(path, text string)) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(path) != ext {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		see(path, string(data))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// TestPINFieldsAreMasked: what a PIN is typed into shows dots, and says to a manager of passwords what it is; no script keeps anybody from
// pasting.
func TestPINFieldsAreMasked(t *testing.T) {
	field := regexp.MustCompile(`<input[^>]*\bname="(pin|old)"[^>]*>`)
	n := 0
	each(t, filepath.Join(root, "internal", "web", "pages"), ".html", func(path, text string) {
		for _, m := range field.FindAllString(text, -1) {
			n++
			if !strings.Contains(m, `type="password"`) || !regexp.MustCompile(`autocomplete="(new|current)-password"`).MatchString(m) {
				t.Errorf("%s: %s", path, m)
			}
		}
		if strings.Contains(text, "onpaste") {
			t.Errorf("%s keeps from pasting", path)
		}
	})
	if n < 3 {
		t.Errorf("%d fields for PINs", n)
	}
	each(t, filepath.Join(root, "internal", "web", "static", "js"), ".js", func(path, text string) {
		if regexp.MustCompile(`["']paste["']`).MatchString(text) {
			t.Errorf("%s listens to pasting", path)
		}
	})
}
