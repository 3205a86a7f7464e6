//go:build !small

package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"github.com/evenstroke/evenstroke/internal/heads"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// keptElsewhere is what a store is compared with: kept where whoever writes the database cannot write.
type keptElsewhere struct {
	against string
	expect  []string
	heads   []string
	key     string
}

// check compares the store with what was kept elsewhere. data is the folder in which the key of heads may lie.
func (k *keptElsewhere) check(ctx context.Context, st *store.Store, r *store.Report, data string) error {
	if k.against != "" {
		switch info, err := os.Stat(k.against); {
		case err != nil:
			return badInput("verify: %s: found no such file; expected a backup", k.against)
		case info.IsDir():
			return badInput("verify: %s: found a folder; expected a backup", k.against)
		}
		if err := st.Against(ctx, k.against, r); err != nil {
			return ofFile(k.against, err)
		}
	}
	for _, text := range k.expect {
		if err := st.Expect(ctx, text, r); err != nil {
			return err
		}
	}
	if len(k.heads) == 0 {
		return nil
	}
	key, err := k.headKey(data)
	if err != nil {
		return err
	}
	for _, file := range k.heads {
		if err := checkHead(ctx, st, r, file, key); err != nil {
			return err
		}
	}
	return nil
}

// headKey is the key with which heads must be signed.
func (k *keptElsewhere) headKey(data string) (string, error) {
	if k.key != "" {
		return k.key, nil
	}
	key, err := heads.Known(data)
	if err != nil {
		return "", err
	}
	if key == nil {
		return "", badInput("verify: found no key of heads in %s; expected the one that signed them; give --head-key, as serve logs it", data)
	}
	return heads.KeyText(key), nil
}

// checkHead looks whether a signed head is one of this shop and stands in its chain.
func checkHead(ctx context.Context, st *store.Store, r *store.Report, file, key string) error {
	h, err := heads.Read(file)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return badInput("verify: %s: found no such file; expected a signed head", file)
	case record.CodeOf(err) == record.Damaged:
		r.Wrong(file, "its signature does not fit: it was changed after the server wrote it")
		return nil
	case err != nil:
		return err
	case h.By() != key:
		r.Wrong(file, "it is signed with the key "+h.By()+", expected "+key)
		return nil
	}
	stands, err := st.Stands(ctx, h.Link, h.Digest)
	if err == nil && !stands {
		r.Wrong(file, fmt.Sprintf("link %d of %s does not stand in the chain: the records were changed, or set back, since then", h.Link, h.At.Format(time.RFC3339)))
	}
	return err
}
