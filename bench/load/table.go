package main

import (
	"fmt"
	"io"
	"runtime"
	"strings"
	"time"
)

// names are the kinds of requests in the order of the tables.
func names() []string {
	var out []string
	for _, k := range kinds {
		out = append(out, k.name)
	}
	return append(out, lanes)
}

// columns heads a table with a column for each place.
func columns(w io.Writer, first string, all []*result) {
	fmt.Fprintf(w, "\n| %s |", first)
	for _, r := range all {
		fmt.Fprintf(w, " %s, %s |", r.engine, thousands(r.jobs))
	}
	fmt.Fprintf(w, "\n|---|%s\n", strings.Repeat("---|", len(all)))
}

func row(w io.Writer, first string, all []*result, cell func(r *result) string) {
	fmt.Fprintf(w, "| %s |", first)
	for _, r := range all {
		fmt.Fprintf(w, " %s |", cell(r))
	}
	fmt.Fprintln(w)
}

// report writes what was measured as Markdown.
func report(w io.Writer, o options, all []*result) error {
	fmt.Fprintf(w, "%d processors, %d tablets. Times in ms: p50 / p95 / p99 / greatest.\n", runtime.NumCPU(), tablets)
	columns(w, fmt.Sprintf("thinking %s on average, %s", o.think, o.long), all)
	latencies(w, all, func(r *result) *load { return r.calm })
	columns(w, "without thinking (saturation)", all)
	latencies(w, all, func(r *result) *load { return r.full })
	columns(w, "one tablet alone, p50 in ms", all)
	for _, k := range aloneKinds() {
		row(w, k.name, all, func(r *result) string { return millis(quantile(r.alone.seen[k.name], 0.5)) })
	}
	columns(w, fmt.Sprintf("p50 alone over that of %s jobs", thousands(o.jobs[0])), all)
	for _, k := range aloneKinds() {
		row(w, k.name, all, func(r *result) string { return ratio(r, all, k.name) })
	}
	columns(w, "the program", all)
	row(w, "start to first page, ms: p50 / greatest", all, func(r *result) string {
		return millis(quantile(r.starts, 0.5)) + " / " + millis(quantile(r.starts, 1))
	})
	row(w, "memory idle / under load / saturated, MB", all, func(r *result) string {
		return fmt.Sprintf("%d / %d / %d", r.idle>>20, r.calm.peak>>20, r.full.peak>>20)
	})
	for _, page := range wirePages {
		row(w, "first load of "+page+", kB", all, func(r *result) string { return fmt.Sprintf("%.0f", float64(r.wire[page])/1e3) })
	}
	row(w, "binary, MB", all, func(r *result) string { return fmt.Sprintf("%.1f", float64(r.binary)/1e6) })
	return nil
}

func latencies(w io.Writer, all []*result, of func(*result) *load) {
	for _, name := range names() {
		row(w, name, all, func(r *result) string {
			d := of(r).seen[name]
			if len(d) == 0 {
				return "–"
			}
			return strings.Join([]string{millis(quantile(d, .5)), millis(quantile(d, .95)), millis(quantile(d, .99)), millis(d[len(d)-1])}, " / ")
		})
	}
	row(w, "requests a second (failed)", all, func(r *result) string {
		l := of(r)
		return fmt.Sprintf("%.0f (%d)", float64(l.asked)/l.long.Seconds(), len(l.failed))
	})
	row(w, "processors: program + database + tablets, others, stolen", all, func(r *result) string {
		l := of(r)
		part := func(d time.Duration) float64 { return d.Seconds() / l.long.Seconds() }
		return fmt.Sprintf("%.2f + %.2f + %.2f, %.2f, %.2f", part(l.server), part(l.db), part(l.tablets), part(l.strange), part(l.stolen))
	})
	row(w, "program, ms a request", all, func(r *result) string {
		l := of(r)
		return fmt.Sprintf("%.2f", 1e3*(l.server+l.db).Seconds()/float64(max(1, l.asked)))
	})
}

// ratio compares with the first size on the same engine.
func ratio(r *result, all []*result, name string) string {
	for _, base := range all {
		if base.engine == r.engine {
			return fmt.Sprintf("%.2f", float64(quantile(r.alone.seen[name], 0.5))/float64(quantile(base.alone.seen[name], 0.5)))
		}
	}
	return "–"
}

func millis(d time.Duration) string {
	ms := float64(d) / 1e6
	if ms < 10 {
		return fmt.Sprintf("%.1f", ms)
	}
	return fmt.Sprintf("%.0f", ms)
}

func thousands(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}
