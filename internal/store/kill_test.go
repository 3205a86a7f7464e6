package store

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/pgtest"
	"github.com/evenstroke/evenstroke/internal/record"
)

// kills is how often each engine is killed: 25, or EVENSTROKE_KILLS.
func kills(t *testing.T) int {
	text := os.Getenv("EVENSTROKE_KILLS")
	if text == "" {
		return 25
	}
	n, err := strconv.Atoi(text)
	must(t, err)
	return n
}

// children are what this program does in place of its tests when the environment says so: a process of its own that a test kills.
var children = map[string]func(where string) error{"EVENSTROKE_KILL_CHILD": writeOn, "EVENSTROKE_LOCK_CHILD": holdOn, "EVENSTROKE_RESTORE_CHILD": copyOn}

// TestMain makes of this program a child when it is told so.
func TestMain(m *testing.M) {
	for name, run := range children {
		if where := os.Getenv(name); where != "" {
			fmt.Fprintln(os.Stderr, "ended by", run(where))
			os.Exit(1)
		}
	}
	os.Exit(m.Run())
}

// writeOn writes from four goroutines, and prints each entry that the store says is kept, until it is killed or the server is.
func writeOn(where string) error {
	ctx := context.Background()
	s, err := Open(ctx, where, Options{})
	if err != nil {
		return err
	}
	run := fmt.Sprint(time.Now().UnixNano())
	return errors.Join(race(4, func(w int) error {
		key := func(n int) string { return fmt.Sprintf("%s-%d-%d", run, w, n) }
		d := record.Draft{At: time.Now(), By: 1, Device: 1, Key: key(0), Body: booking("ALD-0417", "Ferry yard", "creeps")}
		r, err := s.NewJob(ctx, key(0), d)
		for n := 1; err == nil; n++ {
			acknowledge(r)
			d := record.Draft{At: time.Now(), By: 1, Device: 1, Key: key(n), Body: &record.Noted{Text: "n"}}
			if n%3 == 0 {
				d.Body = &record.Did{Step: "s"}
			}
			var got []Receipt
			if got, err = s.Append(ctx, r.Entry.Subject.ID, r.Entry.Seq, d); err == nil {
				r = got[0]
			}
		}
		return err
	})...)
}

func acknowledge(r Receipt) {
	fmt.Printf("kept %d %d %s\n", r.Entry.Subject.ID, r.Entry.Seq, r.Entry.Hash)
}

// ack is what the child said is kept.
type ack struct {
	job, seq int64
	hash     string
}

func TestKills(t *testing.T) {
	t.Run("sqlite", func(t *testing.T) {
		t.Parallel()
		path := filepath.Join(t.TempDir(), "shop.db")
		killRuns(t, path, func(i int, child *os.Process) { must(t, child.Kill()) })
	})
	t.Run("postgres", func(t *testing.T) {
		t.Parallel()
		c := pgtest.ClusterOf(t, true)
		killRuns(t, c.Database(t), func(i int, child *os.Process) {
			if i%5 != 4 {
				must(t, child.Kill())
				return
			}
			c.Kill(t, i%10 == 9)
			must(t, child.Kill())
			c.Restart(t)
		})
	})
}

func killRuns(t *testing.T, where string, kill func(i int, child *os.Process)) {
	rng := rand.New(rand.NewPCG(3, 4))
	n := kills(t)
	var all []ack
	begin := time.Now()
	for i := range n {
		got := killOnce(t, where, time.Duration(rng.IntN(150))*time.Millisecond, func(p *os.Process) { kill(i, p) })
		all = append(all, got...)
		check := got
		if i == n-1 {
			check = all
		}
		survived(t, where, check, i%10 == 9 || i == n-1)
		if t.Failed() {
			t.Fatalf("after kill %d", i+1)
		}
	}
	t.Logf("%d kills, %d acknowledged entries, %v a kill", n, len(all), (time.Since(begin) / time.Duration(n)).Round(time.Millisecond))
}

// killOnce lets a child write, kills it some time after its first entry, and gives what it had said.
func killOnce(t *testing.T, where string, after time.Duration, kill func(*os.Process)) []ack {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "EVENSTROKE_KILL_CHILD="+where)
	out, err := cmd.StdoutPipe()
	must(t, err)
	must(t, cmd.Start())
	lines := bufio.NewReader(out)
	var got []ack
	first, err := lines.ReadString('\n')
	if err != nil || !strings.HasPrefix(first, "kept") {
		_ = cmd.Process.Kill()
		rest, _ := io.ReadAll(lines)
		t.Fatalf("the child said %q%s, %v", first, rest, err)
	}
	killed := make(chan struct{})
	go func() {
		time.Sleep(after)
		kill(cmd.Process)
		close(killed)
	}()
	for line := first; err == nil; line, err = lines.ReadString('\n') {
		var a ack
		if n, _ := fmt.Sscanf(line, "kept %d %d %s\n", &a.job, &a.seq, &a.hash); n == 3 {
			got = append(got, a)
		}
	}
	<-killed
	if err := cmd.Wait(); err == nil {
		t.Error("the child ended by itself")
	}
	return got
}

// survived looks whether all that was acknowledged is there, without a gap, and goes on writing.
func survived(t *testing.T, where string, acks []ack, whole bool) {
	t.Helper()
	s, err := Open(t.Context(), where, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { must(t, s.Close()) }()
	chains := map[int64][]record.Entry{}
	for _, a := range acks {
		if chains[a.job] == nil {
			if chains[a.job], err = s.Entries(t.Context(), record.JobSubject(a.job), 0, 0); err != nil {
				t.Fatal(err)
			}
			for _, w := range check(chains[a.job], nil).wrong {
				t.Errorf("job %d: %s", a.job, w)
			}
		}
		if c := chains[a.job]; int64(len(c)) < a.seq || c[a.seq-1].Hash.String() != a.hash {
			t.Errorf("entry %d of job %d was acknowledged and is lost or another", a.seq, a.job)
		}
	}
	if whole {
		sound(t, s)
	}
	add(t, s, acks[0].job, &record.Noted{Text: "and on it goes"})
}
