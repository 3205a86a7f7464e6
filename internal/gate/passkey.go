package gate

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"strings"
	"time"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// mostPasskeys is how many passkeys a person may have.
const mostPasskeys = 20

// mostAnswer is the size of the largest answer of an authenticator.
const mostAnswer = 64 << 10

// relyingParty takes the relying party from the Host header, which Wrap has checked. Passkeys need a domain name, and HTTPS or
// localhost (Web Authentication, section 5.1.2, and the rules of secure contexts, from memory).
func relyingParty(secure bool) func(*http.Request) (string, []string) {
	return func(r *http.Request) (string, []string) {
		host := hostName(r.Host)
		if _, err := netip.ParseAddr(host); err == nil || host == "" || !secure && host != "localhost" {
			return "", nil
		}
		scheme := "http://"
		if secure {
			scheme = "https://"
		}
		return host, []string{scheme + strings.ToLower(r.Host)}
	}
}

func (g *Gate) webauthn(r *http.Request) (*webauthn.WebAuthn, error) {
	id, origins := g.opt.RP(r)
	if id == "" {
		host, _, err := net.SplitHostPort(r.Host)
		if err != nil {
			host = r.Host
		}
		return nil, record.Faultf(record.NotAllowed, "passkey", fmt.Sprintf("the address %.60q", host), "a name, over HTTPS", "open the server by its name, or use the PIN")
	}
	w, err := webauthn.New(&webauthn.Config{
		RPID: id, RPDisplayName: g.opt.Name, RPOrigins: origins, AttestationPreference: protocol.PreferNoAttestation,
		AuthenticatorSelection: protocol.AuthenticatorSelection{ResidentKey: protocol.ResidentKeyRequirementRequired, RequireResidentKey: protocol.ResidentKeyRequired(),
			UserVerification: protocol.VerificationRequired},
	})
	if err != nil {
		return nil, &record.Fault{Code: record.Invalid, Where: "passkey", Found: "a name that cannot have passkeys", Want: "a domain name", Mend: "look at the names of the server", Err: err}
	}
	return w, nil
}

// holder is a person as the library for passkeys wants it. The handle is the number of the person: it says nothing about who it is
// (Web Authentication section 14.6.1, from memory).
type holder struct {
	id   int64
	p    record.Person
	keys []webauthn.Credential
}

func (h holder) WebAuthnID() []byte                         { return binary.BigEndian.AppendUint64(nil, uint64(h.id)) }
func (h holder) WebAuthnName() string                       { return h.p.Name }
func (h holder) WebAuthnDisplayName() string                { return h.p.Name }
func (h holder) WebAuthnCredentials() []webauthn.Credential { return h.keys }

// keyID is what a passkey is kept under: the digest of its identifier, which may have up to 1023 bytes. The store refuses one that another
// person has (Web Authentication section 7.1, from memory): nobody puts a key of his own in its place by claiming its identifier.
func keyID(credential []byte) string {
	h := sha256.Sum256(credential)
	return base64.RawURLEncoding.EncodeToString(h[:])
}

func (g *Gate) holder(ctx context.Context, id int64) (holder, []store.Passkey, error) {
	p, err := g.person(ctx, id)
	if err != nil {
		return holder{}, nil, err
	}
	if p == nil {
		return holder{}, nil, unknownPasskey(nil)
	}
	kept, err := g.st.Passkeys(ctx, id)
	if err != nil {
		return holder{}, nil, err
	}
	h := holder{id: id, p: *p}
	for _, k := range kept {
		var c webauthn.Credential
		if err := json.Unmarshal([]byte(k.Credential), &c); err != nil {
			return holder{}, nil, &record.Fault{Code: record.Damaged, Where: "passkey", Found: "a stored value that is none", Mend: "drop the passkey and add it again", Err: err}
		}
		h.keys = append(h.keys, c)
	}
	return h, kept, nil
}

func unknownPasskey(err error) *record.Fault {
	return &record.Fault{Code: record.NotAllowed, Where: "passkey", Found: "one that does not fit", Want: "a passkey of somebody who works here", Mend: "try again, or use the PIN", Err: err}
}

