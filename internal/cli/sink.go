package cli

import (
	"fmt"
	"io"
	"os"
	"sync"
)

// sink is the standard output: it keeps the first error of writing, so that a text that was cut short never ends with exit code 0,
// however it was printed.
type sink struct {
	mu  sync.Mutex
	w   io.Writer
	err error
}

func (s *sink) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.err != nil {
		return 0, s.err
	}
	n, err := s.w.Write(p)
	if err == nil && n < len(p) {
		err = io.ErrShortWrite
	}
	s.err = err
	return n, err
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

// isTerminal says whether a stream is a person's screen.
func isTerminal(stream any) bool {
	f, ok := stream.(*os.File)
	if !ok {
		return false
	}
	st, err := f.Stat()
	return err == nil && st.Mode()&os.ModeCharDevice != 0
}
