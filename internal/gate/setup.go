package gate

import (
	"context"
	"net/http"
	"net/netip"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// setUpKey is the key of the first entries: two processes that set the same shop up cannot both keep them.
const setUpKey = "set-up"

// setUpTime is how long a set-up may take: a person without PIN that is older was left by one that was broken off.
const setUpTime = time.Minute

// IsSetUp says whether there is somebody who can sign in. A set-up that was broken off after the first person was kept, before the
// PIN was, does not count.
func (g *Gate) IsSetUp(ctx context.Context) (bool, error) {
	_, done, err := g.first(ctx)
	return done, err
}

// first finds a person of a broken-off set-up (nil when there is none), and says whether the shop is set up.
func (g *Gate) first(ctx context.Context) (half *store.Item, done bool, err error) {
	left, err := g.st.Items(ctx, record.OfPerson, store.Page{Limit: 1, Retired: true})
	if err != nil || len(left) > 0 {
		return nil, len(left) > 0, err
	}
	all, err := g.st.Items(ctx, record.OfPerson, store.Page{Limit: 2})
	if err != nil || len(all) != 1 {
		return nil, len(all) > 1, err
	}
	half = &all[0]
	secret, err := g.st.Secret(ctx, half.Subject.ID)
	if err != nil || secret.PIN != "" {
		return nil, true, err
	}
	keys, err := g.st.Passkeys(ctx, half.Subject.ID)
	return half, len(keys) > 0, err
}

// keepFirst keeps the first person: a new one, of which the key lets only one in, or another value of the one of a broken-off set-up.
func (g *Gate) keepFirst(ctx context.Context, half *store.Item, p record.Person) (int64, error) {
	if half == nil {
		got, err := g.keep(ctx, record.Subject{Kind: record.OfPerson}, &p, 0, setUpKey)
		if record.CodeOf(err) == record.Conflict || got.Duplicate {
			err = alreadySetUp()
		}
		return got.Entry.Subject.ID, err
	}
	last, err := g.st.Entries(ctx, half.Subject, half.Seq-1, 1)
	if err != nil {
		return 0, err
	}
	if len(last) == 0 || last[0].Seq != half.Seq {
		return 0, alreadySetUp()
	}
	if left := setUpTime - g.opt.Now().Sub(last[0].Stored); left > 0 {
		return 0, tooMany("set-up", "one that somebody else began just now", left)
	}
	body, err := record.Keep(&p)
	if err != nil {
		return 0, err
	}
	_, err = g.st.Keep(ctx, half.Seq, record.Draft{Subject: half.Subject, At: g.opt.Now(), Key: newSecret(), Body: body})
	if record.CodeOf(err) == record.Conflict {
		err = alreadySetUp()
	}
	return half.Subject.ID, err
}

// SetUp keeps the shop, its first person, who must be an owner, with a PIN, and the first device; it gives the secret of the device, to be
// kept in its browser with Remember. It works only while there is nobody who can sign in: a *record.Fault of code NotAllowed
// after that. Who may reach it before is up to the caller (see FromHere).
func (g *Gate) SetUp(ctx context.Context, shop record.Shop, person record.Person, pin string, device record.Device) (secret string, err error) {
	if person.Role != record.Owner {
		return "", record.Faultf(record.Invalid, "role", string(person.Role), "owner", "the first person is an owner")
	}
	for _, err := range []error{CheckPIN(pin), shop.Check(), person.Check(), device.Check()} {
		if err != nil {
			return "", err
		}
	}
	g.setUp.Lock()
	defer g.setUp.Unlock()
	half, done, err := g.first(ctx)
	if err != nil {
		return "", err
	}
	if done {
		return "", alreadySetUp()
	}
	id, err := g.keepFirst(ctx, half, person)
	if err != nil {
		return "", err
	}
	if err := g.keepShop(ctx, shop); err != nil {
		return "", err
	}
	secret, _, err = g.newDevice(ctx, device, id)
	if err != nil {
		return "", err
	}
	if err := g.Recover(ctx, id, pin); err != nil {
		return "", err
	}
	g.opt.Log.InfoContext(ctx, "shop set up", "person", id)
	return secret, nil
}

// keepShop keeps the shop, or another value of the one of a broken-off set-up.
func (g *Gate) keepShop(ctx context.Context, shop record.Shop) error {
	have, err := g.st.Items(ctx, record.OfShop, store.Page{Limit: 1})
	if err != nil {
		return err
	}
	sub, key := record.Subject{Kind: record.OfShop}, setUpKey
	if len(have) > 0 {
		sub, key = have[0].Subject, newSecret()
	}
	_, err = g.keep(ctx, sub, &shop, 0, key)
	if record.CodeOf(err) == record.Conflict {
		return alreadySetUp()
	}
	return err
}

func alreadySetUp() *record.Fault {
	return record.Faultf(record.NotAllowed, "set-up", "a shop that is set up", "one that is new", "sign in instead")
}

// Remember gives the secret of a device to the browser of a request.
func (g *Gate) Remember(w http.ResponseWriter, secret string) {
	g.setCookie(w, deviceCookie, secret, deviceLife)
}

// FromHere says whether a request comes from a browser on the machine of the server itself. One that came through a proxy does not: nothing
// that comes from Options.Proxies does, whatever it says.
func (g *Gate) FromHere(r *http.Request) bool {
	at, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil || !at.Addr().Unmap().IsLoopback() || g.proxy(at.Addr().Unmap()) {
		return false
	}
	return len(r.Header.Values("X-Forwarded-For")) == 0 && len(r.Header.Values("Forwarded")) == 0 && len(r.Header.Values("Via")) == 0
}
