package main

import (
	"context"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/internal/store"
	"github.com/evenstroke/evenstroke/internal/web"
)

// site is the program in this process: gate and pages over a store of n jobs, with one tablet signed in.
func site(b *testing.B) (http.Handler, pass, int) {
	n := 1000
	if text := os.Getenv("EVENSTROKE_JOBS"); text != "" {
		var err error
		if n, err = strconv.Atoi(text); err != nil {
			b.Fatal(err)
		}
	}
	where := filepath.Join(b.TempDir(), "workshop.db")
	if dir := os.Getenv("EVENSTROKE_LOAD"); dir != "" {
		where = filepath.Join(dir, "sqlite-"+strconv.Itoa(n), "workshop.db")
	}
	if dsn := os.Getenv("EVENSTROKE_DSN"); dsn != "" {
		where = dsn
	}
	ctx, stop := context.WithCancel(context.Background())
	st, err := store.Open(ctx, where, store.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		stop()
		if err := st.Close(); err != nil {
			b.Error(err)
		}
	})
	if err := fill(ctx, st, n, os.Stderr); err != nil {
		b.Fatal(err)
	}
	passes, err := signIn(ctx, st, 1)
	if err != nil {
		b.Fatal(err)
	}
	log := slog.New(slog.DiscardHandler)
	var pages *web.Server
	g := gate.New(st, gate.Options{Log: log, Rate: 1e9, Burst: 1e9, Background: web.Background, Refuse: func(w http.ResponseWriter, r *http.Request, status int, f *record.Fault) {
		pages.Refuse(w, r, status, f)
	}})
	if pages, err = web.New(ctx, web.Options{Shop: shop.New(st, version, time.Now), Gate: g, Log: log, URL: func() string { return "" }}); err != nil {
		b.Fatal(err)
	}
	return g.Wrap(pages), passes[0], n
}

// BenchmarkPages asks for each page of the mix, one after the other, without a network; and for all of them as they are mixed.
func BenchmarkPages(b *testing.B) {
	h, p, n := site(b)
	a := newAsker(n, rand.New(rand.NewPCG(1, 2)))
	for _, k := range kinds {
		b.Run(k.name, func(b *testing.B) { visit(b, h, p, a, func() *kind { return &k }) })
	}
	b.Run("mix", func(b *testing.B) { visit(b, h, p, a, a.pick) })
}

// visit asks b.N questions.
func visit(b *testing.B, h http.Handler, p pass, a *asker, pick func() *kind) {
	b.ReportAllocs()
	var bytes int
	began := cpu(os.Getpid())
	for range b.N {
		q := pick().ask(a)
		r := httptest.NewRequest(q.method, q.path, strings.NewReader(q.body))
		r.Host, r.RemoteAddr = "localhost", "127.0.0.1:4000"
		p.show(r.Header)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code >= 400 {
			b.Fatal(fmt.Sprint(q.method, " ", q.path, ": ", w.Code, " ", w.Body))
		}
		bytes += w.Body.Len()
	}
	b.ReportMetric(float64(bytes)/float64(b.N), "bytes/page")
	b.ReportMetric(float64((cpu(os.Getpid())-began).Microseconds())/float64(b.N), "cpu-µs/page") // others on the machine do not count
}
