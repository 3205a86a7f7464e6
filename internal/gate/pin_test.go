package gate

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// PINs that published analyses of leaked six-digit PINs name among the most used (Wang et al., ASIA CCS 2017; Markert et al., IEEE S&P
// 2020; both from memory), in an order of their own: all must be refused, whatever rule does it.
var mostUsed = []string{"123456", "111111", "123123", "654321", "000000", "121212", "666666", "112233", "789456", "159753", "222222", "555555",
	"999999", "888888", "777777", "333333", "444444", "101010", "131313", "696969", "147258", "123321", "987654", "456789", "258369", "232323",
	"141414", "252525", "212121", "159951", "098765", "200000", "010203", "102030", "142536", "963852", "456123", "147852"}

func TestPINsOfThePublishedLists(t *testing.T) {
	for _, pin := range mostUsed {
		if err := CheckPIN(pin); code(err) != record.Invalid {
			t.Errorf("%s is taken", pin)
		}
	}
}

func TestPINs(t *testing.T) {
	for pin, want := range map[string]string{
		"": "something else", "12345": "something else", "1234567890123": "something else", "83045a": "something else", "830 457": "something else",
		"８３０４５７": "something else", "830457\n": "something else", "-830457": "something else", "٨٣٠٤٥٧": "something else",
		"000000000000": "equal steps", "234567": "equal steps", "543210": "equal steps", "890123": "equal steps", "246802": "equal steps", "369258": "equal steps",
		"812345": "in a row", "987651": "in a row", "7123458": "in a row", "7765432": "in a row",
		"833883": "three different", "474747": "three different",
		"483483": "repeats", "83048304": "repeats", "920492049204": "repeats",
		"198437": "a year", "843720": "", "841984": "a year", "842031": "a year", "20498437": "a year", "84371975": "a year",
		"310897": "a date", "083197": "a date", "970831": "a date", "740263": "", "445566": "most used",
		"830457": "", "602915": "", "502846": "", "83045719": "", "402957318604": "", "934068": "", "123468": "",
	} {
		err := CheckPIN(pin)
		if want == "" {
			if err != nil {
				t.Errorf("%q: %v, want it taken", pin, err)
			}
			continue
		}
		if code(err) != record.Invalid || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", pin, err, want)
		}
		if len(pin) > 3 && strings.Contains(err.Error(), pin) {
			t.Errorf("%q is in its error", pin)
		}
	}
	// Every digit counts where somebody signs in: nothing is cut off.
	s := open(t, Options{})
	const long = "402957318604"
	if err := s.Recover(context.Background(), s.tech, long); err != nil {
		t.Fatal(err)
	}
	b := s.tablet()
	for _, pin := range []string{long[:6], long[:11], long[:11] + "5", long + "0"} {
		if got := b.in(s.tech, pin); got.Code != 422 || b.session() != "" {
			t.Errorf("the PIN is %s, and %s lets in: %d %s", long, pin, got.Code, got.Body)
		}
	}
	b.mustIn(s.tech, long)
}

// Of all PINs of six digits enough are left: a list that takes too many away helps whoever guesses.
func TestEnoughPINsAreLeft(t *testing.T) {
	left, all := 0, 0
	for n := range 100_000 {
		all++
		if CheckPIN(fmt.Sprintf("%06d", n*618_033%1_000_000)) == nil { // spread evenly: it has no part in common with 1 000 000
			left++
		}
	}
	t.Logf("%.1f %% of the PINs of six digits are left", 100*float64(left)/float64(all))
	if float64(left) < 0.8*float64(all) {
		t.Errorf("only %d of %d", left, all)
	}
	// The odds of docs/security.md: all guesses that are compared, against a PIN taken at random.
	if one := float64(left) / float64(all) * 1e6 / mostWrong; one < 8700 {
		t.Errorf("one chance in %.0f, want one in 8700 at most", one)
	}
}

func FuzzPIN(f *testing.F) {
	for _, s := range append([]string{"", "830457", "1", "99999999999999"}, mostUsed[:5]...) {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, pin string) {
		err := CheckPIN(pin)
		if err == nil && (len(pin) < 6 || len(pin) > 12 || strings.TrimLeft(pin, "0123456789") != "") {
			t.Fatalf("%q is taken", pin)
		}
		if err != nil && code(err) != record.Invalid {
			t.Fatal(err)
		}
	})
}

func TestHash(t *testing.T) {
	ctx := context.Background()
	h := newHasher(cheap(), 1)
	hash, err := h.make(ctx, ownerPIN)
	if err != nil || !strings.HasPrefix(hash, "$argon2id$v=19$m=64,t=1,p=1$") {
		t.Fatalf("%s, %v", hash, err)
	}
	again, err := h.make(ctx, ownerPIN)
	if err != nil || again == hash {
		t.Error("the same PIN has the same hash: no salt")
	}
	for pin, want := range map[string]bool{ownerPIN: true, techPIN: false, ownerPIN + "0": false} {
		if ok, stale, err := h.fits(ctx, pin, hash); ok != want || stale || err != nil {
			t.Errorf("%s: %v %v %v", pin, ok, stale, err)
		}
	}
	if ok, _, err := h.fits(ctx, "no PIN is this text", ""); ok || err != nil {
		t.Errorf("the hash of nobody fits: %v", err)
	}
	for _, bad := range []string{"x", "$argon2id$v=19$m=64,t=0,p=1$AAAAAAAAAAAAAAAAAAAAAA$AAAAAAAAAAAAAAAAAAAAAA", "$argon2id$v=19$m=4000000000,t=1,p=1$AAAAAAAAAAAAAAAAAAAAAA$AAAAAAAAAAAAAAAAAAAAAA", "$argon2id$v=19$m=64,t=1,p=0$AAAA$AAAA"} {
		if ok, _, err := h.fits(ctx, ownerPIN, bad); ok || code(err) != record.Damaged {
			t.Errorf("%s: %v %v, want damaged", bad, ok, err)
		}
	}
	if _, stale, err := newHasher(DefaultCost(), 1).fits(ctx, ownerPIN, hash); !stale || err != nil {
		t.Errorf("a hash of another cost is not seen: %v", err)
	}
	done, cancel := context.WithCancel(ctx)
	cancel()
	h.room <- struct{}{}
	if _, err := h.make(done, ownerPIN); err == nil {
		t.Error("hashes more at a time than there is room for")
	}
}

// OWASP password storage cheat sheet, from memory: Argon2id with at least 19 MiB and two passes, one lane. RFC 9106 section 3.1: a salt of 16
// bytes is recommended.
func TestCost(t *testing.T) {
	c := DefaultCost()
	if c.Memory < 19*1024 || c.Iterations < 2 || c.Parallelism < 1 || c.SaltLength < 16 || c.KeyLength < 16 {
		t.Errorf("%+v", c)
	}
}

func BenchmarkHash(b *testing.B) {
	h := newHasher(DefaultCost(), 1)
	for b.Loop() {
		if _, err := h.make(context.Background(), ownerPIN); err != nil {
			b.Fatal(err)
		}
	}
}
