package main

import (
	"strings"
	"testing"
	"time"
)

// The clock stands still, goes on by what it is told, and never back.
func TestClock(t *testing.T) {
	var c clock
	c.ms.Store(time.Date(2026, 11, 10, 9, 30, 0, 0, time.UTC).UnixMilli())
	if a, b := c.now(), c.now(); !a.Equal(b) {
		t.Errorf("%s, then %s", a, b)
	}
	var out strings.Builder
	if err := c.follow(strings.NewReader("1500\n0\n60000\n"), &out); err != nil {
		t.Fatal(err)
	}
	if want := "clock 2026-11-10T09:30:01.5Z\nclock 2026-11-10T09:30:01.5Z\nclock 2026-11-10T09:31:01.5Z\n"; out.String() != want {
		t.Errorf("%q, expected %q", out.String(), want)
	}
	for _, bad := range []string{"-1\n", "soon\n", "\n"} {
		if err := c.follow(strings.NewReader(bad), &out); err == nil || !strings.Contains(err.Error(), "expected milliseconds") {
			t.Errorf("%q: %v", bad, err)
		}
	}
}
