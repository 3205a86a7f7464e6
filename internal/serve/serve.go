package serve

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"os"
	"runtime"
	"runtime/debug"
	"strconv"
	"sync"
	"time"

	"github.com/evenstroke/evenstroke/internal/api"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/localca"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/internal/store"
	"github.com/evenstroke/evenstroke/internal/web"
)

// Times of a connection. A stream of events extends its own.
const (
	readHeader = 10 * time.Second
	readAll    = 2 * time.Minute
	writeAll   = 2 * time.Minute
	idleConn   = 2 * time.Minute
	graceful   = 10 * time.Second
)

// maxBody is the size of the largest request, an archive of a job; every address has a lower limit of its own.
const maxBody = 201 << 20

// heapGrowth is by how much the heap grows, in per cent of what is in use, before it is cleaned up. What is in use is small and each page
// makes some 0.5 MB that is soon not needed any more: a third of the clean-ups of the default's 100 costs some 100 MB under load.
const heapGrowth = 300

// heapLimit is from how much memory on it is cleaned up sooner, whatever the growth: pictures make much that is soon not needed any more.
const heapLimit = 768 << 20

// workshop is all that serves one shop.
type workshop struct {
	cfg     Config
	version string
	out     io.Writer
	log     *slog.Logger
	st      *store.Store
	shop    *shop.Shop
	ca      *localca.Authority
	tls     *tls.Config
	idle    time.Duration
	metrics *metrics
	now     func() time.Time
	plain   string // of the plain port that leads to it, "" when there is none
	address string // of HTTPS on the network, "" while nobody else can reach it
	heads   *witness
	inPart  bool // the records were not checked as a whole when they were opened
	mu      sync.Mutex

	certificateSaid string // the last trouble of the certificates that the log told of
}

// Run serves a workshop until ctx ends, then lets what is under way finish. What a person at the terminal needs to know goes to
// out, the log to logTo.
func Run(ctx context.Context, cfg Config, version string, out, logTo io.Writer) error {
	if err := cfg.check(); err != nil {
		return err
	}
	frugal()
	runtime.GOMAXPROCS(runtime.GOMAXPROCS(0) + shop.Desks()) // an analysis stands back in a thread that takes no place of the others
	w := &workshop{cfg: cfg, version: version, out: out, log: logger(cfg, logTo), metrics: newMetrics(), now: cfg.Now}
	if w.now == nil {
		w.now = time.Now
	}
	var err error
	if w.idle, err = cfg.idle(); err != nil {
		return err
	}
	if err := w.open(ctx); err != nil {
		return err
	}
	w.shop = shop.New(w.st, version, w.now)
	w.metrics.watch(w.st)
	if w.heads, err = w.openWitness(); err != nil {
		return errors.Join(err, w.st.Close())
	}
	stopped := w.stops(ctx)
	err = w.run(ctx)
	if w.heads != nil {
		w.heads.write(context.WithoutCancel(ctx))
	}
	err = errors.Join(err, w.st.Close())
	stopped(err)
	return err
}

// frugal bounds the memory of the process, unless its environment does (GOGC, GOMEMLIMIT).
func frugal() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(heapGrowth)
	}
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(heapLimit)
	}
}

func logger(cfg Config, to io.Writer) *slog.Logger {
	if cfg.LogJSON {
		return slog.New(slog.NewJSONHandler(to, nil))
	}
	return slog.New(slog.NewTextHandler(to, nil))
}

func (w *workshop) run(ctx context.Context) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	if w.cfg.Demo {
		if err := w.demo(ctx); err != nil {
			return err
		}
	}
	here, err := net.Listen("tcp", w.cfg.Listen)
	if err != nil {
		return busy("listen", w.cfg.Listen, err)
	}
	handler, g, err := w.site(ctx, false)
	if err != nil {
		return errors.Join(err, here.Close())
	}
	if err := w.greet(ctx, g, here.Addr()); err != nil {
		return errors.Join(err, here.Close())
	}
	w.listens("this machine", "http://"+here.Addr().String())
	group := &group{ctx: ctx, stop: stop, log: w.log}
	group.serve(here, handler, nil)
	if w.heads != nil {
		group.goes(func() error { w.heads.run(ctx); return nil })
	}
	if w.inPart {
		group.goes(func() error { return w.checkRest(ctx) })
	}
	if w.cfg.LAN != "" {
		group.goes(func() error { return w.network(ctx, group, g) })
	}
	return group.wait()
}

