package api

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
)

// rule is what a standard says of such an interface; its sections are cited from memory.
type rule struct {
	source string
	ok     func() bool
}

func keep(t *testing.T, rules []rule) {
	t.Helper()
	for _, r := range rules {
		if !r.ok() {
			t.Errorf("not kept: %s", r.source)
		}
	}
}

func note(text string) string { return `{"kind": "noted", "body": {"text": "` + text + `"}}` }

// TestConditions checks what RFC 9110 says of conditional requests.
func TestConditions(t *testing.T) {
	b := newBench(t)
	job := b.book()
	etag := b.do(call{method: "GET", path: job}).want(200).head.Get("ETag")
	keep(t, []rule{
		{"RFC 9110 section 8.8.3: an entity tag is an opaque quoted string, strong without W/", func() bool {
			return strings.HasPrefix(etag, `"`) && strings.HasSuffix(etag, `"`) && len(etag) > 2
		}},
		{"RFC 9110 section 13.1.2: If-None-Match that matches is answered 304", func() bool {
			return b.do(call{method: "GET", path: job, head: map[string]string{"If-None-Match": etag}}).status == 304
		}},
		{"RFC 9110 section 13.1.2: If-None-Match compares weakly", func() bool {
			return b.do(call{method: "GET", path: job, head: map[string]string{"If-None-Match": `"x", W/` + etag}}).status == 304
		}},
		{"RFC 9110 section 13.1.2: * matches whatever is there", func() bool {
			return b.do(call{method: "GET", path: job, head: map[string]string{"If-None-Match": "*"}}).status == 304
		}},
		{"RFC 9110 section 13.1.2: a tag that does not match gives the whole answer", func() bool {
			return b.do(call{method: "GET", path: job, head: map[string]string{"If-None-Match": `"1-0000000000000000"`}}).status == 200
		}},
		{"RFC 9110 section 15.4.5: 304 has the ETag and no body, and not its type", func() bool {
			a := b.do(call{method: "GET", path: job, head: map[string]string{"If-None-Match": etag}})
			return a.head.Get("ETag") == etag && len(a.body) == 0 && a.head.Get("Content-Type") == ""
		}},
		{"RFC 9110 section 13.1.1: If-Match compares strongly, so that a weak tag never matches; 412", func() bool {
			return b.do(call{method: "POST", path: job + "/entries", body: note("a"), head: map[string]string{"If-Match": "W/" + etag}}).status == 412
		}},
		{"RFC 9110 section 15.5.13: 412 when somebody wrote in between", func() bool {
			b.do(call{method: "POST", path: job + "/entries", body: note("b"), head: map[string]string{"If-Match": etag}}).want(201)
			a := b.do(call{method: "POST", path: job + "/entries", body: note("c"), head: map[string]string{"If-Match": etag}})
			return a.status == 412 && a.text("seq") == "2"
		}},
		{"RFC 9110 section 8.8.1: another state has another tag", func() bool {
			return b.do(call{method: "GET", path: job}).head.Get("ETag") != etag
		}},
		{"RFC 9110 section 13.1.1: * matches whatever is there", func() bool {
			return b.do(call{method: "POST", path: job + "/entries", body: note("d"), head: map[string]string{"If-Match": "*"}}).status == 201
		}},
		{"RFC 6585 section 3: 428 when a condition is needed and none was sent", func() bool {
			return b.do(call{method: "PUT", path: "/catalogue/customer/1", body: `{"name": "Ferry yard"}`}).status == 428
		}},
	})
}

// TestVerdictOnCondition: a verdict is made only of the job that its reader has seen (RFC 9110 section 13.1.1, from memory), as an entry is.
func TestVerdictOnCondition(t *testing.T) {
	b := newBench(t)
	job := b.book()
	b.reads(job, "as found")
	etag := func() string { return b.do(call{method: "GET", path: job}).head.Get("ETag") }
	judge := func(match, key string) *answer {
		return b.do(call{method: "POST", path: job + "/verdicts", body: `{"hold": "as found"}`, head: map[string]string{"If-Match": match, "Idempotency-Key": key}})
	}
	old := etag()
	b.do(call{method: "POST", path: job + "/entries", body: note("in between")}).want(201)
	now := etag()
	for name, match := range map[string]string{"stale": old, "weak": "W/" + now, "of another": `"1-0000000000000000"`} {
		if a := judge(match, "refused"); a.status != 412 || a.text("seq") != "5" || a.text("code") != "conflict" {
			t.Errorf("%s: %d %s", name, a.status, a.body)
		}
	}
	judge(`no tag`, "refused").want(422)
	if after := etag(); after != now {
		t.Error("something was written")
	}
	first := judge(now, "verdict").want(201)
	if again := judge(now, "verdict").want(201); again.text("seq") != first.text("seq") {
		t.Errorf("sent again: %s, first %s", again.body, first.body) // the job has gone on by the verdict itself
	}
	judge(now, "another").want(412)
	judge("*", "another").want(201)
	judge("", "third").want(201)
}

