package gate

import (
	"crypto/rand"
	"encoding/base64"
	"net/http"
	"time"
)

// The names of the cookies, without prefix.
const (
	deviceCookie  = "es_device"
	sessionCookie = "es_session"
	riteCookie    = "es_rite"
)

// deviceLife is how long a browser keeps the secret of its device: the longest that RFC 6265bis lets a cookie live. It starts anew
// with each sign-in.
const deviceLife = 400 * 24 * time.Hour

// cookieName adds the prefix that binds a cookie to this host, to HTTPS and to the path / (RFC 6265bis, from memory).
func (g *Gate) cookieName(name string) string {
	if g.opt.Secure {
		return "__Host-" + name
	}
	return name
}

func (g *Gate) setCookie(w http.ResponseWriter, name, value string, life time.Duration) {
	c := &http.Cookie{Name: g.cookieName(name), Value: value, Path: "/", MaxAge: int(life / time.Second), HttpOnly: true, Secure: g.opt.Secure, SameSite: http.SameSiteLaxMode}
	if life <= 0 {
		c.MaxAge = -1
	}
	http.SetCookie(w, c)
}

// cookie reads a cookie that has the form of a secret, "" when there is none. Two of the same name mean that another host or path
// put one there: neither is believed.
func (g *Gate) cookie(r *http.Request, name string) string {
	found := r.CookiesNamed(g.cookieName(name))
	if len(found) != 1 || !isSecret(found[0].Value) {
		return ""
	}
	return found[0].Value
}

// secretBytes is the length of a secret: 256 bits of randomness.
const secretBytes = 32

// newSecret makes a secret. crypto/rand never fails: it ends the program rather than give out what can be guessed.
func newSecret() string {
	b := make([]byte, secretBytes)
	rand.Read(b)
	return base64.RawURLEncoding.EncodeToString(b)
}

// isSecret says whether a text has the form of a secret, so that nothing else is looked up.
func isSecret(s string) bool {
	if len(s) != base64.RawURLEncoding.EncodedLen(secretBytes) {
		return false
	}
	b, err := base64.RawURLEncoding.Strict().DecodeString(s)
	return err == nil && len(b) == secretBytes
}
