package api

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
)

// tokenOf is a token that may write, of a new person.
func (b *bench) tokenOf(name string) string {
	b.t.Helper()
	body, err := record.Keep(&record.Person{Name: name, Initials: "XX", Role: record.Office})
	if err != nil {
		b.t.Fatal(err)
	}
	got, err := b.st.Keep(context.Background(), -1, record.Draft{Subject: record.Subject{Kind: record.OfPerson}, At: time.Now(), By: 1, Key: name, Body: body})
	if err != nil {
		b.t.Fatal(err)
	}
	owner := gate.Who{Person: 1, P: record.Person{Role: record.Owner}, Since: time.Now()}
	secret, _, err := b.gate.MakeToken(context.Background(), owner, got.Entry.Subject.ID, name, "write", time.Now().Add(time.Hour))
	if err != nil {
		b.t.Fatal(err)
	}
	return secret
}

// TestKeyOfAnother: who sends what another sent, under the key that the other made, gets a conflict and nothing of what was written.
func TestKeyOfAnother(t *testing.T) {
	b := newBench(t)
	job := b.book()
	b.reads(job, "as found")
	other := b.tokenOf("Other")
	for i, c := range []call{
		{method: "POST", path: "/jobs", body: `{"customer_name": "Ferry yard", "serial": "ALD-0417", "model": "orrin-30", "complaint": "creeps at the stall"}`},
		{method: "POST", path: job + "/entries", body: `{"kind": "noted", "body": {"text": "drips"}}`},
		{method: "POST", path: job + "/entries", body: `{"kind": "booked", "corrects": 1, "body": {"customer": 0, "customer_name": "Ferry yard", "pump": 0, "serial": "ALD-0417", "model": "orrin-30", "sheet": 0, "complaint": "surges"}}`},
		{method: "POST", path: job + "/verdicts", body: `{"hold": "as found"}`},
		{method: "POST", path: job + "/photos", body: picturePNG(t), kind: "image/png"},
		{method: "POST", path: "/catalogue/customer", body: `{"name": "Tarn quarry"}`},
	} {
		c.head = map[string]string{"Idempotency-Key": fmt.Sprint("key-", i)}
		mine := b.do(c).want(201)
		if again := b.do(c).want(201); string(again.body) != string(mine.body) {
			t.Errorf("%s: again %s", c.path, again.body)
		}
		last, err := b.st.Last(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		c.token = other
		a := b.do(c).want(409)
		for _, secret := range append(regexp.MustCompile(`[0-9a-f]{64}`).FindAllString(string(mine.body), -1), "drips", "surges", "Tarn", `"seq"`) {
			if strings.Contains(string(a.body), secret) {
				t.Errorf("%s: %s tells %q", c.path, a.body, secret)
			}
		}
		if now, err := b.st.Last(context.Background()); err != nil || now != last {
			t.Errorf("%s: something was written (%v)", c.path, err)
		}
	}
}

// TestTextsAreNotChanged: what is no UTF-8 is refused. A decoder of JSON would put U+FFFD in its place, and nobody would know.
func TestTextsAreNotChanged(t *testing.T) {
	b := newBench(t)
	job := b.book()
	last, err := b.st.Last(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{"drips \xff", "\xc3", `\ud83d`, `x\ude00\ud83d`} {
		for _, c := range []call{
			{path: "/jobs", body: `{"customer_name": "` + bad + `", "serial": "ALD-0417", "model": "orrin-30", "complaint": "creeps"}`},
			{path: job + "/entries", body: `{"kind": "noted", "body": {"text": "` + bad + `"}}`},
			{path: "/catalogue/customer", body: `{"name": "` + bad + `"}`},
		} {
			c.method = "POST"
			if a := b.send(c); a.status != 422 || !strings.Contains(string(a.body), "UTF-8") {
				t.Errorf("%s with %q: %d %s", c.path, bad, a.status, a.body)
			}
		}
	}
	if a := b.send(call{method: "POST", path: job + "/photos?caption=%ff", body: picturePNG(t), kind: "image/png"}); a.status != 422 {
		t.Errorf("a caption: %d %s", a.status, a.body)
	}
	if now, err := b.st.Last(context.Background()); err != nil || now != last {
		t.Errorf("something was written (%v)", err)
	}
	if a := b.do(call{method: "POST", path: job + "/entries", body: `{"kind": "noted", "body": {"text": "\ud83d\ude00 ü"}}`}).want(201); a.text("body.text") != "😀 ü" {
		t.Errorf("%s", a.body)
	}
}

// TestSlowUploadsHoldNobodyUp repeats the attack: thirteen uploads of one token that say 20 MB and send a thousand bytes. A photo of somebody else
// is taken at once, before any of them is cut off.
func TestSlowUploadsHoldNobodyUp(t *testing.T) {
	b := newBench(t)
	job := b.book()
	other := b.tokenOf("Other")
	var open []net.Conn
	for range 13 {
		c, err := net.Dial("tcp", b.srv.Listener.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		fmt.Fprintf(c, "POST %s%s/photos HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer %s\r\nContent-Type: image/png\r\nContent-Length: %d\r\n\r\n%s", Prefix, job, b.write, 20<<20, picturePNG(t)[:30]+strings.Repeat("x", 1000))
		open = append(open, c)
	}
	b.begun(13)
	b.do(call{method: "POST", path: job + "/photos", body: picturePNG(t), kind: "image/png", token: other}).want(201)
	for i, c := range open {
		if err := c.SetReadDeadline(time.Now()); err != nil {
			t.Fatal(err)
		}
		if n, err := c.Read(make([]byte, 1)); n > 0 || !errors.Is(err, os.ErrDeadlineExceeded) {
			t.Errorf("upload %d was over before the photo was taken: %d, %v", i, n, err)
		}
	}
}

// begun waits until so many requests are being answered.
func (b *bench) begun(n int64) {
	b.t.Helper()
	for range 3000 {
		if b.under.Load() >= n {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	b.t.Fatalf("%d requests were begun within 30 s, want %d", b.under.Load(), n)
}
