// Package pgtest starts a throw-away PostgreSQL cluster for the tests of one process.
//
// The cluster lives in a temporary folder and listens on a Unix socket in it, never on the network. It is stopped by a watcher
// that waits for the process to go away, however it ends.
package pgtest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
)

// Cluster is a throw-away cluster.
type Cluster struct {
	bin, dir string
	cred     *syscall.Credential // nil is the user of the tests
	safe     bool                // fsync is on
	alive    *os.File            // held open as long as this process lives
}

// shared are the clusters of this process: one that does not wait for the disk, for speed, and one that does.
var shared struct {
	sync.Mutex
	clusters  [2]*Cluster
	databases int
}

// Start gives the address of a fresh database in a cluster that does not wait for the disk.
func Start(t testing.TB) (dsn string) {
	t.Helper()
	return ClusterOf(t, false).Database(t)
}

// ClusterOf gives the cluster of this process, started when it is the first time. With safe it waits for the disk before it says that
// a transaction is kept, as a real one does. When PostgreSQL is not installed the test is skipped, and fails if CI=true;
// EVENSTROKE_INSTALL=1 lets root install it.
func ClusterOf(t testing.TB, safe bool) *Cluster {
	t.Helper()
	shared.Lock()
	defer shared.Unlock()
	i := 0
	if safe {
		i = 1
	}
	if shared.clusters[i] == nil {
		shared.clusters[i] = start(t, safe)
	}
	return shared.clusters[i]
}

// Database makes a fresh database and gives its address.
func (c *Cluster) Database(t testing.TB) string {
	t.Helper()
	shared.Lock()
	shared.databases++
	name := fmt.Sprintf("test%d", shared.databases)
	shared.Unlock()
	db := open(t, c.address("postgres"))
	defer func() {
		if err := db.Close(); err != nil {
			t.Errorf("pgtest: %v", err)
		}
	}()
	if _, err := db.Exec(`CREATE DATABASE ` + name + ` TEMPLATE template0`); err != nil {
		t.Fatalf("pgtest: %v", err)
	}
	return c.address(name)
}

func (c *Cluster) address(name string) string {
	return "postgres:///" + name + "?user=postgres&host=" + c.dir
}

// Kill ends the server at once, as a crash would: SIGQUIT to the first process, or SIGKILL to all of them with hard.
func (c *Cluster) Kill(t testing.TB, hard bool) {
	t.Helper()
	pid := c.pid(t)
	if !hard {
		if err := syscall.Kill(pid, syscall.SIGQUIT); err != nil {
			t.Fatalf("pgtest: %v", err)
		}
	} else if err := killTree(pid); err != nil {
		t.Fatalf("pgtest: %v", err)
	}
	for range 500 {
		if syscall.Kill(pid, 0) != nil {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatal("pgtest: the server does not end")
}

// killTree kills a server and its children, the server first so that it starts no others.
func killTree(pid int) error {
	kids, err := children(pid)
	if err != nil {
		return err
	}
	err = syscall.Kill(pid, syscall.SIGKILL)
	for _, k := range kids {
		if e := syscall.Kill(k, syscall.SIGKILL); !errors.Is(e, syscall.ESRCH) {
			err = errors.Join(err, e)
		}
	}
	return err
}

func children(pid int) ([]int, error) {
	out, err := exec.Command("ps", "-o", "pid=", "--ppid", strconv.Itoa(pid)).Output()
	if err != nil {
		return nil, fmt.Errorf("pgtest: ps: %w", err)
	}
	var pids []int
	for _, f := range strings.Fields(string(out)) {
		n, err := strconv.Atoi(f)
		if err != nil {
			return nil, err
		}
		pids = append(pids, n)
	}
	return pids, nil
}

func (c *Cluster) pid(t testing.TB) int {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(c.dir, "data", "postmaster.pid"))
	if err != nil {
		t.Fatalf("pgtest: %v", err)
	}
	first, _, _ := strings.Cut(string(text), "\n")
	pid, err := strconv.Atoi(first)
	if err != nil {
		t.Fatalf("pgtest: %v", err)
	}
	return pid
}

// Restart starts a killed server again; it recovers from its log.
func (c *Cluster) Restart(t testing.TB) {
	t.Helper()
	if err := c.launch(); err != nil {
		t.Fatal(err)
	}
}

func start(t testing.TB, safe bool) *Cluster {
	t.Helper()
	bin := find(t)
	dir, err := os.MkdirTemp("", "pgtest-") // short: a socket's name has at most 107 bytes
	if err != nil {
		t.Fatalf("pgtest: %v", err)
	}
	c := &Cluster{bin: bin, dir: dir, safe: safe}
	if os.Getuid() == 0 {
		c.cred = postgresUser(t)
		if err := os.Chown(dir, int(c.cred.Uid), int(c.cred.Gid)); err != nil {
			t.Fatalf("pgtest: %v", err)
		}
	}
	err = c.run("initdb", "-D", filepath.Join(dir, "data"), "-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync")
	if err == nil {
		err = c.watch()
	}
	if err == nil {
		err = c.launch()
	}
	if err != nil {
		t.Fatal(errors.Join(err, os.RemoveAll(dir)))
	}
	return c
}

// run runs a program of PostgreSQL as the user that owns the cluster.
func (c *Cluster) run(name string, args ...string) error {
	cmd := exec.Command(filepath.Join(c.bin, name), args...)
	cmd.Dir = c.dir
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: c.cred}
	log := filepath.Join(c.dir, name+".out")
	f, err := os.Create(log)
	if err != nil {
		return fmt.Errorf("pgtest: %w", err)
	}
	cmd.Stdout, cmd.Stderr = f, f // a file: the server keeps it open after pg_ctl ends
	err = errors.Join(cmd.Run(), f.Close())
	if err != nil {
		text, _ := os.ReadFile(log)
		return fmt.Errorf("pgtest: %s: %w\n%s", name, err, text)
	}
	return nil
}

