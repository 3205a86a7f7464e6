package web

import (
	"context"
	"fmt"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
)

// A board of many jobs counts all of them, shows those that have waited longest, and leads to the list of each stage, where the others are.
func TestBoardOfManyJobs(t *testing.T) {
	b := newBench(t) // one job is there
	for i := range 61 {
		if _, err := b.shop.BookIn(context.Background(), shop.By{Who: b.owner}, record.Booked{CustomerName: "Harbour painters", Serial: fmt.Sprintf("ALD-%04d", 1000+i), Model: "orrin-30", Complaint: "creeps"}); err != nil {
			t.Fatal(err)
		}
	}
	_, page := b.get(b.client, "/")
	if !strings.Contains(page, "62 open jobs") {
		t.Error("the board does not count 62 open jobs")
	}
	cards := regexp.MustCompile(`class="job-card" href="/jobs/(\d+)"`).FindAllStringSubmatch(page, -1)
	if len(cards) != perLane || cards[0][1] != "1" {
		t.Errorf("%d cards, the first of job %v; want %d, the one that has waited longest first", len(cards), cards[0], perLane)
	}
	all := "/search?" + url.Values{"stage": {"booked in"}}.Encode()
	if !strings.Contains(page, `href="`+strings.ReplaceAll(all, "+", "&#43;")+`"`) && !strings.Contains(page, `href="`+all+`"`) {
		t.Errorf("the board does not lead to %s", all)
	}
	seen := map[string]bool{}
	for at := all; at != ""; {
		_, page := b.get(b.client, at)
		for _, m := range regexp.MustCompile(`href="/jobs/(\d+)"`).FindAllStringSubmatch(page, -1) {
			seen[m[1]] = true
		}
		at = ""
		if m := regexp.MustCompile(`rel="next" href="([^"]+)"`).FindStringSubmatch(page); m != nil {
			at = strings.NewReplacer("&amp;", "&", "&#43;", "+").Replace(m[1])
		}
	}
	if len(seen) != 62 {
		t.Errorf("the list of the stage has %d jobs, want 62", len(seen))
	}
}

// Who makes a code on the workshop's network is shown first where the new tablet learns to trust the shop, without HTTPS.
func TestCodePageSaysWhereToTrust(t *testing.T) {
	if got := (&Server{}).plain(); got != "" {
		t.Errorf("a server without a plain port leads to %q", got)
	}
	s := &Server{Options: Options{Plain: func() string { return "http://192.0.2.7:8080/trust" }}}
	if got := s.plain(); got != "http://192.0.2.7:8080/trust" {
		t.Errorf("%q", got)
	}
}

// The page without a network is kept once for whoever holds the device: it speaks every language.
func TestOfflineSpeaksEveryLanguage(t *testing.T) {
	b := newBench(t)
	_, page := b.get(b.client, "/offline")
	for _, w := range []string{`lang="en">No network<`, `lang="es">Sin red<`} {
		if !strings.Contains(page, w) {
			t.Errorf("the page does not say %s", w)
		}
	}
}

// A refusal speaks to a person: the codes are for programs.
func TestRefusalsHaveNoCodeWords(t *testing.T) {
	b := newBench(t)
	_, page := b.post(b.client, "/jobs/1/findings", url.Values{"part": {"rod"}})
	for _, c := range []record.Code{record.Invalid, record.NotFound, record.Conflict, record.NotAllowed, record.TooLarge} {
		if strings.Contains(page, ">"+string(c)+"<") {
			t.Errorf("the page says the code %q", c)
		}
	}
	if !strings.Contains(page, `id="errors"`) {
		t.Error("nothing was refused")
	}
}
