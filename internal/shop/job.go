package shop

import (
	"context"
	"strings"
	"sync/atomic"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// Job is the present state of a job with the model of its pump.
type Job struct {
	*record.Job
	Model *Model
}

// latest is the newest state of a job that was read; nil before.
type latest struct{ atomic.Pointer[record.Job] }

// Job reads a job. It is not to be changed: as long as nothing is written about it, all get the same one. What was written since is
// read and added to what is known.
func (s *Shop) Job(ctx context.Context, number int64) (*Job, error) {
	sum, err := s.st.Summary(ctx, number)
	if err != nil {
		return nil, err
	}
	return s.job(ctx, sum)
}

// job is Job for a summary that was just read, whose digest covers all entries that there were.
func (s *Shop) job(ctx context.Context, sum *record.Summary) (*Job, error) {
	at, err := s.jobs.Get(sum.Number, func() (*latest, error) { return &latest{}, nil })
	if err != nil {
		return nil, err
	}
	j := at.Load()
	if j == nil || j.Hash != sum.Hash {
		if j, err = s.st.JobSince(ctx, sum, j); err != nil {
			return nil, err
		}
		at.Store(j)
	}
	m, err := s.Model(ctx, j.Booked.Sheet, j.Booked.Model)
	if err != nil {
		return nil, err
	}
	return &Job{j, m}, nil
}

// workKey says what an order of work is made of.
type workKey struct {
	job   record.Digest
	model modelKey
}

// Work is the order of work of a job as it stands now. It is not to be changed. While something soaks it is made anew each time, since it
// changes with the clock.
func (s *Shop) Work(j *Job) (*assess.Work, error) {
	if len(j.Soaks) > 0 {
		return s.workOf(j)
	}
	return s.works.Get(workKey{j.Hash, j.Model.key()}, func() (*assess.Work, error) { return s.workOf(j) })
}

func (s *Shop) workOf(j *Job) (*assess.Work, error) {
	return assess.WorkOf(j.Job, j.Model.Pump, j.Model.Rebuild, s.now())
}

// nextKey says what a next action depends on.
type nextKey struct {
	workKey
	bill bool
}

// Next is what to do next with a job whose work is given, for a person.
func (s *Shop) Next(j *Job, w *assess.Work, who gate.Who) assess.Action {
	key := nextKey{workKey{j.Hash, j.Model.key()}, gate.May(who, gate.Bill) == nil}
	a, ok := s.nexts.Peek(key)
	if !ok || len(j.Soaks) > 0 {
		a = assess.Next(j.Job, j.Model.Pump, w, key.bill)
		s.nexts.Put(key, a)
	}
	return a
}

// BookIn books a pump in. The customer and the pump are taken from the catalogue by name and serial, or added to it; what is
// given anew about them (model, drive, owner) is kept there too. It returns the number of the job.
func (s *Shop) BookIn(ctx context.Context, by By, b record.Booked) (int64, error) {
	if err := gate.May(by.Who, gate.WriteJob); err != nil {
		return 0, err
	}
	b.CustomerName, b.Serial = strings.TrimSpace(b.CustomerName), strings.TrimSpace(b.Serial)
	if err := b.Check(); err != nil {
		return 0, err
	}
	if err := checkAmounts(&b); err != nil {
		return 0, err
	}
	if err := s.checkRefs(ctx, &record.Booked{Sheet: b.Sheet}, false); err != nil {
		return 0, err
	}
	if _, err := s.Model(ctx, b.Sheet, b.Model); err != nil {
		return 0, err
	}
	if by.Key == "" {
		by.Key = NewKey()
	}
	var err error
	if b.Customer, err = s.customer(ctx, by, &b); err != nil {
		return 0, err
	}
	if b.Pump, err = s.pump(ctx, by, &b); err != nil {
		return 0, err
	}
	r, err := s.st.NewJob(ctx, NewKey(), s.draft(by, &b))
	if err != nil {
		return 0, err
	}
	return r.Entry.Subject.ID, nil
}

func (s *Shop) customer(ctx context.Context, by By, b *record.Booked) (int64, error) {
	have, err := s.st.CustomerByName(ctx, b.CustomerName)
	if err != nil {
		return 0, err
	}
	if have != nil {
		b.CustomerName = have.Label
		return have.Subject.ID, nil
	}
	return s.keepAs(ctx, by, "customer", record.Subject{Kind: record.OfCustomer}, &record.Customer{Name: b.CustomerName})
}

// pump finds or adds the pump, and keeps it again when it changed its owner, drive or model.
func (s *Shop) pump(ctx context.Context, by By, b *record.Booked) (int64, error) {
	have, err := s.st.PumpBySerial(ctx, b.Serial)
	if err != nil {
		return 0, err
	}
	want := record.Pump{Serial: b.Serial, Model: b.Model, Sheet: b.Sheet, Customer: b.Customer, Drive: b.Drive}
	if have == nil {
		return s.keepAs(ctx, by, "pump", record.Subject{Kind: record.OfPump}, &want)
	}
	is := have.Value.(*record.Pump)
	b.Serial, want.Serial, want.Note = is.Serial, is.Serial, is.Note
	if want.Drive == "" {
		want.Drive = is.Drive
	}
	if want == *is {
		return have.Subject.ID, nil
	}
	return s.keepAs(ctx, by, "pump", have.Subject, &want)
}

// keepAs keeps an item under the key of a booking, so that a booking sent twice keeps it once.
func (s *Shop) keepAs(ctx context.Context, by By, what string, sub record.Subject, i record.Item) (int64, error) {
	body, err := record.Keep(i)
	if err != nil {
		return 0, err
	}
	d := s.draft(by, body)
	d.Subject, d.Key, d.Corrects = sub, d.Key+"."+what, 0
	r, err := s.st.Keep(ctx, store.AnySeq, d)
	return r.Entry.Subject.ID, err
}

// Add writes something down about a job, after checking that this person may and that it can be. Where it takes the job to
// a later stage, the move is written down with it.
func (s *Shop) Add(ctx context.Context, by By, number int64, b record.Body) (store.Receipt, error) {
	sum, err := s.st.Summary(ctx, number)
	if err != nil {
		return store.Receipt{}, err
	}
	if err := s.may(ctx, by, number, b); err != nil {
		return store.Receipt{}, err
	}
	if err := s.check(ctx, by, sum, b); err != nil {
		return store.Receipt{}, err
	}
	if c, ok := b.(*record.Closed); ok && c.Good && by.IfSeq == 0 {
		by.IfSeq = sum.Seq // what was checked is what is closed: an entry in between is a conflict
	}
	d := s.draft(by, b)
	drafts := []record.Draft{d}
	to, err := s.later(ctx, sum, b)
	if err != nil {
		return store.Receipt{}, err
	}
	if to != "" {
		m := s.draft(By{Who: by.Who, At: by.At, Key: d.Key + ".moved"}, &record.Moved{To: to})
		drafts = append(drafts, m)
	}
	got, err := s.st.Append(ctx, number, by.ifSeq(), drafts...)
	if err != nil {
		return store.Receipt{}, err
	}
	return got[0], nil
}
