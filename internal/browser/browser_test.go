//go:build unix

package browser

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// result is one line of run.mjs.
type result struct {
	Name  string   `json:"name"`
	OK    bool     `json:"ok"`
	MS    int      `json:"ms"`
	Notes []string `json:"notes"`
	Error string   `json:"error"`
}

// longest bounds all scenarios together, on the slowest machine.
const longest = 55 * time.Minute

// TestBrowser runs the scenarios, which takes minutes. EVENSTROKE_BROWSER names some of them ("axe,offline/a press"); EVENSTROKE_SHOTS is a folder for pictures
// of the pages on which one failed.
func TestBrowser(t *testing.T) {
	ready(t)
	bin := filepath.Join(t.TempDir(), "shop")
	if out, err := exec.Command("go", "build", "-o", bin, "github.com/evenstroke/evenstroke/internal/browser/cmd/shop").CombinedOutput(); err != nil {
		t.Fatalf("go build: %v\n%s", err, out)
	}
	ctx, stop := context.WithTimeout(t.Context(), longest)
	defer stop()
	run := exec.CommandContext(ctx, "node", append([]string{"run.mjs"}, strings.FieldsFunc(os.Getenv("EVENSTROKE_BROWSER"), func(r rune) bool { return r == ',' })...)...)
	run.Env = append(os.Environ(), "EVENSTROKE_BIN="+bin, "EVENSTROKE_HELD=1")
	run.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} // the servers and the browser end with it
	run.Cancel = func() error { return syscall.Kill(-run.Process.Pid, syscall.SIGTERM) }
	run.WaitDelay = 10 * time.Second
	var complaints bytes.Buffer
	run.Stderr = &complaints
	held, err := run.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	defer held.Close()
	out, err := run.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := run.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	lines.Buffer(nil, 1<<20)
	n := 0
	for lines.Scan() {
		var r result
		if err := json.Unmarshal(lines.Bytes(), &r); err != nil {
			t.Errorf("run.mjs wrote %q: %v", lines.Text(), err)
			continue
		}
		n++
		t.Run(r.Name, func(t *testing.T) { r.report(t) })
	}
	if err := errors.Join(lines.Err(), run.Wait()); err != nil {
		t.Fatalf("run.mjs: %v\n%s", err, complaints.String())
	}
	if n == 0 {
		t.Fatalf("no scenario ran\n%s", complaints.String())
	}
}

func (r result) report(t *testing.T) {
	for _, s := range r.Notes {
		t.Log(s)
	}
	t.Logf("%d ms", r.MS)
	if !r.OK {
		t.Error(r.Error)
	}
}

// ready makes sure that Node, its modules and a Chromium are there; without them the test is skipped, or fails where it must run: in CI, or
// when EVENSTROKE_INSTALL=1 asks to install what is missing.
func ready(t *testing.T) {
	t.Helper()
	install := os.Getenv("EVENSTROKE_INSTALL") == "1"
	missing := func(what, mend string) {
		t.Helper()
		if install || os.Getenv("CI") == "true" {
			t.Fatalf("%s; %s", what, mend)
		}
		t.Skipf("%s; %s, or set EVENSTROKE_INSTALL=1", what, mend)
	}
	if install {
		debian(t)
	}
	if out, err := exec.Command("node", "--version").Output(); err != nil {
		missing("no Node", "install nodejs and npm")
	} else if v := strings.TrimSpace(string(out)); len(v) < 4 || v < "v20" {
		missing("Node "+v, "install version 20 or newer")
	}
	if chromium() == "" {
		missing("no Chromium", "install chromium")
	}
	if _, err := os.Stat("node_modules/playwright-core/package.json"); errors.Is(err, fs.ErrNotExist) {
		if out, err := exec.Command("npm", "ci", "--no-audit", "--no-fund").CombinedOutput(); err != nil {
			missing("npm ci: "+err.Error()+": "+string(out), "run npm ci in internal/browser")
		}
	}
}

func chromium() string {
	for _, p := range []string{os.Getenv("CHROMIUM"), "/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/lib/chromium/chromium", "/snap/bin/chromium"} {
		if _, err := os.Stat(p); p != "" && err == nil {
			return p
		}
	}
	return ""
}

// debian installs what is missing from the packages of the system, which root alone may do.
func debian(t *testing.T) {
	t.Helper()
	var want []string
	if chromium() == "" {
		want = append(want, "chromium")
	}
	for _, p := range [][2]string{{"node", "nodejs"}, {"npm", "npm"}, {"pdftotext", "poppler-utils"}} {
		if _, err := exec.LookPath(p[0]); err != nil {
			want = append(want, p[1])
		}
	}
	if len(want) == 0 || os.Geteuid() != 0 {
		return
	}
	for _, args := range [][]string{{"update"}, append([]string{"install", "-y", "--no-install-recommends"}, want...)} {
		cmd := exec.Command("apt-get", args...)
		cmd.Env = append(os.Environ(), "DEBIAN_FRONTEND=noninteractive")
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("apt-get %v: %v\n%s", args, err, out)
		}
	}
}

// The lock file names no host: what is fetched comes from the registry that npm is set to.
func TestLockNamesNoHost(t *testing.T) {
	data, err := os.ReadFile("package-lock.json")
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(data, []byte("resolved")) || bytes.Contains(data, []byte("://")) {
		t.Error("package-lock.json names a host: make it with npm config set omit-lockfile-registry-resolved true")
	}
	for _, pin := range []string{`"playwright-core": "1.65.1"`, `"axe-core": "4.14.1"`} {
		if !bytes.Contains(data, []byte(pin)) {
			t.Errorf("package-lock.json does not pin %s", pin)
		}
	}
}
