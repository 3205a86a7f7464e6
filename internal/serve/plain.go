package serve

import (
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"

	"github.com/evenstroke/evenstroke/internal/gate"
)

// trustOnly answers the page that walks a tablet through trusting the workshop, and sends everything else to HTTPS.
func (w *workshop) trustOnly(site http.Handler) http.Handler {
	return http.HandlerFunc(func(rw http.ResponseWriter, r *http.Request) {
		gate.Headers(rw.Header())
		if r.Method == http.MethodGet && (r.URL.Path == "/trust" || r.URL.Path == "/trust/root.cer" || strings.HasPrefix(r.URL.Path, "/static/")) {
			r.Header.Del("Cookie")
			r.Header.Del("Authorization")
			site.ServeHTTP(rw, r)
			return
		}
		if r.Method != http.MethodGet && r.Method != http.MethodHead || strings.HasPrefix(r.URL.Path, "/api/") {
			// what was sent went over the network in the clear: who sent it must hear so, not be led on
			http.Error(rw, "this port is not private: use https", http.StatusForbidden)
			return
		}
		http.Redirect(rw, r, w.secureAddress(r)+"/trust", http.StatusTemporaryRedirect)
	})
}

// secureAddress is where a visitor of the plain port is led. Never what the request merely claims in its head: the name of the settings, or the
// address at which the connection arrived, when the visitor asked for that one; else the address that the server has announced.
func (w *workshop) secureAddress(r *http.Request) string {
	announced, err := url.Parse(w.url())
	if err != nil {
		return w.url()
	}
	asked := (&url.URL{Host: r.Host}).Hostname()
	own := ""
	if w.cfg.Name != "" && strings.EqualFold(asked, w.cfg.Name) {
		own = w.cfg.Name
	}
	if at, ok := r.Context().Value(http.LocalAddrContextKey).(*net.TCPAddr); ok && own == "" {
		here := at.AddrPort().Addr().Unmap().WithZone("")
		if want, err := netip.ParseAddr(asked); err == nil && want.Unmap().WithZone("") == here || asked == "localhost" && here.IsLoopback() {
			own = here.String()
		}
	}
	if own == "" {
		return announced.String()
	}
	return "https://" + net.JoinHostPort(own, announced.Port())
}
