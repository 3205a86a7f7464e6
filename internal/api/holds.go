package api

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/unit"
)

func (a *API) holdRoutes() {
	route(a, huma.Operation{OperationID: "judge", Method: http.MethodPost, Path: "/jobs/{job}/verdicts", Tags: []string{"holds"}, Summary: "Make the verdict of a hold", DefaultStatus: http.StatusCreated,
		Description: "The verdict is worked out from what was read and kept with its inputs."}, spec{body: Ask{}, found: true, match: true}, a.judge)
	route(a, huma.Operation{OperationID: "look", Method: http.MethodGet, Path: "/jobs/{job}/look", Tags: []string{"holds"}, Summary: "What a hold says so far",
		Description: "Nothing is kept."}, spec{found: true}, a.look)
	route(a, huma.Operation{OperationID: "getWork", Method: http.MethodGet, Path: "/jobs/{job}/work", Tags: []string{"holds"}, Summary: "The order of work and what was done of it"}, spec{found: true}, a.work)
}

// Ask asks for a verdict.
type Ask struct {
	Hold string    `json:"hold" enum:"as found,as left"`
	At   time.Time `json:"at,omitzero"`
	Key  string    `json:"key,omitempty" maxLength:"64"`
}

// JudgeIn is the head of a verdict.
type JudgeIn struct {
	JobIn
	Key     string `header:"Idempotency-Key" doc:"the same key is the same verdict"`
	IfMatch string `header:"If-Match" doc:"the verdict is made only of the job that has this entity tag"`
}

// VerdictOut is a verdict that was kept.
type VerdictOut struct {
	Body struct {
		Seq    int64   `json:"seq" doc:"of its entry"`
		Hold   string  `json:"hold"`
		Word   string  `json:"word" doc:"holds, does not hold, not proven yet"`
		Meets  float64 `json:"meets" doc:"probability that the pump meets its limit; unit 1"`
		Engine string  `json:"engine"`
		Seqs   []int64 `json:"seqs" nullable:"false" doc:"entries that it was made of"`
		Result Result  `json:"result"`
	}
}

func (a *API) judge(ctx context.Context, in *JudgeIn) (*VerdictOut, error) {
	var ask Ask
	if err := read(ctx, maxJSON, &ask); err != nil {
		return nil, err
	}
	h, err := holdOf(ask.Hold)
	if err != nil {
		return nil, err
	}
	k, err := key(in.Key, ask.Key)
	if err != nil {
		return nil, err
	}
	if k == "" {
		k = shop.NewKey()
	}
	had, end, err := a.judged(ctx, in.Job, k, h)
	if had != nil || err != nil {
		return had, err
	}
	by := shop.By{Who: at(ctx).who, At: ask.At, Key: k}
	if by.IfSeq, err = seen(in.IfMatch, end); err != nil {
		return nil, err
	}
	_, _, err = a.sh.Judge(ctx, by, in.Job, h)
	conflict := record.CodeOf(err) == record.Conflict // perhaps with the same request, sent twice at once
	if err != nil && !conflict {
		return nil, err
	}
	had, _, again := a.judged(ctx, in.Job, k, h)
	if again != nil || had == nil && err != nil {
		if by.IfSeq > 0 {
			err = precondition(err)
		}
		return nil, first(again, err)
	}
	return had, nil
}

func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// judged finds the verdict that was kept under a key, and the entity tag of the job.
func (a *API) judged(ctx context.Context, job int64, k string, h record.HoldStage) (*VerdictOut, string, error) {
	all, err := a.written(ctx, job)
	if err != nil {
		return nil, "", err
	}
	last := all[len(all)-1].Here
	end := tag(last.Seq, last.Hash)
	w, err := stored(all, k, at(ctx).who.Person, 0, nil)
	if w == nil || err != nil {
		return nil, end, err
	}
	b, err := w.Here.Open()
	if err != nil {
		return nil, end, err
	}
	v, ok := b.(*record.Judged)
	if !ok || v.Hold != h {
		return nil, end, record.Faultf(record.Conflict, "key", "a key that another entry has", "a new key for each verdict", "make a new key and send it again")
	}
	out := &VerdictOut{}
	out.Body.Seq, out.Body.Hold, out.Body.Word, out.Body.Meets, out.Body.Engine, out.Body.Seqs, out.Body.Result = w.Here.Seq, string(v.Hold), v.Word, v.Meets, v.Engine, nonNil(v.Seqs), Result(v.Result)
	return out, end, nil
}

