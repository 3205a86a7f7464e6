package api

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"github.com/evenstroke/evenstroke/schema"
)

// TestOperations does every operation of the document at least once with success, as a program would.
func TestOperations(t *testing.T) {
	b := newBench(t)
	b.do(call{method: "GET", path: "/me"}).want(200)
	job := b.book()
	n := strings.TrimPrefix(job, "/jobs/")
	b.jobs(job, n)
	b.holds(job)
	b.files(job)
	b.catalogue()
	ch := b.do(call{method: "GET", path: "/changes?limit=3"}).want(200)
	if ch.head.Get("Link") == "" || ch.text("last") != "3" {
		t.Errorf("changes: %s %s", ch.head, ch.body)
	}
	b.wrongPINs()
	b.stream()
	for path, item := range b.doc["paths"].(map[string]any) {
		for method, op := range item.(map[string]any) {
			id := dig(op, "operationId").(string)
			ok := false
			for status := range b.done[id] {
				ok = ok || status[0] == '2'
			}
			if !ok {
				t.Errorf("%s %s (%s) was never done: %v", method, path, id, b.done[id])
			}
		}
	}
}

// wrongPINs are told to programs of the office; programs go on whatever was typed.
func (b *bench) wrongPINs() {
	b.t.Helper()
	if a := b.do(call{method: "GET", path: "/wrong-pins"}).want(200); !strings.Contains(string(a.body), `"wrong_pins":[]`) {
		b.t.Errorf("%s", a.body)
	}
	for range 3 {
		if err := b.st.WrongPIN(context.Background(), 1, 1); err != nil {
			b.t.Fatal(err)
		}
	}
	a := b.do(call{method: "GET", path: "/wrong-pins", token: b.read}).want(200)
	if a.text("wrong_pins.0.person") != "1" || a.text("wrong_pins.0.device") != "1" || a.text("wrong_pins.0.count") != "3" {
		b.t.Errorf("%s", a.body)
	}
}

func (b *bench) jobs(job, n string) {
	b.t.Helper()
	add := func(body string) *answer { return b.do(call{method: "POST", path: job + "/entries", body: body}) }
	first := add(`{"kind": "noted", "body": {"text": "drips from the throat"}, "key": "note-1", "at": "2027-03-01T08:00:00Z"}`).want(201)
	if first.text("seq") != "2" || first.text("body.text") != "drips from the throat" || first.text("at") != "2027-03-01T08:00:00Z" {
		b.t.Errorf("an entry: %s", first.body)
	}
	add(`{"kind": "noted", "body": {"text": "drips from the throat nut"}, "corrects": 2}`).want(201)
	add(`{"kind": "found", "body": {"part": "piston rod", "text": "scored"}}`)
	add(`{"kind": "noted", "body": {"text": "to be struck"}}`).want(201)
	last := add(`{"kind": "noted", "body": {"text": "x"}}`).want(201).text("seq")
	add(`{"kind": "struck", "body": {"seq": ` + last + `, "reason": "typed in the wrong job"}}`).want(201)
	right := `{"kind": "booked", "corrects": 1, "key": "right", "body": {"customer": 0, "customer_name": "Ferry yard, deck gang", "pump": 0, "serial": "ALD-0417", "model": "orrin-30", "sheet": 0, "complaint": "surges"}}`
	if a := add(right).want(201); a.text("body.customer") == "0" || a.text("body.pump") != "1" || string(a.body) != string(add(right).want(201).body) {
		b.t.Errorf("the booking corrected: %s", a.body)
	}
	add(strings.Replace(right, `"corrects": 1, `, "", 1)).want(409)
	if h := b.send(call{method: "HEAD", path: "/events"}); h.status != 200 || h.head.Get("Content-Type") != "text/event-stream" {
		b.t.Errorf("HEAD of the events: %d %v", h.status, h.head)
	}
	got := b.do(call{method: "GET", path: job}).want(200)
	if got.text("number") != n || got.text("lines.1.body.text") != "drips from the throat nut" || got.text("lines.1.first") != "2" || got.text("struck.0") != last {
		b.t.Errorf("the job: %s", got.body)
	}
	if e := b.do(call{method: "GET", path: job + "/entries?after=1&limit=1"}).want(200); e.text("entries.0.seq") != "2" || !strings.Contains(e.head.Get("Link"), "after=2") {
		b.t.Errorf("entries: %s %s", e.head, e.body)
	}
	b.do(call{method: "GET", path: "/jobs?open=true&stage=booked+in&limit=1"}).want(200)
	b.do(call{method: "GET", path: "/jobs?q=ald-04"}).want(200)
	for _, bad := range []string{`{"kind": "noted"}`, `{"kind": "noted", "body": {"text": ""}}`, `{"kind": "noted", "body": {"text": "x", "more": 1}}`, `{"kind": "nothing", "body": {}}`,
		`{"kind": "judged", "body": {"hold": "as left"}}`, `{"kind": "kept", "body": {"value": {}}}`, `{"kind": "noted", "body": {"text": "x"}, "extra": 1}`, `[]`, `{"kind": "noted", "body": {"text": "x"}} {}`} {
		if s := add(bad).status; s != 422 && s != 400 && s != 403 {
			b.t.Errorf("%s: status %d", bad, s)
		}
	}
	add(`{"kind": `).want(400)
	b.do(call{method: "POST", path: job + "/entries", body: `<x/>`, kind: "text/xml"}).want(415)
	b.do(call{method: "POST", path: job + "/entries", body: strings.Repeat(" ", maxJSON+1)}).want(413)
	b.do(call{method: "GET", path: "/jobs/999"}).want(404)
	b.do(call{method: "GET", path: "/jobs/no"}).want(422)
	b.do(call{method: "GET", path: "/jobs?colour=red"}).want(422)
	b.do(call{method: "POST", path: "/jobs/999/entries", body: `{"kind": "noted", "body": {"text": "x"}}`}).want(404)
}

