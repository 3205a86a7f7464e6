package store

import (
	"errors"
	"testing"
)

// TestRecent keeps at most twice the size, what is used stays, and an error is not kept.
func TestRecent(t *testing.T) {
	r := NewRecent[int, int](10)
	made := 0
	get := func(k int) int {
		v, err := r.Get(k, func() (int, error) { made++; return k * k, nil })
		must(t, err)
		return v
	}
	for i := range 100 {
		if get(i) != i*i || get(1) != 1 {
			t.Fatalf("%d gives another value", i)
		}
		if n := len(r.young) + len(r.old); n > 20 {
			t.Fatalf("%d values are kept, expected at most 20", n)
		}
	}
	if made != 100 {
		t.Errorf("%d values were made, expected 100: 1 was used all the time", made)
	}
	bad := errors.New("not now")
	if _, err := r.Get(-1, func() (int, error) { return 0, bad }); !errors.Is(err, bad) {
		t.Errorf("the error is %v", err)
	}
	if get(-1) != 1 {
		t.Error("an error was kept")
	}
}
