package web

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
)

// A departure says its figures, or why there are none, once.
func TestADepartureSaysItsFiguresOnce(t *testing.T) {
	b := newBench(t)
	b.add(t, &record.Chose{Parts: map[string]string{"cylinder": "hone"}})
	for _, id := range []string{"earth", "flush", "lock out", "depressurise", "prove zero", "take off", "hone cylinder"} {
		b.add(t, &record.Did{Step: id})
	}
	b.add(t, &record.Chose{Parts: map[string]string{"inlet valve ball": "replace"}}) // another choice than what was done
	for _, path := range []string{"/jobs/1/work", "/jobs/1/hand"} {                  // the order of work, and what is open before the closing
		body := b.page(path)
		if n := strings.Count(body, "what it costs shows only in the hold"); n != 1 {
			t.Errorf("%s says %d times why a departure has no number, want once: %s", path, n, firstLines(body))
		}
	}
}

// The page of a hold speaks of the pump that is on the bench: one with a crank does not stall.
func TestAPageSpeaksOfItsDrive(t *testing.T) {
	b := newBench(t)
	for model, c := range map[string]struct{ want, not string }{
		"orrin-30": {"press when it stalls", "motor stops"},
		"tolsk-18": {"press when the motor stops", "stall"},
	} {
		job, err := b.shop.BookIn(t.Context(), shop.By{Who: b.owner}, record.Booked{CustomerName: "Harbour painters", Serial: "ALD-" + model, Model: model, Complaint: "loses pressure"})
		if err != nil {
			t.Fatal(err)
		}
		body := b.page(fmt.Sprintf("/jobs/%d/found", job))
		if !strings.Contains(body, c.want) || strings.Contains(body, c.not) {
			t.Errorf("%s: want %q and no %q: %s", model, c.want, c.not, firstLines(body))
		}
	}
}

// A soak that is under way says when it is ready, and one that was cut short says so in red on its own page.
func TestASoakSaysWhenItIsReady(t *testing.T) {
	b := newBench(t)
	b.add(t, &record.Chose{Parts: map[string]string{"throat leather ring": "replace"}})
	const step = "soak throat leather ring"
	path := "/jobs/1/step?id=" + escape(step)
	b.post(b.client, "/jobs/1/soak", url.Values{"step": {step}})
	if body := b.page(path); !strings.Contains(body, "data-not-ready") || !strings.Contains(body, "Taken out early, signed") || strings.Contains(body, "data-amiss") {
		t.Errorf("a soak under way: %s", firstLines(body))
	}
	b.add(t, &record.Did{Step: step})
	if body := b.page(path); !strings.Contains(body, "data-amiss") || !strings.Contains(body, "soak cut short") || !strings.Contains(body, "no published value was found") || strings.Contains(body, "data-not-ready") {
		t.Errorf("a soak cut short: %s", firstLines(body))
	}
}
