// Package heads writes the head of the chain of a shop into small signed files, for a place that whoever writes the database cannot write to.
// Such a file shows later that the chain was made anew: its digest then stands nowhere.
//
// The signature is Ed25519 (RFC 8032). It says that the file comes from this server and was not changed where it lies. Whoever has the folder
// of the data has the key too: what such a person cannot do is change the files that already lie elsewhere.
package heads

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/x509"
	"encoding/base64"
	"encoding/json"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"github.com/evenstroke/evenstroke/internal/outfile"
	"github.com/evenstroke/evenstroke/internal/record"
)

// Head is the content of such a file, in JSON.
type Head struct {
	Format    int           `json:"head"` // 1
	Link      int64         `json:"link"` // number of the last link of the chain; 0 is an empty one
	Digest    record.Digest `json:"digest"`
	At        time.Time     `json:"at"` // by the clock of the server
	Key       []byte        `json:"key"`
	Signature []byte        `json:"signature"`
}

// message is what is signed: lines of text.
func (h *Head) message() []byte {
	return fmt.Appendf(nil, "evenstroke head %d\nlink %d\ndigest %s\nat %s\n", h.Format, h.Link, h.Digest, h.At.UTC().Format(time.RFC3339))
}

// Sign makes the head of a chain as it is at a time.
func Sign(key ed25519.PrivateKey, link int64, digest record.Digest, at time.Time) Head {
	h := Head{Format: 1, Link: link, Digest: digest, At: at.UTC().Truncate(time.Second), Key: key.Public().(ed25519.PublicKey)}
	h.Signature = ed25519.Sign(key, h.message())
	return h
}

// KeyText is a public key as it is printed: base64 (RFC 4648).
func KeyText(key ed25519.PublicKey) string { return base64.StdEncoding.EncodeToString(key) }

// By is the printed form of the key that a head is signed with.
func (h *Head) By() string { return KeyText(h.Key) }

// Read reads a file and checks its signature. Errors: a *record.Fault of code Invalid for what is no such file, Damaged for one whose signature
// does not fit.
func Read(file string) (Head, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return Head{}, &record.Fault{Code: record.Invalid, Where: file, Found: "a file that cannot be read", Want: "a signed head, as serve writes them", Mend: "name another file", Err: err}
	}
	var h Head
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&h); err != nil {
		return Head{}, &record.Fault{Code: record.Invalid, Where: file, Found: err.Error(), Want: "a signed head, as serve writes them", Mend: "copy the file again", Err: err}
	}
	if h.Format != 1 || len(h.Key) != ed25519.PublicKeySize || dec.More() {
		return Head{}, record.Faultf(record.Invalid, file, "another form, or a key of another length", "a signed head of form 1", "use the version of the program that wrote it")
	}
	if !ed25519.Verify(h.Key, h.message(), h.Signature) {
		return Head{}, record.Faultf(record.Damaged, file, "a signature that does not fit", "what the server wrote", "the file was changed where it lies; take another")
	}
	return h, nil
}

// Write puts a head into a folder, one file a day (UTC), and gives its name. An earlier one of the day is replaced.
func Write(folder string, h Head) (string, error) {
	text, err := json.MarshalIndent(h, "", " ")
	if err != nil {
		return "", fmt.Errorf("heads: %w", err)
	}
	name := Name(folder, h.At)
	if err := outfile.Write(name, append(text, '\n')); err != nil {
		return "", fmt.Errorf("heads: %w", err)
	}
	return name, nil
}

// Name is that of the file of a day.
func Name(folder string, at time.Time) string {
	return filepath.Join(folder, "head-"+at.UTC().Format(time.DateOnly)+".json")
}

// Last is the file of the newest day in a folder, "" when there is none.
func Last(folder string) (string, error) {
	found, err := filepath.Glob(filepath.Join(folder, "head-[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9].json"))
	if err != nil || len(found) == 0 {
		return "", err
	}
	return found[len(found)-1], nil // Glob sorts
}

const keyFile = "heads.pem"

// Key reads the key that lies with the data, and makes it the first time: PKCS #8 (RFC 5958) in PEM, for its owner only.
func Key(data string) (ed25519.PrivateKey, error) {
	name := filepath.Join(data, keyFile)
	text, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		if err := newKey(name); err != nil {
			return nil, fmt.Errorf("heads: %w", err)
		}
		text, err = os.ReadFile(name)
	}
	if err != nil {
		return nil, fmt.Errorf("heads: %w", err)
	}
	block, _ := pem.Decode(text)
	if block == nil {
		return nil, damaged(name)
	}
	key, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil, damaged(name)
	}
	ed, ok := key.(ed25519.PrivateKey)
	if !ok {
		return nil, damaged(name)
	}
	return ed, nil
}

// Known is the public key that lies with the data, nil when there is none.
func Known(data string) (ed25519.PublicKey, error) {
	if _, err := os.Stat(filepath.Join(data, keyFile)); errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	key, err := Key(data)
	if err != nil {
		return nil, err
	}
	return key.Public().(ed25519.PublicKey), nil
}

func damaged(name string) error {
	return record.Faultf(record.Damaged, name, "no Ed25519 key in PEM", "the key that signs heads", "put it back from a backup, or move it away: a new one is made, and must be told where heads are checked")
}

// newKey makes the file; another process that does so at the same time may win.
func newKey(name string) error {
	_, key, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return err
	}
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	if err != nil {
		return err
	}
	return errors.Join(pem.Encode(f, &pem.Block{Type: "PRIVATE KEY", Bytes: der}), f.Sync(), f.Close())
}
