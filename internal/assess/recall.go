package assess

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// Recall reads a stored verdict: its result and its hold sheet. A result of this version of the model is read strictly; of
// another version, fields that are unknown now are passed over. Error: *record.Fault of code Damaged.
func Recall(b *record.Judged) (*hold.Result, *hold.Sheet, error) {
	dec := json.NewDecoder(bytes.NewReader(b.Result))
	if b.Model == hold.Version {
		dec.DisallowUnknownFields()
	}
	r := &hold.Result{}
	if err := dec.Decode(r); err != nil {
		return nil, nil, &record.Fault{Code: record.Damaged, Where: "the stored verdict", Found: err.Error(), Want: "a result of model " + b.Model, Mend: "restore a backup", Err: err}
	}
	for _, c := range []struct{ where, in, out string }{
		{"word", r.Verdict.Word, b.Word}, {"model", r.Model, b.Model},
		{"probability", fmt.Sprint(r.Verdict.Meets), fmt.Sprint(b.Meets)},
	} {
		if c.in != c.out {
			return nil, nil, record.Faultf(record.Damaged, "the stored verdict, "+c.where, fmt.Sprintf("%q in its result", c.in), fmt.Sprintf("%q", c.out), "restore a backup")
		}
	}
	s, err := hold.ReadSheet("hold", b.Sheet, nil)
	if err != nil {
		return nil, nil, &record.Fault{Code: record.Damaged, Where: "the hold sheet of the verdict", Found: err.Error(), Want: "a hold sheet", Mend: "restore a backup", Err: err}
	}
	return r, s, nil
}

// Current says whether the last verdict of a hold was made of what the record holds now: no reading, press or bench was added,
// corrected or struck since.
func Current(j *record.Job, h record.HoldStage, p *pump.Pump) bool {
	v := j.Verdict(h)
	if v == nil {
		return false
	}
	d, err := SheetOf(j, h, p, nil)
	return err == nil && d.Current(v.Body)
}

// Current says whether a verdict was made of the readings of this draft.
func (d Draft) Current(b *record.Judged) bool {
	s, err := hold.ReadSheet("hold", b.Sheet, nil)
	return err == nil && fmt.Sprintf("%+v", *s) == fmt.Sprintf("%+v", *d.Sheet) // as text, since NaN is not equal to itself
}

// Comparison is a stored verdict beside the same one made anew.
type Comparison struct {
	Stored, Fresh *hold.Result
	Same          bool // every number is the same
	Close         bool // the probabilities agree within the Monte Carlo error of both
	OtherEngine   bool // the program has another version now
	OtherModel    bool // the model has another version now, so that numbers may differ
	OtherPump     bool // the pump sheet is not the one that the verdict was made with
}

// Again makes a stored verdict anew from its own sheet and seed and compares. prior nil is the default one; a verdict made with a
// shop's own prior needs that one, which the record does not hold. opt gives the effort; its seed is not used.
//
// Errors: those of Recall; *record.Fault of code NotFound when the verdict was made with a shop's own prior and none is given;
// those of hold.Analyse.
func Again(b *record.Judged, p *pump.Pump, sheetText []byte, prior *hold.Prior, engine string, opt hold.Options) (*Comparison, error) {
	stored, s, err := Recall(b)
	if err != nil {
		return nil, err
	}
	if prior == nil {
		if stored.PriorFrom != "default" {
			return nil, record.Faultf(record.NotFound, "prior", "a verdict made with the shop's own rates", "these rates", "give the prior of that time")
		}
		prior = hold.DefaultPrior()
	}
	opt.Seed, opt.Next = b.Seed, len(stored.Next) > 0
	fresh, err := hold.Analyse(p, s, prior, opt)
	if err != nil {
		return nil, fmt.Errorf("assess: the verdict again: %w", err)
	}
	text, err := json.Marshal(fresh)
	if err != nil {
		return nil, fmt.Errorf("assess: the verdict again: %w", err)
	}
	kept, err := json.Marshal(stored)
	if err != nil {
		return nil, fmt.Errorf("assess: the verdict again: %w", err)
	}
	return &Comparison{Stored: stored, Fresh: fresh, Same: bytes.Equal(text, kept), Close: closeTo(stored, fresh),
		OtherEngine: b.Engine != engine, OtherModel: b.Model != hold.Version, OtherPump: b.Pump != sha256.Sum256(sheetText)}, nil
}

// within is how many Monte Carlo standard errors two results may differ by.
const within = 4

// closeTo compares the probability of meeting the limit and that of each path within the Monte Carlo errors of both.
func closeTo(a, b *hold.Result) bool {
	most := within * math.Hypot(a.StdErr, b.StdErr)
	if math.Abs(a.Verdict.Meets-b.Verdict.Meets) > most || len(a.Paths) != len(b.Paths) {
		return false
	}
	share := map[string]float64{}
	for _, q := range a.Paths {
		share[q.Path] = q.P
	}
	for _, q := range b.Paths {
		p, ok := share[q.Path]
		if !ok || math.Abs(p-q.P) > most {
			return false
		}
	}
	return true
}
