package gate

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/go-webauthn/webauthn/webauthn"

	"github.com/evenstroke/evenstroke/internal/record"
)

// authenticator is the other side of a passkey ceremony, written from W3C Web Authentication Level 3 (sections 6.1 authenticator data, 6.5
// attested credential data, 8.7 none attestation), RFC 9053 (COSE keys) and RFC 8949 (CBOR), all from memory, without the library that the gate uses.
type authenticator struct {
	t      *testing.T
	id     []byte
	key    *ecdsa.PrivateKey
	handle []byte
	count  uint32
	flags  byte // user present 1, user verified 4
	origin string
	rp     string // what it takes as the relying party, "" is what the server says
}

func newAuthenticator(t *testing.T) *authenticator {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	id := make([]byte, 32)
	rand.Read(id)
	return &authenticator{t: t, id: id, key: key, flags: 1 | 4, origin: "http://localhost:8080"}
}

type options struct {
	PublicKey struct {
		Challenge string
		RPID      string `json:"rpId"`
		RP        struct{ ID, Name string }
		User      struct{ ID, Name, DisplayName string }
		Exclude   []struct{ ID string } `json:"excludeCredentials"`
		Allow     []struct{ ID string } `json:"allowCredentials"`
		UV        string                `json:"userVerification"`
		Select    struct {
			ResidentKey string `json:"residentKey"`
			UV          string `json:"userVerification"`
		} `json:"authenticatorSelection"`
	}
}

func b64(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }

// cborBytes is a byte string (RFC 8949 section 3.1, major type 2).
func cborBytes(b []byte) []byte {
	return append([]byte{0x59, byte(len(b) >> 8), byte(len(b))}, b...)
}

func (a *authenticator) client(kind, challenge string) []byte {
	data, err := json.Marshal(map[string]any{"type": kind, "challenge": challenge, "origin": a.origin, "crossOrigin": false})
	if err != nil {
		a.t.Fatal(err)
	}
	return data
}

func (a *authenticator) data(rp string, flags byte) []byte {
	if a.rp != "" {
		rp = a.rp
	}
	h := sha256.Sum256([]byte(rp))
	return binary.BigEndian.AppendUint32(append(h[:], flags), a.count)
}

func (a *authenticator) create(o options) string {
	handle, err := base64.RawURLEncoding.DecodeString(o.PublicKey.User.ID)
	if err != nil {
		a.t.Fatal(err)
	}
	a.handle = handle
	point, err := a.key.PublicKey.Bytes()
	if err != nil {
		a.t.Fatal(err)
	}
	// {1: 2 (EC2), 3: -7 (ES256), -1: 1 (P-256), -2: x, -3: y}
	cose := append([]byte{0xa5, 0x01, 0x02, 0x03, 0x26, 0x20, 0x01, 0x21, 0x58, 0x20}, point[1:33]...)
	cose = append(append(cose, 0x22, 0x58, 0x20), point[33:]...)
	auth := append(a.data(o.PublicKey.RP.ID, a.flags|0x40), make([]byte, 16)...)
	auth = append(binary.BigEndian.AppendUint16(auth, uint16(len(a.id))), a.id...)
	auth = append(auth, cose...)
	att := append([]byte("\xa3\x63fmt\x64none\x67attStmt\xa0\x68authData"), cborBytes(auth)...)
	return a.json(map[string]any{"clientDataJSON": b64(a.client("webauthn.create", o.PublicKey.Challenge)), "attestationObject": b64(att)})
}

func (a *authenticator) get(o options) string {
	if a.flags&8 == 0 { // a key that is kept in several places counts nothing
		a.count++
	}
	auth := a.data(o.PublicKey.RPID, a.flags)
	client := a.client("webauthn.get", o.PublicKey.Challenge)
	h := sha256.Sum256(client)
	sum := sha256.Sum256(append(bytes.Clone(auth), h[:]...))
	sig, err := ecdsa.SignASN1(rand.Reader, a.key, sum[:])
	if err != nil {
		a.t.Fatal(err)
	}
	return a.json(map[string]any{"clientDataJSON": b64(client), "authenticatorData": b64(auth), "signature": b64(sig), "userHandle": b64(a.handle)})
}

func (a *authenticator) json(response map[string]any) string {
	data, err := json.Marshal(map[string]any{"id": b64(a.id), "rawId": b64(a.id), "type": "public-key", "clientExtensionResults": map[string]any{}, "response": response})
	if err != nil {
		a.t.Fatal(err)
	}
	return string(data)
}

