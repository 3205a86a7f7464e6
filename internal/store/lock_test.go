package store

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// holdOn keeps a file for itself until it is killed, or its standard input ends.
func holdOn(where string) error {
	s, err := Open(context.Background(), where, Options{Alone: "serve", Now: newClock().now})
	if err != nil {
		return err
	}
	fmt.Println("held")
	if _, err := io.Copy(io.Discard, os.Stdin); err != nil {
		return err
	}
	return s.Close()
}

// child starts this program anew as one of children and waits for the word that it says when it is ready.
func child(t *testing.T, name, where, word string) (*exec.Cmd, io.Closer) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), name+"="+where)
	in, err := cmd.StdinPipe()
	must(t, err)
	out, err := cmd.StdoutPipe()
	must(t, err)
	must(t, cmd.Start())
	t.Cleanup(func() {
		if cmd.ProcessState == nil {
			_ = cmd.Process.Kill() // it may have ended by itself
			_ = cmd.Wait()
		}
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil || line != word+"\n" {
		t.Fatalf("the child said %q, %v; expected %q", line, err, word)
	}
	return cmd, in
}

// A file that one process keeps for itself is refused to a second that wants the same, with words that say who has it; reading, copying and
// checking go on beside it; and when the process is killed, nobody is locked out.
func TestOneKeepsTheFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	s := openAt(t, path)
	job := aJob(t, s)
	cmd, _ := child(t, "EVENSTROKE_LOCK_CHILD", path, "held")
	for what, try := range map[string]func() error{
		"serve": func() error {
			got, err := Open(t.Context(), path, Options{Alone: "serve"})
			if err == nil {
				err = errors.Join(errors.New("it was opened"), got.Close())
			}
			return err
		},
		"restore": func() error {
			backup := filepath.Join(t.TempDir(), "b.db")
			must(t, s.Backup(t.Context(), backup))
			return Restore(t.Context(), backup, path)
		},
	} {
		err := try()
		wantCode(t, err, record.NotAllowed)
		if want := fmt.Sprintf("evenstroke serve (process %d on ", cmd.Process.Pid); err == nil || !strings.Contains(err.Error(), want) ||
			!strings.Contains(err.Error(), "since 2027-03-01") || !strings.Contains(err.Error(), "stop that process") {
			t.Errorf("%s: %v, expected %q, since when, and how to mend it", what, err, want)
		}
	}
	add(t, openAt(t, path), job, &record.Noted{Text: "beside it"}) // a PIN, a code, a token
	sound(t, s)
	must(t, cmd.Process.Kill())
	if err := cmd.Wait(); err == nil {
		t.Error("the child was not killed")
	}
	if left, err := os.ReadFile(path + lockSuffix); err != nil || !strings.Contains(string(left), "serve") {
		t.Errorf("a killed process cannot have taken its name out: %q %v", left, err)
	}
	after, err := Open(t.Context(), path, Options{Alone: "serve"})
	if err != nil {
		t.Fatalf("after a kill: %v", err)
	}
	must(t, after.Close())
}

// Whoever ends lets go at once, and leaves no name.
func TestTheFileIsFreeAfterClose(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	cmd, in := child(t, "EVENSTROKE_LOCK_CHILD", path, "held")
	must(t, in.Close())
	_ = cmd.Wait() // it says by what it ended
	if left, err := os.ReadFile(path + lockSuffix); err != nil || len(left) > 0 {
		t.Errorf("the lock still names %q, %v", left, err)
	}
	for range 2 {
		s, err := Open(t.Context(), path, Options{Alone: "serve"})
		must(t, err)
		must(t, s.Close())
	}
}

// A file of an earlier version that is being served is not brought up to date beneath the server.
func TestNoMigrationBeneathAServer(t *testing.T) {
	now := openLite(t).Schema()
	if now.From != 0 || now.To < 4 {
		t.Errorf("a new file went from schema %d to %d", now.From, now.To)
	}
	path := filepath.Join(t.TempDir(), "shop.db")
	must(t, openSchema(t, path, now.To-1).Close())
	l, err := takeLock(path, "serve", noon)
	must(t, err)
	_, err = Open(t.Context(), path, Options{})
	wantCode(t, err, record.NotAllowed)
	must(t, l.release())
	var told []Schema
	s, err := Open(t.Context(), path, Options{Migrating: func(v Schema) { told = append(told, v) }})
	must(t, err)
	if want := (Schema{now.To - 1, now.To}); len(told) != 1 || told[0] != want || s.Schema() != want {
		t.Errorf("told %v, then it says %v; expected %v", told, s.Schema(), want)
	}
	must(t, s.Close())
}

// Several that open a new file at once take turns.
func TestTurnsAtANewFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	for _, err := range race(4, func(int) error {
		s, err := Open(t.Context(), path, Options{})
		if err != nil {
			return err
		}
		return s.Close()
	}) {
		must(t, err)
	}
}