// TestVerdictsAtOnce: of many verdicts of what their readers have seen one is made; the rest are told that it is something else by now.
func TestVerdictsAtOnce(t *testing.T) {
	b := newBench(t)
	job := b.book()
	b.reads(job, "as found")
	etag := b.do(call{method: "GET", path: job}).head.Get("ETag")
	var wg sync.WaitGroup
	got := make([]*answer, 8)
	for i := range got {
		wg.Go(func() {
			got[i] = b.send(call{method: "POST", path: job + "/verdicts", body: `{"hold": "as found"}`, head: map[string]string{"If-Match": etag, "Idempotency-Key": fmt.Sprintf("key-%d", i)}})
		})
	}
	wg.Wait()
	made := 0
	for _, a := range got {
		switch a.status {
		case http.StatusCreated:
			made++
		case http.StatusPreconditionFailed:
		default:
			t.Errorf("status %d: %s", a.status, a.body)
		}
	}
	if made != 1 {
		t.Errorf("%d were made", made)
	}
}

// TestJobLists: a page is as long as it was asked to be, however few jobs fit, and the last has no next.
func TestJobLists(t *testing.T) {
	b := newBench(t)
	for i := range 9 {
		job := b.book()
		if i%2 == 1 {
			b.do(call{method: "POST", path: job + "/entries", body: `{"kind": "closed", "body": {"good": false, "reason": "scrapped"}}`}).want(201)
		}
	}
	b.reads("/jobs/3", "as found")
	b.reads("/jobs/7", "as found")
	for query, want := range map[string][]string{
		"open=true&limit=2": {"9 7", "5 3", "1"}, "open=false&limit=2": {"8 6", "4 2"}, "stage=as+found&limit=1": {"7", "3"}, "stage=closed&open=true": {""}, "stage=closed&limit=3": {"8 6 4", "2"},
		"q=ald-04&open=true&limit=3": {"9 7 5", "3 1"}, "pump=1&stage=as+found": {"7 3"}, "customer=1&open=false&limit=4": {"8 6 4 2"}, "limit=9": {"9 8 7 6 5 4 3 2 1"}, "stage=strip": {""},
	} {
		path := "/jobs?" + query
		for i, page := range want {
			got := b.do(call{method: "GET", path: path}).want(200)
			var n []string
			for _, j := range got.get("jobs").([]any) {
				n = append(n, fmt.Sprint(j.(map[string]any)["number"]))
			}
			link := got.head.Get("Link")
			if strings.Join(n, " ") != page || (link != "") != (i < len(want)-1) {
				t.Errorf("%s, page %d: %v, want %s; Link %q", query, i+1, n, page, link)
				break
			}
			target, _, _ := strings.Cut(strings.TrimPrefix(link, "<"), ">")
			path = strings.TrimPrefix(target, Prefix)
		}
	}
}

// TestStatuses checks what RFC 9110, 9457 and 8288 say of answers.
func TestStatuses(t *testing.T) {
	b := newBench(t)
	job := b.book()
	keep(t, []rule{
		{"RFC 9110 section 9.3.2: HEAD gives the header of GET without the body", func() bool {
			h, g := b.send(call{method: "HEAD", path: job}), b.send(call{method: "GET", path: job})
			return h.status == 200 && len(h.body) == 0 && h.head.Get("ETag") == g.head.Get("ETag") && h.head.Get("Content-Type") == g.head.Get("Content-Type")
		}},
		{"RFC 9110 section 10.2.2: Location of what was created, and it is there", func() bool {
			at := strings.TrimPrefix(b.do(call{method: "POST", path: "/catalogue/tool", body: `{"name": "rule", "sort": "ruler"}`}).want(201).head.Get("Location"), Prefix)
			return b.do(call{method: "GET", path: at}).status == 200
		}},
		{"RFC 9110 section 15.5.6: 405 names the methods in Allow", func() bool {
			a := b.send(call{method: "DELETE", path: job})
			return a.status == 405 && strings.Contains(a.head.Get("Allow"), "GET") && a.text("status") == "405"
		}},
		{"RFC 9110 section 15.5.5: 404 for an address that is none", func() bool { return b.send(call{method: "GET", path: "/nowhere"}).text("status") == "404" }},
		{"RFC 9110 section 15.5.16: 415 for a body of another type", func() bool {
			return b.do(call{method: "POST", path: job + "/entries", body: "a=b", kind: "application/x-www-form-urlencoded"}).status == 415
		}},
		{"RFC 9110 section 15.5.14: 413 for a body that is too large", func() bool {
			return b.do(call{method: "POST", path: "/jobs", body: "{" + strings.Repeat(" ", maxJSON) + "}"}).status == 413
		}},
		{"RFC 9457 section 3: type, title, status and detail; section 4.2.1: about:blank has the words of the status as its title; the media type is application/problem+json", func() bool {
			a := b.do(call{method: "GET", path: "/jobs/999"})
			return a.text("type") == "about:blank" && a.text("title") == http.StatusText(404) && a.text("status") == "404" && a.text("detail") != "" && a.head.Get("Content-Type") == "application/problem+json"
		}},
		{"RFC 8288 section 3: a Link is <target>; rel=\"next\", and leads to the next page", func() bool {
			b.book()
			a := b.do(call{method: "GET", path: "/jobs?limit=1"})
			link := a.head.Get("Link")
			target, ok := strings.CutSuffix(link, `>; rel="next"`)
			more := b.do(call{method: "GET", path: strings.TrimPrefix(target, "<"+Prefix)})
			return ok && more.status == 200 && more.text("jobs.0.number") == "1" && a.text("jobs.0.number") == "2"
		}},
	})
}

