package web

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// What ails the server is told in codes to whoever asks /healthz, and in words, of his language, to an owner on every page.
func TestTroublesAreTold(t *testing.T) {
	y := newYard(t)
	owner, tech := y.worker("owner", record.Owner), y.worker("Tech", record.Technician)
	for _, c := range []struct {
		trouble store.Trouble
		code    int
		status  string
	}{
		{store.Trouble{Code: record.Damaged, Grave: true}, http.StatusServiceUnavailable, "failing"},
		{store.Trouble{Code: record.Full, Grave: true}, http.StatusServiceUnavailable, "failing"},
		{store.Trouble{Code: record.ReadOnly, Grave: true}, http.StatusServiceUnavailable, "failing"},
		{store.Trouble{Code: store.LowSpace}, http.StatusOK, "troubled"},
		{store.Trouble{Code: store.ClockBehind}, http.StatusOK, "troubled"},
		{store.Trouble{Code: Certificate}, http.StatusOK, "troubled"},
		{store.Trouble{Code: Heads}, http.StatusOK, "troubled"},
	} {
		y.pages.Ails = func() []store.Trouble { return []store.Trouble{c.trouble} }
		w := y.stranger().get("/healthz")
		var got healthDoc
		if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil || w.Code != c.code || got.Status != c.status || !slices.Contains(got.Troubles, c.trouble.Code) {
			t.Errorf("%s: %d %s %v", c.trouble.Code, w.Code, w.Body, err)
		}
		key := "trouble." + string(c.trouble.Code)
		for _, lang := range y.pages.texts.Languages() {
			if !y.pages.texts.In(lang).Has(key) {
				t.Errorf("no words for %s in %s", key, lang)
			}
		}
		words := y.pages.texts.In("en").Say(key)
		if page := owner.get("/").Body.String(); !strings.Contains(page, words) {
			t.Errorf("%s: the owner is not told", c.trouble.Code)
		}
		if page := tech.get("/").Body.String(); strings.Contains(page, words) {
			t.Errorf("%s: a technician is told what only an owner can mend", c.trouble.Code)
		}
	}
	y.pages.Ails = nil
	w := y.stranger().get("/healthz")
	if n, _ := y.shop.Store().Free(); n > 1<<30 && (w.Code != http.StatusOK || strings.TrimSpace(w.Body.String()) != `{"status":"ok","troubles":[]}`) {
		t.Errorf("%d %s", w.Code, w.Body)
	}
}
