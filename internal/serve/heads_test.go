package serve

import (
	"bytes"
	"crypto/ed25519"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/heads"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// aWitness keeps heads of an empty shop, by a clock that the test sets.
func aWitness(t *testing.T, now *time.Time) (*witness, *bytes.Buffer) {
	t.Helper()
	cfg := config(t)
	cfg.Heads = t.TempDir()
	st, err := store.Open(t.Context(), cfg.Where(), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	var to bytes.Buffer
	w := &workshop{cfg: cfg, st: st, log: logger(cfg, &to), now: func() time.Time { return *now }}
	k, err := w.openWitness()
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(to.String(), heads.KeyText(k.key.Public().(ed25519.PublicKey))) {
		t.Errorf("the key is not logged: %s", to.String())
	}
	return k, &to
}

func files(t *testing.T, dir string) string {
	t.Helper()
	found, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range found {
		names = append(names, f.Name())
	}
	return strings.Join(names, " ")
}

// One head a day of the server's clock, however often it is looked, and one more when it stops.
func TestAHeadADay(t *testing.T) {
	now := time.Date(2027, 3, 1, 23, 58, 0, 0, time.UTC)
	k, _ := aWitness(t, &now)
	for range 5 {
		k.daily(t.Context())
		now = now.Add(time.Minute)
	}
	if got := files(t, k.cfg.Heads); got != "head-2027-03-01.json head-2027-03-02.json" {
		t.Errorf("files %s", got)
	}
	first, err := heads.Read(heads.Name(k.cfg.Heads, now.AddDate(0, 0, -1)))
	if err != nil || first.At.Format(time.TimeOnly) != "23:58:00" {
		t.Errorf("%+v %v", first, err)
	}
	now = now.Add(time.Hour)
	k.write(t.Context()) // as at the stop
	h, err := heads.Read(heads.Name(k.cfg.Heads, now))
	if err != nil || h.At.Format(time.TimeOnly) != "01:03:00" || k.trouble() != nil {
		t.Errorf("%+v %v %v", h, err, k.trouble())
	}
}

// A chain in which the last head does not stand any more replaces no file, and the owner is told.
func TestAHeadThatIsGone(t *testing.T) {
	now := time.Date(2027, 3, 1, 12, 0, 0, 0, time.UTC)
	k, to := aWitness(t, &now)
	if _, err := heads.Write(k.cfg.Heads, heads.Sign(k.key, 7, record.Digest{1}, now)); err != nil {
		t.Fatal(err)
	}
	was := files(t, k.cfg.Heads)
	now = now.AddDate(0, 0, 1)
	k.daily(t.Context())
	k.daily(t.Context())
	if got := files(t, k.cfg.Heads); got != was {
		t.Errorf("files %s", got)
	}
	if n := strings.Count(to.String(), "could not be written"); n != 1 || record.CodeOf(k.trouble()) != record.Damaged {
		t.Errorf("logged %d times, %v", n, k.trouble())
	}
}

// A folder that is away stops nothing; when it is there again the head is written.
func TestFolderOfHeadsIsAway(t *testing.T) {
	now := time.Date(2027, 3, 1, 12, 0, 0, 0, time.UTC)
	k, _ := aWitness(t, &now)
	there := k.cfg.Heads
	k.cfg.Heads = filepath.Join(there, "away")
	k.daily(t.Context())
	if k.trouble() == nil {
		t.Error("nobody is told")
	}
	if ails := (&workshop{heads: k}).ails(); len(ails) != 1 || ails[0].Grave {
		t.Errorf("%v", ails)
	}
	k.cfg.Heads = there
	k.daily(t.Context())
	if k.trouble() != nil || files(t, there) != "head-2027-03-01.json" {
		t.Errorf("%v %s", k.trouble(), files(t, there))
	}
}

// A server that runs and stops leaves a head of all that it kept.
func TestServerLeavesAHead(t *testing.T) {
	cfg := config(t)
	cfg.Demo, cfg.LAN, cfg.Heads = true, "none", t.TempDir()
	r := start(t, cfg)
	r.wait(t, "The demo workshop (all invented): ")
	r.end(t)
	last, err := heads.Last(cfg.Heads)
	if err != nil {
		t.Fatal(err)
	}
	h, err := heads.Read(last)
	if err != nil {
		t.Fatal(err)
	}
	st, err := store.Open(t.Context(), cfg.Where(), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	n, digest, err := st.Head(t.Context())
	if err != nil || n == 0 || h.Link != n || h.Digest != digest {
		t.Errorf("%+v, the chain ends at %d %s, %v", h, n, digest, err)
	}
	if err := st.Close(); err != nil {
		t.Error(err)
	}
}