func (c *Cluster) launch() error {
	opts := "-c listen_addresses= -c unix_socket_directories=" + c.dir + " -c max_connections=200 -c shared_buffers=128MB -c autovacuum_naptime=10s -c log_min_messages=fatal"
	if !c.safe {
		opts += " -c fsync=off -c synchronous_commit=off -c full_page_writes=off"
	}
	return c.run("pg_ctl", "-D", filepath.Join(c.dir, "data"), "-l", filepath.Join(c.dir, "log"), "-w", "-t", "60", "-o", opts, "start")
}

// watch starts a shell that waits for the end of this process, however it ends, then stops the server and removes its folder: it
// reads a pipe whose other end only this process holds. It is in a session of its own, so that a signal to the tests does not reach it.
func (c *Cluster) watch() error {
	const script = `cat >/dev/null
"$1/pg_ctl" -D "$2/data" -m immediate -t 20 stop >/dev/null 2>&1
cd / && rm -rf "$2"`
	r, w, err := os.Pipe()
	if err != nil {
		return fmt.Errorf("pgtest: %w", err)
	}
	cmd := exec.Command("sh", "-c", script, "sh", c.bin, c.dir)
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: c.cred, Setsid: true}
	cmd.Dir, cmd.Stdin = c.dir, r
	if err := errors.Join(cmd.Start(), r.Close()); err != nil {
		return fmt.Errorf("pgtest: %w", err)
	}
	c.alive = w
	return cmd.Process.Release()
}

// find finds the programs of PostgreSQL, the newest version first.
func find(t testing.TB) string {
	t.Helper()
	for try := range 2 {
		dirs, err := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
		if err != nil {
			t.Fatalf("pgtest: %v", err)
		}
		slices.SortFunc(dirs, func(a, b string) int { return version(b) - version(a) })
		if len(dirs) > 0 {
			return filepath.Dir(dirs[0])
		}
		if path, err := exec.LookPath("initdb"); err == nil {
			return filepath.Dir(path)
		}
		if try == 0 && os.Getuid() == 0 && os.Getenv("EVENSTROKE_INSTALL") == "1" {
			if out, err := exec.Command("apt-get", "install", "-y", "postgresql").CombinedOutput(); err != nil {
				t.Fatalf("pgtest: apt-get install postgresql: %v\n%s", err, out)
			}
		}
	}
	const missing = "PostgreSQL is not installed (no initdb under /usr/lib/postgresql/*/bin): its tests are not run"
	if os.Getenv("CI") == "true" {
		t.Fatal(missing)
	}
	t.Skip(missing)
	return ""
}

func version(path string) int {
	n, err := strconv.Atoi(filepath.Base(filepath.Dir(filepath.Dir(path))))
	if err != nil {
		return 0
	}
	return n
}

func postgresUser(t testing.TB) *syscall.Credential {
	t.Helper()
	u, err := user.Lookup("postgres")
	if err != nil {
		t.Fatalf("pgtest: root needs the user postgres, because a server refuses to run as root: %v", err)
	}
	uid, errU := strconv.ParseUint(u.Uid, 10, 32)
	gid, errG := strconv.ParseUint(u.Gid, 10, 32)
	if err := errors.Join(errU, errG); err != nil {
		t.Fatalf("pgtest: %v", err)
	}
	return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
}

func open(t testing.TB, dsn string) *sql.DB {
	t.Helper()
	conf, err := pgx.ParseConfig(dsn)
	if err != nil {
		t.Fatalf("pgtest: %v", err)
	}
	db := stdlib.OpenDB(*conf)
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	if err := db.PingContext(ctx); err != nil {
		t.Fatalf("pgtest: %v", err)
	}
	return db
}
