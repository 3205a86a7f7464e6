package web

import (
	"context"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"strconv"
	"sync"
	"time"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// How often the store is asked for changes, and from how many numbers before the last one seen, since with PostgreSQL an entry may
// become visible after one with a higher number.
const (
	lookEvery = 500 * time.Millisecond
	lookBack  = 64
)

// gather is for how long at most a board is kept from a change that it will show together with those that come after it. Each board
// waits for a time of its own: all at once would ask for their lanes in the same moment, and every other page would wait behind them.
const gather = 2 * time.Second

// streamLife is how long one stream of events lasts; the page opens the next by itself.
const streamLife = 5 * time.Minute

// mostEars is how many streams may be open at once, mostOfOne how many of one device, or of one person by tokens: one may not take those of all
// others.
const (
	mostEars  = 1024
	mostOfOne = 8
)

// ear is what somebody listens to: a job, 0 for all; and whose it is.
type ear struct {
	job int64
	of  string
}

// hub tells the open pages that something was written, by this process or by another on the same store. It asks the store
// only while somebody listens.
type hub struct {
	st   *store.Store
	log  *slog.Logger
	wait func(time.Duration) <-chan time.Time // time.After; a test has its own

	mu   sync.Mutex
	ears map[chan store.Change]ear
	open map[string]int // how many, by whose they are

	looking sync.Mutex // held while the store is asked
	last    int64      // number of the last change that was told, or was there when the first began to listen
	seen    map[int64]bool
}

func newHub(ctx context.Context, st *store.Store, log *slog.Logger) *hub {
	h := &hub{st: st, log: log, wait: time.After, ears: map[chan store.Change]ear{}, open: map[string]int{}}
	go h.run(ctx)
	return h
}

func (h *hub) run(ctx context.Context) {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		if err := h.look(ctx); err != nil && ctx.Err() == nil {
			h.log.Error("reading changes", "err", err)
		}
	}
}

// look asks the store what was written since the last look, and tells it.
func (h *hub) look(ctx context.Context) error {
	h.looking.Lock()
	defer h.looking.Unlock()
	if !h.heard() {
		return nil
	}
	changes, err := h.st.Changes(ctx, max(0, h.last-lookBack), 500)
	if err != nil {
		return err
	}
	var news []store.Change
	for _, c := range changes {
		if c.Subject.Kind == record.OfJob && (c.ID > h.last || !h.seen[c.ID]) {
			news = append(news, c)
		}
		h.seen[c.ID] = true
		h.last = max(h.last, c.ID)
	}
	h.tell(news)
	for id := range h.seen {
		if id < h.last-2*lookBack {
			delete(h.seen, id)
		}
	}
	return nil
}

func (h *hub) heard() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return len(h.ears) > 0
}

// tell passes changes of jobs to everybody who listens: each to who listens to its job, the last of them to who listens to all, whom it
// need not wake for each. Who is too slow misses some and sees the next.
func (h *hub) tell(news []store.Change) {
	if len(news) == 0 {
		return
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	for to, e := range h.ears {
		if e.job == 0 {
			offer(to, news[len(news)-1])
			continue
		}
		for _, c := range news {
			if c.Subject.ID == e.job {
				offer(to, c)
			}
		}
	}
}

func offer(ear chan<- store.Change, c store.Change) {
	select {
	case ear <- c:
	default:
	}
}

// listen gives somebody an ear for what is written from now on: the first to listen says where the looks begin.
func (h *hub) listen(ctx context.Context, e ear) (to chan store.Change, stop func(), err error) {
	h.looking.Lock()
	defer h.looking.Unlock()
	if !h.heard() {
		if h.last, err = h.st.Last(ctx); err != nil {
			return nil, nil, err
		}
		h.seen = map[int64]bool{}
		for id := h.last - lookBack; id <= h.last; id++ {
			h.seen[id] = true
		}
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	if len(h.ears) >= mostEars || h.open[e.of] >= mostOfOne {
		return nil, nil, record.Faultf(record.TooMany, "events", "too many open pages", "fewer", "close some")
	}
	to = make(chan store.Change, 16)
	h.ears[to] = e
	h.open[e.of]++
	return to, func() { h.leave(to) }, nil
}

func (h *hub) leave(to chan store.Change) {
	h.mu.Lock()
	defer h.mu.Unlock()
	e := h.ears[to]
	delete(h.ears, to)
	if h.open[e.of]--; h.open[e.of] <= 0 {
		delete(h.open, e.of)
	}
}

// whose names the device of a request, or the person of its token.
func whose(r *http.Request) string {
	who, _ := gate.From(r.Context())
	if who.Token {
		return "token:" + strconv.FormatInt(who.Person, 10)
	}
	return "device:" + strconv.FormatInt(who.Device, 10)
}

// events streams changes (server-sent events): of one job at once, of all jobs for the board gathered.
func (s *Server) events(w http.ResponseWriter, r *http.Request) error {
	var only int64
	if v := r.URL.Query().Get("job"); v != "" {
		if _, err := fmt.Sscan(v, &only); err != nil {
			return notFound(r.URL.Path)
		}
	}
	heard, stop, err := s.hub.listen(r.Context(), ear{only, whose(r)})
	if err != nil {
		return err
	}
	defer stop()
	c := http.NewResponseController(w)
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(http.StatusOK)
	if err := c.Flush(); err != nil { // the page knows at once that it is heard
		return nil
	}
	// a stream ends now and then, so that the gate sees who listens: one whose session was locked hears no more
	over := time.NewTimer(streamLife)
	defer over.Stop()
	beat := time.NewTicker(20 * time.Second)
	defer beat.Stop()
	var last store.Change
	var due <-chan time.Time // when the last change is told; nil when it was
	for {
		line := ": still here\n\n"
		select {
		case <-r.Context().Done():
			return nil
		case <-endOf(r.Context()):
			return nil
		case <-over.C:
			return nil
		case <-beat.C:
		case <-due:
			line, due = jobEvent(last), nil
		case e := <-heard:
			if only == 0 {
				if last = e; due == nil {
					due = s.hub.wait(rand.N(gather))
				}
				continue
			}
			line = jobEvent(e)
		}
		if err := tellNow(w, c, line); err != nil {
			return nil // the connection is gone
		}
	}
}

// tellNow writes a line to a page, which has ten seconds to take it.
func tellNow(w http.ResponseWriter, c *http.ResponseController, line string) error {
	if err := c.SetWriteDeadline(time.Now().Add(10 * time.Second)); err != nil {
		return err
	}
	if _, err := fmt.Fprint(w, line); err != nil {
		return err
	}
	return c.Flush()
}

func jobEvent(c store.Change) string {
	return fmt.Sprintf("id: %d\nevent: jobs\ndata: {\"job\": %d, \"kind\": %q}\n\n", c.ID, c.Subject.ID, c.Kind)
}
