package gate

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"io"
	"log/slog"
	"math"
	"net/http"
	"runtime/debug"
	"strconv"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

// visit is what is known about one request.
type visit struct {
	id    string
	who   Who
	start time.Time
}

type visitKey struct{}

// RequestID is the number of a request in the log, "" outside of Wrap.
func RequestID(ctx context.Context) string {
	if v, ok := ctx.Value(visitKey{}).(*visit); ok {
		return v.id
	}
	return ""
}

// Wrap puts the gate before a handler: headers, the Host header, rates, the size of the body, who is at the door, requests from pages of
// others; then the handler, its panics, and a line in the log. What does not get through is answered by Options.Refuse.
func (g *Gate) Wrap(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v := &visit{id: newRequestID(), start: g.opt.Now()}
		a := &answer{ResponseWriter: w, r: r, body: r.Body}
		r = r.WithContext(context.WithValue(r.Context(), visitKey{}, v))
		defer g.finish(a, r, v)
		g.headers(a.Header(), r)
		a.Header().Set("X-Request-Id", v.id)
		if status, f := g.screen(a, r, v); f != nil {
			if left := Left(f); left > 0 {
				a.Header().Set("Retry-After", strconv.Itoa(int(math.Ceil(left.Seconds()))))
			}
			g.opt.Refuse(a, r, status, f)
			return
		}
		next.ServeHTTP(a, r.WithContext(With(r.Context(), v.who)))
	})
}

// screen lets a request through, or says why not, with the status of RFC 9110.
func (g *Gate) screen(w http.ResponseWriter, r *http.Request, v *visit) (int, *record.Fault) {
	if !g.knownHost(r.Host) {
		return http.StatusMisdirectedRequest, record.Faultf(record.NotAllowed, "address", "a name that is not this server's", "one of its own names or addresses",
			"open it by its address, or add the name to the settings")
	}
	if left := g.addresses.take(network(g.address(r)), v.start); left > 0 {
		return http.StatusTooManyRequests, tooMany("requests", "too many of them", left)
	}
	if r.ContentLength > g.opt.MaxBody {
		return http.StatusRequestEntityTooLarge, tooLarge(g.opt.MaxBody)
	}
	r.Body = http.MaxBytesReader(w, r.Body, g.opt.MaxBody)
	if status, f := g.identify(w, r, v); f != nil {
		return status, f
	}
	if g.crossSite(r, v.who.Token) {
		return http.StatusForbidden, record.Faultf(record.NotAllowed, "request", "one that another page sent, or that does not say where it comes from",
			"a request of a page of this server, or one with a token", "open the page of this server and do it there")
	}
	if v.who.Device != 0 || v.who.Token {
		key := "device " + strconv.FormatInt(v.who.Device, 10)
		if v.who.Token {
			key = "token of " + strconv.FormatInt(v.who.Person, 10)
		}
		if left := g.devices.take(key, v.start); left > 0 {
			return http.StatusTooManyRequests, tooMany("requests", "too many of them", left)
		}
	}
	return 0, nil
}

// identify finds out who is at the door. A token that does not fit is refused, whatever cookies there are.
func (g *Gate) identify(w http.ResponseWriter, r *http.Request, v *visit) (int, *record.Fault) {
	token, none, err := bearer(r.Header)
	if err == nil {
		if none {
			v.who, err = g.byCookies(r)
		} else {
			v.who, err = g.byToken(r.Context(), token)
		}
	}
	if err == nil {
		return 0, nil
	}
	var f *record.Fault
	if errors.As(err, &f) && f.Code == record.NotAllowed {
		w.Header().Set("WWW-Authenticate", `Bearer error="invalid_token"`)
		return http.StatusUnauthorized, f
	}
	g.opt.Log.ErrorContext(r.Context(), "cannot tell who is at the door", "id", v.id, "err", err, "cause", errors.Unwrap(err))
	return http.StatusServiceUnavailable, &record.Fault{Code: record.CodeOf(err), Where: "signing in", Found: "a database that does not answer", Want: "one that does", Mend: "try again in a moment", Err: err}
}

