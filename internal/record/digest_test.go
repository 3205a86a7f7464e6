package record

import (
	"encoding/binary"
	"encoding/hex"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/outside"
)

// The digests of entries are computed again by another program (OpenSSL, or coreutils' sha256sum) over bytes that are laid out here
// from the description of Seal, not by its code.
func TestDigestByAnotherProgram(t *testing.T) {
	entries := chain(t, booked(), &Noted{"Ärger\n日本"}, correct(2, &Noted{"x"}), verdict(AsLeft, Holds))
	other := entries[3]
	other.Subject, other.By, other.At = Subject{OfCustomer, -1}, 1<<62, time.Unix(-1, 999_999_000)
	other.Seal(Digest{0xff, 31: 1})
	entries = append(entries, other)
	for _, n := range []int{200, 300, 400, 511, 512, 5000} { // an entry that is longer than its place is put together in another way
		e := entries[0]
		e.Body = []byte(`{"text":"` + strings.Repeat("x", n) + `"}`)
		e.Seal(Digest{1})
		entries = append(entries, e)
	}
	for _, e := range entries {
		want := sha256Elsewhere(t, layout(e))
		if e.Hash.String() != want {
			t.Errorf("entry %d: %s, another program says %s", e.Seq, e.Hash, want)
		}
		if !e.Intact() {
			t.Errorf("entry %d is not intact", e.Seq)
		}
	}
}

// layout is prev ‖ |f₁| ‖ f₁ ‖ …, written out by hand.
func layout(e Entry) []byte {
	u64 := func(v uint64) string { var b [8]byte; binary.BigEndian.PutUint64(b[:], v); return string(b[:]) }
	num := func(v int64) string { return u64(8) + u64(uint64(v)) }
	str := func(s string) string { return u64(uint64(len(s))) + s }
	micros := func(t time.Time) int64 { return t.Unix()*1_000_000 + int64(t.Nanosecond())/1000 }
	return []byte(string(e.Prev[:]) + str(string(e.Subject.Kind)) + num(e.Subject.ID) + num(e.Seq) + str(string(e.Kind)) + num(micros(e.At)) +
		num(micros(e.Stored)) + num(e.By) + num(e.Device) + str(e.Key) + num(e.Corrects) + str(string(e.Body)))
}

func sha256Elsewhere(t *testing.T, data []byte) string {
	t.Helper()
	cmd := exec.Command(outside.Program(t, "openssl", "openssl"), "dgst", "-sha256", "-r")
	cmd.Stdin = strings.NewReader(string(data))
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out[:64])
}

// Any change of any field shows.
func TestIntact(t *testing.T) {
	e := chain(t, booked(), &Noted{"x"}, correct(2, &Noted{"y"}))[2]
	for name, edit := range map[string]func(*Entry){
		"kind of subject": func(e *Entry) { e.Subject.Kind = OfPump }, "subject": func(e *Entry) { e.Subject.ID++ }, "seq": func(e *Entry) { e.Seq++ }, "kind": func(e *Entry) { e.Kind = KindMinded },
		"at": func(e *Entry) { e.At = e.At.Add(time.Microsecond) }, "stored": func(e *Entry) { e.Stored = e.Stored.Add(time.Microsecond) }, "by": func(e *Entry) { e.By++ }, "device": func(e *Entry) { e.Device++ },
		"key": func(e *Entry) { e.Key += "x" }, "corrects": func(e *Entry) { e.Corrects = 0 }, "body": func(e *Entry) { e.Body = append([]byte(" "), e.Body...) }, "prev": func(e *Entry) { e.Prev[5]++ }, "hash": func(e *Entry) { e.Hash[5]++ },
		"between fields": func(e *Entry) { e.Key, e.Kind = e.Key[1:], e.Kind+Kind(e.Key[:1]) },
	} {
		c := e
		edit(&c)
		if c.Intact() {
			t.Errorf("%s was changed and it does not show", name)
		}
	}
}

func TestDigestText(t *testing.T) {
	// FIPS 180-4 / NIST example: SHA-256("abc")
	const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	var d Digest
	if err := d.UnmarshalText([]byte(abc)); err != nil || d.String() != abc || d.Mark() != "ba78-16bf-8f01-cfea 4141-40de-5dae-2223" || d.Short() != "ba78-16bf-8f01" {
		t.Errorf("%s %s %v", d, d.Mark(), err)
	}
	for _, bad := range []string{"", abc[1:], abc + "00", "zz" + abc[2:]} {
		wantCode(t, d.UnmarshalText([]byte(bad)), Invalid)
	}
	if b, err := hex.DecodeString(abc); err != nil || Digest(b) != d {
		t.Error("a refused text changed the digest")
	}
}