func (b *bench) holds(job string) {
	b.t.Helper()
	b.do(call{method: "POST", path: job + "/verdicts", body: `{"hold": "as found"}`}).want(403) // no reading yet
	b.reads(job, "as found")
	look := b.do(call{method: "GET", path: job + "/look?hold=as+found"}).want(200)
	v := b.do(call{method: "POST", path: job + "/verdicts", body: `{"hold": "as found", "key": "verdict-1"}`}).want(201)
	for _, r := range []*answer{look, v} {
		data, err := json.Marshal(r.get("result"))
		if err != nil {
			b.t.Fatal(err)
		}
		if err := validAs("out-hold", data); err != nil {
			b.t.Errorf("the result is not what schema/out-hold says: %v", err)
		}
	}
	b.do(call{method: "POST", path: job + "/verdicts", body: `{"hold": "as lost"}`}).want(422)
	b.do(call{method: "POST", path: job + "/verdicts", body: `{"hold": "as left", "key": "verdict-1"}`}).want(409)
	bad := b.do(call{method: "POST", path: job + "/entries", body: `{"kind": "read", "body": {"hold": "as found", "reading": {"creep": "up", "pressure": "2330", "travel": "60 mm", "time": "14.2 s"}}}`}).want(422)
	if bad.text("where") != "pressure" {
		b.t.Errorf("a pressure without its unit: %s", bad.body)
	}
	b.do(call{method: "POST", path: job + "/entries", body: `{"kind": "chose", "body": {"parts": {}}}`}).want(201)
	w := b.do(call{method: "GET", path: job + "/work"}).want(200)
	if w.text("pump") != "orrin-30" || w.text("steps.0.n") != "1" {
		b.t.Errorf("the work: %s", w.body)
	}
}

