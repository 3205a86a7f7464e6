//go:build unix

package outfile

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// A new file gets the mode that the umask leaves.
func TestWriteKeepsUmask(t *testing.T) {
	name := filepath.Join(t.TempDir(), "new")
	old := syscall.Umask(0o027)
	defer syscall.Umask(old)
	if err := Write(name, []byte("x")); err != nil {
		t.Fatal(err)
	}
	holds(t, name, "x", 0o640)
}

// A pipe is written to and stays a pipe.
func TestWriteThroughPipe(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "pipe")
	if err := syscall.Mkfifo(name, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, put := range []func() error{
		func() error { return Write(name, []byte("through")) },
		func() error {
			return New(name, func(w io.Writer) error { _, err := io.WriteString(w, "through"); return err })
		},
	} {
		got := make(chan string, 1)
		go func() {
			data, err := os.ReadFile(name)
			if err != nil {
				data = []byte(err.Error())
			}
			got <- string(data)
		}()
		if err := put(); err != nil {
			t.Fatal(err)
		}
		select {
		case text := <-got:
			if text != "through" {
				t.Errorf("the pipe gave %q", text)
			}
		case <-time.After(time.Minute):
			t.Fatal("nothing came through the pipe within a minute")
		}
	}
	if st, err := os.Lstat(name); err != nil || st.Mode()&fs.ModeNamedPipe == 0 {
		t.Errorf("the pipe is none any more: %v %v", st, err)
	}
	clean(t, dir)
}

// A device is written to and stays a device; a full one is an error that is no refusal. The link is what would be lost if the device
// itself were at stake.
func TestWriteDevices(t *testing.T) {
	dir := t.TempDir()
	for _, device := range []string{"/dev/null", "/dev/full"} {
		if _, err := os.Stat(device); err != nil {
			continue // not every system has a full device
		}
		link := filepath.Join(dir, filepath.Base(device))
		if err := os.Symlink(device, link); err != nil {
			t.Fatal(err)
		}
		full := device == "/dev/full"
		for _, err := range []error{Write(link, []byte("x")), New(link, func(w io.Writer) error { _, err := w.Write([]byte("x")); return err })} {
			var r *Refusal
			if full != errors.Is(err, syscall.ENOSPC) || errors.As(err, &r) || !full && err != nil {
				t.Errorf("%s: %v", device, err)
			}
		}
		if st, err := os.Stat(link); err != nil || st.Mode()&fs.ModeDevice == 0 {
			t.Errorf("%s is no device any more: %v", device, err)
		}
	}
	clean(t, dir)
}

// A file of somebody else keeps its owner.
func TestWriteKeepsOwner(t *testing.T) {
	if os.Geteuid() != 0 {
		return // only root can give a file away
	}
	name := filepath.Join(t.TempDir(), "theirs")
	write(t, name, "old and longer", 0o640)
	if err := os.Chown(name, 4242, 4243); err != nil {
		t.Fatal(err)
	}
	if err := Write(name, []byte("new")); err != nil {
		t.Fatal(err)
	}
	holds(t, name, "new", 0o640)
	st, err := os.Stat(name)
	if err != nil {
		t.Fatal(err)
	}
	if s := st.Sys().(*syscall.Stat_t); s.Uid != 4242 || s.Gid != 4243 {
		t.Errorf("it now belongs to %d:%d", s.Uid, s.Gid)
	}
}
