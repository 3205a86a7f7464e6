package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
)

// TestStreamsOfADevice: a device opens eight streams of events, not those of everybody; a program as many by all its tokens; and one that ends
// makes room.
func TestStreamsOfADevice(t *testing.T) {
	y := newYard(t)
	h := y.pages.hub // which looks at the store meanwhile
	listening := func() int {
		h.mu.Lock()
		defer h.mu.Unlock()
		return len(h.ears)
	}
	asks := func(who gate.Who) *http.Request {
		return httptest.NewRequest(http.MethodGet, "/board/events", nil).WithContext(gate.With(context.Background(), who))
	}
	open := func(who gate.Who, tries int) (took int, last func()) {
		t.Helper()
		for range tries {
			_, stop, err := h.listen(t.Context(), ear{of: whose(asks(who))})
			if record.CodeOf(err) == record.TooMany {
				continue
			}
			if err != nil {
				t.Fatal(err)
			}
			took, last = took+1, stop
		}
		return took, last
	}
	took, stop := open(gate.Who{Person: 1, Device: 1}, 1100)
	if took != mostOfOne {
		t.Fatalf("one device has %d streams", took)
	}
	if took, _ := open(gate.Who{Person: 2, Device: 1}, 1); took != 0 {
		t.Error("another person on it has more")
	}
	if took, _ := open(gate.Who{Person: 1, Device: 2}, 9); took != mostOfOne {
		t.Errorf("another device has %d streams", took)
	}
	if took, _ := open(gate.Who{Person: 3, Token: true}, 9); took != mostOfOne {
		t.Errorf("a program has %d streams", took)
	}
	stop()
	if took, _ := open(gate.Who{Person: 1, Device: 1}, 2); took != 1 {
		t.Errorf("after one has ended %d can begin", took)
	}
	for d := int64(10); listening() < mostEars; d++ {
		open(gate.Who{Device: d}, mostOfOne)
	}
	if took, _ := open(gate.Who{Device: 5}, 1); took != 0 {
		t.Error("more than all have a stream")
	}
	w := httptest.NewRecorder()
	if err := y.pages.events(w, asks(gate.Who{Person: 1, Device: 1})); record.CodeOf(err) != record.TooMany {
		t.Errorf("a page that asks for one more: %v", err)
	}
	for to := range h.ears {
		h.leave(to)
	}
	if len(h.open) != 0 {
		t.Errorf("%v are left", h.open)
	}
}
