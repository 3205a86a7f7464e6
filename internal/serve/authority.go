package serve

import (
	"path/filepath"
	"time"

	"github.com/evenstroke/evenstroke/internal/localca"
)

// Authority is the certificate authority of a shop, as a person needs to know it.
type Authority struct {
	Name        string    // under which a tablet lists its root
	Fingerprint string    // SHA-256 of the root, to compare with what a tablet shows
	Until       time.Time // the last moment at which it holds
}

// AuthorityOf finds the authority kept in the data folder of a shop. Errors: those of localca.Find.
func AuthorityOf(data string) (Authority, error) {
	ca, err := localca.Find(authorityDir(data), time.Now)
	if err != nil {
		return Authority{}, err
	}
	return describe(ca), nil
}

// ReplaceAuthority puts a new authority in the place of that of a shop; old is the name of that one, see localca.Replace, with its errors.
func ReplaceAuthority(data string) (fresh Authority, old string, err error) {
	ca, old, err := localca.Replace(authorityDir(data), time.Now)
	if err != nil {
		return Authority{}, old, err
	}
	return describe(ca), old, nil
}

func authorityDir(data string) string { return filepath.Join(data, "authority") }

func describe(ca *localca.Authority) Authority {
	return Authority{Name: ca.Name(), Fingerprint: ca.Fingerprint(), Until: ca.Until().UTC()}
}
