package serve

import (
	"context"
	"crypto/ed25519"
	"os"
	"sync"
	"time"

	"github.com/evenstroke/evenstroke/internal/heads"
	"github.com/evenstroke/evenstroke/internal/record"
)

// witness writes the signed head of the chain into the folder that the configuration names: one file a day by the clock of the server, and
// once more when the server stops.
type witness struct {
	*workshop
	key ed25519.PrivateKey

	mu  sync.Mutex
	day string // of the last file
	err error  // of the last attempt
}

// openWitness reads the key, and says which it is; nil when no folder is named.
func (w *workshop) openWitness() (*witness, error) {
	if w.cfg.Heads == "" {
		return nil, nil
	}
	if err := os.MkdirAll(w.cfg.Data, 0o700); err != nil { // with PostgreSQL nothing has made it
		return nil, record.Faultf(record.ReadOnly, w.cfg.Data, err.Error(), "a folder that can be made", "let the program's user write there")
	}
	key, err := heads.Key(w.cfg.Data)
	if err != nil {
		return nil, err
	}
	w.log.Info("heads of the chain are signed", "folder", w.cfg.Heads, "key", heads.KeyText(key.Public().(ed25519.PublicKey)))
	return &witness{workshop: w, key: key}, nil
}

// lookEvery is how often it is looked whether a new day has begun.
const lookEvery = time.Minute

func (k *witness) run(ctx context.Context) {
	for {
		k.daily(ctx)
		select {
		case <-ctx.Done():
			return
		case <-time.After(lookEvery):
		}
	}
}

// daily writes the head unless that was done on this day of the clock.
func (k *witness) daily(ctx context.Context) {
	k.mu.Lock()
	done := k.day == k.now().UTC().Format(time.DateOnly)
	k.mu.Unlock()
	if !done {
		k.write(ctx)
	}
}

// write writes the head of now. What goes wrong is logged once, and is a trouble until it goes well; nobody has to wait for it.
func (k *witness) write(ctx context.Context) {
	now := k.now()
	file, err := k.put(ctx, now)
	if ctx.Err() != nil {
		return
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	if err != nil {
		if k.err == nil || k.err.Error() != err.Error() {
			k.log.Error("the head of the chain could not be written", "err", err)
		}
		k.err = err
		return
	}
	k.err, k.day = nil, now.UTC().Format(time.DateOnly)
	k.log.Info("the head of the chain is written", "file", file)
}

// put writes the file. A chain in which the last head that was written does not stand any more replaces none.
func (k *witness) put(ctx context.Context, now time.Time) (string, error) {
	last, err := heads.Last(k.cfg.Heads)
	if err != nil {
		return "", err
	}
	if last != "" {
		was, err := heads.Read(last)
		if err != nil {
			return "", err
		}
		stands, err := k.st.Stands(ctx, was.Link, was.Digest)
		if err != nil {
			return "", err
		}
		if !stands {
			return "", record.Faultf(record.Damaged, last, "a head that does not stand in the chain", "the chain of this shop", "the records were changed, or set back to a backup: look with verify --head; to go on, keep the files and name another folder")
		}
	}
	link, digest, err := k.st.Head(ctx)
	if err != nil {
		return "", err
	}
	return heads.Write(k.cfg.Heads, heads.Sign(k.key, link, digest, now))
}

// trouble is why the last head could not be written, nil when it was.
func (k *witness) trouble() error {
	if k == nil {
		return nil
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.err
}
