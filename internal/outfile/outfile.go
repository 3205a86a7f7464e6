// Package outfile writes what the program makes to where a person said, and replaces nothing but ordinary files.
//
// An ordinary file is replaced whole or not at all, and keeps its mode; a new one gets the mode that the umask leaves. A symbolic link
// stays, what it leads to is written. A device, a pipe or a socket is written to and stays what it is. A file that is read-only is
// refused, whoever runs the program. An error of writing or closing is always returned.
package outfile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"syscall"
)

// Refusal says that a place cannot be written to for a reason that the person can mend. Nothing was written.
type Refusal struct {
	Name, Found, Want, Mend string
	Err                     error // of the system, or nil
}

// Error gives it in one line.
func (r *Refusal) Error() string {
	return fmt.Sprintf("%s: found %s; expected %s; %s", r.Name, r.Found, r.Want, r.Mend)
}

// Unwrap returns the error of the system.
func (r *Refusal) Unwrap() error { return r.Err }

// Write puts data where name says. Errors: *Refusal for a place that cannot be written to, else that of the system.
func Write(name string, data []byte) error {
	target, err := follow(name)
	if err != nil {
		return err
	}
	st, err := os.Stat(target)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return place(name, target, 0o666, false, data)
	case err != nil:
		return refused(name, err)
	case st.IsDir():
		return &Refusal{name, "a folder", "the name of a file", "give a file in it", nil}
	case !st.Mode().IsRegular():
		return through(name, target, os.O_WRONLY, data)
	case st.Mode().Perm()&0o222 == 0:
		return &Refusal{name, "a file that is read-only", "one that may be written", "name another file, or allow writing it", fs.ErrPermission}
	}
	if f, err := os.OpenFile(target, os.O_WRONLY, 0); err != nil { // what the mode does not say: other owners, access lists, mounts
		return refused(name, err)
	} else if err := f.Close(); err != nil {
		return err
	}
	if !alone(st) {
		return through(name, target, os.O_WRONLY|os.O_TRUNC, data)
	}
	return place(name, target, st.Mode().Perm(), true, data)
}

// New has fill write a new file that only its owner can read, and gives it its name when it is whole; a file that is there is
// refused. What is no ordinary file is written to as by Write.
func New(name string, fill func(io.Writer) error) error {
	st, err := os.Stat(name)
	if err == nil && !st.Mode().IsRegular() && !st.IsDir() {
		f, err := os.OpenFile(name, os.O_WRONLY, 0)
		if err != nil {
			return refused(name, err)
		}
		return errors.Join(fill(f), f.Close())
	}
	if _, err := os.Lstat(name); err == nil {
		return there(name)
	}
	part, err := temporary(name, name, 0o600)
	if err != nil {
		return err
	}
	err = fill(part)
	if err == nil {
		err = failed(name, part.Sync())
	}
	if err = errors.Join(err, part.Close()); err == nil {
		err = link(part.Name(), name)
	}
	return errors.Join(err, remove(part.Name()))
}

func there(name string) error {
	return &Refusal{name, "a file that is there already", "a new name", "name another file", fs.ErrExist}
}

// link gives a finished file its name without writing over another.
func link(part, name string) error {
	err := os.Link(part, name)
	switch {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrExist):
		return there(name)
	}
	f, err := os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600) // a disk without hard links: hold the name, then rename over it
	if errors.Is(err, fs.ErrExist) {
		return there(name)
	}
	if err != nil {
		return err
	}
	return errors.Join(f.Close(), os.Rename(part, name))
}

// remove takes a file away that may be gone already.
func remove(name string) error {
	if err := os.Remove(name); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// mostLinks is how many symbolic links are followed before they are taken to go round in a circle.
const mostLinks = 40

// follow returns what a chain of symbolic links leads to, also when nothing is there yet.
func follow(name string) (string, error) {
	at := name
	for range mostLinks {
		st, err := os.Lstat(at)
		if err != nil || st.Mode()&fs.ModeSymlink == 0 {
			return at, nil // what is wrong with it, the caller finds
		}
		to, err := os.Readlink(at)
		if err != nil {
			return "", refused(name, err)
		}
		if !filepath.IsAbs(to) {
			to = filepath.Join(filepath.Dir(at), to)
		}
		at = to
	}
	return "", &Refusal{name, "symbolic links that go round in a circle", "the name of a file", "name the file itself", nil}
}

// place writes a file beside target and gives it the name of target when it is whole. exact sets the mode whatever the umask is.
func place(name, target string, mode fs.FileMode, exact bool, data []byte) error {
	part, err := temporary(name, target, mode)
	if err != nil {
		return err
	}
	_, err = part.Write(data)
	if exact {
		err = errors.Join(err, part.Chmod(mode))
	}
	if err = errors.Join(err, part.Sync(), part.Close()); err == nil {
		err = os.Rename(part.Name(), target)
	}
	if err != nil {
		return errors.Join(failed(name, err), remove(part.Name()))
	}
	return nil
}

// temporary makes a new file in the folder of target; the system takes the umask off its mode. Its name only has to be new: what is there already,
// and a link, is refused.
func temporary(name, target string, mode fs.FileMode) (*os.File, error) {
	part := filepath.Join(filepath.Dir(target), ".evenstroke-"+strconv.FormatUint(rand.Uint64(), 36))
	f, err := os.OpenFile(part, os.O_CREATE|os.O_EXCL|os.O_WRONLY, mode)
	if err != nil {
		return nil, refused(name, err)
	}
	return f, nil
}

// through writes to what is there.
func through(name, target string, flag int, data []byte) error {
	f, err := os.OpenFile(target, flag, 0)
	if err != nil {
		return refused(name, err)
	}
	_, err = f.Write(data)
	return failed(name, errors.Join(err, f.Close()))
}

// refused words what the system says when a place cannot be opened; what is no fault of the name stays an error of the system.
func refused(name string, err error) error {
	is := func(targets ...error) bool {
		return slices.ContainsFunc(targets, func(t error) bool { return errors.Is(err, t) })
	}
	switch {
	case is(fs.ErrPermission, syscall.EROFS):
		return &Refusal{name, "a place that may not be written to", "a file or folder of your own", "name another place, or allow writing there", err}
	case is(fs.ErrNotExist, syscall.ENOTDIR):
		return &Refusal{name, "no such folder", "the name of a file in a folder that is there", "make the folder first", err}
	case is(syscall.ENAMETOOLONG, syscall.EINVAL, syscall.ENXIO):
		return &Refusal{name, "a name that the system does not open (" + cause(err).Error() + ")", "the name of a file", "name another file", err}
	}
	return failed(name, err)
}

// failed names the file that the person named instead of the one beside it.
func failed(name string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: it could not be written: %w", name, cause(err))
}

// cause takes the names of files and system calls off an error.
func cause(err error) error {
	var path *fs.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &path):
		return path.Err
	case errors.As(err, &link):
		return link.Err
	}
	return err
}
