package gate

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// codeLife is how long a code lets a device in.
const codeLife = 10 * time.Minute

// MakeCode makes a code that lets one new device in, once, within ten minutes. Office and owners may, signed in within the last ten minutes. Put it into the fragment of
// an address (/enrol#…) when it is shown as a QR: a fragment is not sent and stands in no log.
func (g *Gate) MakeCode(ctx context.Context, who Who) (code string, expires time.Time, err error) {
	if err := May(who, KeepDevice); err != nil {
		return "", time.Time{}, err
	}
	if err := g.fresh(who, "making a code for a device"); err != nil {
		return "", time.Time{}, err
	}
	code, expires = newCode(), g.opt.Now().Add(codeLife)
	if err := g.st.Enrol(ctx, code, who.Person, expires); err != nil {
		return "", time.Time{}, err
	}
	g.opt.Log.InfoContext(ctx, "code for a device made", "person", who.Person)
	return code, expires, nil
}

// LetIn lets the browser of a request in as a device of the shop by a code that MakeCode made. A browser that is known stays what it
// is, and the code is not used up.
func (g *Gate) LetIn(w http.ResponseWriter, r *http.Request, code, name string) error {
	ctx := r.Context()
	if who, _ := From(ctx); who.Device != 0 {
		return nil
	}
	d := record.Device{Name: strings.TrimSpace(name)}
	if err := d.Check(); err != nil {
		return err
	}
	if err := g.knock(r); err != nil {
		return err
	}
	code, ok := readCode(code)
	if !ok {
		g.opt.Log.WarnContext(ctx, "code refused", "from", g.address(r).String())
		return record.Faultf(record.Invalid, "code", "something else", fmt.Sprintf("%d letters and digits", codeLength), "type it as it is shown")
	}
	by, err := g.st.UseEnrolment(ctx, code)
	if err != nil {
		g.opt.Log.WarnContext(ctx, "code refused", "from", g.address(r).String(), "err", err)
		return err
	}
	p, err := g.person(ctx, by)
	if err != nil {
		return err
	}
	if p == nil {
		return record.Faultf(record.NotAllowed, "code", "one of somebody who left", "a code of somebody of the office", "let the owner make a new one")
	}
	if err := May(Who{Person: by, P: *p}, KeepDevice); err != nil {
		return err
	}
	_, err = g.admit(ctx, w, d, by)
	return err
}

// knock counts what somebody on an unknown device tries.
func (g *Gate) knock(r *http.Request) error {
	now := g.opt.Now()
	left := g.knocks.take(network(g.address(r)), now)
	if left == 0 {
		left = g.allKnocks.take("", now)
	}
	if left > 0 {
		return tooMany("letting a device in", "too many tries", left)
	}
	return nil
}

// admit writes a new device down and gives its browser a secret.
func (g *Gate) admit(ctx context.Context, w http.ResponseWriter, d record.Device, by int64) (int64, error) {
	secret, device, err := g.newDevice(ctx, d, by)
	if err != nil {
		return 0, err
	}
	g.opt.Log.InfoContext(ctx, "device let in", "device", device, "by", by)
	g.setCookie(w, deviceCookie, secret, deviceLife)
	return device, nil
}

func (g *Gate) newDevice(ctx context.Context, d record.Device, by int64) (string, int64, error) {
	got, err := g.keep(ctx, record.Subject{Kind: record.OfDevice}, &d, by, newSecret())
	if err != nil {
		return "", 0, err
	}
	secret, id := newSecret(), got.Entry.Subject.ID
	return secret, id, g.st.StartDevice(ctx, secret, id)
}

// keep keeps a value of the catalogue.
func (g *Gate) keep(ctx context.Context, sub record.Subject, i record.Item, by int64, key string) (store.Receipt, error) {
	body, err := record.Keep(i)
	if err != nil {
		return store.Receipt{}, err
	}
	return g.st.Keep(ctx, store.AnySeq, record.Draft{Subject: sub, At: g.opt.Now(), By: by, Key: key, Body: body})
}

// DropDevice takes a device out: its secret and all sessions on it end, and it is retired in the record.
func (g *Gate) DropDevice(ctx context.Context, who Who, device int64) error {
	if err := May(who, KeepDevice); err != nil {
		return err
	}
	if err := g.st.EndDevice(ctx, device); err != nil {
		return err
	}
	g.opt.Log.InfoContext(ctx, "device taken out", "device", device, "person", who.Person)
	_, err := g.st.Keep(ctx, store.AnySeq, record.Draft{Subject: record.Subject{Kind: record.OfDevice, ID: device}, At: g.opt.Now(), By: who.Person, Device: who.Device,
		Key: newSecret(), Body: &record.Retired{}})
	return err
}
