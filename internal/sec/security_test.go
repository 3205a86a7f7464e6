// Package sec checks docs/security.md against the tree, and the tree against some rules of the document that a compiler does not keep.
package sec

import (
	"fmt"
	"go/ast"
	"go/token"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

var root = filepath.Join("..", "..")

// row is one requirement in a table of the document.
type row struct {
	number, state, why string
	line               int
}

const (
	met    = "met"
	notMet = "not met"
	none   = "does not apply"
)

// rows reads the tables. A table row that begins with a number of a requirement has four cells.
func rows(t *testing.T, page string) []row {
	t.Helper()
	number := regexp.MustCompile(`^V?\d+(\.\d+)+$`)
	var out []row
	for i, line := range strings.Split(page, "\n") {
		if !strings.HasPrefix(line, "| ") {
			continue
		}
		cells := strings.Split(strings.Trim(strings.ReplaceAll(line, `\|`, "/"), "| "), " | ")
		if !number.MatchString(cells[0]) {
			continue
		}
		if len(cells) != 4 {
			t.Errorf("line %d: %d cells in the row of %s, want number, wording, state, why", i+1, len(cells), cells[0])
			continue
		}
		out = append(out, row{cells[0], cells[2], cells[3], i + 1})
		if strings.TrimSpace(cells[1]) == "" || strings.TrimSpace(cells[3]) == "" {
			t.Errorf("line %d: %s has no wording or no reason", i+1, cells[0])
		}
	}
	return out
}

func readPage(t *testing.T) string {
	t.Helper()
	return source(t, "docs/security.md")
}

// named finds the tests that a row names: `package.TestName`, with /subtest or without.
var named = regexp.MustCompile("`([a-z0-9]+)\\.((?:Test|Fuzz)[A-Za-z0-9_]*)(/[^`]+)?`")

// TestDocument: every requirement has a state and a reason, and stands once; what is met names tests that are there; the counts at the top are
// those of the tables.
func TestDocument(t *testing.T) {
	page := readPage(t)
	tests := allTests(t)
	seen, counts := map[string]int{}, map[string]int{}
	for _, r := range rows(t, page) {
		if was := seen[r.number]; was != 0 {
			t.Errorf("line %d: %s stands in line %d already", r.line, r.number, was)
		}
		seen[r.number] = r.line
		counts[r.state]++
		names := named.FindAllStringSubmatch(r.why, -1)
		switch r.state {
		case met:
			if len(names) == 0 {
				t.Errorf("line %d: %s is met, and no test says so", r.line, r.number)
			}
		case notMet, none:
		default:
			t.Errorf("line %d: %s is in the state %q", r.line, r.number, r.state)
		}
		for _, n := range names {
			body, ok := tests[n[1]+"."+n[2]]
			if !ok {
				t.Errorf("line %d: %s names %s.%s, which is not there", r.line, r.number, n[1], n[2])
			} else if n[3] != "" && !strings.Contains(body, strings.TrimPrefix(n[3], "/")) {
				t.Errorf("line %d: %s names a part %q that %s.%s does not have", r.line, r.number, n[3], n[1], n[2])
			}
		}
	}
	if len(seen) < 200 {
		t.Errorf("%d requirements in the tables", len(seen))
	}
	m := regexp.MustCompile(`\*\*(\d+) requirements: (\d+) met, (\d+) not met, (\d+) do not apply\*\*`).FindStringSubmatch(page)
	want := fmt.Sprintf("**%d requirements: %d met, %d not met, %d do not apply**", len(seen), counts[met], counts[notMet], counts[none])
	if m == nil || m[0] != want {
		t.Errorf("the top of the document says %v, the tables %s", m, want)
	}
}

// TestChaptersCount: the small table of chapters says of each how many requirements are in which state.
func TestChaptersCount(t *testing.T) {
	page := readPage(t)
	have := map[string][3]int{}
	for _, r := range rows(t, page) {
		chapter, _, _ := strings.Cut(strings.TrimPrefix(r.number, "V"), ".")
		c := have[chapter]
		c[slices.Index([]string{met, notMet, none}, r.state)]++
		have[chapter] = c
	}
	said := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?m)^\| V(\d+) [^|]*\| (\d+) \| (\d+) \| (\d+) \|$`).FindAllStringSubmatch(page, -1) {
		said[m[1]] = true
		for i, cell := range m[2:5] {
			if n, err := strconv.Atoi(cell); err != nil || n != have[m[1]][i] {
				t.Errorf("chapter V%s: the table of chapters says %s, its own table has %d", m[1], m[2:5], have[m[1]])
				break
			}
		}
	}
	if len(said) != 17 || len(have) != 17 {
		t.Errorf("%d chapters in the small table, %d in the tables; want 17", len(said), len(have))
	}
}

// allTests maps package.TestName to its source, of all packages of the tree.
func allTests(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	walk(t, func(path string, f *ast.File, src []byte, files *token.FileSet) {
		if !strings.HasSuffix(path, "_test.go") {
			return
		}
		pkg := strings.TrimSuffix(f.Name.Name, "_test")
		for _, d := range f.Decls {
			if fn, ok := d.(*ast.FuncDecl); ok && fn.Recv == nil && (strings.HasPrefix(fn.Name.Name, "Test") || strings.HasPrefix(fn.Name.Name, "Fuzz")) {
				out[pkg+"."+fn.Name.Name] += string(src[files.Position(fn.Pos()).Offset:files.Position(fn.End()).Offset])
			}
		}
	})
	return out
}

// TestNumbersOfTheDocument: the limits that the document names are those of the source.
func TestNumbersOfTheDocument(t *testing.T) {
	page := readPage(t)
	for _, q := range []struct{ says, file, source string }{
		{"a session that is not used | 15 minutes", "internal/gate/gate.go", "o.Idle = 15 * time.Minute"},
		{"a session at all | 12 hours", "internal/gate/gate.go", "o.Life = 12 * time.Hour"},
		{"a code for a device | 10 minutes", "internal/gate/device.go", "codeLife = 10 * time.Minute"},
		{"counts as fresh | 10 minutes", "internal/gate/session.go", "freshFor = 10 * time.Minute"},
		{"a token | 366 days", "internal/gate/token.go", "tokenLife = 366 * 24 * time.Hour"},
		{"from the 5th, dead there after 15", "internal/gate/guess.go", "pauseFrom = 5\n\tmostKnown = 15"}, {"from the 5th, dead there after 40", "internal/gate/guess.go", "mostStrange = 40"},
		{"the last 4 sign-ins on different devices", "internal/store/guess.go", "KnownDevices = 4"}, {"is not known | a pause from the 10th", "internal/gate/guess.go", "deviceFrom = 10"},
		{"within a day", "internal/store/guess.go", "deviceMemory = 24 * time.Hour"}, {"kept for 90 days", "internal/store/wrong.go", "wrongMemory = 90 * 24 * time.Hour"},
		{"on a device | 10 at once, then one in 6 seconds", "internal/gate/gate.go", "guesses: newLimits(rate.Every(6*time.Second), 10)"},
		{"10 at once and one in 6 seconds for an address, 60 at once and one a second for all", "internal/gate/gate.go", "knocks: newLimits(rate.Every(6*time.Second), 10),\n\t\tallKnocks: newLimits(1, 60)"},
		{"50 a second for a device, 200 at once; four times", "internal/gate/gate.go", "newLimits(4*opt.Rate, 4*opt.Burst), devices: newLimits(opt.Rate, opt.Burst)"},
		{"50 a second", "internal/gate/gate.go", "o.Rate = 50"}, {"200 at once", "internal/gate/gate.go", "o.Burst = 200"},
		{"a request | 201 MB", "internal/serve/serve.go", "maxBody = 201 << 20"}, {"a form 1 MB", "internal/web/form.go", "maxForm = 1 << 20"}, {"JSON 1 MB", "internal/api/body.go", "maxJSON = 1 << 20"},
		{"an archive 200 MB", "internal/web/ops.go", "maxArchive = 200 << 20"}, {"an archive 200 MB", "internal/api/body.go", "maxArchive = 200 << 20"}, {"200 MB (512 MB by", "internal/archive/format.go", "maxSize = 512 << 20"}, {"5000 members", "internal/archive/format.go", "maxMembers = 5000"},
		{"`idle` in the configuration may be set to as much as 7 days", "internal/serve/config.go", "mostIdle = 7 * 24 * time.Hour"},
		{"its head 32 kB", "internal/serve/serve.go", "MaxHeaderBytes: 32 << 10"}, {"within 10 seconds", "internal/serve/serve.go", "readHeader = 10 * time.Second"},
		{"within 2 minutes", "internal/serve/serve.go", "= 2 * time.Minute\n\twriteAll"}, {"25 MB, 50 million pixels", "internal/picture/read.go", "MaxBytes  = 25 << 20\n\tMaxPixels = 50_000_000"},
		{"in memory at once | 256 MB", "internal/shop/room.go", "MostRoom = 256 << 20"}, {"a minute at most", "internal/api/api.go", "timeFor = 60 * time.Second"},
		{"272 MB of memory", "internal/picture/read.go", "room = 272 << 20"}, {"from 768 MB on", "internal/serve/serve.go", "heapLimit = 768 << 20"}, {"at 1.5 GB", "packaging/evenstroke.service", "MemoryMax=1536M"}, {"its directory 2 MB", "internal/archive/directory.go", "maxDirectory = 2 << 20"}, {"768 MB unpacked, at most 200 to 1", "internal/archive/format.go", "maxTotal   = 768 << 20"},
		{"at most 200 to 1", "internal/archive/format.go", "maxRatio   = 200"}, {"analyses at once | one for two processors", "internal/shop/shop.go", "max(1, runtime.NumCPU()/2)"},
		{"5 minutes each, 1024 at once", "internal/web/hub.go", "streamLife = 5 * time.Minute"}, {"1024 at once", "internal/web/hub.go", "mostEars = 1024"}, {"for programs 64", "internal/api/other.go", "maxStreams = 64"}, {"of one device 8", "internal/web/hub.go", "mostOfOne = 8"}, {"at once | 64 MB", "internal/shop/room.go", "mostShare = 64 << 20"}, {"at least 16 kB a second", "internal/shop/room.go", "leastRate = 16 << 10"}, {"every 10 seconds", "internal/shop/room.go", "pace = 10 * time.Second"},
		{"of one person 8", "internal/api/other.go", "mostOfOne  = 8"},
		{"127.0.0.1:7717", "internal/serve/config.go", `Listen: "127.0.0.1:7717"`}, {":7743", "internal/serve/config.go", `LAN: ":7743"`}, {":7780", "internal/serve/config.go", `Trust: ":7780"`},
		{"46 MiB, 2 passes", "internal/gate/hash.go", "Memory: 46 * 1024, Iterations: 2"}, {"10 years", "internal/localca/doc.go", "authorityLife = 10"}, {"397 days", "internal/localca/doc.go", "leafDays      = 397"},
		{"eight letters", "internal/gate/code.go", "codeLength = 8"}, {"6 to 12 digits", "internal/gate/pin.go", "minPIN = 6\n\tmaxPIN = 12"},
	} {
		if !strings.Contains(page, q.says) {
			t.Errorf("the document does not say %q", q.says)
		}
		src := source(t, q.file)
		tidy := regexp.MustCompile(` +`)
		if !strings.Contains(tidy.ReplaceAllString(src, " "), tidy.ReplaceAllString(q.source, " ")) {
			t.Errorf("%s has no %q, of which the document says %q", q.file, q.source, q.says)
		}
	}
}

// TestInventory: whatever cryptography the served packages use stands in the inventory.
func TestInventory(t *testing.T) {
	page := readPage(t)
	from := strings.Index(page, "## Cryptography")
	to := strings.Index(page, "## The log")
	if from < 0 || to < from {
		t.Fatal("no inventory")
	}
	inventory := page[from:to]
	used := map[string]bool{}
	walk(t, func(path string, f *ast.File, _ []byte, _ *token.FileSet) {
		if !isServed(path) {
			return
		}
		for _, i := range imports(f) {
			if strings.HasPrefix(i, "crypto/") || strings.HasPrefix(i, "golang.org/x/crypto") {
				used[i] = true
			}
			for _, m := range []string{"alexedwards/argon2id", "go-webauthn"} {
				if strings.Contains(i, m) {
					used[m] = true
				}
			}
		}
	})
	delete(used, "crypto/x509/pkix")
	for u := range used {
		if !strings.Contains(inventory, u) {
			t.Errorf("%s is used and does not stand in the inventory", u)
		}
	}
	// Whatever makes a key, a certificate or a secret stands there by its name, with what it is for.
	keys := map[string]bool{}
	for _, row := range tableOf(t, inventory, 4) {
		for _, name := range quotedIn(row[1]) {
			keys[name] = true
		}
	}
	makers := 0
	walk(t, func(file string, f *ast.File, _ []byte, files *token.FileSet) {
		if !isServed(file) {
			return
		}
		eachCall(f, func(fn *ast.FuncDecl, call *ast.CallExpr) {
			if x, ok := call.Fun.(*ast.SelectorExpr); !ok || !makesSecrets(f, x) {
				return
			}
			makers++
			if name := f.Name.Name + "." + fn.Name.Name; !keys[name] {
				t.Errorf("%s: %s makes a key or a secret and does not stand in the inventory", files.Position(call.Pos()), name)
			}
		})
	})
	if makers < 6 {
		t.Errorf("%d places that make keys and secrets were found", makers)
	}
	if len(used) < 6 {
		t.Errorf("only %v was found", used)
	}
}

// makesSecrets says whether a name is one of those that make randomness, keys or certificates.
func makesSecrets(f *ast.File, x *ast.SelectorExpr) bool {
	for _, u := range uses(f) {
		if u.at == x.Pos() {
			return u.pkg == "crypto/rand" || u.name == "GenerateKey" || u.name == "CreateCertificate"
		}
	}
	return false
}
