package gate

import (
	"context"
	"log/slog"
	"net/http"
	"net/netip"
	"runtime"
	"sync"
	"time"

	"github.com/alexedwards/argon2id"
	"golang.org/x/time/rate"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// Options for New. The zero value is a server on plain HTTP with the defaults named.
type Options struct {
	Now    func() time.Time // nil is time.Now; the store must have the same clock
	Secure bool             // all requests come over HTTPS: cookies are Secure with the prefix __Host-, HSTS is sent
	Name   string           // of the server in the list of passkeys of a device; "" is "evenstroke"
	Log    *slog.Logger     // nil logs nothing

	Idle time.Duration // a session that was not used for so long is locked; 0 is 15 minutes
	Life time.Duration // a session ends after so long, used or not; 0 is 12 hours
	// Background says of a request that the page makes it without anybody touching the screen (an event stream, a poll). It
	// does not count as use, so that an open page does not keep a session from being locked. nil: all requests count.
	Background func(*http.Request) bool

	Hosts   []string       // further names under which the server is reached, without port
	Proxies []netip.Prefix // whose X-Forwarded-For is believed; none by default
	MaxBody int64          // of a request, in bytes; 0 is 32 MiB
	Rate    rate.Limit     // requests per second of a device; four times as many of an address; 0 is 50
	Burst   int            // requests at once of a device; four times as many of an address; 0 is 200

	// RP gives the relying party of passkeys for a request: a domain name, and the origins of its pages. nil takes both from the
	// Host header, which was checked before. An empty id: no passkeys under this name (as under an IP address).
	RP func(*http.Request) (id string, origins []string)

	PIN *argon2id.Params // cost of the hash of a PIN; nil is DefaultCost. Cheaper ones are for tests
	// Refuse writes the page of a request that does not get through, with this status. nil writes plain text.
	Refuse func(w http.ResponseWriter, r *http.Request, status int, f *record.Fault)
}

// Gate lets people, devices and programs in. It is safe for concurrent use.
type Gate struct {
	st     *store.Store
	opt    Options
	hosts  map[string]bool
	cross  *http.CrossOriginProtection
	hash   *hasher
	people people
	turns  turns // one guess a person at a time
	setUp  sync.Mutex

	addresses, devices *limits // requests
	guesses            *limits // PINs, by device
	knocks             *limits // codes and passkeys of unknown devices, by address
	allKnocks          *limits // the same, of all addresses together
	rites              rites   // passkey ceremonies that were begun
}

// New makes the gate of a shop.
func New(st *store.Store, opt Options) *Gate {
	opt = opt.filled()
	g := &Gate{
		st: st, opt: opt, hosts: ownHosts(opt.Hosts), cross: http.NewCrossOriginProtection(),
		hash:      newHasher(opt.PIN, min(4, max(1, runtime.NumCPU()/2))),
		addresses: newLimits(4*opt.Rate, 4*opt.Burst), devices: newLimits(opt.Rate, opt.Burst),
		guesses: newLimits(rate.Every(6*time.Second), 10), knocks: newLimits(rate.Every(6*time.Second), 10),
		allKnocks: newLimits(1, 60),
	}
	g.people.kept = map[int64]kept{}
	g.rites.begun = map[string]rite{}
	g.turns.fill()
	return g
}

func (o Options) filled() Options {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Name == "" {
		o.Name = "evenstroke"
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Idle <= 0 {
		o.Idle = 15 * time.Minute
	}
	if o.Life <= 0 {
		o.Life = 12 * time.Hour
	}
	if o.MaxBody <= 0 {
		o.MaxBody = 32 << 20
	}
	if o.Rate <= 0 {
		o.Rate = 50
	}
	if o.Burst <= 0 {
		o.Burst = 200
	}
	if o.PIN == nil {
		o.PIN = DefaultCost()
	}
	if o.RP == nil {
		o.RP = relyingParty(o.Secure)
	}
	if o.Refuse == nil {
		o.Refuse = plain
	}
	return o
}

// Who is at the door: a person at a device, a program with a token, or a device at which nobody is signed in.
type Who struct {
	Person, Device int64 // 0 when nobody is signed in; 0 when the device is not known
	P              record.Person
	Token          bool        // a program with an API token; its role is at most office
	Scope          string      // of a token: "read" or "write"
	Whole          record.Role // of the person of a token, which may be more than the token has
	Locked         bool        // the session was not used for too long: Person is 0, Last says whose it is
	Last           int64
	Since          time.Time // when the person signed in
}

type whoKey struct{}

// With keeps who is at the door in a context.
func With(ctx context.Context, who Who) context.Context { return context.WithValue(ctx, whoKey{}, who) }

// From reads who is at the door. It is true only when a person (or a program in the name of one) is signed in and the session is not
// locked; Device is given either way.
func From(ctx context.Context) (Who, bool) {
	who, _ := ctx.Value(whoKey{}).(Who)
	return who, who.Person != 0 && !who.Locked
}