func (b *browser) begin(path string) options {
	b.s.t.Helper()
	got := b.post(path, "")
	var o options
	if err := json.Unmarshal(got.Body.Bytes(), &o); got.Code != 200 || err != nil {
		b.s.t.Fatalf("%d %s %v", got.Code, got.Body, err)
	}
	return o
}

// add adds a passkey for who is signed in.
func (b *browser) add(a *authenticator) string {
	b.s.t.Helper()
	return b.post("/passkey/new/finish?name=key", a.create(b.begin("/passkey/new/begin"))).Body.String()
}

func (b *browser) use(a *authenticator) string {
	b.s.t.Helper()
	return b.post("/passkey/in/finish?name=phone", a.get(b.begin("/passkey/in/begin"))).Body.String()
}

func TestPasskey(t *testing.T) {
	s := open(t, Options{Name: "Aldersay bench"})
	b, key := s.tablet(), newAuthenticator(t)
	b.mustIn(s.tech, techPIN)
	o := b.begin("/passkey/new/begin")
	p := o.PublicKey
	if p.RP.ID != "localhost" || p.RP.Name != "Aldersay bench" || p.Select.ResidentKey != "required" || p.Select.UV != "required" || p.User.Name != "Technician" || len(p.Exclude) != 0 {
		t.Errorf("%+v", p)
	}
	if challenge, err := base64.RawURLEncoding.DecodeString(p.Challenge); err != nil || len(challenge) < 16 {
		t.Errorf("challenge %q: Web Authentication section 13.4.3 asks at least 16 bytes (from memory)", p.Challenge)
	}
	if got := b.add(key); got != "" {
		t.Fatal(got)
	}
	if o = b.begin("/passkey/new/begin"); len(o.PublicKey.Exclude) != 1 || o.PublicKey.Exclude[0].ID != b64(key.id) {
		t.Errorf("the passkey that is there is not excluded: %+v", o.PublicKey.Exclude)
	}
	b.post("/out", "")
	o = b.begin("/passkey/in/begin")
	if o.PublicKey.UV != "required" || o.PublicKey.RPID != "localhost" || len(o.PublicKey.Allow) != 0 {
		t.Errorf("%+v", o.PublicKey)
	}
	if got := b.use(key); got != "" {
		t.Fatal(got)
	}
	if who := b.who(); who.Person != s.tech || who.Device != 1 {
		t.Errorf("%+v", who)
	}
	s.clock.pass(time.Minute)
	b.use(key)
	ctx := With(context.Background(), b.who())
	all, err := s.Passkeys(ctx)
	if err != nil || len(all) != 1 || all[0].Name != "key" || all[0].Used.Sub(all[0].Created) != time.Minute {
		t.Fatalf("%+v, %v", all, err)
	}
	if err := s.DropPasskey(With(context.Background(), fresh(s.clock, as(record.Owner, s.owner))), all[0].ID); err != nil {
		t.Fatal(err)
	}
	if got := b.use(key); got != "" {
		t.Errorf("another person dropped it: %s", got)
	}
	if err := s.DropPasskey(ctx, all[0].ID); err != nil {
		t.Fatal(err)
	}
	if got := b.use(key); !strings.Contains(got, "one that does not fit") {
		t.Errorf("a passkey that was dropped: %s", got)
	}
}

// A passkey that is backed up (flags BE 8 and BS 16) has a count that stays 0: that is no sign of a copy.
func TestPasskeyInSeveralPlaces(t *testing.T) {
	s := open(t, Options{})
	b, key := s.tablet(), newAuthenticator(t)
	key.flags |= 8 | 16
	b.mustIn(s.tech, techPIN)
	b.add(key)
	for range 3 {
		b.post("/out", "")
		if got := b.use(key); got != "" || b.who().Person != s.tech {
			t.Fatal(got)
		}
	}
}

func TestPasskeyIsNotLockedOut(t *testing.T) {
	s := open(t, Options{})
	b, key := s.tablet(), newAuthenticator(t)
	b.mustIn(s.tech, techPIN)
	b.add(key)
	for range 8 {
		b.in(s.tech, aimsPIN)
	}
	if got := b.use(key); got != "" {
		t.Error(got)
	}
}