// BeginRegister begins to add a passkey for who is signed in (within the last ten minutes): it writes the options as JSON, for
// PublicKeyCredential.parseCreationOptionsFromJSON.
func (g *Gate) BeginRegister(w http.ResponseWriter, r *http.Request) error {
	who, err := atDevice(r.Context(), "adding a passkey")
	if err != nil {
		return err
	}
	if err := g.fresh(who, "adding a passkey"); err != nil {
		return err
	}
	lib, err := g.webauthn(r)
	if err != nil {
		return err
	}
	h, kept, err := g.holder(r.Context(), who.Person)
	if err != nil {
		return err
	}
	if len(kept) >= mostPasskeys {
		return record.Faultf(record.TooMany, "passkey", fmt.Sprintf("%d of them", len(kept)), fmt.Sprintf("at most %d", mostPasskeys), "drop one first")
	}
	options, state, err := lib.BeginRegistration(h, webauthn.WithExclusions(webauthn.Credentials(h.keys).CredentialDescriptors()))
	if err != nil {
		return &record.Fault{Code: record.Invalid, Where: "passkey", Found: "a name that cannot have passkeys", Mend: "look at the names of the server", Err: err}
	}
	g.rite(w, who.Person, state)
	return writeJSON(w, options)
}

// FinishRegister adds the passkey that the device made; the body of the request is its answer as JSON.
func (g *Gate) FinishRegister(w http.ResponseWriter, r *http.Request, name string) error {
	ctx := r.Context()
	who, err := atDevice(ctx, "adding a passkey")
	if err != nil {
		return err
	}
	name = strings.TrimSpace(name)
	if err := checkName(name); err != nil {
		return err
	}
	lib, state, body, err := g.answer(w, r, who.Person)
	if err != nil {
		return err
	}
	parsed, err := protocol.ParseCredentialCreationResponseBytes(body)
	if err != nil {
		return badAnswer(err)
	}
	done, err := g.turns.take(ctx, who.Person)
	if err != nil {
		return err
	}
	defer done()
	h, kept, err := g.holder(ctx, who.Person)
	if err != nil {
		return err
	}
	made, err := lib.CreateCredential(h, state, parsed)
	if err != nil {
		return badAnswer(err)
	}
	id := keyID(made.ID)
	for _, k := range kept {
		if k.ID == id {
			return record.Faultf(record.Conflict, "passkey", "one that is kept already", "a new one", "")
		}
	}
	data, err := json.Marshal(made)
	if err != nil {
		return fmt.Errorf("gate: a passkey: %w", err)
	}
	g.opt.Log.InfoContext(ctx, "passkey added", "person", who.Person)
	return g.st.PutPasskey(ctx, store.Passkey{ID: id, Person: who.Person, Name: name, Credential: string(data)})
}

// BeginSignIn begins to sign in with a passkey, whoever's it will be: it writes the options as JSON, for
// PublicKeyCredential.parseRequestOptionsFromJSON.
func (g *Gate) BeginSignIn(w http.ResponseWriter, r *http.Request) error {
	if who, _ := From(r.Context()); who.Device == 0 {
		if err := g.knock(r); err != nil {
			return err
		}
	}
	lib, err := g.webauthn(r)
	if err != nil {
		return err
	}
	options, state, err := lib.BeginDiscoverableLogin(webauthn.WithUserVerification(protocol.VerificationRequired))
	if err != nil {
		return &record.Fault{Code: record.Invalid, Where: "passkey", Found: "a name that cannot have passkeys", Mend: "look at the names of the server", Err: err}
	}
	g.rite(w, 0, state)
	return writeJSON(w, options)
}

