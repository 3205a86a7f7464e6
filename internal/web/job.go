package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"time"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/internal/store"
	"github.com/evenstroke/evenstroke/unit"
)

// soakView is one soak that runs.
type soakView struct{ Ready, Name, ID, Title, At string }

// JobView is what every page of a job has.
type JobView struct {
	F      *Frame
	J      *shop.Job
	Number int64          // of J, at hand for templates
	Booked *record.Booked // of J
	Form   *Form
	H1     string // of a page about a part of the job
	Small  bool   // the page has a heading of its own: the head of the job is small
	Rail   []rung
	Soaks  []soakView
	Work   *assess.Work
	Next   next
	Action assess.Action // of Next
	Open   bool

	Verdicts []verdictView
	Facts    []fact
	Notes    []noteView
	Photos   photosView
	Past     []Card
	Prev     string
	Bill     bool
	kept     *store.Recent[verdictKey, verdictView]
}

type fact struct{ Word, Value string }

type noteView struct{ Text, Who, When string }

func jobPath(n int64, rest string) string { return "/jobs/" + strconv.FormatInt(n, 10) + rest }

// jobView reads a job and what every page of it shows.
func (s *Server) jobView(r *http.Request, form *Form, h1 string) (*JobView, error) {
	n, err := mustNumber(r, "job")
	if err != nil {
		return nil, err
	}
	f, err := s.frame(r)
	if err != nil {
		return nil, err
	}
	j, err := s.Shop.Job(r.Context(), n)
	if err != nil {
		return nil, err
	}
	w, err := s.Shop.Work(j)
	if err != nil {
		return nil, err
	}
	v := &JobView{F: f, J: j, Number: n, Booked: j.Booked, Form: form, Work: w, Open: j.Open(), kept: s.maps}
	f.Job = n
	if v.Open && f.Notice == "done.closed" || !v.Open && f.Notice == "done.reopened" {
		f.Notice = "" // the page was fetched once more, and the job is no longer as its address says
	}
	if h1 != "" {
		v.H1 = f.T(h1)
		f.Title = f.T("job.page", v.H1, strconv.FormatInt(n, 10))
	} else {
		f.Title = f.T("job.title", strconv.FormatInt(n, 10))
	}
	f.Data = v
	v.soaks()
	s.next(v)
	v.rail()
	return v, nil
}

// soaks lists the soaks that are started and not yet signed.
func (v *JobView) soaks() {
	for _, st := range v.Work.Steps {
		if st.State == assess.Soaking || st.State == assess.Ready {
			v.Soaks = append(v.Soaks, soakView{Ready: v.F.ISO(st.Until), Title: v.F.Told(st.Title), Name: v.F.T("soak.name", v.F.Told(st.Title), strconv.FormatInt(v.J.Number, 10)),
				ID: fmt.Sprintf("soak-%d-%s", v.J.Number, st.ID), At: v.F.When(st.Until)})
		}
	}
}

// job shows one job.
func (s *Server) job(w http.ResponseWriter, r *http.Request) error { return s.viewJob(w, r, &Form{}) }

func (s *Server) viewJob(w http.ResponseWriter, r *http.Request, form *Form) error {
	v, err := s.jobView(r, form, "")
	if err != nil {
		return err
	}
	tag := fmt.Sprintf(`"%d-%s-%s"`, v.J.Seq, v.J.Hash.String()[:12], v.F.static.version)
	w.Header().Set("X-Entry", tag)
	if err := v.overview(); err != nil {
		return err
	}
	past, err := s.Shop.Store().OfPump(r.Context(), v.J.Booked.Pump, v.J.Number, 5)
	if err != nil {
		return err
	}
	v.Past = v.F.cards(past)
	return s.render(w, statusOf(form), "job", "frame.html", v.F)
}

// overview fills what the page of a job shows beside its head.
func (v *JobView) overview() error {
	f, b := v.F, v.J.Booked
	v.Facts = []fact{{f.T("book.customer"), b.CustomerName}, {f.T("book.serial"), b.Serial}, {f.T("book.model"), b.Model}}
	for _, q := range []fact{{f.T("book.fluid"), b.Fluid}, {f.T("book.hours"), b.Hours}, {f.T("book.litres"), b.Litres}, {f.T("book.drive"), b.Drive}, {f.T("book.with"), b.With}} {
		if q.Value != "" {
			v.Facts = append(v.Facts, q)
		}
	}
	v.Facts = append(v.Facts, fact{f.T("job.opened"), f.When(v.J.Opened)}, fact{f.T("job.changed"), f.When(v.J.Changed)})
	for _, h := range []record.HoldStage{record.AsFound, record.AsLeft} {
		l := v.J.Verdict(h)
		if l == nil {
			continue
		}
		vv, err := v.verdict(l.Body, l.Entry)
		if err != nil {
			return err
		}
		v.Verdicts = append(v.Verdicts, vv)
	}
	for _, l := range v.J.Notes {
		v.Notes = append(v.Notes, noteView{l.Body.Text, f.Person(l.First.By), f.When(l.First.At)})
	}
	v.photos()
	return nil
}