// finish answers after a panic and writes the line in the log. It has neither query nor headers nor body: they may hold secrets.
func (g *Gate) finish(a *answer, r *http.Request, v *visit) {
	if p := recover(); p != nil {
		if p == http.ErrAbortHandler { //nolint:errorlint // this very value, by the rules of net/http
			g.line(a, r, v, slog.LevelWarn)
			panic(p)
		}
		g.opt.Log.ErrorContext(r.Context(), "panic", "id", v.id, "value", p, "stack", string(debug.Stack()))
		if a.status != 0 {
			g.line(a, r, v, slog.LevelError)
			panic(http.ErrAbortHandler)
		}
		g.opt.Refuse(a, r, http.StatusInternalServerError, record.Faultf(record.Internal, "this page", "a mistake in the program", "",
			"try again; what was entered before is safe. In the log it is "+v.id))
	}
	level := slog.LevelInfo
	if a.status >= 500 {
		level = slog.LevelError
	}
	g.line(a, r, v, level)
}

func (g *Gate) line(a *answer, r *http.Request, v *visit, level slog.Level) {
	status := a.status
	if status == 0 {
		status = http.StatusOK
	}
	g.opt.Log.LogAttrs(r.Context(), level, "request", slog.String("id", v.id), slog.String("method", r.Method), slog.String("path", r.URL.Path),
		slog.Int("status", status), slog.Int64("bytes", a.bytes), slog.Duration("took", g.opt.Now().Sub(v.start)), slog.String("from", g.address(r).String()),
		slog.Int64("person", v.who.Person), slog.Int64("device", v.who.Device), slog.Bool("token", v.who.Token))
}

func newRequestID() string {
	b := make([]byte, 8)
	rand.Read(b)
	return hex.EncodeToString(b)
}

// plain refuses in plain text.
func plain(w http.ResponseWriter, _ *http.Request, status int, f *record.Fault) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	// The answer is on its way: whoever does not take it cannot be told.
	_, _ = w.Write([]byte(f.Error() + "\n"))
}

// answer counts what goes out.
type answer struct {
	http.ResponseWriter
	r      *http.Request
	body   io.Reader // of the request, without a bound
	status int
	bytes  int64
}

// Of a body that is too large so much more is read, and for so long, before it is answered: a sender that is cut off while it sends does not get
// to read why.
const (
	mostDrained = 256 << 20
	drainFor    = 10 * time.Second
)

// drain reads a body that nobody wants. A sender that asked first (Expect: 100-continue, RFC 9110 section 10.1.1) has not sent it.
func (a *answer) drain() {
	if a.body == nil || a.r.Header.Get("Expect") != "" {
		return
	}
	// A connection without deadlines (of a test) has its own end; one that breaks off, or goes on for longer, is closed by the server.
	_ = http.NewResponseController(a.ResponseWriter).SetReadDeadline(time.Now().Add(drainFor))
	_, _ = io.CopyN(io.Discard, a.body, mostDrained)
}

// WriteHeader notes the status.
func (a *answer) WriteHeader(status int) {
	if a.status == 0 && status >= 200 {
		a.status = status
		if status == http.StatusRequestEntityTooLarge {
			a.drain()
		}
	}
	a.ResponseWriter.WriteHeader(status)
}

// Write counts bytes.
func (a *answer) Write(p []byte) (int, error) {
	if a.status == 0 {
		a.status = http.StatusOK
	}
	n, err := a.ResponseWriter.Write(p)
	a.bytes += int64(n)
	return n, err
}

// Unwrap is for http.ResponseController.
func (a *answer) Unwrap() http.ResponseWriter { return a.ResponseWriter }

// Flush sends what was written, as an event stream needs it.
func (a *answer) Flush() {
	if f, ok := a.ResponseWriter.(http.Flusher); ok {
		if a.status == 0 {
			a.status = http.StatusOK
		}
		f.Flush()
	}
}
