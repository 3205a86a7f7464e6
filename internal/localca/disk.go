package localca

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
)

const maxFile = 64 << 10 // bytes; a certificate with its key takes about 2 KiB

// openDir makes the directory, readable by its owner alone, or checks that it is so.
func openDir(dir string) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("the directory of the workshop's authority cannot be made: %w", err)
	}
	info, err := os.Stat(dir)
	if err != nil {
		return err
	}
	return ownerOnly(dir, info, "chmod 700 "+dir)
}

// ownerOnly refuses what others can reach. Windows has no such mode bits: there the rights of the user's folder count.
func ownerOnly(name string, info fs.FileInfo, mend string) error {
	if runtime.GOOS == "windows" || info.Mode().Perm()&0o077 == 0 {
		return nil
	}
	return &FileError{File: name, Found: fmt.Sprintf("others than its owner can reach it (mode %04o)", info.Mode().Perm()), Mend: mend}
}

// readSecret reads a file that holds a private key.
func readSecret(name string) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if err := ownerOnly(name, info, "chmod 600 "+name); err != nil {
		return nil, err
	}
	data, err := io.ReadAll(io.LimitReader(f, maxFile+1))
	if err != nil {
		return nil, err
	}
	if len(data) > maxFile {
		return nil, fmt.Errorf("longer than the %d bytes of any certificate file", maxFile)
	}
	return data, nil
}

// createSecret puts a new file in place whole or not at all; an existing one is kept and fs.ErrExist returned, also when two
// processes start at the same moment.
func createSecret(name string, data []byte) error {
	return place(name, data, func(temp string) error {
		err := os.Link(temp, name)
		if err == nil || errors.Is(err, fs.ErrExist) {
			return err
		}
		return os.Rename(temp, name) // a file system without hard links
	})
}

// replaceSecret puts a file in place whole or not at all, in place of an older one.
func replaceSecret(name string, data []byte) error {
	return place(name, data, func(temp string) error { return os.Rename(temp, name) })
}

// place writes a temporary file beside name, readable by its owner alone, brings it to the disk and calls put to name it.
func place(name string, data []byte, put func(temp string) error) (err error) {
	dir := filepath.Dir(name)
	f, err := os.CreateTemp(dir, "."+filepath.Base(name)+".*") // mode 0600
	if err != nil {
		return err
	}
	defer func() {
		if rm := os.Remove(f.Name()); rm != nil && !errors.Is(rm, fs.ErrNotExist) {
			err = errors.Join(err, rm)
		}
	}()
	_, err = f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	if err := put(f.Name()); err != nil {
		return err
	}
	return syncDir(dir)
}

// syncDir brings the directory's entries to the disk; Windows does so by itself and cannot be asked.
func syncDir(dir string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
