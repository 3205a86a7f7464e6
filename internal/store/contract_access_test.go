package store

import (
	"bytes"
	"context"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"github.com/evenstroke/evenstroke/internal/record"
)

func testPhotos(t *testing.T, s *Store) {
	p := Photo{Width: 4, Height: 3, Data: bytes.Repeat([]byte{0, 1, 0xff}, 100_000), Thumb: []byte{0, 2}}
	hash, err := s.PutPhoto(t.Context(), p)
	must(t, err)
	again, err := s.PutPhoto(t.Context(), p)
	must(t, err)
	if hash != again {
		t.Error("the same picture has two digests")
	}
	got, err := s.GetPhoto(t.Context(), hash, false)
	must(t, err)
	if !bytes.Equal(got.Data, p.Data) || got.Width != 4 || got.Height != 3 || got.Hash != hash {
		t.Errorf("photo %d bytes, %d × %d", len(got.Data), got.Width, got.Height)
	}
	small, err := s.GetPhoto(t.Context(), hash, true)
	must(t, err)
	if !bytes.Equal(small.Thumb, p.Thumb) || small.Data != nil {
		t.Errorf("small photo %+v", small)
	}
	_, err = s.GetPhoto(t.Context(), record.Digest{1}, false)
	wantCode(t, err, record.NotFound)
	_, err = s.PutPhoto(t.Context(), Photo{Thumb: []byte{1}})
	wantCode(t, err, record.Invalid)
	job := aJob(t, s)
	add(t, s, job, &record.Pictured{Photo: hash, Caption: "the ball"})
	_, err = s.Append(t.Context(), job, AnySeq, draft(&record.Pictured{Photo: record.Digest{1}}))
	wantCode(t, err, record.NotFound)
}

func testSessions(t *testing.T, s *Store) {
	c := newClock()
	s.now = c.now
	start := func(token string, person, device int64) {
		must(t, s.StartSession(t.Context(), token, Session{Person: person, Device: device, Expires: noon.Add(time.Hour)}))
	}
	there := func(token string) bool {
		v, err := s.GetSession(t.Context(), token)
		must(t, err)
		return v != nil
	}
	start("a", 1, 10)
	start("b", 1, 11)
	start("c", 2, 10)
	start("d", 1<<40, 12)
	must(t, s.SeeSession(t.Context(), "a"))
	v, err := s.GetSession(t.Context(), "a")
	must(t, err)
	if v.Person != 1 || v.Device != 10 || !v.Seen.After(v.Created) || !v.Expires.Equal(noon.Add(time.Hour)) {
		t.Errorf("session %+v", v)
	}
	testSessionList(t, s)
	must(t, s.EndSession(t.Context(), "b"))
	if there("b") || there("none") {
		t.Error("a session that was ended, or never was")
	}
	must(t, s.EndSessions(t.Context(), 0, 0))
	if !there("a") || !there("c") {
		t.Error("nobody was signed out")
	}
	must(t, s.EndSessions(t.Context(), 1<<40, 0))
	must(t, s.EndSessions(t.Context(), 0, 10))
	if there("a") || there("c") || there("d") {
		t.Error("still signed in")
	}
	start("e", 1, 10)
	c.set(noon.Add(2 * time.Hour))
	if there("e") {
		t.Error("a session that is over")
	}
	must(t, s.StartSession(t.Context(), "f", Session{Person: 1, Device: 1, Expires: noon.Add(3 * time.Hour)}))
	var n int
	must(t, s.read.QueryRow(`SELECT count(*) FROM session`).Scan(&n))
	if n != 1 {
		t.Errorf("%d sessions are kept", n)
	}
}

// testSessionList lists the sessions of a person of a store in which tokens a to d are in use, and ends one.
func testSessionList(t *testing.T, s *Store) {
	list := func(person int64) (out []Session) {
		t.Helper()
		out, err := s.Sessions(t.Context(), person)
		must(t, err)
		return out
	}
	must(t, s.StartSession(t.Context(), "y", Session{Person: 40, Device: 41, Expires: noon.Add(time.Hour)}))
	must(t, s.StartSession(t.Context(), "z", Session{Person: 40, Device: 42, Expires: noon.Add(time.Hour)}))
	must(t, s.StartSession(t.Context(), "over", Session{Person: 40, Device: 43, Expires: noon.Add(-time.Hour)}))
	must(t, s.SeeSession(t.Context(), "y"))
	got := list(40)
	if len(got) != 2 || got[0].Device != 41 || got[1].Device != 42 || !got[0].Seen.After(got[0].Created) || got[0].ID == got[1].ID || got[0].Person != 40 {
		t.Fatalf("%+v", got)
	}
	v, err := s.GetSession(t.Context(), "y")
	must(t, err)
	if v.ID != got[0].ID || strings.Contains(got[0].ID, "y") {
		t.Errorf("%+v", v)
	}
	must(t, s.EndSessionOf(t.Context(), 39, got[0].ID)) // of another person
	must(t, s.EndSessionOf(t.Context(), 40, "no such"))
	must(t, s.EndSessionOf(t.Context(), 40, ""))
	if len(list(40)) != 2 || len(list(39)) != 0 {
		t.Error("a session of another person was ended")
	}
	must(t, s.EndSessionOf(t.Context(), 40, got[0].ID))
	if left := list(40); len(left) != 1 || left[0].Device != 42 {
		t.Errorf("%+v", left)
	}
	must(t, s.EndSessions(t.Context(), 40, 0))
}

