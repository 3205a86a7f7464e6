package gate

import (
	"context"
	"time"

	"github.com/alexedwards/argon2id"

	"github.com/evenstroke/evenstroke/internal/record"
)

// DefaultCost is the cost of the hash of a PIN: Argon2id (RFC 9106) with 46 MiB, two passes, one lane. The OWASP password storage
// cheat sheet asks at least 19 MiB and two passes, or 46 MiB and one (from memory); this is above both and fits a small server.
func DefaultCost() *argon2id.Params {
	return &argon2id.Params{Memory: 46 * 1024, Iterations: 2, Parallelism: 1, SaltLength: 16, KeyLength: 32}
}

// hashWait is how long a sign-in waits for its turn to be hashed.
const hashWait = 10 * time.Second

// hasher hashes PINs, some at a time: each takes tens of megabytes.
type hasher struct {
	cost  *argon2id.Params
	room  chan struct{}
	dummy func() (string, error) // a hash that no PIN fits, for persons who have none
}

func newHasher(cost *argon2id.Params, parallel int) *hasher {
	h := &hasher{cost: cost, room: make(chan struct{}, parallel)}
	h.dummy = onceOK(func() (string, error) { return argon2id.CreateHash("no PIN is this text", cost) })
	return h
}

func (h *hasher) enter(ctx context.Context) error {
	wait := time.NewTimer(hashWait)
	defer wait.Stop()
	select {
	case h.room <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	case <-wait.C:
		return tooMany("signing in", "many others who sign in", time.Second)
	}
}

func (h *hasher) leave() { <-h.room }

func (h *hasher) make(ctx context.Context, pin string) (string, error) {
	if err := h.enter(ctx); err != nil {
		return "", err
	}
	defer h.leave()
	out, err := argon2id.CreateHash(pin, h.cost)
	if err != nil {
		return "", &record.Fault{Code: record.Internal, Where: "PIN", Found: "no randomness", Mend: "see the log of the server", Err: err}
	}
	return out, nil
}

// fits compares a PIN with its hash; with "" it takes as long and is false. stale says that the hash was made at another cost.
func (h *hasher) fits(ctx context.Context, pin, hash string) (ok, stale bool, err error) {
	none := hash == ""
	if none {
		if hash, err = h.dummy(); err != nil {
			return false, false, err
		}
	}
	p, _, _, err := argon2id.DecodeHash(hash)
	if err == nil && (p.Iterations < 1 || p.Parallelism < 1 || p.Memory > 1<<20 || p.Iterations > 100 || p.KeyLength < 16) {
		err = argon2id.ErrInvalidHash
	}
	if err != nil {
		return false, false, &record.Fault{Code: record.Damaged, Where: "PIN", Found: "a stored value that is no hash", Want: "a hash", Mend: "have the PIN set anew", Err: err}
	}
	if err := h.enter(ctx); err != nil {
		return false, false, err
	}
	defer h.leave()
	ok, p, err = argon2id.CheckHash(pin, hash)
	if err != nil {
		return false, false, err
	}
	return ok && !none, p.Memory != h.cost.Memory || p.Iterations != h.cost.Iterations || p.Parallelism != h.cost.Parallelism, nil
}
