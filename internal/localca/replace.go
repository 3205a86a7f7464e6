package localca

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"
)

// Find loads the authority that is kept in dir; fs.ErrNotExist when there has never been one. Errors: those of Open.
func Find(dir string, now func() time.Time) (*Authority, error) {
	a := at(dir, now)
	if _, err := os.Stat(dir); err != nil {
		return nil, err
	}
	if err := openDir(dir); err != nil {
		return nil, err
	}
	var err error
	a.chain, err = a.loadChain()
	return a, err
}

// Replace puts a new authority in the place of the one kept in dir, whose key is gone then: for a key that somebody else may have, and before
// the ten years are over. Nothing that the old one signed is presented any more, but a tablet goes on to trust the old root until it is taken
// off that tablet, and trusts the new one only when that is installed there. old is the name under which tablets list the old root; empty when its
// file cannot be read, which does not keep it. A server that runs goes on with the old one until it is started again.
//
// Errors: fs.ErrNotExist when there is no authority to replace, and what the disk says; then the old one is whole and in its place.
func Replace(dir string, now func() time.Time) (a *Authority, old string, err error) {
	before, err := Find(dir, now)
	var unreadable *FileError
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, "", err
	case err == nil:
		old = before.Name()
	case !errors.As(err, &unreadable):
		return nil, "", err
	}
	if err := openDir(dir); err != nil {
		return nil, old, err
	}
	a = at(dir, now)
	host, err := a.hostname()
	if err != nil {
		return nil, old, fmt.Errorf("the machine's host name cannot be found out: %w", err)
	}
	c, err := newChain(host, a.now())
	if err != nil {
		return nil, old, err
	}
	data, err := c.encode()
	if err != nil {
		return nil, old, err
	}
	// The certificate of the server goes first: without it the next start makes one, whichever authority it finds.
	if err := os.Remove(a.path(serverFile)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, old, err
	}
	if err := replaceSecret(a.path(authorityFile), data); err != nil {
		return nil, old, err
	}
	a.chain, err = a.loadChain()
	return a, old, err
}
