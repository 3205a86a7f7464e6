package api

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

func (a *API) otherRoutes() {
	route(a, huma.Operation{OperationID: "me", Method: http.MethodGet, Path: "/me", Tags: []string{"shop"}, Summary: "Who asks, and of which shop"}, spec{}, a.me)
	route(a, huma.Operation{OperationID: "listChanges", Method: http.MethodGet, Path: "/changes", Tags: []string{"shop"}, Summary: "What was written, in the order of arrival",
		Description: "Who asks each time after the last id given misses nothing."}, spec{}, a.changes)
	route(a, huma.Operation{OperationID: "listWrongPINs", Method: http.MethodGet, Path: "/wrong-pins", Tags: []string{"shop"}, Summary: "Wrong PINs of the last week, by person and device",
		Description: "For the office and owners. A device at which somebody guesses is taken out by hand, on its page."}, spec{}, a.wrongPINs)
	route(a, huma.Operation{OperationID: "events", Method: http.MethodGet, Path: "/events", Tags: []string{"shop"}, Summary: "Changes as they come (server-sent events)",
		Description: "Each event has the name change, the id of the change and its JSON as data. It goes on after Last-Event-ID."}, spec{answer: "text/event-stream"}, a.events)
}

// MeOut is who asks.
type MeOut struct {
	Body struct {
		Person  int64  `json:"person"`
		Name    string `json:"name"`
		Role    string `json:"role" doc:"of the token: at most office"`
		Scope   string `json:"scope" enum:"read,write"`
		Shop    string `json:"shop" doc:"name of the workshop"`
		Version string `json:"version" doc:"of the program"`
	}
}

func (a *API) me(ctx context.Context, _ *struct{}) (*MeOut, error) {
	who := at(ctx).who
	out := &MeOut{}
	b := &out.Body
	b.Person, b.Name, b.Role, b.Scope, b.Version = who.Person, who.P.Name, string(who.P.Role), who.Scope, a.sh.Version()
	p, _, err := a.sh.Profile(ctx)
	if err != nil {
		return nil, err
	}
	if p != nil {
		b.Shop = p.Name
	}
	return out, nil
}

// Change says that something was written.
type Change struct {
	ID     int64     `json:"id"`
	About  string    `json:"about" doc:"job, or a kind of the catalogue"`
	Number int64     `json:"number" doc:"of the job or the value"`
	Kind   string    `json:"kind" doc:"of the entry"`
	Stored time.Time `json:"stored"`
}

func change(c store.Change) Change {
	return Change{c.ID, string(c.Subject.Kind), c.Subject.ID, string(c.Kind), c.Stored}
}

// ChangesIn says which changes to list.
type ChangesIn struct {
	After int64 `query:"after" minimum:"0" doc:"changes after this id"`
	Limit int   `query:"limit" minimum:"1" maximum:"500" default:"100"`
}

// ChangesOut is a page of changes.
type ChangesOut struct {
	Link string `header:"Link" doc:"the next page (RFC 8288), rel=\"next\"; none when there are no more now"`
	Body struct {
		Changes []Change `json:"changes" nullable:"false"`
		Last    int64    `json:"last" doc:"ask after this id next time"`
	}
}

func (a *API) changes(ctx context.Context, in *ChangesIn) (*ChangesOut, error) {
	got, err := a.st.Changes(ctx, in.After, in.Limit+1)
	if err != nil {
		return nil, err
	}
	out := &ChangesOut{}
	out.Body.Changes, out.Body.Last = []Change{}, in.After
	for i, c := range got {
		if i == in.Limit {
			out.Link = next(ctx, "after", out.Body.Last)
			break
		}
		out.Body.Changes = append(out.Body.Changes, change(c))
		out.Body.Last = c.ID
	}
	return out, nil
}

// EventsIn says from where on to send.
type EventsIn struct {
	Last  string `header:"Last-Event-ID" doc:"the last event that was received"`
	After int64  `query:"after" minimum:"0" doc:"changes after this id; from now on when it is left out"`
}

// Bounds of the streams of events.
const (
	maxStreams = 64 // of all
	mostOfOne  = 8  // of one person, by whichever token
	lookEvery  = 500 * time.Millisecond
	beatEvery  = 20 * time.Second
	sendWithin = 10 * time.Second
	streamFor  = time.Hour // then the reader comes again, and its token is looked at again
	eventsAt   = 200       // read at once
)

func (a *API) events(ctx context.Context, in *EventsIn) (*FileOut, error) {
	after := in.After
	var err error
	switch {
	case in.Last != "":
		if after, err = strconv.ParseInt(in.Last, 10, 64); err != nil || after < 0 {
			return nil, record.Faultf(record.Invalid, "Last-Event-ID", short(in.Last), "the id of an event", "leave it out")
		}
	case at(ctx).r.URL.Query().Get("after") == "":
		if after, err = a.st.Last(ctx); err != nil {
			return nil, err
		}
	}
	who := at(ctx).who.Person
	if !a.streams.take(who) {
		return nil, record.Faultf(record.TooMany, "events", "too many open streams", fmt.Sprintf("at most %d of one person and %d of all", mostOfOne, maxStreams), "close one, or ask for /changes")
	}
	return &FileOut{Status: http.StatusOK, Type: "text/event-stream", Cache: "no-store", Body: func(c huma.Context) {
		defer a.streams.give(who)
		_, w := humago.Unwrap(c)
		w.WriteHeader(http.StatusOK)
		if at(ctx).r.Method != http.MethodHead {
			a.stream(ctx, w, after)
		}
	}}, nil
}

// streams counts the open streams of events, by person: one may not take those of all others.
type streams struct {
	mu   sync.Mutex
	open map[int64]int
	all  int
}

func (s *streams) take(who int64) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.all >= maxStreams || s.open[who] >= mostOfOne {
		return false
	}
	s.all++
	s.open[who]++
	return true
}

func (s *streams) give(who int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.all--
	if s.open[who]--; s.open[who] == 0 {
		delete(s.open, who)
	}
}

// stream sends changes until the reader goes away or the store does not answer.
func (a *API) stream(ctx context.Context, w http.ResponseWriter, after int64) {
	out := http.NewResponseController(w)
	send := func(text string) bool {
		// A writer without deadlines (of a test) sends all the same.
		_ = out.SetWriteDeadline(time.Now().Add(sendWithin))
		_, err := fmt.Fprint(w, text)
		return err == nil && out.Flush() == nil
	}
	if !send(": changes\n\n") {
		return
	}
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	beat := time.NewTicker(beatEvery)
	end := time.NewTimer(streamFor)
	defer end.Stop()
	defer beat.Stop()
	for {
		got, err := a.st.Changes(ctx, after, eventsAt)
		if err != nil {
			if ctx.Err() == nil {
				a.log.ErrorContext(ctx, "reading changes", "err", err)
			}
			return
		}
		for _, c := range got {
			data, err := json.Marshal(change(c))
			if err != nil || !send(fmt.Sprintf("id: %d\nevent: change\ndata: %s\n\n", c.ID, data)) {
				return
			}
			after = c.ID
		}
		if len(got) == eventsAt {
			continue
		}
		select {
		case <-ctx.Done():
			return
		case <-end.C:
			return
		case <-beat.C:
			if !send(": still here\n\n") {
				return
			}
		case <-tick.C:
		}
	}
}
