//go:build linux

// Package packaging has the scripts of a release; its test makes one for this machine and looks into it.
package packaging

import (
	"bytes"
	"crypto/md5"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/cli"
	"github.com/evenstroke/evenstroke/internal/outside"
)

// release makes the files of a release around a binary of this machine, once for all tests.
func release(t *testing.T) (dist string) {
	t.Helper()
	outside.Program(t, "dpkg-deb", "dpkg")
	dir := t.TempDir()
	binary := filepath.Join(dir, "evenstroke")
	run(t, nil, "go", "build", "-o", binary, "../cmd/evenstroke")
	dist = filepath.Join(dir, "dist")
	env := []string{"RELEASE_DIST=" + dist, "RELEASE_TARGETS=linux/" + runtime.GOARCH, "RELEASE_TOOLCHAIN=local", "RELEASE_BINARY=" + binary, "RELEASE_LEVEL=0", "SOURCE_DATE_EPOCH=1767225600"}
	run(t, env, "sh", "release.sh")
	return dist
}

func run(t *testing.T, env []string, name string, args ...string) string {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Env = append(os.Environ(), env...)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, out)
	}
	return string(out)
}

// only is the one file that a pattern finds.
func only(t *testing.T, pattern string) string {
	t.Helper()
	found, err := filepath.Glob(pattern)
	if err != nil || len(found) != 1 {
		t.Fatalf("%s: found %v (%v), want one", pattern, found, err)
	}
	return found[0]
}

func TestRelease(t *testing.T) {
	dist := release(t)
	t.Run("tarball", func(t *testing.T) { testTarball(t, dist) })
	t.Run("package", func(t *testing.T) { testPackage(t, only(t, filepath.Join(dist, "*.deb"))) })
	run(t, nil, "sh", "-c", "cd '"+dist+"' && sha256sum -c SHA256SUMS")
}

func testTarball(t *testing.T, dist string) {
	dir := t.TempDir()
	run(t, nil, "tar", "-C", dir, "-xzf", only(t, filepath.Join(dist, "*.tar.gz")))
	tree := only(t, filepath.Join(dir, "*"))
	leadSomewhere(t, tree, "README.md", "CHANGELOG.md")
	for _, file := range []string{"LICENCES.txt", "man/evenstroke-hold.1", "completions/bash/evenstroke", "completions/zsh/_evenstroke", "completions/fish/evenstroke.fish"} {
		if st, err := os.Stat(filepath.Join(tree, file)); err != nil || st.Size() == 0 {
			t.Errorf("%s is not there (%v)", file, err)
		}
	}
	says(t, filepath.Join(tree, "evenstroke"))
	checkBill(t, filepath.Join(tree, "evenstroke"), filepath.Join(tree, "sbom.cdx.json"))
}

// checkBill compares the bill of materials with the modules that the Go command finds in the binary. What a CycloneDX 1.6 document must have:
// ECMA-424, from memory.
func checkBill(t *testing.T, binary, file string) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var bill struct {
		BomFormat, SpecVersion string
		Metadata               struct{ Component struct{ Version string } }
		Components             []struct {
			Name, Version, Purl string
			Hashes              []struct{ Alg, Content string }
		}
	}
	if err := json.Unmarshal(text, &bill); err != nil {
		t.Fatal(err)
	}
	if bill.BomFormat != "CycloneDX" || bill.SpecVersion != "1.6" || bill.Metadata.Component.Version != cli.Version {
		t.Errorf("the bill begins %+v", bill)
	}
	var have, want []string
	for _, c := range bill.Components {
		if c.Purl != "pkg:golang/"+c.Name+"@"+strings.ReplaceAll(c.Version, "+", "%2B") {
			t.Errorf("%s %s has the package URL %s", c.Name, c.Version, c.Purl)
		}
		if c.Name == "std" {
			have = append(have, "go"+c.Version)
		} else if len(c.Hashes) != 1 || c.Hashes[0].Alg != "SHA-256" {
			t.Errorf("%s has no checksum", c.Name)
		} else {
			sum, err := hex.DecodeString(c.Hashes[0].Content)
			have = append(have, c.Name+" "+c.Version+" h1:"+base64.StdEncoding.EncodeToString(sum))
			if err != nil {
				t.Error(err)
			}
		}
	}
	for _, line := range strings.Split(run(t, nil, "go", "version", "-m", binary), "\n") {
		f := strings.Fields(line)
		switch {
		case strings.HasPrefix(line, binary+": "):
			want = append(want, f[1])
		case len(f) == 4 && f[0] == "dep":
			want = append(want, strings.Join(f[1:], " "))
		case len(f) > 0 && (f[0] == "dep" || f[0] == "=>"):
			t.Errorf("this test does not know what to expect of %q", line)
		}
	}
	if len(want) < 40 || !slices.Equal(have, want) {
		t.Errorf("the bill has %d components, the binary %d modules with Go:\n%v\n%v", len(have), len(want), have, want)
	}
	if again := run(t, nil, "go", "run", "./sbom", binary, cli.Version); again != string(text) {
		t.Error("the same binary gives another bill")
	}
}

