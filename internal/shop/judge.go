package shop

import (
	"context"
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// analyse runs one analysis when a desk is free: a page must never wait behind a crowd of them. It runs in a thread of its own that
// the system lets run when nobody else wants the processor, and that ends with it.
func (s *Shop) analyse(ctx context.Context, fn func() (*assess.Outcome, error)) (out *assess.Outcome, err error) {
	select {
	case s.desks <- struct{}{}:
		defer func() { <-s.desks }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		defer func() {
			if p := recover(); p != nil {
				err = fmt.Errorf("shop: an analysis: %v\n%s", p, debug.Stack())
			}
		}()
		runtime.LockOSThread() // never given back: the thread stays behind the others
		standBack()
		out, err = fn()
	}()
	<-done
	return out, err
}

// Look says what a hold says so far, a running watch counted as if it ended now. Nothing is kept. It is weighed less finely than a verdict
// (hold.Live): it is asked for after each press.
func (s *Shop) Look(ctx context.Context, j *Job, h record.HoldStage, running *assess.Running, next bool) (*assess.Outcome, error) {
	opt := hold.Live()
	opt.Next = next
	return s.weigh(ctx, j, h, running, opt)
}

func (s *Shop) weigh(ctx context.Context, j *Job, h record.HoldStage, running *assess.Running, opt hold.Options) (*assess.Outcome, error) {
	return s.analyse(ctx, func() (*assess.Outcome, error) {
		return assess.Judge(j.Job, h, j.Model.Pump, j.Model.Text, s.prior, running, s.version, opt)
	})
}

// Judge makes the verdict of a hold and keeps it with its inputs. With an IfSeq it judges the job only as it was after that entry: code
// Conflict when it has gone on.
func (s *Shop) Judge(ctx context.Context, by By, number int64, h record.HoldStage) (*assess.Outcome, store.Receipt, error) {
	if err := gate.May(by.Who, gate.WriteJob); err != nil {
		return nil, store.Receipt{}, err
	}
	j, err := s.Job(ctx, number)
	if err != nil {
		return nil, store.Receipt{}, err
	}
	if by.IfSeq != 0 && by.IfSeq != j.Seq {
		return nil, store.Receipt{}, &record.Fault{Code: record.Conflict, Where: fmt.Sprintf("job %d", number), Found: fmt.Sprintf("entry %d as the last", j.Seq),
			Want: fmt.Sprintf("entry %d, the last one seen", by.IfSeq), Mend: "look at what was written, then judge again", Seq: j.Seq}
	}
	if err := hasReading(j, h); err != nil {
		return nil, store.Receipt{}, err
	}
	out, err := s.weigh(ctx, j, h, nil, hold.Options{Next: true})
	if err != nil {
		return nil, store.Receipt{}, err
	}
	drafts := []record.Draft{s.draft(by, out.Body)}
	if to := verdictStage(j.Stage, h, out.Body.Word); to != "" {
		drafts = append(drafts, s.draft(By{Who: by.Who, At: by.At, Key: drafts[0].Key + ".moved"}, &record.Moved{To: to}))
	}
	got, err := s.st.Append(ctx, number, j.Seq, drafts...)
	if record.CodeOf(err) == record.Conflict { // something came in while it was worked out: a press of another tablet
		return nil, store.Receipt{}, err
	}
	if err != nil {
		return nil, store.Receipt{}, err
	}
	return out, got[0], nil
}

// hasReading refuses a verdict of a hold that nobody has read: it would say what is true of any pump of the kind.
func hasReading(j *Job, h record.HoldStage) error {
	d, err := assess.SheetOf(j.Job, h, j.Model.Pump, nil)
	if err != nil || len(d.Sheet.Readings) > 0 {
		return err
	}
	return record.Faultf(record.NotAllowed, "verdict", "no reading of this hold", "at least one", "hold the pump with the watch running, or type a reading")
}

// verdictStage is the stage that a verdict takes a job to, "" when it stays.
func verdictStage(at record.Stage, h record.HoldStage, word string) record.Stage {
	to := record.StageFound
	if h == record.AsLeft {
		to = record.StageProve
		if word == hold.Holds {
			to = record.StageHand
		}
	}
	if at.Before(to) {
		return to
	}
	return ""
}