// FinishSignIn signs in by the answer of a passkey, with the person verified by its device (finger, face or its own PIN). On a device
// that the shop does not know it works for office and owners, and lets the device in under the name given: a passkey is possession and
// knowledge at once, and these roles may let devices in.
func (g *Gate) FinishSignIn(w http.ResponseWriter, r *http.Request, deviceName string) error {
	ctx := r.Context()
	before, _ := From(ctx)
	if before.Token {
		return unknownDevice()
	}
	lib, state, body, err := g.answer(w, r, 0)
	if err != nil {
		return err
	}
	person, err := g.verify(ctx, lib, state, body)
	if err != nil {
		g.opt.Log.WarnContext(ctx, "passkey refused", "device", before.Device, "err", err)
		return err
	}
	device := before.Device
	if device == 0 {
		p, err := g.person(ctx, person)
		if err != nil {
			return err
		}
		d := record.Device{Name: strings.TrimSpace(deviceName)}
		if p == nil || May(Who{Person: person, P: *p}, KeepDevice) != nil {
			return unknownDevice()
		}
		if err := d.Check(); err != nil {
			return err
		}
		if device, err = g.admit(ctx, w, d, person); err != nil {
			return err
		}
	}
	g.opt.Log.InfoContext(ctx, "signed in", "person", person, "device", device, "by", "passkey")
	return g.start(w, r, person, device)
}

// verify checks the answer of a passkey and writes its use down. A count of signatures that did not grow means that there may be two of
// the key: it is refused (Web Authentication section 7.2, from memory).
func (g *Gate) verify(ctx context.Context, lib *webauthn.WebAuthn, state webauthn.SessionData, body []byte) (int64, error) {
	parsed, err := protocol.ParseCredentialRequestResponseBytes(body)
	if err != nil {
		return 0, badAnswer(err)
	}
	handle := parsed.Response.UserHandle
	if len(handle) != 8 {
		return 0, unknownPasskey(nil)
	}
	id := int64(binary.BigEndian.Uint64(handle))
	done, err := g.turns.take(ctx, id)
	if err != nil {
		return 0, err
	}
	defer done()
	h, kept, err := g.holder(ctx, id)
	if err != nil {
		return 0, err
	}
	used, err := lib.ValidateDiscoverableLogin(func(_, _ []byte) (webauthn.User, error) { return h, nil }, state, parsed)
	if err != nil {
		return 0, unknownPasskey(err)
	}
	if used.Authenticator.CloneWarning {
		return 0, record.Faultf(record.NotAllowed, "passkey", "a count of uses that did not grow: there may be two of this key", "a count that grows", "drop this passkey and add it again")
	}
	data, err := json.Marshal(used)
	if err != nil {
		return 0, fmt.Errorf("gate: a passkey: %w", err)
	}
	for _, k := range kept {
		if k.ID == keyID(used.ID) {
			k.Credential = string(data)
			return id, g.st.PutPasskey(ctx, k)
		}
	}
	return 0, unknownPasskey(nil)
}

// Passkey is a passkey as its owner sees it.
type Passkey struct {
	ID, Name      string
	Created, Used time.Time
}

// Passkeys lists the passkeys of who is signed in.
func (g *Gate) Passkeys(ctx context.Context) ([]Passkey, error) {
	who, err := atDevice(ctx, "reading passkeys")
	if err != nil {
		return nil, err
	}
	kept, err := g.st.Passkeys(ctx, who.Person)
	if err != nil {
		return nil, err
	}
	out := make([]Passkey, len(kept))
	for i, k := range kept {
		out[i] = Passkey{ID: k.ID, Name: k.Name, Created: k.Created, Used: k.Used}
	}
	return out, nil
}

// DropPasskey takes a passkey of who is signed in (within the last ten minutes) away.
func (g *Gate) DropPasskey(ctx context.Context, id string) error {
	who, err := atDevice(ctx, "dropping a passkey")
	if err != nil {
		return err
	}
	if err := g.fresh(who, "dropping a passkey"); err != nil {
		return err
	}
	done, err := g.turns.take(ctx, who.Person)
	if err != nil {
		return err
	}
	defer done()
	g.opt.Log.InfoContext(ctx, "passkey dropped", "person", who.Person)
	return g.st.DropPasskey(ctx, who.Person, id)
}
