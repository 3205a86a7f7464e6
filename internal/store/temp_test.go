package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// copyOn makes the copy of a restore, from a backup beside the target, and waits until it is killed.
func copyOn(where string) error {
	temp, drop, err := tempFolder(filepath.Dir(where))
	if err != nil {
		return err
	}
	if err := copyPages(context.Background(), filepath.Join(filepath.Dir(where), "b.db"), filepath.Join(temp, "copy.db")); err != nil {
		return err
	}
	fmt.Println("copied")
	_, err = io.Copy(io.Discard, os.Stdin)
	return errors.Join(err, drop())
}

// A restore that is killed leaves a copy that nobody else can read, and the next one clears it; a copy that is being made is left alone.
func TestKilledRestoreLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	s := openLite(t)
	aJob(t, s)
	backup := filepath.Join(dir, "b.db")
	must(t, s.Backup(t.Context(), backup))
	cmd, _ := child(t, "EVENSTROKE_RESTORE_CHILD", filepath.Join(dir, "shop.db"), "copied")
	copies := func() []string {
		found, err := filepath.Glob(filepath.Join(dir, tempPrefix+"*", "copy.db"))
		must(t, err)
		return found
	}
	left := copies()
	if len(left) != 1 {
		t.Fatalf("copies %v", left)
	}
	if info, err := os.Stat(left[0]); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
	must(t, Restore(t.Context(), backup, filepath.Join(dir, "beside.db")))
	if still := copies(); len(still) != 1 {
		t.Errorf("a copy that is being made was cleared: %v", still)
	}
	must(t, cmd.Process.Kill())
	if err := cmd.Wait(); err == nil {
		t.Error("the child was not killed")
	}
	if still := copies(); len(still) != 1 {
		t.Errorf("after the kill: %v", still)
	}
	must(t, Restore(t.Context(), backup, filepath.Join(dir, "after.db")))
	files, err := os.ReadDir(dir)
	must(t, err)
	for _, f := range files {
		if strings.HasPrefix(f.Name(), ".") || strings.HasSuffix(f.Name(), "-wal") || strings.HasSuffix(f.Name(), "-shm") {
			t.Errorf("%s is left behind", f.Name())
		}
	}
	sound(t, openAt(t, filepath.Join(dir, "after.db")))
}
