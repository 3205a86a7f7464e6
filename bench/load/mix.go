package main

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/url"
	"slices"
	"time"
)

// question is one request of a tablet.
type question struct{ method, path, body string }

// kind is one kind of question, asked with a share of all.
type kind struct {
	name  string
	share int // per cent
	ask   func(a *asker) question
}

// kinds is the mix. Half of the open jobs are
// written to, the other half is looked at (analysed), so that what is written in a run does not change what an analysis costs.
var kinds = []kind{
	{"board", 30, func(*asker) question { return get("/") }},
	{"job", 25, func(a *asker) question { return get(fmt.Sprintf("/jobs/%d", a.any())) }},
	{"search", 15, func(a *asker) question { return get("/search?q=" + url.QueryEscape(a.words())) }},
	{"hold", 10, func(a *asker) question { return get(fmt.Sprintf("/jobs/%d/found", a.any())) }},
	{"entry", 15, func(a *asker) question { return a.entry() }},
	{"look", 5, func(a *asker) question { return get(fmt.Sprintf("/jobs/%d/look?hold=as+found", a.read())) }},
}

// aloneKinds is what one tablet alone asks for: the mix, and a search that shows a full page whether there are many jobs or few.
func aloneKinds() []kind {
	common := []string{"creeps stall", "paint wet cup", "drips throat", "knocks changeover", "overhaul season", "torn strainer"}
	return append(slices.Clone(kinds), kind{"search that finds 25", 0, func(a *asker) question { return get("/search?q=" + url.QueryEscape(common[a.r.IntN(len(common))])) }})
}

// lanes is what a page of the board asks for when it hears that something was written. It is no part of the mix: it comes on top.
const lanes = "lanes"

func get(path string) question { return question{http.MethodGet, path, ""} }

// asker thinks of what one tablet asks next.
type asker struct {
	n, open int
	r       *rand.Rand
	own     int    // the job that is worked at
	watch   string // that runs at the tablet, "" when none does
	job     int    // of the watch
	elapsed int64
	marks   int
}

func newAsker(n int, r *rand.Rand) *asker { return &asker{n: n, open: openJobs(n), r: r} }

// pick draws a kind by its share.
func (a *asker) pick() *kind {
	x := a.r.IntN(100)
	for i := range kinds {
		if x -= kinds[i].share; x < 0 {
			return &kinds[i]
		}
	}
	return &kinds[0]
}

// inShop is an open job; of a rest of 0 it is one that is written to.
func (a *asker) inShop(rest int) int {
	i := a.r.IntN(a.open/2)*2 + rest
	return a.n - a.open + i + 1
}

// any is the job that is worked at, for twenty questions on average; one time in four any job there ever was.
func (a *asker) any() int {
	if a.r.IntN(4) == 0 {
		return a.r.IntN(a.n) + 1
	}
	if a.own == 0 || a.r.IntN(20) == 0 {
		a.own = a.inShop(a.r.IntN(2))
	}
	return a.own
}

// read is an open job whose hold has readings.
func (a *asker) read() int {
	for {
		if n := a.inShop(1); (n-1)%7 != 0 {
			return n
		}
	}
}

// words are what somebody types into the search: a number on a tag, a serial, part of one, a customer, words of a complaint.
func (a *asker) words() string {
	switch a.r.IntN(8) {
	case 0:
		return fmt.Sprint(a.any())
	case 1, 2:
		return serial(int64(a.r.IntN(pumps)) + 1)
	case 3:
		return fmt.Sprintf("ald-0%d", a.r.IntN(50))
	case 4:
		return customerName(int64(a.r.IntN(customers)) + 1)
	case 5:
		return "creeps stall" // common: in one job of six
	case 6:
		return places[a.r.IntN(len(places))][:3]
	}
	return fmt.Sprintf("%s wet cup", places[a.r.IntN(len(places))])
}

// entry is the next thing written down: two of three times a press of a watch, else a reading.
func (a *asker) entry() question {
	if a.watch == "" && a.r.IntN(3) == 0 {
		n := a.inShop(0)
		return post(n, "read", map[string]any{"hold": "as found", "reading": json.RawMessage(a.reading(n))})
	}
	if a.watch == "" {
		a.watch, a.job, a.elapsed, a.marks = fmt.Sprintf("w%x", a.r.Uint32()), a.inShop(0), 0, a.r.IntN(4)
		return a.press("start", map[string]any{"stroke": "up", "locked": true, "pressure": a.bar(140)})
	}
	a.elapsed += int64(2000 + a.r.IntN(8000))
	if a.marks--; a.marks < 0 {
		q := a.press("end", map[string]any{"pressure": a.bar(60)})
		a.watch = ""
		return q
	}
	return a.press("mark", map[string]any{"pressure": a.bar(100)})
}

// bar is a pressure as the gauge shows it, in steps of 5 bar.
func (a *asker) bar(from int) string { return fmt.Sprintf("%d bar", from+5*a.r.IntN(5)) }

// reading is one that the pump of a job can have.
func (a *asker) reading(job int) string {
	g := given[modelOf(job-1)]
	return g.readings[a.r.IntN(len(g.readings))][0]
}

func (a *asker) press(key string, body map[string]any) question {
	body["hold"], body["watch"], body["press"], body["elapsed_ms"] = "as found", a.watch, key, a.elapsed
	return post(a.job, "pressed", body)
}

func post(job int, kind string, body map[string]any) question {
	text, err := json.Marshal(map[string]any{"key": secret(), "at": time.Now().UTC(), "kind": kind, "body": body})
	if err != nil {
		panic(err) // texts and numbers of this file
	}
	return question{http.MethodPost, fmt.Sprintf("/jobs/%d/entries", job), string(text)}
}

// show puts on a request what the browser of a tablet puts there.
func (p pass) show(h http.Header) {
	h.Set("Cookie", "es_device="+p.device+"; es_session="+p.session)
	h.Set("Accept", "text/html,application/json")
	h.Set("Accept-Encoding", "gzip")
	h.Set("Sec-Fetch-Site", "same-origin")
}
