package store

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// ownMounts marks a process of the tests that may mount what it likes: nobody else sees it, and it goes with the process.
const ownMounts = "EVENSTROKE_OWN_MOUNTS"

// inOwnMounts runs a test once more in a process that may mount disks, which needs no root (user_namespaces(7), mount_namespaces(7)), and says
// that it did; in that process it does nothing. The test is left out only where the kernel lets nobody have mounts of their own.
func inOwnMounts(t *testing.T) bool {
	t.Helper()
	if os.Getenv(ownMounts) != "" {
		return false
	}
	cmd := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^"+t.Name()+"$", "-test.count=1", "-test.v")
	cmd.Env = append(os.Environ(), ownMounts+"=1")
	cmd.SysProcAttr = &syscall.SysProcAttr{Unshareflags: syscall.CLONE_NEWNS}
	if os.Getuid() != 0 {
		cmd.SysProcAttr.Cloneflags = syscall.CLONE_NEWUSER
		cmd.SysProcAttr.UidMappings = []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}}
		cmd.SysProcAttr.GidMappings = []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}}
	}
	out, err := cmd.CombinedOutput()
	switch {
	case errors.Is(err, syscall.EPERM):
		t.Skipf("the kernel lets nobody here have mounts of their own (%v); the page limit of TestDatabaseFull stands for a small disk", err)
	case err != nil || !strings.Contains(string(out), "--- PASS: "+t.Name()+" "):
		t.Errorf("with mounts of its own: %v\n%s", err, out)
	}
	return true
}

// smallDisk gives a folder on a disk of its own of 3 MB, in a process with mounts of its own.
func smallDisk(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	must(t, syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=3m"))
	t.Cleanup(func() { must(t, syscall.Unmount(dir, 0)) })
	return dir
}

func TestDiskFull(t *testing.T) {
	if inOwnMounts(t) {
		return
	}
	dir := smallDisk(t)
	ballast := filepath.Join(dir, "ballast")
	must(t, os.WriteFile(ballast, make([]byte, 1<<20), 0o600))
	path := filepath.Join(dir, "shop.db")
	s, err := Open(t.Context(), path, Options{})
	must(t, err)
	job := aJob(t, s)
	last := untilFull(t, s, job)
	for _, err := range race(4, func(int) error {
		_, err := s.Append(t.Context(), job, AnySeq, draft(&record.Noted{Text: strings.Repeat("long ", 700)}))
		return err
	}) {
		wantCode(t, err, record.Full)
	}
	keptAll(t, s, job, last)
	if err := s.Backup(t.Context(), filepath.Join(dir, "b.db")); record.CodeOf(err) != record.Full {
		t.Errorf("a backup onto a full disk: %v", err)
	}
	if files, err := filepath.Glob(filepath.Join(dir, "*b.db*")); err != nil || len(files) > 0 {
		t.Errorf("left behind: %v, %v", files, err)
	}
	must(t, os.Remove(ballast))
	add(t, s, job, &record.Noted{Text: "there is space again"})
	keptAll(t, s, job, last+1)
	must(t, s.Close())
	if s, err = Open(t.Context(), path, Options{}); err != nil {
		t.Fatal(err)
	}
	keptAll(t, s, job, last+1)
	must(t, s.Close())
}

func TestReadOnly(t *testing.T) {
	if inOwnMounts(t) {
		return
	}
	dir := smallDisk(t)
	path := filepath.Join(dir, "shop.db")
	s, err := Open(t.Context(), path, Options{})
	must(t, err)
	aJob(t, s)
	must(t, s.Close())
	must(t, syscall.Mount("tmpfs", dir, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, "size=3m"))
	for _, p := range []string{path, filepath.Join(dir, "other.db"), filepath.Join(dir, "folder", "other.db")} {
		_, err := Open(t.Context(), p, Options{})
		wantCode(t, err, record.ReadOnly)
	}
	other := openLite(t)
	wantCode(t, other.Backup(t.Context(), filepath.Join(dir, "b.db")), record.ReadOnly)
}

func TestFullDiskIsATrouble(t *testing.T) {
	if inOwnMounts(t) {
		return
	}
	dir := smallDisk(t)
	ballast := filepath.Join(dir, "ballast")
	must(t, os.WriteFile(ballast, make([]byte, 1<<20), 0o600))
	c := newClock()
	var told []Trouble
	s, err := Open(t.Context(), filepath.Join(dir, "shop.db"), Options{Now: c.now, Ails: func(tr Trouble) { told = append(told, tr) }})
	must(t, err)
	defer func() { must(t, s.Close()) }()
	job := aJob(t, s)
	wantTroubles(t, s, LowSpace) // the disk of this test is small
	if n, known := s.Free(); !known || n == 0 || n > 64<<20 {
		t.Errorf("free %d, %v", n, known)
	}
	s.free = func(string) (uint64, bool) { return 1 << 40, true }
	untilFull(t, s, job)
	wantTroubles(t, s, record.Full)
	must(t, os.Remove(ballast))
	c.set(noon.Add(time.Minute))
	wantTroubles(t, s) // nobody wrote anything meanwhile
	if len(told) != 1 || told[0].Code != record.Full {
		t.Errorf("told %v", told)
	}
}
