package record

import (
	"bytes"
	"encoding/json"
	"testing"
	"time"
)

var noon = time.Date(2027, 3, 1, 12, 0, 0, 0, time.UTC)

// chain seals entries of one job with these bodies, the first a booking.
func chain(t testing.TB, bodies ...Body) []Entry {
	t.Helper()
	var out []Entry
	var prev Digest
	for i, b := range bodies {
		d := Draft{Subject: JobSubject(7), At: noon, By: 1, Device: 2, Key: "k" + string(rune('a'+i)), Body: b}
		if c, ok := b.(correcting); ok {
			d.Body, d.Corrects = c.Body, c.seq
		}
		e, err := d.Entry()
		if err != nil {
			t.Fatal(err)
		}
		e.Seq, e.Stored = int64(i)+1, noon.Add(time.Duration(i)*time.Minute)
		e.Seal(prev)
		prev = e.Hash
		out = append(out, e)
	}
	return out
}

// correcting is a body whose entry corrects another.
type correcting struct {
	Body
	seq int64
}

func correct(seq int64, b Body) Body { return correcting{b, seq} }

func booked() *Booked {
	return &Booked{Customer: 3, CustomerName: "Ferry yard", Pump: 4, Serial: "ALD-0417", Model: "Aldersay 30:1", Complaint: "creeps"}
}

func aRead(h HoldStage) *Read { return &Read{Hold: h, Reading: json.RawMessage(`{"time":"14.2 s"}`)} }

func verdict(h HoldStage, word string) *Judged {
	return &Judged{Hold: h, Word: word, Meets: 0.5, Engine: "v1", Model: "1", Sheet: json.RawMessage(`{}`), Result: json.RawMessage(`{}`), Seqs: []int64{2}}
}

func fold(t testing.TB, bodies ...Body) *Job {
	t.Helper()
	j, err := Fold(chain(t, bodies...))
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func wantCode(t testing.TB, err error, code Code) {
	t.Helper()
	if CodeOf(err) != code {
		t.Errorf("the error is %v, expected one of code %q", err, code)
	}
}

func sameBytes(a, b []byte) bool { return bytes.Equal(a, b) }
