package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"
	"unicode/utf8"
)

// SubjectKind is what an entry is about.
type SubjectKind string

// The kinds of subjects. All but jobs are kept in the catalogue of the shop.
const (
	OfJob      SubjectKind = "job"
	OfShop     SubjectKind = "shop"
	OfPerson   SubjectKind = "person"
	OfDevice   SubjectKind = "device"
	OfCustomer SubjectKind = "customer"
	OfPump     SubjectKind = "pump"
	OfTool     SubjectKind = "tool"
	OfSheet    SubjectKind = "sheet"
	OfFluid    SubjectKind = "fluid"
	OfPrice    SubjectKind = "price"
)

// Catalogue lists the kinds of the catalogue.
func Catalogue() []SubjectKind {
	return []SubjectKind{OfShop, OfPerson, OfDevice, OfCustomer, OfPump, OfTool, OfSheet, OfFluid, OfPrice}
}

// Subject is one thing that entries are about.
type Subject struct {
	Kind SubjectKind
	ID   int64
}

// String writes a subject as "job 1042".
func (s Subject) String() string { return fmt.Sprintf("%s %d", s.Kind, s.ID) }

// JobSubject is the subject of a job.
func JobSubject(number int64) Subject { return Subject{OfJob, number} }

// Digest is a SHA-256 digest.
type Digest [sha256.Size]byte

// String writes a digest in hexadecimal.
func (d Digest) String() string { return hex.EncodeToString(d[:]) }

// Mark is the form of a digest that is printed on paper: its first 128 bits, which nobody finds a second record for, as 32 hexadecimal digits
// in groups of four that can be read and typed, in two halves so that a line can be broken.
func (d Digest) Mark() string {
	groups := func(s string) string { return s[0:4] + "-" + s[4:8] + "-" + s[8:12] + "-" + s[12:16] }
	s := d.String()
	return groups(s[0:16]) + " " + groups(s[16:32])
}

// Short is a digest as it stands beside others on a page, to tell them apart: twelve hexadecimal digits in groups of four.
func (d Digest) Short() string { return d.Mark()[:14] }

// MarshalText writes a digest in hexadecimal.
func (d Digest) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads a digest in hexadecimal.
func (d *Digest) UnmarshalText(text []byte) error {
	b, err := hex.DecodeString(string(text))
	if err != nil || len(b) != len(d) {
		return Faultf(Invalid, "digest", string(text), "64 hexadecimal digits", "copy the digest as a whole")
	}
	copy(d[:], b)
	return nil
}

// Entry is one thing that was written down.
type Entry struct {
	ID       int64           `json:"id"` // of the store, in the order of arrival
	Subject  Subject         `json:"-"`
	Seq      int64           `json:"seq"` // 1, 2, 3 … within the subject
	Kind     Kind            `json:"kind"`
	At       time.Time       `json:"at"`     // when it happened, by the clock of the device
	Stored   time.Time       `json:"stored"` // when the store took it, by the clock of the server
	By       int64           `json:"by"`     // person; 0 is the program itself
	Device   int64           `json:"device"`
	Key      string          `json:"key"`                // made by the device; the same key is the same entry
	Corrects int64           `json:"corrects,omitempty"` // Seq of the entry that it replaces
	Body     json.RawMessage `json:"body"`
	Prev     Digest          `json:"prev"`
	Hash     Digest          `json:"hash"`
}

// Seal sets Prev and Hash. The digest is taken over each field with its length before it, so that no two different entries
// have the same bytes:
//
//	H = SHA-256( prev ‖ |f₁| ‖ f₁ ‖ … ‖ |fₙ| ‖ fₙ ),  f = subject kind, subject, seq, kind, at, stored, by, device, key, corrects, body
//
// with numbers as 8 bytes big-endian and times in microseconds of Unix time. FIPS 180-4 defines SHA-256.
func (e *Entry) Seal(prev Digest) {
	e.Prev = prev
	e.Hash = e.digest()
}

// Intact says whether the digest of an entry fits what it holds.
func (e *Entry) Intact() bool { return e.Hash == e.digest() }

