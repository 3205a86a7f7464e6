package api

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"path"
	"strconv"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/internal/store"
)

// Prefix is where the interface lies.
const Prefix = "/api/v1"

// API answers the requests of programs.
type API struct {
	sh      *shop.Shop
	st      *store.Store
	log     *slog.Logger
	mux     *http.ServeMux
	api     huma.API
	streams streams
	json    []byte // the document
	yaml    []byte
}

// New makes the handler of everything under /api/v1/. It must stand behind gate.Wrap, which reads the token; who comes without one is
// answered 401. A nil log logs nothing.
func New(sh *shop.Shop, log *slog.Logger) (*API, error) {
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	a := &API{sh: sh, st: sh.Store(), log: log, mux: http.NewServeMux(), streams: streams{open: map[int64]int{}}}
	a.api = humago.NewWithPrefix(a.mux, Prefix, config(sh.Version()))
	a.jobRoutes()
	a.holdRoutes()
	a.fileRoutes()
	a.catalogueRoutes()
	a.otherRoutes()
	describe(a.api.OpenAPI())
	var err error
	if a.json, err = json.MarshalIndent(a.api.OpenAPI(), "", "  "); err != nil {
		return nil, fmt.Errorf("api: the document: %w", err)
	}
	if a.yaml, err = a.api.OpenAPI().YAML(); err != nil {
		return nil, fmt.Errorf("api: the document: %w", err)
	}
	a.mux.HandleFunc("GET "+Prefix+"/openapi.json", serve(a.json, "application/openapi+json"))
	a.mux.HandleFunc("GET "+Prefix+"/openapi.yaml", serve(a.yaml, "application/openapi+yaml"))
	return a, nil
}

func serve(data []byte, kind string) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", kind)
		w.Header().Set("Content-Length", strconv.Itoa(len(data)))
		// Whoever does not take the answer cannot be told.
		_, _ = w.Write(data)
	}
}

func config(version string) huma.Config {
	c := huma.DefaultConfig("evenstroke", version)
	c.OpenAPIPath, c.DocsPath, c.SchemasPath = "", "", ""
	c.CreateHooks = nil // no $schema in bodies, no links to schemas
	c.RejectUnknownQueryParameters = true
	c.Transformers = []huma.Transformer{told}
	f := huma.Format{Marshal: marshal, Unmarshal: json.Unmarshal}
	c.Formats = map[string]huma.Format{"application/json": f, "json": f}
	c.Info.Description = "A workshop that rebuilds high-pressure piston pumps: its jobs, what was written down about them, what the readings of a hold say, " +
		"and its catalogue. Units are UCUM codes. Everything that was written stays; a correction is an entry that names the one it corrects."
	c.Components.SecuritySchemes = map[string]*huma.SecurityScheme{"token": {Type: "http", Scheme: "bearer", Description: "A token for programs, made on the page Tokens. Its scope is read or write."}}
	c.Security = []map[string][]string{{"token": {}}}
	return c
}

// marshal writes a body as a whole: one that cannot be written is found before anything is sent. That the reader has gone away is no
// error of the program.
func marshal(w io.Writer, v any) error {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return err
	}
	_, _ = w.Write(buf.Bytes())
	return nil
}

// ServeHTTP answers one request.
func (a *API) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	who, ok := gate.From(r.Context())
	t := &tidy{ResponseWriter: w, r: r, who: who}
	open := r.URL.Path == Prefix+"/openapi.json" || r.URL.Path == Prefix+"/openapi.yaml"
	if !open && (!ok || !who.Token) {
		w.Header().Set("WWW-Authenticate", `Bearer realm="evenstroke"`)
		WriteProblem(t, NewProblem(http.StatusUnauthorized, record.Faultf(record.NotAllowed, "Authorization", "no token", "Authorization: Bearer es_…", "make a token on the page Tokens")))
		return
	}
	if !open {
		if err := gate.May(who, gate.Read); err != nil {
			a.answer(t, r, err)
			return
		}
	}
	h, pattern := a.mux.Handler(r)
	if pattern == "" || path.Clean(r.URL.Path) != r.URL.Path { // no way about: ServeMux would send the reader to the clean path
		a.nowhere(t, r, h)
		return
	}
	ctx, cancel := r.Context(), context.CancelFunc(func() {})
	if pattern != "GET "+Prefix+"/events" {
		ctx, cancel = context.WithTimeout(ctx, timeFor)
	}
	defer cancel()
	a.mux.ServeHTTP(t, r.WithContext(context.WithValue(ctx, requestKey{}, &exchange{r: r, w: t, who: who})))
}

// timeFor bounds how long a request may take; a stream of events has no bound.
const timeFor = 60 * time.Second

// answer answers an error outside of huma.
func (a *API) answer(w http.ResponseWriter, r *http.Request, err error) {
	if p, ok := a.fail(r.Context(), err).(*Problem); ok {
		WriteProblem(w, p)
	}
}

// nowhere answers a request for what is not there: 404, or 405 with the methods that are.
func (a *API) nowhere(w http.ResponseWriter, r *http.Request, h http.Handler) {
	probe := &silent{header: http.Header{}}
	h.ServeHTTP(probe, r)
	if allow := probe.header.Get("Allow"); allow != "" {
		w.Header().Set("Allow", allow)
		WriteProblem(w, NewProblem(http.StatusMethodNotAllowed, record.Faultf(record.Invalid, r.URL.Path, short(r.Method), allow, "")))
		return
	}
	WriteProblem(w, NewProblem(http.StatusNotFound, record.Faultf(record.NotFound, short(r.URL.Path), "nothing", "an address of the document "+Prefix+"/openapi.json", "")))
}

func short(s string) string { return fmt.Sprintf("%.80q", s) }

// silent takes an answer and keeps only its header.
type silent struct{ header http.Header }

// Header is the header.
func (s *silent) Header() http.Header { return s.header }

// Write drops.
func (s *silent) Write(p []byte) (int, error) { return len(p), nil }

// WriteHeader drops.
func (s *silent) WriteHeader(int) {}

// tidy mends headers as the answer begins.
type tidy struct {
	http.ResponseWriter
	r   *http.Request
	who gate.Who
}

// WriteHeader takes the type away from an answer without a body (RFC 9110 section 15.4.5), and says to a program that may only read
// what it lacks (RFC 6750 section 3.1).
func (t *tidy) WriteHeader(code int) {
	h := t.Header()
	switch code {
	case http.StatusNotModified, http.StatusNoContent:
		h.Del("Content-Type")
	case http.StatusForbidden:
		if t.who.Scope != "write" && t.r.Method != http.MethodGet && t.r.Method != http.MethodHead {
			h.Set("WWW-Authenticate", `Bearer realm="evenstroke", error="insufficient_scope", scope="write"`)
		}
	}
	t.ResponseWriter.WriteHeader(code)
}

// Unwrap is for http.ResponseController.
func (t *tidy) Unwrap() http.ResponseWriter { return t.ResponseWriter }

type requestKey struct{}

// exchange is what an operation needs of its request beyond its parameters.
type exchange struct {
	r   *http.Request
	w   http.ResponseWriter
	who gate.Who
}

func at(ctx context.Context) *exchange { return ctx.Value(requestKey{}).(*exchange) }