type photoView struct{ Hash, Alt, Caption, Who string }

type photosView struct {
	F      *Frame
	Photos []photoView
	Open   bool
	Number int64
	Stage  record.Stage
	Back   string
	Key    string
}

func (v *JobView) photos() {
	p := photosView{F: v.F, Open: true, Number: v.J.Number, Stage: v.J.Stage, Back: v.F.Path, Key: shop.NewKey()}
	for _, l := range v.J.Pictures {
		alt := l.Body.Caption
		if alt == "" {
			alt = v.F.T("photo.alt", v.F.stage(l.Body.Stage))
		}
		p.Photos = append(p.Photos, photoView{l.Body.Photo.String(), alt, l.Body.Caption, v.F.Person(l.First.By) + " " + v.F.When(l.First.At)})
	}
	v.Photos = p
}

// verdictView is a verdict with its pictures, as kept.
type verdictView struct {
	F                 *Frame
	Word, Class, Sign string
	Chance            string
	Error             string   // of the chances, by the draws alone
	Findings          []string // what it rests on
	Heading, When     string
	Wide, Narrow      string
	Result            *hold.Result
	Seq               int64
	Engine            string
	Needs             []needView
	Doubts            []string
	Checks            []checkView
	Hold              record.HoldStage
	Old               bool // readings came, or changed, after it: its word and its next check are of before
	Open              bool // the job takes readings
}

type needView struct {
	Seconds int    // that a watch goes through, 0 for what no watch shows
	Stroke  string // of that watch; "" for any
	Text    string
}

type checkView struct {
	Do, Settles, Minutes  string
	Hazards               []string
	Reading, Stroke, Path string // of what it gives, by which it has a page of its own
}

// verdictKey says what the view of a verdict is made of: the entry, units and language, and the pump on whose section it is drawn.
type verdictKey struct {
	entry      record.Digest
	units      unit.System
	lang       string
	sheet, seq int64
	pump       string
}

// verdictsKept is half of how many views of verdicts are kept, some 60 kB each.
const verdictsKept = 300

// verdict is a verdict with its pictures. It never changes, and the page of a job is asked for again and again while somebody works
// on it: it is kept, since to read and draw it anew takes as long as all the rest of the page.
func (v *JobView) verdict(b *record.Judged, e *record.Entry) (verdictView, error) {
	m := v.J.Model
	out, err := v.kept.Get(verdictKey{e.Hash, v.F.Units, v.F.Lang, m.Sheet, m.Seq, m.Name}, func() (verdictView, error) {
		res, _, err := assess.Recall(b)
		if err != nil {
			return verdictView{}, err
		}
		view := v.result(res)
		view.F = nil // of this page only
		return view, nil
	})
	if err != nil {
		return verdictView{}, err
	}
	out.F = v.F
	out.Hold, out.Seq, out.Engine = b.Hold, e.Seq, b.Engine
	out.Open = v.Open
	out.Heading = v.F.T("hold." + holdKey(b.Hold))
	out.When = v.F.When(e.At) + " · " + v.F.Person(e.By)
	return out, nil
}