// What must be refused: Web Authentication Level 3 section 7.2 (from memory), a step a row.
func TestPasskeyRefused(t *testing.T) {
	s := open(t, Options{})
	for name, c := range map[string]func(s *shop, b *browser, a *authenticator) string{
		"another origin": func(_ *shop, b *browser, a *authenticator) string {
			a.origin = "http://localhost:9999"
			return b.use(a)
		},
		"another relying party": func(_ *shop, b *browser, a *authenticator) string {
			a.rp = "evil.example"
			return b.use(a)
		},
		"user not verified": func(_ *shop, b *browser, a *authenticator) string {
			a.flags = 1
			return b.use(a)
		},
		"user not present": func(_ *shop, b *browser, a *authenticator) string {
			a.flags = 4
			return b.use(a)
		},
		"another key": func(_ *shop, b *browser, a *authenticator) string {
			a.key = newAuthenticator(a.t).key
			return b.use(a)
		},
		"another's handle": func(s *shop, b *browser, a *authenticator) string {
			a.handle = binary.BigEndian.AppendUint64(nil, uint64(s.owner))
			return b.use(a)
		},
		"no handle": func(_ *shop, b *browser, a *authenticator) string {
			a.handle = nil
			return b.use(a)
		},
		"the same count": func(_ *shop, b *browser, a *authenticator) string {
			b.use(a)
			b.post("/out", "")
			a.count--
			return b.use(a)
		},
		"twice": func(_ *shop, b *browser, a *authenticator) string {
			o := b.begin("/passkey/in/begin")
			cookie := b.cookies[riteCookie]
			body := a.get(o)
			b.post("/passkey/in/finish?name=x", body)
			b.post("/out", "")
			b.cookies[riteCookie] = cookie
			return b.post("/passkey/in/finish?name=x", body).Body.String()
		},
		"too late": func(s *shop, b *browser, a *authenticator) string {
			o := b.begin("/passkey/in/begin")
			s.clock.pass(riteLife)
			return b.post("/passkey/in/finish?name=x", a.get(o)).Body.String()
		},
		"another's ceremony": func(s *shop, b *browser, a *authenticator) string {
			o := b.begin("/passkey/in/begin")
			other := s.tablet()
			other.begin("/passkey/in/begin")
			return other.post("/passkey/in/finish?name=x", a.get(o)).Body.String()
		},
		"no ceremony": func(_ *shop, b *browser, a *authenticator) string {
			o := b.begin("/passkey/in/begin")
			delete(b.cookies, riteCookie)
			return b.post("/passkey/in/finish?name=x", a.get(o)).Body.String()
		},
		"of a registration": func(s *shop, b *browser, a *authenticator) string {
			b.mustIn(s.tech, techPIN)
			o := b.begin("/passkey/new/begin")
			b.post("/out", "")
			return b.post("/passkey/in/finish?name=x", a.get(o)).Body.String()
		},
		"nonsense": func(_ *shop, b *browser, _ *authenticator) string {
			b.begin("/passkey/in/begin")
			return b.post("/passkey/in/finish?name=x", `{"id":`).Body.String()
		},
		"too large": func(_ *shop, b *browser, _ *authenticator) string {
			b.begin("/passkey/in/begin")
			return b.post("/passkey/in/finish?name=x", strings.Repeat("x", mostAnswer+1)).Body.String()
		},
		"left": func(s *shop, b *browser, a *authenticator) string {
			s.retire(s.tech)
			s.forget(s.tech)
			return b.use(a)
		},
	} {
		s.clock.pass(time.Minute)
		s.tech = s.hire("Technician", record.Technician, techPIN)
		b, key := s.tablet(), newAuthenticator(t)
		b.mustIn(s.tech, techPIN)
		if got := b.add(key); got != "" {
			t.Fatal(got)
		}
		b.post("/out", "")
		if got := c(s, b, key); got == "" || b.who().Person != 0 {
			t.Errorf("%s: %q, %+v", name, got, b.who())
		}
	}
}

func TestAddPasskeyRefused(t *testing.T) {
	s := open(t, Options{})
	b := s.tablet()
	if got := b.post("/passkey/new/begin", "").Body.String(); !strings.Contains(got, "nobody who is signed in") {
		t.Error(got)
	}
	b.mustIn(s.tech, techPIN)
	key := newAuthenticator(t)
	o := b.begin("/passkey/new/begin")
	b.mustIn(s.trainer, aimsPIN)
	if got := b.post("/passkey/new/finish?name=x", key.create(o)).Body.String(); !strings.Contains(got, "nothing that was begun") {
		t.Errorf("a ceremony of somebody else: %s", got)
	}
	weak := newAuthenticator(t)
	weak.flags = 1
	if got := b.add(weak); !strings.Contains(got, "an answer that does not fit") {
		t.Errorf("without the person verified: %s", got)
	}
	if got := b.add(key); got != "" {
		t.Fatal(got)
	}
	if got := b.add(key); !strings.Contains(got, "one that is kept already") {
		t.Errorf("twice: %s", got)
	}
	// Somebody claims the identifier of a key of another person, with a key of his own.
	thief := newAuthenticator(t)
	thief.id = key.id
	b.mustIn(s.tech, techPIN)
	if got := b.add(thief); !strings.Contains(got, "conflict: passkey: found one of another person") {
		t.Errorf("the identifier of another: %s", got)
	}
	thief.handle = key.handle
	b.post("/out", "")
	if got := b.use(thief); got == "" || b.who().Person != 0 {
		t.Errorf("the key of the thief lets in: %s", got)
	}
	if got := b.use(key); got != "" || b.who().Person != s.trainer {
		t.Errorf("the key does not work any more: %s", got)
	}
	s.clock.pass(freshFor + time.Second)
	if got := b.post("/passkey/new/begin", "").Body.String(); !strings.Contains(got, "within the last ten minutes") {
		t.Errorf("signed in long ago: %s", got)
	}
	b.mustIn(s.tech, techPIN)
	for range mostPasskeys {
		if got := b.add(newAuthenticator(t)); got != "" {
			t.Fatal(got)
		}
	}
	if got := b.post("/passkey/new/begin", "").Body.String(); !strings.Contains(got, "at most 20") {
		t.Error(got)
	}
}