// says runs the program.
func says(t *testing.T, binary string) {
	t.Helper()
	if out := run(t, nil, binary, "version"); !strings.HasPrefix(out, "evenstroke "+cli.Version+" ") {
		t.Errorf("version: %s", out)
	}
	if out := run(t, nil, binary, "hold", "orrin-as-found.yaml"); !strings.Contains(out, "DOES NOT HOLD") {
		t.Errorf("hold: %s", out)
	}
}

var link = regexp.MustCompile(`\]\(([^)#\s]+)`)

// leadSomewhere follows the links of documents within a folder, and those of the documents to which they lead.
func leadSomewhere(t *testing.T, tree string, from ...string) {
	t.Helper()
	seen := map[string]bool{}
	for len(from) > 0 {
		doc := from[0]
		from = from[1:]
		if seen[doc] {
			continue
		}
		seen[doc] = true
		text, err := os.ReadFile(filepath.Join(tree, doc))
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range link.FindAllStringSubmatch(string(text), -1) {
			if strings.Contains(m[1], ":") {
				continue // elsewhere
			}
			to := filepath.Join(filepath.Dir(doc), m[1])
			if _, err := os.Lstat(filepath.Join(tree, to)); err != nil {
				t.Errorf("%s leads to %s, which is not there", doc, m[1])
			} else if strings.HasSuffix(to, ".md") {
				from = append(from, to)
			}
		}
	}
	if len(seen) < 8 {
		t.Errorf("only %d documents are led to", len(seen))
	}
}

func testPackage(t *testing.T, deb string) {
	checkControl(t, deb)
	checkOwners(t, run(t, nil, "dpkg-deb", "--contents", deb))
	root := installed(t, deb)
	control := t.TempDir()
	run(t, nil, "dpkg-deb", "--control", deb, control)
	checkSums(t, root, filepath.Join(control, "md5sums"))
	conf, err := os.ReadFile(filepath.Join(control, "conffiles"))
	if err != nil || string(conf) != "/etc/evenstroke/serve.yaml\n" {
		t.Errorf("conffiles: %q (%v)", conf, err)
	}
	for _, script := range []string{"postinst", "prerm"} {
		run(t, nil, "sh", "-n", filepath.Join(control, script))
	}
	doc := filepath.Join(root, "usr/share/doc/evenstroke")
	leadSomewhere(t, doc, "README.md")
	copyright, err := os.ReadFile(filepath.Join(doc, "copyright"))
	if err != nil || !bytes.Contains(copyright, []byte("License: Apache-2.0")) || !bytes.Contains(copyright, []byte("github.com/spf13/cobra")) {
		t.Errorf("the copyright names neither its own licence nor those of others (%v)", err)
	}
	unit, err := os.ReadFile(filepath.Join(root, "usr/lib/systemd/system/evenstroke.service"))
	if err != nil || !bytes.Contains(unit, []byte("\nExecStart=/usr/bin/evenstroke serve --config /etc/evenstroke/serve.yaml\n")) || bytes.Contains(unit, []byte("/usr/local")) {
		t.Errorf("the unit does not start the installed program (%v):\n%s", err, unit)
	}
	pages, err := filepath.Glob(filepath.Join(root, "usr/share/man/man1/*.1.gz"))
	if err != nil || len(pages) < 20 {
		t.Errorf("only %d manual pages (%v)", len(pages), err)
	}
	says(t, filepath.Join(root, "usr/bin/evenstroke"))
}

