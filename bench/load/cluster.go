package main

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
	"syscall"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
)

// cluster is a PostgreSQL of this program alone, that keeps its data in the cache between runs. It listens on a Unix socket in a
// folder of its own, never on the network, and waits for the disk at each commit, as a real one does.
type cluster struct {
	bin, data, socket string
	cred              *syscall.Credential // nil is the user of this program
}

// startCluster starts the cluster of a cache folder, making it the first time.
func startCluster(cache string) (*cluster, error) {
	bins, err := filepath.Glob("/usr/lib/postgresql/*/bin")
	if err != nil || len(bins) == 0 {
		return nil, errors.New("PostgreSQL is not installed: nothing under /usr/lib/postgresql/*/bin")
	}
	slices.SortFunc(bins, func(a, b string) int { return major(a) - major(b) })
	c := &cluster{bin: bins[len(bins)-1], data: filepath.Join(cache, "postgres", "data")}
	if c.socket, err = os.MkdirTemp("", "pgload-"); err != nil { // short: the name of a socket has at most 107 bytes
		return nil, err
	}
	if err := c.own(filepath.Dir(c.data)); err != nil {
		return nil, err
	}
	if _, err := os.Stat(filepath.Join(c.data, "PG_VERSION")); errors.Is(err, os.ErrNotExist) {
		if err := c.run("initdb", "-D", c.data, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C"); err != nil {
			return nil, err
		}
	}
	opts := "-c listen_addresses= -c unix_socket_directories=" + c.socket + " -c max_connections=100 -c shared_buffers=2GB -c max_wal_size=4GB"
	return c, c.run("pg_ctl", "-D", c.data, "-l", filepath.Join(filepath.Dir(c.data), "log"), "-w", "-t", "120", "-o", opts, "start")
}

func major(bin string) int {
	n, err := strconv.Atoi(filepath.Base(filepath.Dir(bin)))
	if err != nil {
		return 0
	}
	return n
}

// own makes the folders of the cluster those of the user postgres when this program runs as root, whom PostgreSQL refuses.
func (c *cluster) own(folder string) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	if os.Getuid() != 0 {
		return nil
	}
	u, err := user.Lookup("postgres")
	if err != nil {
		return err
	}
	uid, errU := strconv.ParseUint(u.Uid, 10, 32)
	gid, errG := strconv.ParseUint(u.Gid, 10, 32)
	if err := errors.Join(errU, errG); err != nil {
		return err
	}
	c.cred = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
	return errors.Join(os.Chown(folder, int(uid), int(gid)), os.Chown(c.socket, int(uid), int(gid)))
}

// run runs a program of PostgreSQL. Its words go to a file, which a server that is left running may keep open.
func (c *cluster) run(name string, args ...string) error {
	f, err := os.Create(filepath.Join(c.socket, name+".out"))
	if err != nil {
		return err
	}
	cmd := exec.Command(filepath.Join(c.bin, name), args...)
	cmd.Dir, cmd.Stdout, cmd.Stderr = c.socket, f, f
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: c.cred}
	if err = errors.Join(cmd.Run(), f.Close()); err != nil {
		words, _ := os.ReadFile(f.Name()) // only to say more about err
		return fmt.Errorf("%s: %w\n%s", name, err, words)
	}
	return nil
}

func (c *cluster) stop() error {
	return errors.Join(c.run("pg_ctl", "-D", c.data, "-m", "fast", "-w", "-t", "120", "stop"), os.RemoveAll(c.socket))
}

// database gives the address of a database, made when there is none.
func (c *cluster) database(ctx context.Context, name string) (string, error) {
	db, err := c.open("postgres")
	if err != nil {
		return "", err
	}
	var is bool
	err = db.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM pg_database WHERE datname = $1)`, name).Scan(&is)
	if err == nil && !is {
		_, err = db.ExecContext(ctx, `CREATE DATABASE `+name+` TEMPLATE template0`)
	}
	return c.address(name), errors.Join(err, db.Close())
}

// settle brings a database to rest: what a long fill left to be cleaned up is done before anything is measured.
func (c *cluster) settle(ctx context.Context, name string) error {
	db, err := c.open(name)
	if err != nil {
		return err
	}
	var waits bool
	err = db.QueryRowContext(ctx, `SELECT coalesce(bool_or(last_vacuum IS NULL), true) FROM pg_stat_user_tables WHERE relname = 'entry'`).Scan(&waits)
	if err == nil && waits {
		_, err = db.ExecContext(ctx, `VACUUM ANALYZE`)
	}
	if err == nil {
		_, err = db.ExecContext(ctx, `CHECKPOINT`)
	}
	return errors.Join(err, db.Close())
}

// folder is where the tables of a database are.
func (c *cluster) folder(ctx context.Context, name string) (string, error) {
	db, err := c.open(name)
	if err != nil {
		return "", err
	}
	var oid int64
	err = db.QueryRowContext(ctx, `SELECT oid::bigint FROM pg_database WHERE datname = $1`, name).Scan(&oid)
	return filepath.Join(c.data, "base", strconv.FormatInt(oid, 10)), errors.Join(err, db.Close())
}

func (c *cluster) open(name string) (*sql.DB, error) {
	conf, err := pgx.ParseConfig(c.address(name))
	if err != nil {
		return nil, err
	}
	return stdlib.OpenDB(*conf), nil
}

func (c *cluster) address(name string) string {
	return "postgres:///" + name + "?user=postgres&host=" + c.socket
}

// processes gives the servers of the cluster: the first process and its children.
func (c *cluster) processes() []int {
	text, err := os.ReadFile(filepath.Join(c.data, "postmaster.pid"))
	if err != nil {
		return nil
	}
	var first int
	if _, err := fmt.Sscan(string(text), &first); err != nil {
		return nil
	}
	return append([]int{first}, children(first)...)
}
