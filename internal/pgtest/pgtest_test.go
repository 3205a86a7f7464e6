package pgtest

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestFreshDatabases(t *testing.T) {
	a, b := open(t, Start(t)), open(t, Start(t))
	defer a.Close()
	defer b.Close()
	if _, err := a.Exec(`CREATE TABLE only_here (n BIGINT)`); err != nil {
		t.Fatal(err)
	}
	var n int
	if err := b.QueryRow(`SELECT count(*) FROM pg_tables WHERE tablename = 'only_here'`).Scan(&n); err != nil || n != 0 {
		t.Fatalf("a table of another database: %d, %v", n, err)
	}
}

// What was committed in a cluster that waits for the disk is there after its server was killed.
func TestKillAndRestart(t *testing.T) {
	c := ClusterOf(t, true)
	dsn := c.Database(t)
	for i, hard := range []bool{false, true} {
		db := open(t, dsn)
		if _, err := db.Exec(`CREATE TABLE IF NOT EXISTS kept (n BIGINT); INSERT INTO kept VALUES (1)`); err != nil {
			t.Fatal(err)
		}
		c.Kill(t, hard)
		db.Close()
		c.Restart(t)
		db = open(t, dsn)
		var n int
		if err := db.QueryRow(`SELECT count(*) FROM kept`).Scan(&n); err != nil || n != i+1 {
			t.Fatalf("%d rows, %v", n, err)
		}
		db.Close()
	}
}

// A process that is killed leaves neither its server nor its folder behind.
func TestNothingStays(t *testing.T) {
	if os.Getenv("PGTEST_CHILD") == "1" {
		c := ClusterOf(t, false)
		os.Stdout.WriteString("DIR " + c.dir + "\n")
		p, _ := os.FindProcess(os.Getpid())
		if err := p.Kill(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Minute)
	}
	find(t)
	cmd := exec.Command(os.Args[0], "-test.run=^TestNothingStays$")
	cmd.Env = append(os.Environ(), "PGTEST_CHILD=1")
	out, _ := cmd.Output() // it is killed
	_, dir, ok := strings.Cut(string(out), "DIR ")
	if !ok {
		t.Fatalf("the child said %q", out)
	}
	dir = filepath.Clean(strings.Fields(dir)[0])
	for range 100 {
		_, err := os.Stat(dir)
		ps, psErr := exec.Command("pgrep", "-f", dir).Output()
		if os.IsNotExist(err) && psErr != nil && len(ps) == 0 {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	t.Fatalf("%s, or a server in it, is still there", dir)
}
