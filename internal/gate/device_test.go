package gate

import (
	"context"
	"net/http/httptest"
	"net/netip"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

func TestSetUp(t *testing.T) {
	s := bare(t, Options{})
	ctx := context.Background()
	if done, err := s.IsSetUp(ctx); done || err != nil {
		t.Fatal(done, err)
	}
	yard := record.Shop{Name: "Aldersay yard", Currency: "EUR", Units: "metric", Lang: "en"}
	owner := record.Person{Name: "Owner", Initials: "OW", Role: record.Owner}
	bench := record.Device{Name: "bench 1"}
	for name, try := range map[string]func() (string, error){
		"no owner": func() (string, error) {
			return s.SetUp(ctx, yard, record.Person{Name: "T", Initials: "T", Role: record.Technician}, ownerPIN, bench)
		},
		"easy PIN":  func() (string, error) { return s.SetUp(ctx, yard, owner, "123456", bench) },
		"no shop":   func() (string, error) { return s.SetUp(ctx, record.Shop{}, owner, ownerPIN, bench) },
		"no device": func() (string, error) { return s.SetUp(ctx, yard, owner, ownerPIN, record.Device{}) },
	} {
		if _, err := try(); code(err) != record.Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
	if done, err := s.IsSetUp(ctx); done || err != nil {
		t.Fatal("a refused set-up leaves something", err)
	}
	s.setItUp()
	if done, err := s.IsSetUp(ctx); !done || err != nil {
		t.Fatal(done, err)
	}
	if _, err := s.SetUp(ctx, yard, owner, "934068", bench); code(err) != record.NotAllowed {
		t.Errorf("twice: %v", err)
	}
	s.tablet().mustIn(1, ownerPIN)
	s.retire(1)
	if done, err := s.IsSetUp(ctx); !done || err != nil {
		t.Error("a shop whose owner left can be taken over", err)
	}
}

// Only one of many at once sets the shop up, also from several processes.
func TestSetUpAtOnce(t *testing.T) {
	s := bare(t, Options{})
	other := New(s.st, s.opt)
	var wg sync.WaitGroup
	var mu sync.Mutex
	won := ""
	for i := range 8 {
		g := s.Gate
		if i%2 == 1 {
			g = other
		}
		name := string(rune('A' + i))
		wg.Go(func() {
			_, err := g.SetUp(context.Background(), record.Shop{Name: name, Currency: "EUR", Units: "metric", Lang: "en"},
				record.Person{Name: name, Initials: name, Role: record.Owner}, ownerPIN, record.Device{Name: name})
			mu.Lock()
			defer mu.Unlock()
			switch {
			case err == nil:
				won += name
			case code(err) != record.NotAllowed && code(err) != record.TooMany:
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if len(won) != 1 {
		t.Fatalf("%q set the shop up", won)
	}
	for _, sub := range []record.Subject{{Kind: record.OfShop, ID: 1}, person(1), {Kind: record.OfDevice, ID: 1}} {
		if i, err := s.st.Item(context.Background(), sub); err != nil || i.Value.Label() != won {
			t.Errorf("%s: %+v, %v, want %s", sub, i, err, won)
		}
	}
}

// A set-up that stopped before the PIN was kept can be done again; nobody is locked out by it.
func TestSetUpBrokenOff(t *testing.T) {
	s := bare(t, Options{})
	ctx := context.Background()
	for _, i := range []record.Item{&record.Shop{Name: "Half", Currency: "EUR", Units: "metric", Lang: "en"}, &record.Person{Name: "Half", Initials: "H", Role: record.Owner}} {
		kind := record.OfShop
		if _, ok := i.(*record.Person); ok {
			kind = record.OfPerson
		}
		if _, err := s.keep(ctx, record.Subject{Kind: kind}, i, 0, setUpKey); err != nil {
			t.Fatal(err)
		}
	}
	if done, err := s.IsSetUp(ctx); done || err != nil {
		t.Fatal(done, err)
	}
	if _, err := s.SetUp(ctx, record.Shop{Name: "x", Currency: "EUR", Units: "metric", Lang: "en"}, record.Person{Name: "x", Initials: "x", Role: record.Owner}, ownerPIN,
		record.Device{Name: "x"}); Left(err) != setUpTime {
		t.Errorf("a set-up that another process may be doing: %v", err)
	}
	s.clock.pass(setUpTime)
	s.setItUp()
	b := s.tablet()
	b.mustIn(1, ownerPIN)
	if who := b.who(); who.P.Name != "Owner" {
		t.Errorf("%+v", who)
	}
}

func TestLetIn(t *testing.T) {
	s := open(t, Options{})
	ctx := context.Background()
	c, expires, err := s.MakeCode(ctx, fresh(s.clock, as(record.Office, s.office)))
	if err != nil || len(c) != 8 || !expires.Equal(s.clock.now().Add(10*time.Minute)) {
		t.Fatal(c, expires, err)
	}
	b := s.browser()
	if got := b.post("/enrol", "code="+c+"&name="); got.Code != 422 {
		t.Error("a device without a name")
	}
	typed := strings.ToLower(c[:4]) + "-" + c[4:]
	if got := b.post("/enrol", "code="+typed+"&name=tablet+2"); got.Code != 200 {
		t.Fatal(got.Body)
	}
	if who := b.who(); who.Device != 2 || who.Person != 0 {
		t.Errorf("%+v", who)
	}
	i, err := s.st.Item(ctx, record.Subject{Kind: record.OfDevice, ID: 2})
	if err != nil || i.Value.Label() != "tablet 2" {
		t.Errorf("%v, %v", i, err)
	}
	if got := s.browser().post("/enrol", "code="+c+"&name=thief"); got.Code != 422 || !strings.Contains(got.Body.String(), "unknown, used or over") {
		t.Errorf("a code twice: %s", got.Body)
	}
	c, _, err = s.MakeCode(ctx, fresh(s.clock, as(record.Office, s.office)))
	if err != nil {
		t.Fatal(err)
	}
	if got := b.post("/enrol", "code="+c+"&name=again"); got.Code != 200 || b.who().Device != 2 {
		t.Error("a device that is known becomes another")
	}
	s.clock.pass(10*time.Minute + time.Second)
	if got := s.browser().post("/enrol", "code="+c+"&name=late"); got.Code != 422 {
		t.Error("a code works after ten minutes")
	}
	for name, who := range map[string]Who{"technician": as(record.Technician, s.tech), "trainer": as(record.Trainer, s.trainer), "nobody": {Device: 1},
		"token": {Person: 1, Token: true, Scope: "write", P: record.Person{Role: record.Office}}} {
		if _, _, err := s.MakeCode(ctx, who); code(err) != record.NotAllowed {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestCodeOfSomebodyWhoMayNotAnyMore(t *testing.T) {
	s := open(t, Options{})
	ctx := context.Background()
	for name, then := range map[string]func(){"another role": func() { s.change(s.office, record.Technician) }, "left": func() { s.retire(s.office) }} {
		c, _, err := s.MakeCode(ctx, fresh(s.clock, as(record.Office, s.office)))
		if err != nil {
			t.Fatal(err)
		}
		then()
		s.forget(s.office)
		if got := s.browser().post("/enrol", "code="+c+"&name=x"); !strings.HasPrefix(got.Body.String(), "not-allowed") {
			t.Errorf("%s: %d %s", name, got.Code, got.Body)
		}
	}
}

func TestKnocks(t *testing.T) {
	s := open(t, Options{})
	b := s.browser()
	last := ""
	for range 11 {
		last = b.post("/enrol", "code=ABCDEFGH&name=x").Body.String()
	}
	if !strings.Contains(last, "too many tries; expected a pause; try again in 6 seconds") {
		t.Error(last)
	}
	n := 0
	for i := range 100 {
		o := s.browser()
		o.from = "10.0." + string(rune('0'+i/10)) + "." + string(rune('0'+i%10)) + ":1"
		if strings.HasPrefix(o.post("/enrol", "code=ABCDEFGH&name=x").Body.String(), "not-found") {
			n++
		}
	}
	if n != 50 {
		t.Errorf("%d tries from many addresses, want the rest of 60", n)
	}
}

func TestDropDevice(t *testing.T) {
	s := open(t, Options{})
	ctx := context.Background()
	b := s.another()
	b.mustIn(s.tech, techPIN)
	if err := s.DropDevice(ctx, as(record.Trainer, s.trainer), 2); code(err) != record.NotAllowed {
		t.Error(err)
	}
	if b.who().Person != s.tech {
		t.Error("a refused drop ends the session")
	}
	if err := s.DropDevice(ctx, as(record.Owner, s.owner), 2); err != nil {
		t.Fatal(err)
	}
	if who := b.who(); who.Device != 0 || who.Person != 0 {
		t.Errorf("%+v", who)
	}
	i, err := s.st.Item(ctx, record.Subject{Kind: record.OfDevice, ID: 2})
	if err != nil || !i.Retired {
		t.Errorf("%+v, %v", i, err)
	}
}

// Crockford's base 32, from memory: no I, L, O, U; I and L read as 1, O as 0, hyphens do not count.
func TestCodes(t *testing.T) {
	for in, want := range map[string]string{"abcdefgh": "ABCDEFGH", "ABCD-EFGH": "ABCDEFGH", " abcd efgh ": "ABCDEFGH", "ilo01234": "11001234", "01234567": "01234567",
		"ABCDEFGU": "", "ABCDEFG": "", "ABCDEFGHJ": "", "ABCDEFGÄ": "", "": "", "--------": "", "ABCDEFG\n": ""} {
		got, ok := readCode(in)
		if ok != (want != "") || got != want && ok {
			t.Errorf("%q: %q %v, want %q", in, got, ok, want)
		}
	}
	count := map[rune]int{}
	for range 2000 {
		c := newCode()
		if got, ok := readCode(c); !ok || got != c {
			t.Fatalf("%q is not read back", c)
		}
		for _, r := range c {
			count[r]++
		}
	}
	// 16 000 letters of 32: each 500 times, standard deviation 22; 130 is six of them.
	for _, r := range letters {
		if count[r] < 370 || count[r] > 630 {
			t.Errorf("%c stands %d times in 16 000", r, count[r])
		}
	}
}

func FuzzCode(f *testing.F) {
	f.Add("ABCD-EFGH")
	f.Add("ilo ilo il")
	f.Fuzz(func(t *testing.T, s string) {
		if got, ok := readCode(s); ok && (len(got) != codeLength || strings.Trim(got, letters) != "") {
			t.Fatalf("%q: %q", s, got)
		}
	})
}

// Nothing that comes from a proxy comes from the machine itself: one on the machine may forget to say for whom it speaks.
func TestFromHereBehindAProxy(t *testing.T) {
	s := bare(t, Options{Proxies: []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32"), netip.MustParsePrefix("10.1.0.9/32")}})
	for from, want := range map[string]bool{"127.0.0.1:1": false, "[::ffff:127.0.0.1]:1": false, "10.1.0.9:1": false, "[::1]:1": true, "127.0.0.2:1": true} {
		for _, forwarded := range []string{"none", "", "127.0.0.1", "::1", "127.0.0.1, 127.0.0.1", "nonsense"} {
			r := httptest.NewRequest("GET", "/", nil)
			r.RemoteAddr = from
			if forwarded != "none" {
				r.Header.Set("X-Forwarded-For", forwarded)
			}
			if got := s.FromHere(r); got != (want && forwarded == "none") {
				t.Errorf("%s, forwarded for %q: %v", from, forwarded, got)
			}
		}
	}
}

func TestFromHere(t *testing.T) {
	s := bare(t, Options{})
	for from, want := range map[string]bool{"127.0.0.1:1": true, "[::1]:1": true, "192.168.1.2:1": false, "nonsense": false, "[::ffff:127.0.0.1]:1": true} {
		r := httptest.NewRequest("GET", "/", nil)
		r.RemoteAddr = from
		if got := s.FromHere(r); got != want {
			t.Errorf("%s: %v", from, got)
		}
		for _, h := range []string{"X-Forwarded-For", "Forwarded", "Via"} {
			r := r.Clone(context.Background())
			r.Header.Set(h, "192.168.1.9")
			if s.FromHere(r) {
				t.Errorf("%s with %s", from, h)
			}
		}
	}
}
