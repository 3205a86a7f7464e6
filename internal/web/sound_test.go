package web

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/pump"
)

// The page of a step whose joint would not stand its torque says so in red, in either language, and does not sign it before somebody
// answers for it by name; who did stands there afterwards.
func TestStepOfAJointThatDoesNotStand(t *testing.T) {
	b := newBench(t)
	m, err := b.shop.Model(t.Context(), 0, "orrin-30")
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(strings.Replace(string(m.Text), "name: orrin-30", "name: orrin-31", 1), "torque: 64 N·m", "torque: 640 N·m", 1)
	r, err := b.shop.Keep(t.Context(), shop.By{Who: b.owner}, record.Subject{Kind: record.OfSheet}, &record.PumpSheet{Name: "orrin-31", Text: text})
	if err != nil {
		t.Fatal(err)
	}
	if b.job, err = b.shop.BookIn(t.Context(), shop.By{Who: b.owner}, record.Booked{CustomerName: "x", Serial: "ALD-0900", Model: "orrin-31", Sheet: r.Entry.Subject.ID, Complaint: "creeps"}); err != nil {
		t.Fatal(err)
	}
	b.add(t, &record.Chose{Parts: map[string]string{"piston valve ball": "replace"}})
	step := fmt.Sprintf("/jobs/%d/step?id=torque+piston+valve", b.job)
	see := func(when string, want ...string) string {
		code, page := b.get(b.client, step)
		for _, w := range want {
			if code != http.StatusOK || !strings.Contains(page, w) {
				t.Errorf("%s: the page (%d) does not say %q", when, code, w)
			}
		}
		return page
	}
	see("at first", `class="notice error" data-doubt`, "640 N·m on a thread M16x1.5", "at most about 120 N·m", "Answer for it by name")
	sign := url.Values{"step": {"torque piston valve"}, "do": {"sign"}, "torque": {"640"}, "torque.unit": {"N·m"}, "turn": {"square"}, "wrench": {"400"}, "wrench.unit": {"mm"}}
	j, err := b.shop.Job(t.Context(), b.job)
	if err != nil {
		t.Fatal(err)
	}
	w, err := b.shop.Work(j)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range w.Step("torque piston valve").Cautions {
		b.add(t, &record.Minded{Caution: c})
	}
	if code, page := b.post(b.client, fmt.Sprintf("/jobs/%d/step", b.job), sign); code == http.StatusOK || !strings.Contains(page, "640 N·m on a thread M16x1.5") {
		t.Errorf("signed without an answer: %d", code)
	}
	if code, _ := b.post(b.client, fmt.Sprintf("/jobs/%d/override", b.job), url.Values{"step": {"torque piston valve"}, "reason": {"a stud of class 12.9"}}); code != http.StatusOK {
		t.Errorf("answering for it: %d", code)
	}
	page := see("answered", `data-doubt`, "by the word of Mara Kell", "a stud of class 12.9")
	if strings.Contains(page, "Answer for it by name") {
		t.Error("it asks again for what is answered")
	}
	if code, _ := b.post(b.client, fmt.Sprintf("/jobs/%d/step", b.job), sign); code != http.StatusOK {
		t.Errorf("signing it afterwards: %d", code)
	}
	if code, page := b.get(b.client, fmt.Sprintf("/jobs/%d/hand", b.job)); code != http.StatusOK || strings.Contains(page, "Good by a person") {
		t.Errorf("the answer for a step passes for one for the verdict (%d)", code)
	}
	if code, _ := b.post(b.client, "/me/lang", url.Values{"lang": {"es"}}); code != http.StatusOK {
		t.Fatal("Spanish")
	}
	see("in Spanish", "640 N·m en una rosca M16x1.5", "bajo la responsabilidad de Mara Kell")
}

// A sheet that is doubted says so on its page of the catalogue, with the line and what mends it; a sound one says nothing.
func TestASheetThatIsDoubtedSaysSo(t *testing.T) {
	b := newBench(t)
	text, err := pump.OwnSheet("orrin-30")
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		text    string
		doubted bool
	}{
		"orrin-32": {string(text), false},
		"orrin-33": {strings.Replace(string(text), "torque: 64 N·m", "torque: 640 N·m", 1), true},
	} {
		r, err := b.shop.Keep(t.Context(), shop.By{Who: b.owner}, record.Subject{Kind: record.OfSheet}, &record.PumpSheet{Name: name, Text: strings.Replace(c.text, "name: orrin-30", "name: "+name, 1)})
		if err != nil {
			t.Fatal(err)
		}
		body := b.page(fmt.Sprintf("/catalogue/sheet/%d", r.Entry.Subject.ID))
		if strings.Contains(body, "data-doubt") != c.doubted || c.doubted && !strings.Contains(body, "To mend it:") {
			t.Errorf("%s: %s", name, firstLines(body))
		}
		if c.doubted && !regexp.MustCompile(`Line \d+\. Not sound`).MatchString(body) {
			t.Errorf("%s: the line is not said: %s", name, firstLines(body))
		}
	}
}