// result is what a page shows of a result of a hold.
func (v *JobView) result(res *hold.Result) verdictView {
	f := v.F
	c := f.verdictChip(res.Verdict.Word)
	out := verdictView{F: f, Word: c.Word, Class: c.Class, Sign: "sign-" + c.Class, Chance: f.Told(draw.Chance(res.Verdict.Meets)), Error: f.words().Share(res.StdErr), Result: res,
		Findings: draw.Findings(v.J.Model.Pump, res, f.Units)}
	out.Wide = draw.Inline(draw.LeakMapBare(v.J.Model.Pump, res, f.Units, draw.In(f.Told)))
	out.Narrow = draw.Inline(draw.LeakMapBareNarrow(v.J.Model.Pump, res, f.Units, draw.In(f.Told)))
	for _, n := range res.Verdict.Need {
		need := needView{Stroke: n.Stroke, Text: n.Text}
		if n.Code == hold.HoldShort || n.Code == hold.NotHeld {
			need.Seconds = int(n.Seconds + 0.5)
		}
		out.Needs = append(out.Needs, need)
	}
	for _, d := range res.Doubts {
		out.Doubts = append(out.Doubts, d.Text)
	}
	for _, k := range res.Next {
		out.Checks = append(out.Checks, checkView{Do: k.Do, Settles: k.Settles, Minutes: draw.Short(60*k.Minutes, unit.Time, f.Units), Hazards: k.Hazards, Reading: string(k.Reading), Stroke: k.Stroke, Path: k.Path})
	}
	return out
}

func holdKey(h record.HoldStage) string {
	if h == record.AsLeft {
		return "left"
	}
	return "found"
}

// entry takes one entry as a script sends it: {"key", "at", "kind", "body", "corrects"}. The same key again is the same entry.
func (s *Server) entry(w http.ResponseWriter, r *http.Request) error {
	n, err := mustNumber(r, "job")
	if err != nil {
		return err
	}
	var in struct {
		Key      string          `json:"key"`
		At       time.Time       `json:"at"`
		Kind     record.Kind     `json:"kind"`
		Body     json.RawMessage `json:"body"`
		Corrects int64           `json:"corrects"`
	}
	data, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxForm))
	if err != nil {
		return entryFault(err)
	}
	if err := record.TypedJSON("entry", data); err != nil {
		return err
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&in); err != nil {
		return record.Faultf(record.Invalid, "entry", err.Error(), "key, at, kind and body", "")
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return record.Faultf(record.Invalid, "entry", "more after its end", "one JSON object", "")
	}
	if in.Key == "" {
		return record.Faultf(record.Invalid, "key", "nothing", "a key for each entry", "make one key an entry, as a UUID")
	}
	body, err := record.Decode(in.Kind, in.Body)
	if err != nil {
		return err
	}
	b := by(r, nil)
	b.Key, b.At, b.Corrects = in.Key, in.At, in.Corrects
	got, err := s.Shop.Add(r.Context(), b, n, body)
	if err != nil {
		return err
	}
	code := http.StatusCreated
	if got.Duplicate {
		code = http.StatusOK
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(code)
	return wrote(json.NewEncoder(w).Encode(map[string]any{"seq": got.Entry.Seq, "hash": got.Entry.Hash, "duplicate": got.Duplicate}))
}

// entryFault is what is wrong with an entry that could not be read to its end.
func entryFault(err error) error {
	var big *http.MaxBytesError
	if errors.As(err, &big) {
		return record.Faultf(record.TooLarge, "entry", "more than 1 MB", "at most 1 MB", "shorten it")
	}
	return &record.Fault{Code: record.Invalid, Where: "entry", Found: "one that breaks off", Want: "a whole entry", Mend: "send it again", Err: err}
}

// add writes a body of a form about a job and gives the page to go on with.
func (s *Server) add(r *http.Request, f *Form, b record.Body, to string) (string, error) {
	n, err := mustNumber(r, "job")
	if err != nil {
		return "", err
	}
	_, err = s.Shop.Add(r.Context(), by(r, f), n, b)
	return jobPath(n, to), err
}

func (s *Server) note(r *http.Request, f *Form) (string, error) {
	return s.add(r, f, &record.Noted{Text: f.Text("text")}, "?done=noted")
}

func (s *Server) mind(r *http.Request, f *Form) (string, error) {
	return s.add(r, f, &record.Minded{Caution: f.Text("caution")}, "")
}

func (s *Server) strike(r *http.Request, f *Form) (string, error) {
	seq, err := f.Number("seq")
	if err != nil {
		return "", err
	}
	return s.add(r, f, &record.Struck{Seq: seq, Reason: f.Text("reason")}, "/history?done=struck")
}

// again takes a pump that was built back to be opened again: another round of the work begins.
func (s *Server) again(r *http.Request, f *Form) (string, error) {
	return s.add(r, f, &record.Moved{To: record.StageStrip, Reason: f.Text("reason")}, "/work")
}

func (s *Server) reopen(r *http.Request, f *Form) (string, error) {
	return s.add(r, f, &record.Moved{To: record.StageHand, Reason: f.Text("reason")}, "?done=reopened")
}