// checkControl looks at the fields that every package has, as the policy of Debian wants them (5.3, 5.6).
func checkControl(t *testing.T, deb string) {
	t.Helper()
	field := func(name string) string { return strings.TrimSpace(run(t, nil, "dpkg-deb", "--field", deb, name)) }
	for name, want := range map[string]string{"Package": "evenstroke", "Version": cli.Version + "-1", "Architecture": runtime.GOARCH, "Priority": "optional"} {
		if have := field(name); have != want {
			t.Errorf("%s: %q, want %q", name, have, want)
		}
	}
	for _, name := range []string{"Maintainer", "Section", "Installed-Size", "Description"} {
		if field(name) == "" {
			t.Errorf("%s is empty", name)
		}
	}
	synopsis, long, _ := strings.Cut(field("Description"), "\n")
	if len(synopsis) > 80 || strings.HasSuffix(synopsis, ".") || long == "" {
		t.Errorf("Description: %q, then %q", synopsis, long)
	}
}

// checkOwners wants all files to be root's, folders and programs 755, all else 644, and nothing outside of usr and etc.
func checkOwners(t *testing.T, contents string) {
	t.Helper()
	for _, line := range strings.Split(strings.TrimSpace(contents), "\n") {
		f := strings.Fields(line)
		mode, owner, path := f[0], f[1], f[5]
		want := "-rw-r--r--"
		switch {
		case mode[0] == 'd', path == "./usr/bin/evenstroke":
			want = mode[:1] + "rwxr-xr-x"
		case mode[0] == 'l':
			want = "lrwxrwxrwx"
		}
		if mode != want || owner != "root/root" {
			t.Errorf("%s: %s %s, want %s root/root", path, mode, owner, want)
		}
		if top := strings.SplitN(path, "/", 3)[1]; top != "" && top != "usr" && top != "etc" {
			t.Errorf("%s is outside of usr and etc", path)
		}
	}
}

// installed puts a package into a root folder: as dpkg does where this is root, by unpacking elsewhere.
func installed(t *testing.T, deb string) string {
	t.Helper()
	root := t.TempDir()
	if os.Getuid() != 0 {
		run(t, nil, "dpkg-deb", "--extract", deb, root)
		return root
	}
	for _, dir := range []string{"var/lib/dpkg/info", "var/lib/dpkg/updates", "var/log"} {
		if err := os.MkdirAll(filepath.Join(root, dir), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	for _, file := range []string{"var/lib/dpkg/status", "var/lib/dpkg/available"} {
		if err := os.WriteFile(filepath.Join(root, file), nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	dpkg := func(args ...string) string {
		return run(t, nil, "dpkg", append([]string{"--root=" + root, "--force-script-chrootless", "--log=/dev/null"}, args...)...)
	}
	dpkg("--install", deb)
	if status := dpkg("--status", "evenstroke"); !strings.Contains(status, "Status: install ok installed") {
		t.Errorf("dpkg says\n%s", status)
	}
	return root
}

// checkSums wants the sum of every file but those that a shop may change.
func checkSums(t *testing.T, root, sums string) {
	t.Helper()
	text, err := os.ReadFile(sums)
	if err != nil {
		t.Fatal(err)
	}
	var named []string
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		sum, file, _ := strings.Cut(line, "  ")
		data, err := os.ReadFile(filepath.Join(root, file))
		if err != nil {
			t.Fatal(err)
		}
		if have := md5.Sum(data); hex.EncodeToString(have[:]) != sum {
			t.Errorf("%s: its sum is another", file)
		}
		named = append(named, file)
	}
	err = filepath.WalkDir(filepath.Join(root, "usr"), func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		rel, err := filepath.Rel(root, path)
		if !slices.Contains(named, rel) {
			t.Errorf("%s has no sum", rel)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
