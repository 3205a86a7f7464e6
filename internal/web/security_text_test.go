package web

import (
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

func (a *actor) entry(job int64, body string) *httptest.ResponseRecorder {
	a.y.t.Helper()
	r := httptest.NewRequest(http.MethodPost, fmt.Sprintf("/jobs/%d/entries", job), strings.NewReader(body))
	r.Header.Set("Accept", "application/json")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return a.do(r)
}

// TestKeyOfAnother: an entry that one tablet sends under the key of another person's entry is a conflict, also when all else is alike.
func TestKeyOfAnother(t *testing.T) {
	y := newYard(t)
	a, b := y.worker("A", record.Technician), y.worker("B", record.Technician)
	const body = `{"key":"p-1","kind":"noted","body":{"text":"drips"}}`
	if w := a.entry(y.job, body); w.Code != http.StatusCreated {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	if w := a.entry(y.job, body); w.Code != http.StatusOK {
		t.Errorf("the same again: %d %s", w.Code, w.Body)
	}
	if w := b.entry(y.job, body); w.Code != http.StatusConflict || strings.Contains(w.Body.String(), `"hash"`) || strings.Contains(w.Body.String(), "drips") {
		t.Errorf("of another: %d %s", w.Code, w.Body)
	}
	form := url.Values{"key": {"n-1"}, "text": {"noted on a page"}}
	notes := fmt.Sprintf("/jobs/%d/notes", y.job)
	if w := a.post(notes, form); w.Code != http.StatusSeeOther {
		t.Fatalf("%d", w.Code)
	}
	if w := b.post(notes, form); w.Code != http.StatusConflict {
		t.Errorf("a form of another: %d", w.Code)
	}
}

// TestTextsAreNotChanged: a form, an entry and a photo whose texts are no UTF-8 are refused, not mended silently.
func TestTextsAreNotChanged(t *testing.T) {
	y := newYard(t)
	a := y.worker("A", record.Technician)
	before := y.last()
	for _, bad := range []string{"drips \xff", "\xc3(", "\xed\xa0\xbd", "a\x00b"} {
		if w := a.post(fmt.Sprintf("/jobs/%d/notes", y.job), url.Values{"text": {bad}}); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("form %q: %d", bad, w.Code)
		}
		if w := a.photo(y.job, bad); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("photo %q: %d", bad, w.Code)
		}
	}
	for _, bad := range []string{"drips \xff", `\ud83d`, `\ude00x`} {
		if w := a.entry(y.job, `{"key":"p-1","kind":"noted","body":{"text":"`+bad+`"}}`); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("entry %q: %d %s", bad, w.Code, w.Body)
		}
		if w := a.entry(y.job, `{"key":"p`+bad+`","kind":"noted","body":{"text":"x"}}`); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("key %q: %d %s", bad, w.Code, w.Body)
		}
	}
	if w := a.photo(y.job, strings.Repeat("x", 17<<10)); w.Code != http.StatusRequestEntityTooLarge {
		t.Errorf("a caption that is cut off: %d", w.Code)
	}
	if y.last() != before {
		t.Error("something was written")
	}
}

// photo sends a photo with a caption.
func (a *actor) photo(job int64, caption string) *httptest.ResponseRecorder {
	a.y.t.Helper()
	var buf bytes.Buffer
	mw := multipart.NewWriter(&buf)
	if err := mw.WriteField("caption", caption); err != nil {
		a.y.t.Fatal(err)
	}
	if err := mw.Close(); err != nil {
		a.y.t.Fatal(err)
	}
	r := httptest.NewRequest(http.MethodPost, fmt.Sprintf("/jobs/%d/photos", job), &buf)
	r.Header.Set("Content-Type", mw.FormDataContentType())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return a.do(r)
}
