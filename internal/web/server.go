package web

import (
	"context"
	"fmt"
	"html/template"
	"log/slog"
	"net/http"
	"time"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/localca"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/internal/store"
	"github.com/evenstroke/evenstroke/internal/text"
)

// Options for New.
type Options struct {
	Shop  *shop.Shop
	Gate  *gate.Gate
	CA    *localca.Authority // nil when certificates come from files, or without HTTPS
	URL   func() string      // address under which tablets reach the shop, as https://192.168.1.20:8443; for QR codes
	Plain func() string      // address of the page on which a tablet learns to trust the shop, without HTTPS; nil or "" for none
	API   http.Handler       // everything under /api/; nil for none
	Log   *slog.Logger
	Ails  func() []store.Trouble      // what ails the server besides its store; nil is nothing
	Seed  func(context.Context) error // fills the demo workshop; nil when it is not offered
}

// Server answers the pages.
type Server struct {
	Options
	texts  *text.Catalogue
	pages  map[pageKey]*template.Template
	called map[string]string // see Frame.LanguageName
	static *assets
	hub    *hub
	cards  *store.Recent[cardKey, template.HTML]
	lanes  *store.Recent[laneKey, template.HTML]
	maps   *store.Recent[verdictKey, verdictView]
	router *http.ServeMux
}

// plain is the address by which a tablet learns to trust the shop; "" when there is none.
func (s *Server) plain() string {
	if s.Plain == nil {
		return ""
	}
	return s.Plain()
}

// New reads templates, texts and static files, and starts the listener to changes, which ends with ctx.
func New(ctx context.Context, opt Options) (*Server, error) {
	s := &Server{Options: opt, cards: store.NewRecent[cardKey, template.HTML](cardsKept), lanes: store.NewRecent[laneKey, template.HTML](lanesKept), maps: store.NewRecent[verdictKey, verdictView](verdictsKept)}
	var err error
	if s.texts, err = text.Load(); err != nil {
		return nil, err
	}
	if s.called, err = inThemselves(s.texts.Languages()); err != nil {
		return nil, err
	}
	if s.static, err = loadAssets(s.texts); err != nil {
		return nil, err
	}
	if s.pages, err = s.loadPages(); err != nil {
		return nil, err
	}
	s.hub = newHub(ctx, opt.Shop.Store(), opt.Log)
	s.router = s.routes()
	return s, nil
}

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.router.ServeHTTP(w, r) }

// action answers a request or says why not. What it returns as an error is shown as a page or, to a script, as a problem.
type action func(w http.ResponseWriter, r *http.Request) error

// do runs an action and answers its error.
func (s *Server) do(a action) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path != "/board/events" {
			ctx, cancel := context.WithTimeout(r.Context(), timeFor)
			defer cancel()
			r = r.WithContext(ctx)
		}
		if err := a(w, r); err != nil {
			s.answerError(w, r, err)
		}
	})
}

// in runs an action for somebody who is signed in; others are sent to the door.
func (s *Server) in(a action) http.Handler {
	return s.do(func(w http.ResponseWriter, r *http.Request) error {
		who, ok := gate.From(r.Context())
		if !ok || who.Person == 0 || who.Locked {
			return s.toTheDoor(w, r)
		}
		return s.anew(w, r, a)
	})
}

// timeFor bounds how long a request may take; a stream of events has none.
const timeFor = 2 * time.Minute

func (s *Server) logger(r *http.Request) *slog.Logger {
	return s.Log.With("path", r.URL.Path, "request", gate.RequestID(r.Context()))
}

func mustNumber(r *http.Request, name string) (int64, error) {
	var n int64
	if _, err := fmt.Sscanf(r.PathValue(name), "%d", &n); err != nil || n < 1 || fmt.Sprint(n) != r.PathValue(name) {
		return 0, notFound(r.URL.Path)
	}
	return n, nil
}