func testDevices(t *testing.T, s *Store) {
	c := newClock()
	s.now = c.now
	must(t, s.StartDevice(t.Context(), "secret", 5))
	for secret, want := range map[string]int64{"secret": 5, "other": 0} {
		if id, _, err := s.Visit(t.Context(), secret, ""); err != nil || id != want {
			t.Errorf("%q is device %d, %v", secret, id, err)
		}
	}
	must(t, s.StartSession(t.Context(), "a", Session{Person: 1, Device: 5, Expires: noon.Add(time.Hour)}))
	must(t, s.StartSession(t.Context(), "elsewhere", Session{Person: 2, Device: 6, Expires: noon.Add(time.Hour)}))
	must(t, s.StartSession(t.Context(), "over", Session{Person: 2, Device: 5, Expires: noon.Add(-time.Hour)}))
	whole, err := s.GetSession(t.Context(), "a")
	must(t, err)
	for token, want := range map[string]*Session{"a": whole, "": nil, "b": nil, "elsewhere": nil, "over": nil} { // a session counts at its own device only
		if id, v, err := s.Visit(t.Context(), "secret", token); err != nil || id != 5 || !cmp.Equal(v, want) {
			t.Errorf("a visit with %q: device %d, session %+v, %v", token, id, v, err)
		}
	}
	if id, v, err := s.Visit(t.Context(), "other", "a"); err != nil || id != 0 || v != nil {
		t.Errorf("a visit of no device: %d, %+v, %v", id, v, err)
	}
	must(t, s.EndDevice(t.Context(), 5))
	id, v, err := s.Visit(t.Context(), "secret", "a")
	gone, err2 := s.GetSession(t.Context(), "a")
	if id != 0 || v != nil || gone != nil || err != nil || err2 != nil {
		t.Errorf("after its end: device %d, session %+v, %v, %v", id, v, err, err2)
	}
	must(t, s.Enrol(t.Context(), "code", 3, noon.Add(time.Minute)))
	must(t, s.Enrol(t.Context(), "late", 3, noon.Add(time.Minute)))
	var used atomic.Int64
	for _, err := range race(6, func(int) error {
		_, err := s.UseEnrolment(t.Context(), "code")
		if err == nil {
			used.Add(1)
		}
		return err
	}) {
		if err != nil {
			wantCode(t, err, record.NotFound)
		}
	}
	if used.Load() != 1 {
		t.Errorf("a code was used %d times", used.Load())
	}
	c.set(noon.Add(time.Hour))
	_, err = s.UseEnrolment(t.Context(), "late")
	wantCode(t, err, record.NotFound)
}

func testTokens(t *testing.T, s *Store) {
	c := newClock()
	s.now = c.now
	id, err := s.AddToken(t.Context(), "secret", Token{Person: 4, Name: "the office's program", Scope: "read", Expires: noon.Add(time.Hour)})
	must(t, err)
	got, err := s.TokenBySecret(t.Context(), "secret")
	must(t, err)
	if got == nil || got.ID != id || got.Person != 4 || got.Scope != "read" {
		t.Errorf("token %+v", got)
	}
	if none, err := s.TokenBySecret(t.Context(), "other"); none != nil || err != nil {
		t.Errorf("another secret: %+v, %v", none, err)
	}
	c.set(noon.Add(2 * time.Hour))
	if over, err := s.TokenBySecret(t.Context(), "secret"); over != nil || err != nil {
		t.Errorf("over: %+v, %v", over, err)
	}
	c.set(noon)
	must(t, s.RevokeToken(t.Context(), id))
	if gone, err := s.TokenBySecret(t.Context(), "secret"); gone != nil || err != nil {
		t.Errorf("revoked: %+v, %v", gone, err)
	}
	if list, err := s.Tokens(t.Context()); err != nil || len(list) != 1 || !list[0].Revoked {
		t.Errorf("list %+v, %v", list, err)
	}
	_, err = s.AddToken(t.Context(), "secret", Token{Person: 4, Name: "x", Scope: "read", Expires: noon})
	wantCode(t, err, record.Conflict)
	_, err = s.AddToken(t.Context(), "second", Token{Person: 4, Name: "a\x00", Scope: "read", Expires: noon})
	wantCode(t, err, record.Invalid)
}

