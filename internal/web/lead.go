package web

import (
	"net/http"
	"strings"
)

// pageOf names the page of each address that only takes forms: a form that was refused leaves its address in the browser, and loading that
// again must not end at nothing.
var pageOf = map[string]string{
	"/jobs/import":                  "/jobs/new",
	"/jobs/{job}/notes":             "/jobs/{job}",
	"/jobs/{job}/photos":            "/jobs/{job}",
	"/jobs/{job}/mind":              "/jobs/{job}",
	"/jobs/{job}/again":             "/jobs/{job}",
	"/jobs/{job}/reopen":            "/jobs/{job}",
	"/jobs/{job}/strike":            "/jobs/{job}/history",
	"/jobs/{job}/judge":             "/jobs/{job}",
	"/jobs/{job}/bench":             "/jobs/{job}/readings",
	"/jobs/{job}/soak":              "/jobs/{job}/work",
	"/jobs/{job}/prices":            "/jobs/{job}/hand",
	"/jobs/{job}/prices/remove":     "/jobs/{job}/hand",
	"/jobs/{job}/override":          "/jobs/{job}/hand",
	"/jobs/{job}/close":             "/jobs/{job}/hand",
	"/me/pin":                       "/me",
	"/me/passkeys/drop":             "/me",
	"/me/sessions/end":              "/me",
	"/me/wrong-pins":                "/me",
	"/me/units":                     "/me",
	"/me/look":                      "/me",
	"/me/lang":                      "/me",
	"/leave":                        "/me",
	"/catalogue/{kind}/{id}/retire": "/catalogue/{kind}/{id}",
	"/catalogue/person/{id}/pin":    "/catalogue/person/{id}",
	"/catalogue/device/{id}/out":    "/catalogue/device/{id}",
	"/tokens/{id}/revoke":           "/tokens",
}

// lead goes on to the page of a form.
func (s *Server) lead(to string) action {
	return func(w http.ResponseWriter, r *http.Request) error {
		http.Redirect(w, r, strings.NewReplacer("{job}", r.PathValue("job"), "{kind}", r.PathValue("kind"), "{id}", r.PathValue("id")).Replace(to), http.StatusSeeOther)
		return nil
	}
}
