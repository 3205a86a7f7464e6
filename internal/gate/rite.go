package gate

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"sync"
	"time"

	"github.com/go-webauthn/webauthn/webauthn"

	"github.com/evenstroke/evenstroke/internal/record"
)

// riteLife is how long somebody may take over a passkey ceremony.
const riteLife = 5 * time.Minute

// mostRites bounds the memory of ceremonies that were begun.
const mostRites = 1000

// rites are the passkey ceremonies that were begun, by the secret in the cookie of the browser.
type rites struct {
	mu    sync.Mutex
	begun map[string]rite
}

type rite struct {
	person  int64 // who adds a passkey, 0 for signing in
	state   webauthn.SessionData
	expires time.Time
}

// rite keeps what a ceremony needs at its end on the server; the browser gets only a secret to find it by.
func (g *Gate) rite(w http.ResponseWriter, person int64, state *webauthn.SessionData) {
	now := g.opt.Now()
	secret := newSecret()
	g.rites.mu.Lock()
	g.rites.begun[secret] = rite{person, *state, now.Add(riteLife)}
	if len(g.rites.begun) > mostRites {
		g.rites.drop(now)
	}
	g.rites.mu.Unlock()
	g.setCookie(w, riteCookie, secret, riteLife)
}

// drop drops the ceremonies that are over, or else the oldest.
func (x *rites) drop(now time.Time) {
	var oldest string
	for k, v := range x.begun {
		if !v.expires.After(now) {
			delete(x.begun, k)
		} else if oldest == "" || v.expires.Before(x.begun[oldest].expires) {
			oldest = k
		}
	}
	if len(x.begun) > mostRites {
		delete(x.begun, oldest)
	}
}

// answer takes the ceremony of a browser, which is used up by it, and reads the answer.
func (g *Gate) answer(w http.ResponseWriter, r *http.Request, person int64) (*webauthn.WebAuthn, webauthn.SessionData, []byte, error) {
	none := webauthn.SessionData{}
	secret := g.cookie(r, riteCookie)
	g.setCookie(w, riteCookie, "", 0)
	g.rites.mu.Lock()
	x, ok := g.rites.begun[secret]
	delete(g.rites.begun, secret)
	g.rites.mu.Unlock()
	if !ok || !x.expires.After(g.opt.Now()) || x.person != person {
		return nil, none, nil, record.Faultf(record.NotFound, "passkey", "nothing that was begun, or begun more than five minutes ago", "a passkey asked for just before", "begin again")
	}
	lib, err := g.webauthn(r)
	if err != nil {
		return nil, none, nil, err
	}
	body, err := ReadBody(w, r, mostAnswer)
	return lib, x.state, body, err
}

func badAnswer(err error) *record.Fault {
	return &record.Fault{Code: record.Invalid, Where: "passkey", Found: "an answer that does not fit", Want: "the answer of a passkey to what was asked", Mend: "begin again", Err: err}
}

func writeJSON(w http.ResponseWriter, v any) error {
	data, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("gate: JSON: %w", err)
	}
	w.Header().Set("Content-Type", "application/json")
	_, err = w.Write(data)
	return err
}

// ReadBody reads the body of a request, at most so many bytes; a *record.Fault of code TooLarge when it has more.
func ReadBody(w http.ResponseWriter, r *http.Request, most int64) ([]byte, error) {
	data, err := io.ReadAll(http.MaxBytesReader(w, r.Body, most))
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return nil, tooLarge(large.Limit)
	}
	if err != nil {
		return nil, &record.Fault{Code: record.Invalid, Where: "request", Found: "one that breaks off", Want: "a whole request", Mend: "send it again", Err: err}
	}
	return data, nil
}

func tooLarge(most int64) *record.Fault {
	return record.Faultf(record.TooLarge, "request", fmt.Sprintf("more than %d bytes", most), fmt.Sprintf("at most %d bytes", most), "send less at once")
}
