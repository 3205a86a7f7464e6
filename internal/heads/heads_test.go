package heads

import (
	"crypto/ed25519"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

var noon = time.Date(2027, 3, 1, 12, 0, 0, 5, time.UTC)

// aKey is that of test 1 of RFC 8032 section 7.1.
func aKey(t *testing.T) ed25519.PrivateKey {
	t.Helper()
	seed, err := hex.DecodeString("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
	if err != nil {
		t.Fatal(err)
	}
	return ed25519.NewKeyFromSeed(seed)
}

// The public key of the seed is the one that RFC 8032 section 7.1 prints for it, and stands in the file.
func TestKeyOfTheStandard(t *testing.T) {
	h := Sign(aKey(t), 3, record.Digest{1}, noon)
	if got := hex.EncodeToString(h.Key); got != "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a" {
		t.Errorf("key %s", got)
	}
}

func TestWriteAndRead(t *testing.T) {
	dir := t.TempDir()
	h := Sign(aKey(t), 3, record.Digest{1, 31: 9}, noon)
	name, err := Write(dir, h)
	if err != nil || filepath.Base(name) != "head-2027-03-01.json" {
		t.Fatalf("%s %v", name, err)
	}
	got, err := Read(name)
	if err != nil || got.Link != 3 || got.Digest != h.Digest || !got.At.Equal(noon.Truncate(time.Second)) || got.By() != h.By() {
		t.Errorf("%+v %v", got, err)
	}
	later := Sign(aKey(t), 4, record.Digest{2}, noon.AddDate(0, 0, 1))
	if _, err := Write(dir, later); err != nil {
		t.Fatal(err)
	}
	if last, err := Last(dir); err != nil || filepath.Base(last) != "head-2027-03-02.json" {
		t.Errorf("%s %v", last, err)
	}
}

// Whatever is changed in a file, it is refused.
func TestChangedFileIsRefused(t *testing.T) {
	h := Sign(aKey(t), 3, record.Digest{1}, noon)
	name, err := Write(t.TempDir(), h)
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	for change, code := range map[[2]string]record.Code{
		{`"link": 3`, `"link": 2`}:                         record.Damaged,
		{`"0100`, `"0200`}:                                 record.Damaged,
		{`12:00:00Z`, `12:00:01Z`}:                         record.Damaged,
		{`"head": 1`, `"head": 2`}:                         record.Invalid,
		{`"head": 1`, `"head": 1, "more": 1`}:              record.Invalid,
		{h.By(), strings.Repeat("A", len(h.By())-1) + "="}: record.Damaged,
		{h.By(), "AAAA"}:                                   record.Invalid,
		{"}", ""}:                                          record.Invalid,
	} {
		changed := strings.Replace(string(text), change[0], change[1], 1)
		if changed == string(text) {
			t.Fatalf("%v changes nothing of %s", change, text)
		}
		if err := os.WriteFile(name, []byte(changed), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Read(name); record.CodeOf(err) != code {
			t.Errorf("%v: %v, expected code %s", change, err, code)
		}
	}
}

func TestKeyIsMadeOnce(t *testing.T) {
	dir := t.TempDir()
	if k, err := Known(dir); k != nil || err != nil {
		t.Errorf("%v %v", k, err)
	}
	a, err := Key(dir)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Key(dir)
	if err != nil || !a.Equal(b) {
		t.Errorf("another key the second time, %v", err)
	}
	if k, err := Known(dir); err != nil || !k.Equal(a.Public()) {
		t.Errorf("%v %v", k, err)
	}
	info, err := os.Stat(filepath.Join(dir, keyFile))
	if err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("%v %v", info, err)
	}
	if err := os.WriteFile(filepath.Join(dir, keyFile), []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Key(dir); record.CodeOf(err) != record.Damaged {
		t.Error(err)
	}
}

func ExampleKeyText() {
	fmt.Println(len(KeyText(make(ed25519.PublicKey, ed25519.PublicKeySize))))
	// Output: 44
}
