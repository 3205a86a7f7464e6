package web

import (
	"bufio"
	"compress/gzip"
	"context"
	"io"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
)

// TestZip compresses only what a tablet asked for itself, and the same page comes out of it.
func TestZip(t *testing.T) {
	b := newBench(t)
	_, plain := b.get(b.client, "/jobs/1")
	for _, c := range []struct {
		site, accept string
		zipped       bool
	}{{"same-origin", "gzip", true}, {"none", "br, gzip", true}, {"same-origin", "", false}, {"cross-site", "gzip", false}, {"same-site", "gzip", false}, {"", "gzip", false}} {
		r, err := http.NewRequest(http.MethodGet, b.url+"/jobs/1", nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Accept-Encoding", c.accept)
		if c.site != "" {
			r.Header.Set("Sec-Fetch-Site", c.site)
		}
		res, err := b.client.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		var body io.Reader = res.Body
		if got := res.Header.Get("Content-Encoding") == "gzip"; got != c.zipped {
			t.Errorf("asked from %q, taking %q: compressed %t, expected %t", c.site, c.accept, got, c.zipped)
		} else if got {
			if body, err = gzip.NewReader(res.Body); err != nil {
				t.Fatal(err)
			}
		}
		text, err := io.ReadAll(body)
		if err != nil {
			t.Fatal(err)
		}
		if err := res.Body.Close(); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(text), "ALD-0417") || !strings.HasSuffix(strings.TrimSpace(string(text)), "</html>") || len(text) < len(plain)*9/10 {
			t.Errorf("asked from %q: %d bytes, expected about the %d of the plain page", c.site, len(text), len(plain))
		}
		if !strings.Contains(strings.Join(res.Header.Values("Vary"), ","), "Accept-Encoding") {
			t.Errorf("asked from %q: no Vary: Accept-Encoding", c.site)
		}
	}
}

// TestGather tells a board of many changes a few times, and of the last one.
func TestGather(t *testing.T) {
	b := newBench(t)
	due, asked := make(chan time.Time), make(chan bool, 100)
	b.server.hub.wait = func(time.Duration) <-chan time.Time {
		asked <- true
		return due
	}
	ctx, stop := context.WithTimeout(t.Context(), 2*time.Minute)
	defer stop()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, b.url+"/board/events", nil)
	if err != nil {
		t.Fatal(err)
	}
	res, err := b.client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	events := make(chan string, 100)
	go func() {
		defer close(events)
		for lines := bufio.NewScanner(res.Body); lines.Scan(); {
			if id, ok := strings.CutPrefix(lines.Text(), "id: "); ok {
				events <- id
			}
		}
	}()
	const many = 10
	for range many {
		b.add(t, &record.Noted{Text: "again"})
	}
	last, err := b.shop.Store().Last(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.server.hub.look(ctx); err != nil { // the change that was written last is told after it
		t.Fatal(err)
	}
	for told := 1; ; told++ {
		select { // the board is told when the time is up, not before
		case <-asked:
		case id := <-events:
			t.Fatalf("change %s is told at once", id)
		case <-ctx.Done():
			t.Fatal("waited 2 minutes for the board to gather changes")
		}
		due <- time.Time{}
		if id := <-events; id == strconv.FormatInt(last, 10) {
			return
		}
		if told > many/2 {
			t.Fatalf("%d changes were told %d times without the last one, expected it within a few", many, told)
		}
	}
}

// TestBoardCard shows a job on the board as it is after each change, though its card is kept.
func TestBoardCard(t *testing.T) {
	b := newBench(t)
	for range 2 {
		if _, page := b.get(b.client, "/"); !strings.Contains(page, "creeps &lt;b&gt;badly&lt;/b&gt; &amp; drips") {
			t.Fatal("the complaint is not on the board, escaped")
		}
	}
	j, err := b.shop.Job(t.Context(), b.job)
	if err != nil {
		t.Fatal(err)
	}
	is := *j.Booked
	is.Complaint = "drips only"
	b.fill(t)
	if err := b.shop.CorrectBooking(t.Context(), shop.By{Who: b.owner}, b.job, is); err != nil {
		t.Fatal(err)
	}
	if _, page := b.get(b.client, "/"); !strings.Contains(page, "drips only") || strings.Contains(page, "badly") {
		t.Error("the board shows the complaint as it was before it was corrected")
	}
}
