package gate

import (
	"net/http"
	"net/netip"
	"strings"
)

// policy is the content security policy: nothing but what comes from this server, and nothing written into a page.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; font-src 'self'; " +
	"manifest-src 'self'; worker-src 'self'; form-action 'self'; object-src 'none'; frame-ancestors 'none'; base-uri 'none'"

// permissions lets the pages take photos, keep the screen on while a hold is watched and use passkeys; nothing else.
const permissions = "camera=(self), screen-wake-lock=(self), fullscreen=(self), publickey-credentials-create=(self), publickey-credentials-get=(self), " +
	"accelerometer=(), autoplay=(), display-capture=(), geolocation=(), gyroscope=(), magnetometer=(), microphone=(), midi=(), payment=(), " +
	"serial=(), usb=(), xr-spatial-tracking=()"

// strict asks the browser to come by HTTPS only, for a year (ASVS 5.0 asks at least that, from memory).
const strict = "max-age=31536000"

// Headers are those that every answer has, also one that is given before the gate. What holds nothing personal (style, script, font) sets
// another Cache-Control.
func Headers(h http.Header) {
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", permissions)
	h.Set("Cache-Control", "no-store")
}

// headers adds to Headers what depends on how the server is reached.
func (g *Gate) headers(h http.Header, r *http.Request) {
	Headers(h)
	if g.opt.Secure && hasName(r.Host) {
		h.Set("Strict-Transport-Security", strict)
	}
}

// hasName says whether a host is a name of its own: HSTS means nothing for an address (RFC 6797 section 8.1.1, from memory) and on localhost
// would close other servers of the machine.
func hasName(host string) bool {
	name := hostName(host)
	_, err := netip.ParseAddr(name)
	return err != nil && name != "" && name != "localhost" && !strings.HasSuffix(name, ".localhost")
}

// crossSite says whether a request that changes something may come from a page of somebody else. Browsers say where a request comes from in
// Sec-Fetch-Site (W3C Fetch Metadata) or Origin; one that changes something and has neither is taken only with a token, which no
// browser sends by itself.
func (g *Gate) crossSite(r *http.Request, token bool) bool {
	switch r.Method {
	case http.MethodGet, http.MethodHead, http.MethodOptions:
		return false
	}
	if r.Header.Get("Sec-Fetch-Site") == "" && r.Header.Get("Origin") == "" {
		return !token
	}
	return g.cross.Check(r) != nil
}
