package serve

import (
	"net/http"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/store"
)

// metrics counts what is answered and how fast, in the text format that monitors read. Nothing about the shop stands in it.
type metrics struct {
	reg      *prometheus.Registry
	answers  *prometheus.CounterVec
	duration *prometheus.HistogramVec
}

func newMetrics() *metrics {
	m := &metrics{
		reg:      prometheus.NewRegistry(),
		answers:  prometheus.NewCounterVec(prometheus.CounterOpts{Name: "evenstroke_answers_total", Help: "Requests answered."}, []string{"route", "status"}),
		duration: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "evenstroke_answer_seconds", Help: "Time to answer.", Buckets: []float64{.001, .002, .005, .01, .02, .05, .1, .2, .5, 1, 5}}, []string{"route"}),
	}
	m.reg.MustRegister(m.answers, m.duration, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// watch adds figures of the store.
func (m *metrics) watch(st *store.Store) {
	m.reg.MustRegister(prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "evenstroke_clock_behind_seconds", Help: "By how much the clock is behind the newest entry."},
		func() float64 { return st.ClockBehind().Seconds() }))
}

type statusWriter struct {
	http.ResponseWriter
	status int
}

func (w *statusWriter) WriteHeader(code int) {
	if w.status == 0 {
		w.status = code
	}
	w.ResponseWriter.WriteHeader(code)
}

// Unwrap lets a stream flush.
func (w *statusWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }

func (m *metrics) count(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		sw := &statusWriter{ResponseWriter: w}
		begin := time.Now()
		next.ServeHTTP(sw, r)
		if sw.status == 0 {
			sw.status = http.StatusOK
		}
		m.answers.WithLabelValues(r.Pattern, strconv.Itoa(sw.status)).Inc()
		m.duration.WithLabelValues(r.Pattern).Observe(time.Since(begin).Seconds())
	})
}

// offer answers /metrics to programs on the machine itself.
func (m *metrics) offer(next http.Handler, g *gate.Gate) http.Handler {
	h := promhttp.HandlerFor(m.reg, promhttp.HandlerOpts{})
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/metrics" && g.FromHere(r) {
			h.ServeHTTP(w, r)
			return
		}
		next.ServeHTTP(w, r)
	})
}
