package assess

import (
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// Outcome is what a hold says.
type Outcome struct {
	Draft
	Result *hold.Result
	Body   *record.Judged // to be stored; nil while a watch runs
}

// Refused is the error of readings that cannot come from this pump. It is a *record.Fault of code Invalid and a *hold.Refusal as
// well.
type Refused struct {
	Draft   Draft
	Items   []RefusedReading
	Refusal *hold.Refusal
}

// RefusedReading is one reading that was refused, with the entries that it was made of.
type RefusedReading struct {
	hold.RefusalItem
	Origin Origin
}

// Error gives one line for each refused reading.
func (r *Refused) Error() string { return r.Refusal.Error() }

// Unwrap returns the refusal and the first of its items as a *record.Fault.
func (r *Refused) Unwrap() []error {
	it := r.Items[0]
	f := record.Faultf(record.Invalid, it.Origin.String(), it.Found, it.Want, it.Fix)
	return []error{f, r.Refusal}
}

// DefaultSeed is the seed of a verdict for which none is asked, that of the terminal.
const DefaultSeed = 1

// Judge analyses a hold of a job. sheetText is the text of the pump sheet, for its digest; prior nil is the default one; engine
// is the version of the program. Without a seed in opt the seed is DefaultSeed.
//
// Errors: *record.Fault of code NotAllowed when there is no reading, of code Invalid when something typed cannot be read; *Refused
// when readings cannot come from this pump.
func Judge(j *record.Job, h record.HoldStage, p *pump.Pump, sheetText []byte, prior *hold.Prior, running *Running, engine string, opt hold.Options) (*Outcome, error) {
	d, err := SheetOf(j, h, p, running)
	if err != nil {
		return nil, err
	}
	for _, ig := range d.Ignored {
		if ig.Broken {
			return nil, record.Faultf(record.Invalid, fmt.Sprintf("entry %d", ig.Seq), ig.Reason, "an entry that can be read", ig.Mend)
		}
	}
	if len(d.Sheet.Readings) == 0 {
		return nil, record.Faultf(record.NotAllowed, "the hold "+string(h), "no reading", "at least one", "start a watch, or type a reading")
	}
	if prior == nil {
		prior = hold.DefaultPrior()
	}
	if opt.Seed == 0 {
		opt.Seed = DefaultSeed
	}
	r, err := hold.Analyse(p, d.Sheet, prior, opt)
	if err != nil {
		return nil, d.refused(err)
	}
	out := &Outcome{Draft: d, Result: r}
	if d.Provisional {
		return out, nil
	}
	result, err := json.Marshal(r)
	if err != nil {
		return nil, fmt.Errorf("assess: a verdict: %w", err)
	}
	out.Body = &record.Judged{Hold: h, Word: r.Verdict.Word, Meets: r.Verdict.Meets, Engine: engine, Model: r.Model, Seed: opt.Seed,
		Sheet: d.JSON, Pump: sha256.Sum256(sheetText), Result: result, Seqs: d.Seqs}
	if err := out.Body.Check(); err != nil {
		return nil, err
	}
	return out, nil
}

// refused names the entries of refused readings.
func (d Draft) refused(err error) error {
	var refusal *hold.Refusal
	if !errors.As(err, &refusal) {
		return &record.Fault{Code: record.Invalid, Where: "the hold", Found: err.Error(), Want: "readings that can be weighed", Err: err}
	}
	out := &Refused{Draft: d, Refusal: refusal}
	for _, it := range refusal.Items {
		out.Items = append(out.Items, RefusedReading{it, d.Origins[it.Reading-1]})
	}
	return out
}
