package record

import (
	"fmt"
	"time"
)

// Summary is what a board, a list and a search need of a job.
type Summary struct {
	Number    int64     `json:"number"` // also the tag
	UID       string    `json:"uid"`    // the same in every shop that imports the job
	Customer  int64     `json:"customer"`
	Name      string    `json:"name"` // of the customer
	Pump      int64     `json:"pump"`
	Serial    string    `json:"serial"`
	Model     string    `json:"model"`
	Complaint string    `json:"complaint"`
	Stage     Stage     `json:"stage"`
	Found     string    `json:"found,omitempty"` // verdict as found
	Left      string    `json:"left,omitempty"`  // verdict as left
	Good      bool      `json:"good"`            // closed as good
	Opened    time.Time `json:"opened"`
	Changed   time.Time `json:"changed"`
	Seq       int64     `json:"seq"` // of the last entry
	Hash      Digest    `json:"hash"`
}

// Open says whether the job is still in the shop.
func (s *Summary) Open() bool { return s.Stage != StageClosed }

// Apply brings a summary up to date with the next entry. It needs no entry before it: what a summary is made of is neither
// struck nor, but for the booking, corrected (see Kind.Amendable).
func (s *Summary) Apply(e *Entry, b Body) {
	switch b := b.(type) {
	case *Booked:
		s.Customer, s.Name, s.Pump, s.Serial, s.Model, s.Complaint = b.Customer, b.CustomerName, b.Pump, b.Serial, b.Model, b.Complaint
		if s.Stage == "" {
			s.Stage, s.Opened = StageBooked, e.Stored
		}
	case *Judged:
		if b.Hold == AsFound {
			s.Found = b.Word
		} else {
			s.Left = b.Word
		}
	case *Moved:
		s.Stage, s.Good = b.To, false
	case *Closed:
		s.Stage, s.Good = StageClosed, b.Good
	}
	s.Changed, s.Seq, s.Hash = e.Stored, e.Seq, e.Hash
}

// Words are the words under which the job is found.
func (s *Summary) Words() []string {
	return Words(fmt.Sprint(s.Number), s.Name, s.Serial, s.Model, s.Complaint)
}

// Allows says whether a job takes an entry now: a closed job takes notes, photos and what reopens it; a job is booked once.
func (s *Summary) Allows(e *Entry, b Body) error {
	switch b.(type) {
	case *Kept, *Retired:
		return Faultf(Invalid, "kind", string(b.Kind()), "an entry of a job", "")
	case *Booked:
		if e.Corrects == 0 {
			return Faultf(NotAllowed, s.tag(), "a second booking", "one booking a job", "correct the booking, or book a new job")
		}
	}
	if s.Open() {
		return nil
	}
	switch b.(type) {
	case *Noted, *Pictured, *Moved:
		return nil
	}
	return Faultf(NotAllowed, s.tag(), "a closed job", "an open job", "reopen it first")
}

func (s *Summary) tag() string { return fmt.Sprintf("job %d", s.Number) }
