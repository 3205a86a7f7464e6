package gate

import (
	"context"
	"fmt"
	"net/http"

	"github.com/evenstroke/evenstroke/internal/record"
)

// SignIn signs a person in by PIN on a device that is known, in the place of whoever was signed in there. Errors: *record.Fault of
// code NotAllowed (device not known, wrong PIN, or, with the cause ErrGivenPIN, one that somebody else chose: see SignInAnew), Invalid (no
// PIN at all), TooMany (Left says for how long).
func (g *Gate) SignIn(w http.ResponseWriter, r *http.Request, person int64, pin string) error {
	who, _ := From(r.Context())
	if who.Device == 0 || who.Token {
		return unknownDevice()
	}
	given, err := g.guess(r.Context(), who.Device, person, pin)
	if err != nil {
		return err
	}
	if given {
		return givenPIN()
	}
	g.opt.Log.InfoContext(r.Context(), "signed in", "person", person, "device", who.Device, "by", "PIN")
	return g.start(w, r, person, who.Device)
}

func unknownDevice() *record.Fault {
	return record.Faultf(record.NotAllowed, "signing in", "a device that the shop does not know", "a device that was let in",
		"let it in with a code that somebody of the office makes")
}

// ChangePIN changes the PIN of who is signed in, which takes the old one; without an old one (passkeys only) a sign-in within the last ten
// minutes does. All other sessions of the person end, and this one begins anew.
func (g *Gate) ChangePIN(w http.ResponseWriter, r *http.Request, old, pin string) error {
	ctx := r.Context()
	who, err := atDevice(ctx, "changing the PIN")
	if err != nil {
		return err
	}
	if err := CheckPIN(pin); err != nil {
		return err
	}
	have, err := g.st.Secret(ctx, who.Person)
	if err != nil {
		return err
	}
	if have.PIN == "" {
		err = g.fresh(who, "setting a PIN")
	} else {
		_, err = g.guess(ctx, who.Device, who.Person, old)
	}
	if err != nil {
		return err
	}
	if err := g.Recover(ctx, who.Person, pin); err != nil {
		return err
	}
	return g.start(w, r, who.Person, who.Device)
}

// SetPIN sets the PIN of somebody else: office for all but owners, owners for all. It forgets wrong PINs and ends all sessions of that
// person, who chooses another when it is first used (SignInAnew).
func (g *Gate) SetPIN(ctx context.Context, who Who, person int64, pin string) error {
	p, err := g.person(ctx, person)
	if err != nil {
		return err
	}
	var role record.Role
	if p != nil {
		role = p.Role
	}
	if err := MayKeepPerson(who, role, role); err != nil {
		return err
	}
	if p == nil {
		return record.Faultf(record.NotFound, fmt.Sprintf("person %d", person), "nobody", "somebody who works here", "")
	}
	if person == who.Person {
		return record.Faultf(record.NotAllowed, "setting a PIN", "your own", "that of somebody else", "change your own with the old one")
	}
	if err := g.fresh(who, "setting a PIN"); err != nil {
		return err
	}
	return g.putPIN(ctx, person, pin, g.st.GivePIN)
}

// Recover sets a PIN without asking who wants it: for the terminal of the server itself, when nobody gets in any more. Whoever can call it
// can read the database too.
func (g *Gate) Recover(ctx context.Context, person int64, pin string) error {
	return g.putPIN(ctx, person, pin, g.st.SetPIN)
}

func (g *Gate) putPIN(ctx context.Context, person int64, pin string, put func(context.Context, int64, string) error) error {
	if err := CheckPIN(pin); err != nil {
		return err
	}
	p, err := g.person(ctx, person)
	if err != nil {
		return err
	}
	if p == nil {
		return record.Faultf(record.NotFound, fmt.Sprintf("person %d", person), "nobody", "somebody who works here", "")
	}
	hash, err := g.hash.make(ctx, pin)
	if err != nil {
		return err
	}
	if err := put(ctx, person, hash); err != nil {
		return err
	}
	g.opt.Log.InfoContext(ctx, "PIN set", "person", person)
	return g.Changed(ctx, person)
}