func testPasskeys(t *testing.T, s *Store) {
	must(t, s.PutPasskey(t.Context(), Passkey{ID: "k1", Person: 1, Name: "tablet", Credential: `{"n":1}`}))
	must(t, s.PutPasskey(t.Context(), Passkey{ID: "k1", Person: 1, Name: "tablet", Credential: `{"n":2}`}))
	wantCode(t, s.PutPasskey(t.Context(), Passkey{ID: "k1", Person: 2, Name: "thief", Credential: `{"n":3}`}), record.Conflict)
	wantCode(t, s.PutPasskey(t.Context(), Passkey{ID: "k2", Person: 2, Name: "\x00", Credential: `{}`}), record.Invalid)
	list, err := s.Passkeys(t.Context(), 1)
	must(t, err)
	if len(list) != 1 || list[0].Credential != `{"n":2}` || !list[0].Used.After(list[0].Created) {
		t.Errorf("passkeys %+v", list)
	}
	must(t, s.DropPasskey(t.Context(), 2, "k1"))
	if list, err := s.Passkeys(t.Context(), 1); err != nil || len(list) != 1 {
		t.Errorf("another person dropped it: %+v, %v", list, err)
	}
	must(t, s.DropPasskey(t.Context(), 1, "k1"))
	if list, err := s.Passkeys(t.Context(), 1); err != nil || len(list) != 0 {
		t.Errorf("dropped: %+v, %v", list, err)
	}
}

func testChanges(t *testing.T, s *Store) {
	if last, err := s.Last(t.Context()); err != nil || last != 0 {
		t.Errorf("last of an empty store: %d, %v", last, err)
	}
	job := aJob(t, s)
	cust := keepItem(t, s, record.Subject{Kind: record.OfCustomer}, &record.Customer{Name: "x"})
	add(t, s, job, &record.Noted{Text: "n"})
	got, err := s.Changes(t.Context(), 0, 10)
	must(t, err)
	var subjects []record.Subject
	for _, c := range got {
		subjects = append(subjects, c.Subject)
	}
	if d := cmp.Diff([]record.Subject{record.JobSubject(job), cust.Entry.Subject, record.JobSubject(job)}, subjects); d != "" {
		t.Fatal(d)
	}
	if rest, err := s.Changes(t.Context(), got[0].ID, 1); err != nil || len(rest) != 1 || rest[0].ID != got[1].ID {
		t.Errorf("the second page %+v, %v", rest, err)
	}
	if last, err := s.Last(t.Context()); err != nil || last != got[2].ID {
		t.Errorf("last %d, %v", last, err)
	}
	slowWriter(t, s, job, got[2].ID)
	followed(t, s)
}

// slowWriter begins an entry, lets another writer pass it, and only then ends: nobody who follows the changes may miss it.
func slowWriter(t *testing.T, s *Store, job, last int64) {
	if s.engine == SQLite {
		return // one writer
	}
	other := aJob(t, s)
	tx, err := s.write.BeginTx(t.Context(), nil)
	must(t, err)
	e, err := draft(&record.Noted{Text: "slow"}).Entry()
	must(t, err)
	e.Subject, e.Stored = record.JobSubject(job), noon
	sum, err := s.lockJob(t.Context(), tx, job)
	must(t, err)
	_, err = s.appendAll(t.Context(), tx, sum, AnySeq, []record.Entry{e}, []record.Draft{{Body: &record.Noted{Text: "slow"}}})
	must(t, err)
	add(t, s, other, &record.Noted{Text: "fast"})
	held, err := s.Changes(t.Context(), last, 10)
	must(t, err)
	for _, c := range held {
		if c.Subject.ID == other && c.Kind == record.KindNoted {
			t.Error("an entry was given before a slower one with a lower number")
		}
	}
	must(t, tx.Commit())
	if all, err := s.Changes(t.Context(), last, 10); err != nil || len(all) != 3 {
		t.Errorf("after the commit %+v, %v", all, err)
	}
}

// followed reads the changes beside eight writers, each time after the last, and must see every entry once, in order.
func followed(t *testing.T, s *Store) {
	var jobs []int64
	for range 8 {
		jobs = append(jobs, aJob(t, s))
	}
	last, err := s.Last(t.Context())
	must(t, err)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	wrote := make(chan []error)
	go func() {
		wrote <- race(8, func(i int) error {
			for range 15 {
				if _, err := s.Append(ctx, jobs[i], AnySeq, draft(&record.Noted{Text: "n"})); err != nil {
					return err
				}
			}
			return nil
		})
	}()
	seen, done := 0, false
	for !done || seen < 120 {
		got, err := s.Changes(t.Context(), last, 7)
		must(t, err)
		for _, c := range got {
			if c.ID <= last {
				t.Fatalf("change %d after %d", c.ID, last)
			}
			last = c.ID
			seen++
		}
		if len(got) == 0 && done {
			break
		}
		select {
		case errs := <-wrote:
			done = true
			for _, err := range errs {
				must(t, err)
			}
		default:
		}
	}
	var n int
	must(t, s.read.QueryRow(`SELECT count(*) FROM entry WHERE id <= $1`, last).Scan(&n))
	if seen != 120 {
		t.Errorf("%d of 120 changes were seen", seen)
	}
}
