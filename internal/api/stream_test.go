package api

import (
	"bufio"
	"context"
	"net/http"
	"strings"
	"time"
)

// stream opens the events, writes something, and reads it back from the stream.
func (b *bench) stream() {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, b.srv.URL+Prefix+"/events", nil)
	if err != nil {
		b.t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+b.read)
	res, err := b.srv.Client().Do(r)
	if err != nil {
		b.t.Fatal(err)
	}
	defer res.Body.Close()
	got := &answer{b.t, res.StatusCode, res.Header, nil}
	b.check(call{method: "GET", path: "/events"}, got.want(200))
	lines := bufio.NewScanner(res.Body)
	if !lines.Scan() || lines.Text() != ": changes" {
		b.t.Fatalf("the stream begins with %q", lines.Text())
	}
	b.do(call{method: "POST", path: "/catalogue/price", body: `{"text": "a gasket", "each": 250}`}).want(201)
	var event []string
	for lines.Scan() {
		if lines.Text() == "" && len(event) > 0 {
			break
		}
		if lines.Text() != "" {
			event = append(event, lines.Text())
		}
	}
	if len(event) != 3 || !strings.HasPrefix(event[0], "id: ") || event[1] != "event: change" || !strings.Contains(event[2], `"about":"price"`) {
		b.t.Fatalf("the event: %q", event)
	}
	if err := b.valid([]byte(strings.TrimPrefix(event[2], "data: ")), "components", "schemas", "Change"); err != nil {
		b.t.Error(err)
	}
	if s := b.do(call{method: "GET", path: "/events", head: map[string]string{"Last-Event-ID": "x"}}).status; s != 422 {
		b.t.Errorf("a wrong Last-Event-ID: %d", s)
	}
}
