package gate

import (
	"errors"
	"net/http"

	"github.com/evenstroke/evenstroke/internal/record"
)

// ErrGivenPIN is the cause of a fault of SignIn: the PIN fits, but somebody else chose it. Nobody is signed in by it; SignInAnew takes it
// together with one that its person chooses.
var ErrGivenPIN = errors.New("gate: a PIN that somebody else chose")

func givenPIN() *record.Fault {
	return &record.Fault{Code: record.NotAllowed, Where: "PIN", Found: "one that somebody else chose for you", Want: "one of your own",
		Mend: "type it once more, and below it one that nobody else knows", Err: ErrGivenPIN}
}

// SignInAnew signs a person in by a PIN that somebody else chose, and puts one of the person's own in its place. Errors are those of SignIn; a
// PIN that is the person's own already is changed by ChangePIN only.
func (g *Gate) SignInAnew(w http.ResponseWriter, r *http.Request, person int64, pin, own string) error {
	ctx := r.Context()
	who, _ := From(ctx)
	if who.Device == 0 || who.Token {
		return unknownDevice()
	}
	if err := CheckPIN(own); err != nil {
		return err
	}
	if own == pin {
		return &record.Fault{Code: record.Invalid, Where: "PIN", Found: "the same one again", Want: "one of your own", Mend: "choose one that nobody else knows", Err: ErrGivenPIN}
	}
	given, err := g.guess(ctx, who.Device, person, pin)
	if err != nil {
		return err
	}
	if !given {
		return record.Faultf(record.Conflict, "PIN", "one that is your own already", "one that somebody else chose", "sign in with it; change it on your own page")
	}
	if err := g.Recover(ctx, person, own); err != nil {
		return err
	}
	g.opt.Log.InfoContext(ctx, "signed in", "person", person, "device", who.Device, "by", "PIN, chosen anew")
	return g.start(w, r, person, who.Device)
}