func validAs(name string, data []byte) error {
	text, err := schema.File(name)
	if err != nil {
		return err
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		return err
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource(name, doc); err != nil {
		return err
	}
	s, err := c.Compile(name)
	if err != nil {
		return err
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		return err
	}
	return s.Validate(v)
}

func picturePNG(t testing.TB) string {
	t.Helper()
	var buf bytes.Buffer
	if err := png.Encode(&buf, image.NewRGBA(image.Rect(0, 0, 30, 20))); err != nil {
		t.Fatal(err)
	}
	return buf.String()
}

func (b *bench) files(job string) {
	b.t.Helper()
	p := b.do(call{method: "POST", path: job + "/photos?caption=throat&part=piston+rod&stage=strip", body: picturePNG(b.t), kind: "image/png", head: map[string]string{"Idempotency-Key": "photo-1"}}).want(201)
	at := strings.TrimPrefix(p.head.Get("Location"), Prefix)
	full := b.do(call{method: "GET", path: at}).want(200)
	if sum := fmt.Sprintf("%x", sha256.Sum256(full.body)); "/photos/"+sum != at || sum != p.text("body.photo") {
		b.t.Errorf("the photo %s has the digest %s", at, sum)
	}
	b.do(call{method: "GET", path: at + "?small=true"}).want(200)
	b.do(call{method: "GET", path: at, head: map[string]string{"If-None-Match": full.head.Get("ETag")}}).want(304)
	b.do(call{method: "GET", path: "/photos/" + strings.Repeat("0", 64)}).want(404)
	b.do(call{method: "GET", path: "/photos/zz"}).want(422)
	b.do(call{method: "POST", path: job + "/photos", body: "not a picture", kind: "image/png"}).want(422)
	b.do(call{method: "POST", path: job + "/photos", body: "x", kind: "application/json"}).want(415)

	z := b.do(call{method: "GET", path: job + "/archive"}).want(200)
	b.do(call{method: "GET", path: "/jobs/999/archive"}).want(404)
	if again := b.do(call{method: "POST", path: "/archives", body: string(z.body), kind: "application/zip"}).want(200); again.text("added") != "0" {
		b.t.Errorf("taken in again: %s", again.body)
	}
	b.do(call{method: "POST", path: "/archives", body: "PK", kind: "application/zip"}).want(422)
	broken := bytes.Replace(z.body, []byte("PK\x01\x02"), []byte("PK\x01\x03"), 1)
	b.do(call{method: "POST", path: "/archives", body: string(broken), kind: "application/zip"}).want(422)
	other := newBench(b.t)
	in := other.do(call{method: "POST", path: "/archives", body: string(z.body), kind: "application/zip"}).want(201)
	there := other.do(call{method: "GET", path: strings.TrimPrefix(in.head.Get("Location"), Prefix)}).want(200)
	here := b.do(call{method: "GET", path: job}).want(200)
	if there.text("hash") != here.text("hash") || there.text("lines.0.from.shop") != "Aldersay ferry yard" {
		b.t.Errorf("the job in the other shop: %s", there.body)
	}
}

func (b *bench) catalogue() {
	b.t.Helper()
	c := b.do(call{method: "POST", path: "/catalogue/customer", body: `{"name": "Tarn quarry", "phone": "01"}`, head: map[string]string{"Idempotency-Key": `"c-1"`}}).want(201)
	at := strings.TrimPrefix(c.head.Get("Location"), Prefix)
	got := b.do(call{method: "GET", path: at}).want(200)
	if got.text("label") != "Tarn quarry" || got.head.Get("ETag") != c.head.Get("ETag") {
		b.t.Errorf("%s %s", got.head, got.body)
	}
	b.do(call{method: "GET", path: at, head: map[string]string{"If-None-Match": got.head.Get("ETag")}}).want(304)
	b.do(call{method: "PUT", path: at, body: `{"name": "Tarn quarry", "phone": "02"}`}).want(428)
	put := b.do(call{method: "PUT", path: at, body: `{"name": "Tarn quarry", "phone": "02"}`, head: map[string]string{"If-Match": got.head.Get("ETag")}}).want(200)
	b.do(call{method: "PUT", path: at, body: `{"name": "Tarn quarry", "phone": "03"}`, head: map[string]string{"If-Match": got.head.Get("ETag")}}).want(412)
	b.do(call{method: "PUT", path: at, body: `{"name": ""}`, head: map[string]string{"If-Match": "*"}}).want(422)
	b.do(call{method: "PUT", path: "/catalogue/customer/999", body: `{"name": "x"}`, head: map[string]string{"If-Match": "*"}}).want(404)
	if h := b.do(call{method: "GET", path: at + "/history?limit=1"}).want(200); h.text("entries.0.body.value.phone") != "01" || h.head.Get("Link") == "" {
		b.t.Errorf("the history: %s %s", h.head, h.body)
	}
	b.do(call{method: "DELETE", path: at, head: map[string]string{"If-Match": got.head.Get("ETag")}}).want(412)
	b.do(call{method: "DELETE", path: at + "?reason=closed", head: map[string]string{"If-Match": put.head.Get("ETag")}}).want(204)
	b.do(call{method: "DELETE", path: at}).want(204)
	b.do(call{method: "GET", path: "/catalogue/customer?retired=true"}).want(200)
	b.do(call{method: "GET", path: "/catalogue/customer?q=fer"}).want(200)
	for _, k := range []string{"shop", "person", "device", "customer", "pump", "tool", "sheet", "fluid", "price"} {
		l := b.do(call{method: "GET", path: "/catalogue/" + k + "?limit=1"}).want(200)
		if next := l.head.Get("Link"); next != "" {
			b.do(call{method: "GET", path: strings.TrimPrefix(next[1:strings.Index(next, ">")], Prefix)}).want(200)
		}
	}
	b.do(call{method: "GET", path: "/catalogue/spaceship"}).want(422)
	b.do(call{method: "GET", path: "/catalogue/tool/999"}).want(404)
	b.do(call{method: "GET", path: "/catalogue/tool/999/history"}).want(404)
	b.do(call{method: "POST", path: "/catalogue/person", body: `{"name": "Mallory", "initials": "M", "role": "owner"}`}).want(403)
	b.do(call{method: "POST", path: "/catalogue/sheet", body: `{"name": "x", "text": "no sheet"}`}).want(422)
	for _, v := range []struct{ kind, body string }{{"tool", `{"name": "wrench 5", "sort": "wrench", "range": "10 to 60 N·m"}`}, {"fluid", `{"name": "water", "test": {"kind": "water", "temperature": "20 °C"}}`},
		{"price", `{"text": "an hour", "each": 9000}`}, {"pump", `{"serial": "ALD-9", "model": "orrin-30", "sheet": 0}`}} {
		b.do(call{method: "POST", path: "/catalogue/" + v.kind, body: v.body}).want(201)
	}
}