func (e *Entry) digest() Digest {
	var space [512]byte // enough for all but the body, so that nothing is made anew for each of many entries
	b := append(space[:0], e.Prev[:]...)
	length := func(n int) { b = binary.BigEndian.AppendUint64(b, uint64(n)) }
	text := func(s string) {
		length(len(s))
		b = append(b, s...)
	}
	number := func(v int64) {
		length(8)
		b = binary.BigEndian.AppendUint64(b, uint64(v))
	}
	text(string(e.Subject.Kind))
	number(e.Subject.ID)
	number(e.Seq)
	text(string(e.Kind))
	number(e.At.UnixMicro())
	number(e.Stored.UnixMicro())
	number(e.By)
	number(e.Device)
	text(e.Key)
	number(e.Corrects)
	length(len(e.Body))
	if len(b)+len(e.Body) <= len(space) {
		return sha256.Sum256(append(b, e.Body...))
	}
	h := sha256.New()
	h.Write(b)
	h.Write(e.Body)
	return Digest(h.Sum(b[:0]))
}

// maxBody is the size of the largest body: a verdict with its sheets is some 40 kB.
const maxBody = 512 << 10

// maxKey is the length of the longest key.
const maxKey = 80

// Draft is an entry as a device sends it: the store gives it number, time and chain.
type Draft struct {
	Subject  Subject
	At       time.Time
	By       int64
	Device   int64
	Key      string
	Corrects int64
	Body     Body
}

// Entry checks a draft and makes the entry that is still to be numbered and sealed.
func (d Draft) Entry() (Entry, error) {
	if d.Body == nil {
		return Entry{}, Faultf(Invalid, "body", "nothing", "what was written down", "")
	}
	if err := checkKey(d.Key); err != nil {
		return Entry{}, err
	}
	if err := moment("at", d.At); err != nil {
		return Entry{}, err
	}
	if err := d.Body.Check(); err != nil {
		return Entry{}, err
	}
	body, err := json.Marshal(d.Body)
	if err != nil {
		return Entry{}, fmt.Errorf("record: a %s entry: %w", d.Body.Kind(), err)
	}
	if len(body) > maxBody {
		return Entry{}, Faultf(TooLarge, string(d.Body.Kind()), fmt.Sprintf("%d bytes", len(body)), fmt.Sprintf("at most %d bytes", maxBody), "split it")
	}
	return Entry{Subject: d.Subject, Kind: d.Body.Kind(), At: d.At.UTC().Truncate(time.Microsecond), By: d.By, Device: d.Device,
		Key: d.Key, Corrects: d.Corrects, Body: body}, nil
}

func checkKey(key string) error {
	if key == "" || len(key) > maxKey || !utf8.ValidString(key) {
		return Faultf(Invalid, "key", fmt.Sprintf("%.80q", key), fmt.Sprintf("1 to %d characters", maxKey), "make one key an entry, as a UUID")
	}
	for _, r := range key {
		if r <= ' ' || r > '~' {
			return Faultf(Invalid, "key", fmt.Sprintf("%.80q", key), "printable ASCII without spaces", "make one key an entry, as a UUID")
		}
	}
	return nil
}

// Open reads the body of an entry strictly into its type.
func (e *Entry) Open() (Body, error) { return Decode(e.Kind, e.Body) }

// Decode reads a body of a kind strictly: what is no JSON object, an unknown key, something after the end or an impossible value
// is an error.
func Decode(k Kind, data []byte) (Body, error) {
	mk, ok := bodies[k]
	if !ok {
		return nil, Faultf(Invalid, "kind", string(k), "a kind of entry this version knows", "a newer version may have written it")
	}
	if t := bytes.TrimSpace(data); len(t) == 0 || t[0] != '{' {
		return nil, Faultf(Invalid, string(k), quoted(string(t)), "one JSON object", "")
	}
	b := mk()
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(b); err != nil {
		return nil, Faultf(Invalid, string(k), err.Error(), "the fields of this kind of entry", "")
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return nil, Faultf(Invalid, string(k), "more after the end of the body", "one JSON object", "")
	}
	if err := b.Check(); err != nil {
		return nil, err
	}
	return b, nil
}