// greet says where the workshop is. For a demo workshop it makes a code that lets the first browser in.
func (w *workshop) greet(ctx context.Context, g *gate.Gate, at net.Addr) error {
	if !w.cfg.Demo {
		fmt.Fprintf(w.out, "On this machine: http://%s\n", at)
		return nil
	}
	i, err := w.st.Item(ctx, record.Subject{Kind: record.OfPerson, ID: 1})
	if err != nil {
		return err
	}
	code, _, err := g.MakeCode(ctx, gate.Who{Person: 1, P: *i.Value.(*record.Person), Since: w.now()})
	if err != nil {
		return err
	}
	fmt.Fprintf(w.out, "The demo workshop (all invented): http://%s/let-in#%s\nEverybody's PIN is %s.\n", at, code, DemoPIN)
	return nil
}

func busy(what, address string, err error) error {
	return &record.Fault{Code: record.Invalid, Where: what + " " + address, Found: err.Error(), Want: "an address that is free", Mend: "stop the other program, or give another address", Err: err}
}

// site puts the gate before the pages and the API.
func (w *workshop) site(ctx context.Context, secure bool) (http.Handler, *gate.Gate, error) {
	var pages *web.Server
	var hosts []string
	if w.cfg.Name != "" {
		hosts = append(hosts, w.cfg.Name)
	}
	proxies, err := w.cfg.proxies()
	if err != nil {
		return nil, nil, err
	}
	g := gate.New(w.st, gate.Options{Now: w.now, Secure: secure, Log: w.log, Idle: w.idle, Hosts: hosts, Proxies: proxies, MaxBody: maxBody, Background: web.Background,
		Refuse: func(rw http.ResponseWriter, r *http.Request, status int, f *record.Fault) {
			pages.Refuse(rw, r, status, f)
		}})
	rest, err := api.New(w.shop, w.log)
	if err != nil {
		return nil, nil, err
	}
	opt := web.Options{API: rest, Shop: w.shop, Gate: g, CA: w.ca, URL: w.url, Plain: w.plainURL, Log: w.log, Ails: w.ails}
	opt.Seed = func(ctx context.Context) error { return Seed(ctx, w.shop) }
	if pages, err = web.New(ctx, opt); err != nil {
		return nil, nil, err
	}
	h := w.metrics.count(pages)
	if !secure {
		h = w.metrics.offer(h, g)
	}
	return g.Wrap(h), g, nil
}

// ails lists what ails the server besides its store.
func (w *workshop) ails() []store.Trouble {
	var out []store.Trouble
	if err := w.heads.trouble(); err != nil {
		out = append(out, store.Trouble{Code: web.Heads, Err: err})
	}
	if err := w.certificateTrouble(); err != nil {
		out = append(out, store.Trouble{Code: web.Certificate, Err: err})
	}
	return out
}

// certificateTrouble is what ails the shop's own certificates; the log says so when it changes.
func (w *workshop) certificateTrouble() error {
	if w.ca == nil {
		return nil
	}
	err, text := w.ca.Trouble(), ""
	if err != nil {
		text = err.Error()
	}
	w.mu.Lock()
	changed := text != w.certificateSaid
	w.certificateSaid = text
	w.mu.Unlock()
	if changed && err != nil {
		w.log.Warn("the certificates of the shop want mending", "err", err)
	}
	return err
}

// plainURL is the page on the plain port on which a tablet that trusts nothing yet learns to; "" when there is none.
func (w *workshop) plainURL() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.plain
}

// url is the address under which tablets reach the shop.
func (w *workshop) url() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.address != "" {
		return w.address
	}
	return "http://" + w.cfg.Listen
}