// TestTokens checks what RFC 6750 says of bearer tokens.
func TestTokens(t *testing.T) {
	b := newBench(t)
	job := b.book()
	keep(t, []rule{
		{"RFC 9110 section 11.6.1 and RFC 6750 section 3: 401 has WWW-Authenticate: Bearer, and no error when no token was sent", func() bool {
			a := b.do(call{method: "GET", path: job, token: "none"})
			w := a.head.Get("WWW-Authenticate")
			return a.status == 401 && strings.HasPrefix(w, "Bearer ") && !strings.Contains(w, "error")
		}},
		{`RFC 6750 section 3.1: a token that is not valid is answered 401 with error="invalid_token"`, func() bool {
			a := b.do(call{method: "GET", path: job, token: "es_no"})
			return a.status == 401 && strings.Contains(a.head.Get("WWW-Authenticate"), `error="invalid_token"`)
		}},
		{`RFC 6750 section 3.1: a token that may only read is answered 403 with error="insufficient_scope"`, func() bool {
			a := b.do(call{method: "POST", path: job + "/entries", body: note("e"), token: b.read})
			return a.status == 403 && strings.Contains(a.head.Get("WWW-Authenticate"), `error="insufficient_scope", scope="write"`)
		}},
		{"RFC 6750 section 2.3: a token in the address counts for nothing here", func() bool {
			return b.send(call{method: "GET", path: job + "?access_token=" + b.read, token: "none"}).status == 401
		}},
	})
}

// TestCookies: who is signed in on a page is nobody here.
func TestCookies(t *testing.T) {
	b := newBench(t)
	for _, who := range []gate.Who{{Person: 1, Device: 1, P: record.Person{Role: record.Owner}}, {}} {
		r, err := http.NewRequestWithContext(gate.With(context.Background(), who), http.MethodGet, Prefix+"/me", nil)
		if err != nil {
			t.Fatal(err)
		}
		w := &taken{header: http.Header{}}
		b.api.ServeHTTP(w, r)
		if w.status != 401 {
			t.Errorf("%+v: status %d", who, w.status)
		}
	}
}

// taken keeps an answer.
type taken struct {
	header http.Header
	status int
	body   []byte
}

func (k *taken) Header() http.Header { return k.header }

func (k *taken) Write(p []byte) (int, error) {
	if k.status == 0 {
		k.status = 200
	}
	k.body = append(k.body, p...)
	return len(p), nil
}

func (k *taken) WriteHeader(s int) { k.status = s }

