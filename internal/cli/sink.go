package cli

import (
	"bytes"
	"fmt"
	"io"
	"sync"
)

// sink is the standard output: it keeps the first error of writing, so that a text that was cut short never ends with exit code 0,
// however it was printed.
type sink struct {
	mu    sync.Mutex
	w     io.Writer
	err   error
	exact bool // what is printed is a document, not text
}

func (s *sink) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.err != nil {
		return 0, s.err
	}
	out := p
	if !s.exact { // text is in lines by now: its spaces are plain ones, as people search for them and copy them
		out = bytes.ReplaceAll(p, []byte("\u00a0"), []byte(" "))
	}
	n, err := s.w.Write(out)
	if err == nil && n < len(out) {
		err = io.ErrShortWrite
	}
	if s.err = err; err != nil {
		return min(n, len(p)), err
	}
	return len(p), nil
}

// lost is the error of an output that did not take all that was printed.
func (s *sink) lost() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.err == nil {
		return nil
	}
	return fmt.Errorf("the standard output did not take all that was printed: %w", s.err)
}