func nonNil[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}

func holdOf(s string) (record.HoldStage, error) {
	switch h := record.HoldStage(s); h {
	case record.AsFound, record.AsLeft:
		return h, nil
	}
	return "", record.Faultf(record.Invalid, "hold", short(s), `"as found" or "as left"`, "")
}

// LookIn says which hold to look at.
type LookIn struct {
	JobIn
	Hold    string `query:"hold" enum:"as found,as left" default:"as found"`
	Next    bool   `query:"next" doc:"also work out the next check; takes longer"`
	Watch   string `query:"watch" maxLength:"80" doc:"a watch that still runs, counted as if it ended now"`
	Elapsed int64  `query:"elapsed_ms" minimum:"0" maximum:"86400000" doc:"since the start of that watch; UCUM ms"`
}

// LookOut is what a hold says so far.
type LookOut struct {
	Body struct {
		Hold        string    `json:"hold"`
		Provisional bool      `json:"provisional" doc:"a running watch was counted as if it ended now"`
		Seqs        []int64   `json:"seqs" nullable:"false" doc:"entries that it was made of"`
		Ignored     []Ignored `json:"ignored" nullable:"false" doc:"entries that gave no reading"`
		Result      Result    `json:"result"`
	}
}

// Ignored is an entry that gave no reading.
type Ignored struct {
	Seq    int64  `json:"seq"`
	Reason string `json:"reason"`
	Mend   string `json:"mend,omitempty"`
}

func (a *API) look(ctx context.Context, in *LookIn) (*LookOut, error) {
	h, err := holdOf(in.Hold)
	if err != nil {
		return nil, err
	}
	j, err := a.sh.Job(ctx, in.Job)
	if err != nil {
		return nil, err
	}
	var running *assess.Running
	if in.Watch != "" {
		running = &assess.Running{Watch: in.Watch, Elapsed: time.Duration(in.Elapsed) * time.Millisecond}
	}
	got, err := a.sh.Look(ctx, j, h, running, in.Next)
	if err != nil {
		return nil, err
	}
	data, err := json.Marshal(got.Result)
	if err != nil {
		return nil, fmt.Errorf("api: a result: %w", err)
	}
	out := &LookOut{}
	out.Body.Hold, out.Body.Provisional, out.Body.Seqs, out.Body.Result, out.Body.Ignored = string(h), got.Provisional, nonNil(got.Seqs), Result(data), []Ignored{}
	for _, i := range got.Ignored {
		out.Body.Ignored = append(out.Body.Ignored, Ignored{i.Seq, i.Reason, i.Mend})
	}
	return out, nil
}

// Quantity is a number with its unit.
type Quantity struct {
	Value float64 `json:"value"`
	Unit  string  `json:"unit" doc:"UCUM code"`
}

func quantity(v float64, u string) *Quantity {
	if v == 0 {
		return nil
	}
	return &Quantity{v, u}
}

// Step is one step of the work with its state.
type Step struct {
	N         int       `json:"n" doc:"1 for the first"`
	ID        string    `json:"id"`
	Kind      string    `json:"kind"`
	Phase     string    `json:"phase" enum:"safe,strip,measure,build,prove"`
	State     string    `json:"state" enum:"todo,done,off,named,skipped,passed,missed,soaking,ready" doc:"off is done otherwise than asked, as a torque outside its tolerance; named the same, answered for by somebody who may"`
	Title     string    `json:"title"`
	Detail    string    `json:"detail,omitempty" doc:"in metric units"`
	Part      string    `json:"part,omitempty"`
	Action    string    `json:"action,omitempty"`
	Stack     string    `json:"stack,omitempty"`
	Ring      int       `json:"ring,omitempty" doc:"1 is the lowest"`
	Lips      string    `json:"lips,omitempty"`
	Joint     string    `json:"joint,omitempty"`
	Torque    *Quantity `json:"torque,omitempty" doc:"at the joint"`
	Tolerance *Quantity `json:"tolerance,omitempty"`
	Got       *Quantity `json:"got,omitempty" doc:"torque at the joint that was recorded"`
	Minutes   Quantity  `json:"minutes"`
	Until     time.Time `json:"until,omitzero" doc:"of a soak that was started: when it is ready"`
	Signed    int64     `json:"signed,omitempty" doc:"seq of the entry that settles it, or that started the soak"`
	Cautions  []string  `json:"cautions,omitempty" nullable:"false"`
	Blocked   []string  `json:"blocked,omitempty" nullable:"false" doc:"steps just before it that are not settled"`
}