// TestSentTwice: what is sent again under its key is taken once and answered with the same words, one after the other and all at once.
func TestSentTwice(t *testing.T) {
	b := newBench(t)
	job := b.book()
	b.reads(job, "as found")
	for i, c := range []call{
		{method: "POST", path: "/jobs", body: booking},
		{method: "POST", path: job + "/entries", body: `{"kind": "noted", "body": {"text": "once"}}`},
		{method: "POST", path: job + "/entries", body: `{"kind": "found", "body": {"part": "cylinder", "text": "scored"}}`},
		{method: "POST", path: job + "/verdicts", body: `{"hold": "as found"}`},
		{method: "POST", path: job + "/photos", body: picturePNG(t), kind: "image/png"},
		{method: "POST", path: "/catalogue/customer", body: `{"name": "Tarn quarry"}`},
	} {
		c.head = map[string]string{"Idempotency-Key": fmt.Sprintf("key-%d", i)}
		first := b.do(c).want(201)
		last, err := b.st.Last(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		if again := b.do(c).want(201); string(again.body) != string(first.body) {
			t.Errorf("%s: first %s, again %s", c.path, first.body, again.body)
		}
		if now, err := b.st.Last(context.Background()); err != nil || now != last {
			t.Errorf("%s: sent twice it was written twice (%v)", c.path, err)
		}
		b.atOnce(c, fmt.Sprintf("key-%d-many", i))
	}
	// the job has gone on: what was taken before is still answered as it was
	b.do(call{method: "POST", path: job + "/entries", body: `{"kind": "closed", "body": {"good": false, "reason": "scrapped"}}`}).want(201)
	b.do(call{method: "POST", path: job + "/entries", body: `{"kind": "found", "body": {"part": "cylinder", "text": "scored"}}`, head: map[string]string{"Idempotency-Key": "key-2"}}).want(201)
	b.do(call{method: "POST", path: job + "/entries", body: `{"kind": "found", "body": {"part": "cylinder", "text": "other"}}`, head: map[string]string{"Idempotency-Key": "key-2"}}).want(409)
	b.do(call{method: "POST", path: job + "/entries", body: `{"kind": "noted", "body": {"text": "x"}, "key": "a"}`, head: map[string]string{"Idempotency-Key": "b"}}).want(422)
	b.do(call{method: "POST", path: job + "/entries", body: `{"kind": "noted", "body": {"text": "x"}, "key": "a"}`, head: map[string]string{"Idempotency-Key": `"a"`}}).want(201)
	r, err := b.st.Verify(context.Background())
	if err != nil || !r.Sound() {
		t.Errorf("%v %+v", err, r)
	}
}

// TestOneOfMany: of many who have seen the same state, one writes; the others are told so, whichever check they fail. Who sends again
// what was taken is answered as at first.
func TestOneOfMany(t *testing.T) {
	b := newBench(t)
	job := b.book()
	etag := b.do(call{method: "GET", path: job}).want(200).head.Get("ETag")
	var wg sync.WaitGroup
	got := make([]*answer, 16)
	for i := range got {
		wg.Go(func() {
			got[i] = b.send(call{method: "POST", path: job + "/entries", body: note(fmt.Sprint("by ", i)), head: map[string]string{"If-Match": etag, "Idempotency-Key": fmt.Sprint("many-", i)}})
		})
	}
	wg.Wait()
	taken := 0
	for i, a := range got {
		switch a.status {
		case 201:
			taken++
			again := b.do(call{method: "POST", path: job + "/entries", body: note(fmt.Sprint("by ", i)), head: map[string]string{"If-Match": etag, "Idempotency-Key": fmt.Sprint("many-", i)}}).want(201)
			if string(again.body) != string(a.body) {
				t.Errorf("first %s, again %s", a.body, again.body)
			}
		case 412:
		default:
			t.Errorf("status %d: %s", a.status, a.body)
		}
	}
	if taken != 1 {
		t.Errorf("%d wrote", taken)
	}
}

// atOnce sends a request from eight readers at once under one key.
func (b *bench) atOnce(c call, key string) {
	b.t.Helper()
	if strings.Contains(c.path, "verdicts") || strings.Contains(c.path, "photos") {
		c.body = strings.Replace(c.body, "}", ` , "at": "2027-03-01T08:00:00Z"}`, 1)
	}
	if c.kind == "image/png" {
		c.body = picturePNG(b.t)
	}
	c.head = map[string]string{"Idempotency-Key": key}
	var wg sync.WaitGroup
	got := make([]*answer, 8)
	for i := range got {
		wg.Go(func() { got[i] = b.send(c) })
	}
	wg.Wait()
	for _, a := range got {
		if a.status != 201 || string(a.body) != string(got[0].body) {
			b.t.Errorf("%s: at once %d %s, and %d %s", c.path, got[0].status, got[0].body, a.status, a.body)
			return
		}
	}
}

// TestDue: an answer that takes too long says so instead of hanging.
func TestDue(t *testing.T) {
	b := newBench(t)
	ctx, cancel := context.WithTimeout(gate.With(context.Background(), gate.Who{Person: 1, Token: true, Scope: "read", P: record.Person{Role: record.Office}}), time.Nanosecond)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, Prefix+"/jobs", nil)
	if err != nil {
		t.Fatal(err)
	}
	w := &taken{header: http.Header{}}
	b.api.ServeHTTP(w, r)
	if w.status != 503 {
		t.Errorf("status %d: %s", w.status, w.body)
	}
}
