package cli

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/localca"
	"github.com/evenstroke/evenstroke/internal/serve"
)

// demoShop makes the demo workshop, with its certificate authority, in evenstroke-data of a fresh folder and goes there.
func demoShop(t *testing.T) {
	t.Helper()
	t.Chdir(t.TempDir())
	ctx, stop := context.WithTimeout(context.Background(), time.Minute)
	defer stop()
	cfg := serve.Default()
	cfg.Demo, cfg.Listen, cfg.LAN = true, "127.0.0.1:0", "none"
	ready := &watcher{word: "http://", stop: stop}
	if err := serve.Run(ctx, cfg, Version, ready, &bytes.Buffer{}); err != nil {
		t.Fatal(err)
	}
	if !ready.seen {
		t.Fatal("the demo workshop did not come up within a minute")
	}
	if _, err := localca.Open(filepath.Join(cfg.Data, "authority"), time.Now); err != nil { // as when it is served on the network
		t.Fatal(err)
	}
}

// watcher ends the server as soon as it has said where it is.
type watcher struct {
	word string
	stop func()
	seen bool
}

func (w *watcher) Write(p []byte) (int, error) {
	if strings.Contains(string(p), w.word) {
		w.seen = true
		w.stop()
	}
	return len(p), nil
}

// shopOrder is the order in which the examples of the commands that work on a shop make sense.
var shopOrder = []string{"backup", "restore", "verify", "export", "import", "pin", "device", "token make", "token list", "token end"}

// TestShopExamples runs the examples of the commands that work on a shop, one after the other on the demo workshop.
func TestShopExamples(t *testing.T) {
	demoShop(t)
	n := 0
	for _, words := range shopOrder {
		c, _, err := (&app{}).root().Find(strings.Fields(words))
		if err != nil {
			t.Fatal(err)
		}
		for _, line := range exampleLines(c) {
			if strings.Contains(line, "postgres://") {
				continue
			}
			if out, errw, code := runLine(line); code != 0 || out == "" {
				t.Errorf("%s: exit %d\n%s%s", line, code, out, errw)
			}
			n++
		}
	}
	if n < 11 {
		t.Fatalf("ran only %d examples", n)
	}
}

// runLine runs a line as a shell would: "echo WORD | evenstroke …" gives the word to the standard input.
func runLine(line string) (out, errw string, code int) {
	words, in := shellLine(line)
	var o, e bytes.Buffer
	code = Main(words, strings.NewReader(in), &o, &e)
	return o.String(), e.String(), code
}

// shellLine parts a line into the arguments of the program and its standard input.
func shellLine(line string) (args []string, in string) {
	if before, after, ok := strings.Cut(line, " | "); ok {
		in, line = strings.TrimPrefix(before, "echo ")+"\n", after
	}
	return splitArgs(strings.TrimPrefix(line, "evenstroke ")), in
}

// What is wrong with a file or an address is said with exit code 2, and nothing is made.
func TestShopMistakes(t *testing.T) {
	demoShop(t)
	if err := os.WriteFile("noise.zip", []byte("PK\x03\x04 and then nothing of an archive"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{"backup workshop-copy.db --data nowhere", "backup evenstroke-data/workshop.db", "backup no/folder/copy.db", "verify --data nowhere", "restore nothing.db --data x",
		"restore noise.zip --data y", "export 99 job.zip", "export one job.zip", "export 1 noise.zip", "export 1 no/folder/job.zip", "import nothing.zip", "import noise.zip", "import .", "pin nobody", "echo 12 | pin 'Mara Kell'",
		"serve --listen 0.0.0.0:1", "serve --config nothing.yaml", "serve --certificate a.pem", "restore evenstroke-data/workshop.db",
		"token make nobody --name x", "token make 'Mara Kell'", "token make 'Mara Kell' --name x --days 0", "token make 'Mara Kell' --name x --days 400", "token make 'Mara Kell' --name x --scope all", "token end 99", "token end x"} {
		out, errw, code := runLine(line)
		if code != exitInput || !strings.Contains(errw, "evenstroke: ") || out != "" {
			t.Errorf("%s: exit %d %q %q", line, code, out, errw)
		}
		if bad := inside.FindString(fileName.ReplaceAllString(errw, "FILE")); bad != "" {
			t.Errorf("%s: the message has %q: %s", line, bad, errw)
		}
	}
	for _, name := range []string{"nowhere", "x", "job.zip"} {
		if _, err := os.Stat(name); err == nil {
			t.Errorf("%s was made", name)
		}
	}
}

// What was kept elsewhere is compared, and what does not stand is told with exit code 1.
func TestVerifyAgainstWhatWasKept(t *testing.T) {
	demoShop(t)
	runOK(t, "evenstroke backup copy.db")
	out, _, code := runLine("evenstroke verify")
	_, rest, ok := strings.Cut(out, "head of the chain: link ")
	_, head, _ := strings.Cut(strings.SplitN(rest, "\n", 2)[0], ", ")
	if code != 0 || !ok || len(head) != 64 {
		t.Fatalf("exit %d, no head in %q", code, out)
	}
	runOK(t, "evenstroke verify --against copy.db --expect "+head)
	other := strings.Repeat("0", 64)
	for line, want := range map[string]int{"evenstroke verify --expect " + other: 1, "evenstroke verify --expect " + head[:31]: 2, "evenstroke verify --against nothing.db": 2} {
		if out, errw, code := runLine(line); code != want || errw == "" {
			t.Errorf("%s: exit %d, expected %d: %s%s", line, code, want, out, errw)
		}
	}
}

// splitArgs splits a line at spaces, with '…' as one word.
func splitArgs(line string) []string {
	var out []string
	for i, part := range strings.Split(line, "'") {
		if i%2 == 1 {
			out = append(out, part)
		} else {
			out = append(out, strings.Fields(part)...)
		}
	}
	return out
}

// The authority of a shop that was never on the network is not there; one that is there is shown, and replaced by another.
func TestAuthority(t *testing.T) {
	t.Chdir(t.TempDir())
	if _, stderr, code := runLine("authority show"); code != 2 || !strings.Contains(stderr, "found no certificate authority") {
		t.Errorf("%d %s", code, stderr)
	}
	before, err := localca.Open(filepath.Join("evenstroke-data", "authority"), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if out, stderr, code := runLine("authority show"); code != 0 || !strings.Contains(out, before.Fingerprint()) || !strings.Contains(out, before.Name()) {
		t.Errorf("%d %s%s", code, out, stderr)
	}
	out, stderr, code := runLine("authority replace")
	if code != 0 || strings.Contains(out, before.Fingerprint()) || !strings.Contains(out, `take "`+before.Name()+`" off`) {
		t.Errorf("%d %s%s", code, out, stderr)
	}
}
