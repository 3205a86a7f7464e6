package sec

import (
	"go/ast"
	"go/token"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

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
	err := everyFile(root, func(path string) error {
		if !slices.Contains([]string{".go", ".md", ".yaml", ".yml", ".json", ".sh", ".pem", ".key", ".txt", ".service", ".mjs", ".js"}, filepath.Ext(path)) {
			return nil
		}
		data, err := readFile(path)
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
	worker := source(t, "internal/web/static/sw.js")
	for _, want := range []string{`if (url.origin !== self.location.origin) return;`, `if (request.method !== "GET") return;`, `url.pathname === "/leave"`} {
		if !strings.Contains(worker, want) {
			t.Errorf("the service worker does not have %q", want)
		}
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
