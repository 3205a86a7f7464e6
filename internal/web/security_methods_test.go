package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// TestMethodsAndOtherFiles: TRACE and methods that a page does not have are refused, and nothing but the program's own pages and files is there.
func TestMethodsAndOtherFiles(t *testing.T) {
	y := newYard(t)
	owner := y.worker("owner", record.Owner)
	for _, method := range []string{"TRACE", "PUT", "DELETE", "PATCH", "CONNECT", "PROPFIND"} {
		for _, path := range []string{"/", "/door", "/jobs/1", "/static/x/app.css", "/photos/" + strings.Repeat("0", 64)} {
			r := httptest.NewRequest(method, "/", nil)
			r.URL.Path, r.RequestURI = path, path
			r.Header.Set("Sec-Fetch-Site", "same-origin")
			r.Header.Set("X-Echo", "heard")
			if got := owner.do(r); got.Code != http.StatusMethodNotAllowed && got.Code != http.StatusNotFound || strings.Contains(got.Body.String(), "heard") {
				t.Errorf("%s %s: %d", method, path, got.Code)
			}
		}
	}
	for _, path := range []string{"/.git/config", "/.env", "/go.mod", "/workshop.db", "/evenstroke-data/workshop.db", "/authority/authority.pem", "/static/", "/static/x/", "/static/x/js/", "/pages/frame.html", "/static/x/../pages/frame.html",
		"/static/x/%2e%2e/%2e%2e/server.go", "/debug/pprof/", "/debug/vars", "/metrics", "/server-status"} {
		if got := owner.get(path); got.Code != http.StatusNotFound && got.Code != http.StatusMovedPermanently && got.Code != http.StatusTemporaryRedirect {
			t.Errorf("%s: %d", path, got.Code)
		}
	}
}

// TestFormsAreReadFromTheBody: a field in the address of a form that is posted counts for nothing, and of a field that comes twice the first one
// counts, everywhere.
func TestFormsAreReadFromTheBody(t *testing.T) {
	y := newYard(t)
	tech := y.worker("tech", record.Technician)
	look := func() string {
		i, err := y.shop.Store().Item(t.Context(), record.Subject{Kind: record.OfPerson, ID: tech.person})
		if err != nil {
			t.Fatal(err)
		}
		return i.Value.(*record.Person).Look
	}
	if got := tech.post("/me/look?look=contrast", url.Values{"look": {"dark"}}); got.Code != http.StatusSeeOther || look() != "dark" {
		t.Errorf("%d %q", got.Code, look())
	}
	if got := tech.post("/me/look?look=contrast", nil); got.Code != http.StatusSeeOther || look() != "" {
		t.Errorf("%d %q", got.Code, look())
	}
	if got := tech.post("/me/look", url.Values{"look": {"light", "dark"}}); got.Code != http.StatusSeeOther || look() != "light" {
		t.Errorf("%d %q", got.Code, look())
	}
}

// TestRefusalsAreWrittenDown: what somebody may not, what another page sent, what came under another name and what was too much stands in the
// log with who, from where and what.
func TestRefusalsAreWrittenDown(t *testing.T) {
	y := newYard(t)
	tech := y.worker("tech", record.Technician)
	tech.post("/catalogue/price/new", url.Values{"text": {"x"}, "each": {"1"}})
	r := formOf("/jobs/1/notes", url.Values{"text": {"x"}})
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	tech.do(r)
	r = httptest.NewRequest(http.MethodGet, "/", nil)
	r.Host = "evil.example"
	y.h.ServeHTTP(httptest.NewRecorder(), r)
	r = formOf("/jobs/1/notes", nil)
	r.ContentLength = 40 << 20
	tech.do(r)
	log := y.log.String()
	for _, want := range []string{"path=/catalogue/price/new status=403", "path=/jobs/1/notes status=403", "status=421", "path=/jobs/1/notes status=413"} {
		if !strings.Contains(log, want) {
			t.Errorf("%q is not in the log", want)
		}
	}
	for _, line := range strings.Split(strings.TrimSpace(log), "\n") {
		if strings.Contains(line, "status=403") && (!strings.Contains(line, "person=2") || !strings.Contains(line, "from=192.0.2.1") || !strings.Contains(line, "time=")) {
			t.Errorf("%s does not say who, when and from where", line)
		}
	}
}