// A passkey is possession and knowledge at once: with it somebody who may let devices in lets in the one in the hand.
func TestPasskeyOnAnUnknownDevice(t *testing.T) {
	s := open(t, Options{})
	b := s.tablet()
	keys := map[int64]*authenticator{}
	for id, pin := range map[int64]string{s.tech: techPIN, s.trainer: aimsPIN, s.office: aimsPIN, s.owner: ownerPIN} {
		b.mustIn(id, pin)
		keys[id] = newAuthenticator(t)
		if got := b.add(keys[id]); got != "" {
			t.Fatal(got)
		}
	}
	for id, want := range map[int64]bool{s.tech: false, s.trainer: false, s.office: true, s.owner: true} {
		n := s.browser()
		got := n.use(keys[id])
		who := n.who()
		if (got == "") != want || (who.Person == id) != want || (who.Device > 1) != want {
			t.Errorf("person %d: %q, %+v, want %v", id, got, who, want)
		}
		if !want {
			continue
		}
		i, err := s.st.Item(context.Background(), record.Subject{Kind: record.OfDevice, ID: who.Device})
		if err != nil || i.Value.Label() != "phone" {
			t.Errorf("%+v, %v", i, err)
		}
		n.mustIn(s.tech, techPIN)
	}
	n := s.browser()
	for range 12 {
		n.post("/passkey/in/begin", "")
	}
	if got := n.post("/passkey/in/begin", "").Body.String(); !strings.HasPrefix(got, "too-many") {
		t.Error(got)
	}
}

func TestWherePasskeysWork(t *testing.T) {
	for _, c := range []struct {
		secure      bool
		host, id, o string
	}{
		{false, "localhost:8080", "localhost", "http://localhost:8080"}, {false, "bench.example", "", ""}, {false, "192.168.1.2:80", "", ""}, {false, "127.0.0.1", "", ""}, {false, "[::1]:80", "", ""},
		{true, "Bench.example:8443", "bench.example", "https://bench.example:8443"}, {true, "192.168.1.2", "", ""}, {true, "localhost", "localhost", "https://localhost"},
	} {
		r, err := http.NewRequest(http.MethodGet, "/", nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Host = c.host
		id, origins := relyingParty(c.secure)(r)
		if id != c.id || strings.Join(origins, " ") != c.o {
			t.Errorf("%+v: %q %v", c, id, origins)
		}
	}
	s := open(t, Options{})
	b := s.tablet()
	b.host = "192.168.1.2:8080"
	if got := b.post("/passkey/in/begin", "").Body.String(); !strings.Contains(got, `the address "192.168.1.2"; expected a name, over HTTPS`) {
		t.Error(got)
	}
}

func TestCeremoniesAreBounded(t *testing.T) {
	s := open(t, Options{})
	b := s.tablet()
	first := b.begin("/passkey/in/begin")
	cookie := b.cookies[riteCookie]
	for range mostRites {
		s.clock.pass(time.Millisecond)
		s.rite(httptest.NewRecorder(), 0, &webauthn.SessionData{})
	}
	if n := len(s.rites.begun); n != mostRites {
		t.Errorf("%d are kept", n)
	}
	b.cookies[riteCookie] = cookie
	if got := b.post("/passkey/in/finish?name=x", newAuthenticator(t).get(first)).Body.String(); !strings.Contains(got, "nothing that was begun") {
		t.Errorf("the oldest is kept: %s", got)
	}
	s.clock.pass(riteLife)
	b.begin("/passkey/in/begin")
	s.rites.drop(s.clock.now())
	if n := len(s.rites.begun); n != 1 {
		t.Errorf("%d are kept after all but one are over", n)
	}
}
