package store

import (
	"path/filepath"
	"slices"
	"testing"
)

// heard is what a work told of itself.
type heard struct {
	at    Stage
	share float64
}

func TestProgress(t *testing.T) {
	s, err := Open(t.Context(), filepath.Join(t.TempDir(), "a.db"), Options{})
	must(t, err)
	defer func() { must(t, s.Close()) }()
	must(t, s.Bulk(t.Context(), 420, demoJob)) // more than two pages of entries
	var told []heard
	ctx := WithProgress(t.Context(), func(at Stage, share float64) { told = append(told, heard{at, share}) })
	r, err := s.Verify(ctx)
	must(t, err)
	must(t, r.Err())
	grows(t, told, Verifying)
	if n := len(told); n < 4 {
		t.Errorf("verify told only %d times: %v", n, told)
	}

	copied := filepath.Join(t.TempDir(), "b.db")
	must(t, s.Backup(t.Context(), copied))
	told = nil
	must(t, Restore(ctx, copied, filepath.Join(t.TempDir(), "c.db")))
	grows(t, told, Copying, Verifying)
}

// grows wants the stages in this order, each growing to its end.
func grows(t *testing.T, told []heard, stages ...Stage) {
	t.Helper()
	var seen []Stage
	last := 1.0
	for _, h := range told {
		if len(seen) == 0 || seen[len(seen)-1] != h.at {
			if last != 1 {
				t.Errorf("%s begins when what was before is at %g", h.at, last)
			}
			seen, last = append(seen, h.at), 0
		}
		if h.share < last || h.share > 1 {
			t.Errorf("%s: %g after %g", h.at, h.share, last)
		}
		last = h.share
	}
	if last != 1 || !slices.Equal(seen, stages) {
		t.Errorf("told of %v, which ends at %g, want %v", seen, last, stages)
	}
}