// WorkOut is the order of work.
type WorkOut struct {
	Body struct {
		Pump       string            `json:"pump"`
		Chosen     map[string]string `json:"chosen" doc:"what becomes of each part"`
		Next       string            `json:"next,omitempty" doc:"the step to do now"`
		Do         string            `json:"do,omitempty" doc:"the one obvious next action of the job, for the person who asks"`
		Or         string            `json:"or,omitempty" doc:"what may be done as well"`
		Case       string            `json:"case" doc:"the state of the job that asks for it"`
		Early      bool              `json:"early,omitempty" doc:"nothing is chosen yet: the steps end with the measuring"`
		Open       []Point           `json:"open" nullable:"false" doc:"what has to be answered before the job is closed as good"`
		Steps      []Step            `json:"steps" nullable:"false"`
		Departures []Departure       `json:"departures" nullable:"false" doc:"ways in which the build departs from the order of work"`
	}
}

// Point is one thing that has to be answered before a job is closed as good.
type Point struct {
	ID   string `json:"id" doc:"by which an override answers for it"`
	Code string `json:"code" enum:"proof,look,hold,departure,unsigned,unread,worn,overdue,handed,bill"`
	Seq  int64  `json:"seq,omitempty" doc:"the entry that raised it"`
	By   int64  `json:"by,omitempty" doc:"seq of the entry that answers for it; 0 while it is open"`
}

// Departure is a way in which the build departs from the order of work.
type Departure struct {
	Kind   string `json:"kind"`
	Step   string `json:"step,omitempty"`
	Text   string `json:"text" doc:"in metric units"`
	Reason string `json:"reason,omitempty"`
	Seq    int64  `json:"seq,omitempty" doc:"the entry that it is about"`
}

func (a *API) work(ctx context.Context, in *JobIn) (*WorkOut, error) {
	j, err := a.sh.Job(ctx, in.Job)
	if err != nil {
		return nil, err
	}
	w, err := a.sh.Work(j)
	if err != nil {
		return nil, err
	}
	out := &WorkOut{}
	out.Body.Pump, out.Body.Chosen, out.Body.Steps, out.Body.Departures = j.Model.Name, map[string]string{}, []Step{}, []Departure{}
	for part, action := range w.Chosen {
		out.Body.Chosen[part] = string(action)
	}
	if w.Next != nil {
		out.Body.Next = w.Next.ID
	}
	next := a.sh.Next(j, w, at(ctx).who)
	out.Body.Do, out.Body.Or, out.Body.Case, out.Body.Early, out.Body.Open = string(next.What), string(next.Or), string(next.Case), w.Early, []Point{}
	for _, q := range assess.PointsOf(j.Job, j.Model.Pump, w) {
		x := Point{ID: q.ID, Code: string(q.Code), Seq: q.Seq}
		if q.By != nil {
			x.By = q.By.Seq
		}
		out.Body.Open = append(out.Body.Open, x)
	}
	for i := range w.Steps {
		out.Body.Steps = append(out.Body.Steps, step(&w.Steps[i]))
	}
	for _, d := range w.Departures {
		x := Departure{Kind: string(d.Kind), Step: d.Step, Text: d.Text(unit.Metric()), Reason: d.Reason}
		if d.Entry != nil {
			x.Seq = d.Entry.Seq
		}
		out.Body.Departures = append(out.Body.Departures, x)
	}
	return out, nil
}

func step(s *assess.Step) Step {
	out := Step{N: s.N, ID: s.ID, Kind: string(s.Kind), Phase: string(s.Phase), State: string(s.State), Title: s.Title, Detail: s.Text(unit.Metric()), Part: s.Part,
		Action: string(s.Action), Stack: s.Stack, Ring: s.Ring, Lips: s.Lips, Joint: s.Joint, Torque: quantity(s.Torque, "N.m"), Tolerance: quantity(s.Tol, "N.m"),
		Minutes: Quantity{s.Minutes, "min"}, Until: s.Until, Cautions: s.Cautions, Blocked: s.Blocked}
	if s.Signed != nil {
		out.Signed = s.Signed.Seq
	}
	if s.Wrench != nil {
		out.Got = quantity(s.Wrench.Got, "N.m")
	}
	return out
}
