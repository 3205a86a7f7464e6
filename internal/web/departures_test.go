package web

import (
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// A departure says its figures, or why there are none, once.
func TestADepartureSaysItsFiguresOnce(t *testing.T) {
	b := newBench(t)
	b.add(t, &record.Chose{Parts: map[string]string{"cylinder": "hone"}})
	for _, id := range []string{"earth", "flush", "lock out", "depressurise", "prove zero", "take off", "hone cylinder"} {
		b.add(t, &record.Did{Step: id})
	}
	b.add(t, &record.Chose{Parts: map[string]string{"inlet valve ball": "replace"}}) // another choice than what was done
	body := b.page("/jobs/1/work")
	if n := strings.Count(body, "what it costs shows only in the hold"); n != 1 {
		t.Errorf("the page says %d times why a departure has no number, want once: %s", n, firstLines(body))
	}
}