// network waits until somebody can sign in, then listens on the workshop's network.
func (w *workshop) network(ctx context.Context, group *group, g *gate.Gate) error {
	for {
		up, err := g.IsSetUp(ctx)
		if err != nil {
			return ctxErr(ctx, err)
		}
		if up {
			break
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(time.Second):
		}
	}
	if err := w.certificates(); err != nil {
		return err
	}
	l, err := net.Listen("tcp", w.cfg.LAN)
	if err != nil {
		return busy("lan", w.cfg.LAN, err)
	}
	w.announce(l.Addr())
	handler, _, err := w.site(ctx, true)
	if err != nil {
		return errors.Join(err, l.Close())
	}
	group.serve(l, handler, w.tls)
	if w.cfg.Trust == "" {
		return nil
	}
	plain, err := net.Listen("tcp", w.cfg.Trust)
	if err != nil { // a convenience: the page is reached by HTTPS too, past a warning
		w.log.Warn("the plain port that leads to HTTPS is not free", "address", w.cfg.Trust, "err", err)
		return nil
	}
	w.listens("the workshop's network, leads to HTTPS", "http://"+plain.Addr().String())
	if u, err := url.Parse(w.url()); err == nil {
		w.mu.Lock()
		w.plain = "http://" + net.JoinHostPort(u.Hostname(), strconv.Itoa(plain.Addr().(*net.TCPAddr).Port)) + "/trust"
		w.mu.Unlock()
	}
	group.serve(plain, w.trustOnly(handler), nil)
	return nil
}

func ctxErr(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return nil
	}
	return err
}

func (w *workshop) certificates() error {
	if w.cfg.Cert != "" {
		f, err := localca.FromFiles(w.cfg.Cert, w.cfg.Key, w.now)
		if err != nil {
			return err
		}
		w.tls = f.Config()
		return nil
	}
	ca, err := localca.Open(authorityDir(w.cfg.Data), w.now)
	if err != nil {
		return err
	}
	w.ca = ca
	w.tls = ca.Config(func() []string {
		if w.cfg.Name != "" {
			return []string{w.cfg.Name}
		}
		return nil
	})
	return nil
}

// announce says under which addresses tablets reach the shop.
func (w *workshop) announce(at net.Addr) {
	port := at.(*net.TCPAddr).Port
	var names []string
	if w.cfg.Name != "" {
		names = append(names, w.cfg.Name)
	}
	if host, _, err := net.SplitHostPort(w.cfg.LAN); err == nil && host != "" && net.ParseIP(host) != nil && !net.ParseIP(host).IsUnspecified() {
		names = append(names, host)
	}
	if len(names) == 0 {
		found, err := localca.Addresses()
		if err != nil {
			w.log.Warn("the addresses of this machine could not be found out", "err", err)
		}
		for _, a := range found {
			names = append(names, a.String())
		}
	}
	if len(names) == 0 {
		names = []string{"localhost"}
	}
	w.mu.Lock()
	w.address = "https://" + net.JoinHostPort(names[0], fmt.Sprint(port))
	w.mu.Unlock()
	for _, n := range names {
		url := "https://" + net.JoinHostPort(n, fmt.Sprint(port))
		fmt.Fprintf(w.out, "On the workshop's network: %s\n", url)
		w.listens("the workshop's network", url)
	}
}

// group runs servers until the context ends or one of them fails.
type group struct {
	ctx  context.Context
	stop context.CancelFunc
	log  *slog.Logger
	wg   sync.WaitGroup
	mu   sync.Mutex
	errs []error
}

func (g *group) goes(fn func() error) {
	g.wg.Add(1)
	go func() {
		defer g.wg.Done()
		if err := fn(); err != nil {
			g.mu.Lock()
			g.errs = append(g.errs, err)
			g.mu.Unlock()
			g.stop()
		}
	}()
}

func (g *group) serve(l net.Listener, h http.Handler, conf *tls.Config) {
	// requests hear that the server ends, so that streams of events close and the rest can finish
	base, end := context.WithCancel(context.WithoutCancel(g.ctx))
	srv := &http.Server{Handler: h, TLSConfig: conf, ReadHeaderTimeout: readHeader, ReadTimeout: readAll, WriteTimeout: writeAll, IdleTimeout: idleConn,
		MaxHeaderBytes: 32 << 10, BaseContext: func(net.Listener) context.Context { return web.WithEnd(base, g.ctx.Done()) }, ErrorLog: slog.NewLogLogger(g.log.Handler(), slog.LevelInfo)}
	g.goes(func() error {
		var err error
		if conf != nil {
			err = srv.ServeTLS(l, "", "")
		} else {
			err = srv.Serve(l)
		}
		if errors.Is(err, http.ErrServerClosed) {
			return nil
		}
		return err
	})
	g.goes(func() error {
		defer end()
		<-g.ctx.Done()
		ctx, cancel := context.WithTimeout(context.Background(), graceful)
		defer cancel()
		if err := srv.Shutdown(ctx); err != nil {
			return srv.Close()
		}
		return nil
	})
}

func (g *group) wait() error {
	g.wg.Wait()
	return errors.Join(g.errs...)
}
