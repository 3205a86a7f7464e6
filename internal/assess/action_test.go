package assess

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// scene writes one job as it goes through the shop.
type scene struct {
	*book
	p    *pump.Pump
	text []byte
}

// rebuilds are kept, as the shop keeps them: to work one out takes longer than all the rest of a scene.
var rebuilds = map[string]*pump.Rebuild{}

func (s *scene) rebuild(c pump.Chosen) (*pump.Rebuild, error) {
	k := fmt.Sprintf("%s %q", s.p.Name, c)
	if r := rebuilds[k]; r != nil {
		return r, nil
	}
	r, err := s.p.Rebuild(c)
	if err == nil {
		rebuilds[k] = r
	}
	return r, err
}

func newScene(t tester, name string) *scene {
	t.Helper()
	m, ok := models[name]
	if !ok {
		m.p, m.text = demoPump(t, name)
		models[name] = m
	}
	return &scene{newBook(t, m.p), m.p, m.text}
}

type model struct {
	p    *pump.Pump
	text []byte
}

// models are the demo pumps, read once.
var models = map[string]model{}

// judged writes a verdict of the readings on record with a word.
func (s *scene) judged(h record.HoldStage, word string) {
	s.t.Helper()
	s.judgedAs(h, hold.Result{Verdict: hold.Verdict{Word: word}})
}

// judgedAs writes a verdict of the readings on record with what it says, since the action depends on that alone.
func (s *scene) judgedAs(h record.HoldStage, r hold.Result) {
	s.t.Helper()
	d, err := SheetOf(s.job(), h, s.p, nil)
	if err != nil {
		s.t.Fatal(err)
	}
	r.Model, r.Pump = hold.Version, s.p.Name
	if r.Paths == nil {
		for _, q := range s.p.Map().Paths {
			r.Paths = append(r.Paths, hold.PathShare{Path: q.Name, P: 0.01})
		}
		r.Paths[0].P = 0.9
	}
	result, err := json.Marshal(r)
	if err != nil {
		s.t.Fatal(err)
	}
	s.write(&record.Judged{Hold: h, Word: r.Verdict.Word, Meets: r.Verdict.Meets, Engine: "test", Model: r.Model, Seed: 1, Sheet: d.JSON, Pump: sha256.Sum256(s.text), Result: result, Seqs: d.Seqs})
}

// still reads a mark that does not move for so long at the hold pressure.
func (s *scene) still(h record.HoldStage, stroke string, seconds float64) {
	s.t.Helper()
	s.read(h, fmt.Sprintf(`{"still": %q, "pressure": "%g bar", "time": "%g s"}`, stroke, s.p.Limits.Hold/1e5, seconds))
}

func (s *scene) work() *Work {
	s.t.Helper()
	w, err := WorkOf(s.job(), s.p, s.rebuild, s.at)
	if err != nil {
		s.t.Fatal(err)
	}
	return w
}

func (s *scene) next() Action { return Next(s.job(), s.p, s.work(), false) }

func (s *scene) stage(to record.Stage) { s.write(&record.Moved{To: to}) }

// do signs the steps from one to another that are not settled, each as it should be done.
func (s *scene) do(from, to string) {
	s.t.Helper()
	w := s.work()
	on := false
	for _, x := range w.Steps {
		if on = on || x.ID == from; on && !x.State.Settled() && x.Kind != pump.StepHold {
			s.write(properly(s.p, x.Step))
		}
		if x.ID == to {
			return
		}
	}
	s.t.Errorf("the steps from %s to %s are not all in the order", from, to)
}

// until signs the steps of the phases up to one.
func (s *scene) until(last Phase) {
	s.t.Helper()
	phases := Phases()[:slices.Index(Phases(), last)+1]
	for _, x := range s.work().Steps {
		if !x.State.Settled() && (slices.Contains(phases, x.Phase) || x.Kind == pump.StepSoak) && x.Kind != pump.StepHold && !Relieves(x.Step) {
			s.write(properly(s.p, x.Step))
		}
	}
}

// chosen takes a job to where parts are chosen.
func (s *scene) chosen() *scene {
	s.stage(record.StageStrip)
	s.write(&record.Chose{Parts: map[string]string{"throat leather ring": "replace"}})
	return s
}

// whole takes a job to where the pump is built and in place.
func (s *scene) whole() *scene {
	s.chosen().until(PhaseProve)
	s.stage(record.StageProve)
	return s
}

// proven takes a job to where the pump is proved, relieved, and stands for hand-over.
func (s *scene) proven() *scene {
	s.whole()
	for _, stroke := range []string{"up", "down"} {
		s.still(record.AsLeft, stroke, s.p.Limits.HoldFor)
	}
	s.judged(record.AsLeft, hold.Holds)
	s.stage(record.StageHand)
	s.do("relieve", "relieve")
	return s
}

func (s *scene) billed() *scene {
	s.write(&record.Priced{Text: "work", Quantity: 1000, Each: 100, Currency: "EUR"})
	return s
}

func (s *scene) handed() *scene {
	s.write(&record.Handed{To: "A. Kin"})
	return s
}

// Results by what they ask for.
func results() map[string]hold.Result {
	check := []hold.Check{{Do: "Look at the throat packing.", Hazards: []string{}}}
	sets := func(p float64) []hold.SetShare { return []hold.SetShare{{Paths: []string{"throat packing"}, P: p}} }
	need := func(code hold.Code, stroke string, seconds float64) []hold.Need {
		return []hold.Need{{Code: code, Stroke: stroke, Seconds: seconds}}
	}
	refuted := func(reading int) []hold.Pending {
		return []hold.Pending{{Code: hold.HoldShort, Stroke: "up", Seconds: 9}, {Code: hold.Refuted, Reading: reading}}
	}
	open, bad := hold.NotProven, hold.DoesNotHold
	return map[string]hold.Result{
		"again":       {Verdict: hold.Verdict{Word: open, Open: refuted(3), Need: need(hold.HoldShort, "up", 30)}, Next: check},
		"fails again": {Verdict: hold.Verdict{Word: bad, Open: refuted(1)}, Sets: sets(0.9)},
		"longer":      {Verdict: hold.Verdict{Word: open, Need: need(hold.HoldShort, "up", 34.2)}, Next: check},
		"not held":    {Verdict: hold.Verdict{Word: open, Need: need(hold.NotHeld, "down", 25)}},
		"both":        {Verdict: hold.Verdict{Word: open, Need: need(hold.HoldShort, "", 90)}},
		"look":        {Verdict: hold.Verdict{Word: open, Need: []hold.Need{{Code: hold.Unlooked, Path: "outside", Seconds: 60}}}},
		"check":       {Verdict: hold.Verdict{Word: open, Need: need(hold.NotShown, "", 120)}, Next: check},
		"fails check": {Verdict: hold.Verdict{Word: bad}, Sets: sets(0.5), Next: check},
		"open":        {Verdict: hold.Verdict{Word: open, Need: need(hold.NotShown, "", 0)}},
		"fails":       {Verdict: hold.Verdict{Word: bad}, Sets: sets(0.9), Next: check},
		"fails alone": {Verdict: hold.Verdict{Word: bad}, Sets: sets(0.3)},
		"holds":       {Verdict: hold.Verdict{Word: hold.Holds}},
		"unlooked":    {Verdict: hold.Verdict{Word: hold.Holds, Open: []hold.Pending{{Code: hold.Unlooked, Path: "outside"}}}},
	}
}

// plays lead a job into each case, by every way that tells something.
var plays = map[Case]map[string]func(s *scene){
	CaseFoundUnread: {
		"booked in": func(*scene) {}, "only begun": func(s *scene) {
			s.presses(record.AsFound, "1", key{press: record.PressStart, stroke: "up", pressure: "160 bar"})
		},
		"opened again for another visit": func(s *scene) {
			s.found("fails")
			s.write(&record.Closed{Reason: "taken back"})
			s.stage(record.StageFound)
		},
	},
	CaseFoundUnjudged: {
		"read": func(s *scene) { s.still(record.AsFound, "up", 60) },
		"read after the verdict": func(s *scene) {
			s.found("fails")
			s.still(record.AsFound, "down", 60)
		},
		"struck after the verdict": func(s *scene) {
			n := int64(len(s.entries)) + 1
			s.still(record.AsFound, "down", 60)
			s.found("open")
			s.write(&record.Struck{Seq: n, Reason: "the wrong gauge"})
		},
	},
	CaseFoundAgain:  {"not proven": func(s *scene) { s.found("again") }, "does not hold": func(s *scene) { s.found("fails again") }},
	CaseFoundLonger: {"one stroke": func(s *scene) { s.found("longer") }, "each stroke": func(s *scene) { s.found("both") }, "a stroke that nobody held": func(s *scene) { s.found("not held") }},
	CaseFoundCheck:  {"not proven": func(s *scene) { s.found("check") }, "nobody looked": func(s *scene) { s.found("look") }, "does not hold, and it is not told which path": func(s *scene) { s.found("fails check") }},
	CaseFoundOpen:   {"nothing more tells": func(s *scene) { s.found("open") }},
	CaseFoundFails:  {"the path is told": func(s *scene) { s.found("fails") }, "nothing tells more": func(s *scene) { s.found("fails alone") }},
	CaseFoundHolds:  {"holds": func(s *scene) { s.found("holds") }},
	CaseSoak:        {"a part to soak": func(s *scene) { s.chosen() }},
	CaseSafe: {
		"before anything is chosen": func(s *scene) { s.found("fails"); s.stage(record.StageStrip) },
		"when the soak is laid": func(s *scene) {
			s.chosen()
			s.write(&record.Soaking{Step: "soak throat leather ring", Ready: s.at})
		},
		"in another round": func(s *scene) { s.whole().left("fails"); s.stage(record.StageStrip) },
	},
	CaseStrip: {
		"safe": func(s *scene) { s.found("fails"); s.stage(record.StageStrip); s.until(PhaseSafe) },
		"in another round": func(s *scene) {
			s.whole().left("fails")
			s.stage(record.StageStrip)
			s.until(PhaseSafe)
		},
	},
	CaseMeasure: {"open": func(s *scene) { s.found("fails"); s.stage(record.StageStrip); s.until(PhaseStrip) }},
	CaseChoose: {
		"measured":             func(s *scene) { s.found("fails"); s.stage(record.StageStrip); s.until(PhaseMeasure) },
		"nothing is suspected": func(s *scene) { s.stage(record.StageStrip) },
		"moved to the choice":  func(s *scene) { s.stage(record.StageChoose) },
		"a round of no choice": func(s *scene) { s.whole().left("fails"); s.stage(record.StageStrip); s.until(PhaseMeasure) },
	},
	CaseWorn: {"a worn rod that is kept": func(s *scene) {
		s.stage(record.StageStrip)
		s.write(&record.Chose{Parts: map[string]string{"rod": "keep"}})
		s.until(PhaseMeasure)
		s.write(&record.Found{Part: "rod", Size: "diameter", Value: "21.1 mm"})
	}},
	CaseBuild: {
		"stripped": func(s *scene) { s.chosen().until(PhaseMeasure); s.stage(record.StageBuild) },
		"a torque outside": func(s *scene) {
			s.chosen().until(PhaseBuild)
			s.write(&record.Did{Step: "torque inlet housing", Torque: "20 N·m", Wrench: "400 mm", Adapter: "75 mm", Angle: "90°"})
		},
	},
	CaseBefore:     {"built": func(s *scene) { s.chosen().until(PhaseBuild) }},
	CaseLeftUnread: {"whole": func(s *scene) { s.whole() }},
	CaseLeftOld:    {"opened again": func(s *scene) { s.proven().reopened() }},
	CaseLeftUnjudged: {
		"read": func(s *scene) { s.whole().still(record.AsLeft, "up", 60) },
		"read after it was opened again": func(s *scene) {
			s.proven().reopened()
			s.still(record.AsLeft, "up", 60)
		},
		"worked on after the verdict": func(s *scene) {
			s.proven()
			s.write(&record.Did{Step: "torque inlet housing", Torque: "135 N·m", Wrench: "400 mm", Adapter: "75 mm", Angle: "90°"})
		},
	},
	CaseLeftAgain:  {"not proven": func(s *scene) { s.whole().left("again") }},
	CaseLeftLonger: {"one stroke": func(s *scene) { s.whole().left("longer") }},
	CaseLeftCheck:  {"not proven": func(s *scene) { s.whole().left("check") }, "does not hold": func(s *scene) { s.whole().left("fails check") }},
	CaseLeftOpen:   {"nothing more tells": func(s *scene) { s.whole().left("open") }},
	CaseLeftFails:  {"told": func(s *scene) { s.whole().left("fails") }, "after an older override": func(s *scene) { s.whole(); s.write(&record.Overrode{Reason: "r"}); s.left("fails") }},
	CaseLeftShort:  {"held for too short": func(s *scene) { s.whole().short(record.AsLeft) }},
	CaseLeftLook:   {"nobody looked outside": func(s *scene) { s.whole().left("unlooked") }},
	CaseAfter: {
		"proved": func(s *scene) { s.whole().left("holds") },
		"relieved before it was raised again": func(s *scene) {
			s.proven()
			s.presses(record.AsLeft, "2", key{press: record.PressStart, stroke: "up", pressure: "160 bar"}, key{at: 60, press: record.PressEnd})
			s.judged(record.AsLeft, hold.Holds)
		},
	},
	CaseAnswer: {
		"held for too short": func(s *scene) {
			s.whole().short(record.AsLeft)
			s.do("relieve", "relieve")
			s.stage(record.StageHand)
		},
		"nobody looked outside": func(s *scene) {
			s.whole().left("unlooked")
			s.do("relieve", "relieve")
			s.stage(record.StageHand)
		},
		"good by somebody's word": func(s *scene) { s.write(&record.Overrode{Reason: "held on the old bench"}); s.stage(record.StageHand) },
		"a worn part in the pump": func(s *scene) {
			s.proven()
			s.write(&record.Found{Part: "rod", Size: "diameter", Value: "21.1 mm"})
		},
	},
	CaseHandOver: {
		"relieved": func(s *scene) { s.proven() },
		"billed":   func(s *scene) { s.proven().billed() },
		"opened again, by word": func(s *scene) {
			s.proven().billed().handed().reopened()
			s.write(&record.Overrode{Reason: "only the bill was wrong"})
		},
	},
	CaseBill:   {"handed over": func(s *scene) { s.proven().handed() }},
	CaseClose:  {"all done": func(s *scene) { s.proven().billed().handed() }},
	CaseClosed: {"closed": func(s *scene) { s.proven().billed().handed(); s.write(&record.Closed{Good: true}) }, "not good": func(s *scene) { s.write(&record.Closed{Reason: "scrapped"}) }},
}

// found and left judge a hold with what a result asks for.
func (s *scene) found(result string) { s.asks(record.AsFound, result) }
func (s *scene) left(result string)  { s.asks(record.AsLeft, result) }

// short judges a hold that holds by less than the pump sheet asks for.
func (s *scene) short(h record.HoldStage) {
	s.t.Helper()
	s.still(h, "up", 5)
	s.still(h, "down", s.p.Limits.HoldFor)
	s.judged(h, hold.Holds)
}

func (s *scene) asks(h record.HoldStage, result string) {
	s.t.Helper()
	r, ok := results()[result]
	if !ok {
		s.t.Fatal(result)
	}
	for _, stroke := range []string{"up", "down", "up"} {
		s.still(h, stroke, s.p.Limits.HoldFor)
	}
	s.judgedAs(h, r)
}

func (s *scene) reopened() *scene {
	s.write(&record.Closed{Reason: "r"})
	s.write(&record.Moved{To: record.StageHand, Reason: "it came back"})
	return s
}

// TestEveryCase reaches each row of the table by every way that tells something, and wants the action of the row with all that its key needs.
func TestEveryCase(t *testing.T) {
	seen := map[Case]bool{}
	for _, row := range Table() {
		if seen[row.Case] {
			t.Errorf("%s stands twice in the table", row.Case)
		}
		seen[row.Case] = true
		if row.Case != CaseClosed && (row.Do == DoNothing || row.Do == row.Or) {
			t.Errorf("%s: does %q or %q", row.Case, row.Do, row.Or)
		}
		if len(plays[row.Case]) == 0 {
			t.Errorf("%s: no scene leads there", row.Case)
		}
		for name, play := range plays[row.Case] {
			s := newScene(t, "orrin-30")
			play(s)
			a := s.next()
			if a.Case != row.Case {
				t.Errorf("%s, %s: the case is %q", row.Case, name, a.Case)
				continue
			}
			if want := row.Do; a.What != want && !(want == DoStep && a.What == DoRun) || a.Or != row.Or {
				t.Errorf("%s, %s: does %q or %q, want %q or %q", row.Case, name, a.What, a.Or, row.Do, row.Or)
			}
			s.complete(fmt.Sprintf("%s, %s", row.Case, name), a)
		}
	}
	for c := range plays {
		if !seen[c] {
			t.Errorf("%s is not in the table", c)
		}
	}
}

// complete wants of an action all that its key needs to lead there.
func (s *scene) complete(name string, a Action) {
	s.t.Helper()
	switch {
	case (a.What == DoStep || a.What == DoStrip) && s.work().Step(a.StepID) == nil:
		s.t.Errorf("%s: no step %q", name, a.StepID)
	case a.What == DoRun && (a.Steps < 2 || len(s.work().Run(a.StepID)) != a.Steps):
		s.t.Errorf("%s: a run of %d steps from %q", name, a.Steps, a.StepID)
	case slices.Contains([]What{DoHold, DoProve, DoJudge, DoAgain, DoLonger, DoCheck}, a.What) && a.Hold != record.AsFound && a.Hold != record.AsLeft:
		s.t.Errorf("%s: no hold", name)
	case a.What == DoAgain && a.Reading < 1:
		s.t.Errorf("%s: no reading", name)
	case a.What == DoLonger && a.Seconds < 1:
		s.t.Errorf("%s: no seconds", name)
	case a.Case == CaseLeftLook && a.Path == "":
		s.t.Errorf("%s: no path to look at", name)
	case a.Or == DoStep && s.work().Step(a.StepID) == nil:
		s.t.Errorf("%s: no step %q beside it", name, a.StepID)
	case a.Case == CaseAnswer && a.Open < 1:
		s.t.Errorf("%s: nothing to answer", name)
	}
}

// What an action is about comes from the verdict: which reading, how long, which stroke.
func TestWhatAnActionIsAbout(t *testing.T) {
	for _, c := range []struct {
		result  string
		reading int
		stroke  string
		seconds int
	}{
		{"not held", 0, "down", 25}, {"again", 3, "", 0}, {"fails again", 1, "", 0}, {"longer", 0, "up", 35}, {"both", 0, "", 45}, {"check", 0, "", 0}, {"fails", 0, "", 0},
	} {
		s := newScene(t, "orrin-30")
		s.found(c.result)
		if a := s.next(); a.Reading != c.reading || a.Stroke != c.stroke || a.Seconds != c.seconds {
			t.Errorf("%s: reading %d, %q for %d s", c.result, a.Reading, a.Stroke, a.Seconds)
		}
	}
	s := newScene(t, "orrin-30")
	s.found("look")
	if a := s.next(); a.Path != "outside" {
		t.Errorf("to look at: %q", a.Path)
	}
	s = newScene(t, "orrin-30").whole()
	s.short(record.AsLeft)
	if a := s.next(); a.Stroke != "up" || a.Seconds != int(s.p.Limits.HoldFor) || a.StepID != "relieve" {
		t.Errorf("held for too short: hold %q for %d s, or %q", a.Stroke, a.Seconds, a.StepID)
	}
}

// The office bills first, the bench hands over first; both come to the end.
func TestTheOfficeBillsFirst(t *testing.T) {
	s := newScene(t, "orrin-30").proven()
	ask := func(bill bool) Case { return Next(s.job(), s.p, s.work(), bill).Case }
	if ask(true) != CaseBill || ask(false) != CaseHandOver {
		t.Errorf("the office: %s, the bench: %s", ask(true), ask(false))
	}
	s.billed()
	if ask(true) != CaseHandOver || ask(false) != CaseHandOver {
		t.Errorf("billed: the office %s, the bench %s", ask(true), ask(false))
	}
	s.handed()
	if ask(true) != CaseClose || ask(false) != CaseClose {
		t.Errorf("handed over: the office %s, the bench %s", ask(true), ask(false))
	}
}

// TestEveryCombination takes every stage, every state of either hold, chosen or not, worked as far as each phase, closed and opened again or
// not, billed, handed over and answered or not. In each there is one next action with all that it needs, and to close is next only when
// nothing is open.
func TestEveryCombination(t *testing.T) {
	asked := []string{"", "read", "again", "longer", "check", "open", "fails", "holds"}
	n, cases := 0, map[Case]int{}
	for _, stage := range record.OpenStages() {
		founds, lefts, worked, ends := []string{"fails"}, []string{""}, []Phase{"", PhaseSafe, PhaseStrip, PhaseMeasure, PhaseBuild}, []string{"", "again", "word"}
		if !record.StageStrip.Before(stage) {
			founds = asked
		}
		if opening(stage) {
			worked = worked[:1]
		}
		if !stage.Before(record.StageProve) {
			worked = []Phase{"", PhaseBuild, PhaseProve}
			lefts, ends = append(slices.Clone(asked), "unlooked", "short"), append(ends, "billed", "handed", "all")
		}
		for _, found := range founds {
			for _, left := range lefts {
				for _, done := range worked {
					for _, end := range ends {
						s := newScene(t, "orrin-30")
						s.combine(stage, found, left, done, end)
						n++
						s.sound(fmt.Sprintf("%s, found %q, left %q, worked to %q, %q", stage, found, left, done, end), cases)
					}
				}
			}
		}
	}
	var never []string
	for _, row := range Table() {
		if cases[row.Case] == 0 && row.Case != CaseClosed && row.Case != CaseWorn {
			never = append(never, string(row.Case))
		}
	}
	if len(never) > 0 {
		t.Errorf("no combination reached: %s", strings.Join(never, ", "))
	}
	t.Logf("%d combinations: %v", n, cases)
}

func (s *scene) combine(stage record.Stage, found, left string, worked Phase, end string) {
	s.t.Helper()
	read := func(h record.HoldStage, how string) {
		switch how {
		case "":
		case "read":
			s.still(h, "up", 60)
		case "short":
			s.short(h)
		default:
			s.asks(h, how)
		}
	}
	read(record.AsFound, found)
	if !stage.Before(record.StageBuild) {
		s.write(&record.Chose{Parts: map[string]string{"throat leather ring": "replace"}})
	}
	s.stage(stage)
	if worked != "" && !opening(stage) {
		s.until(worked)
	}
	if !stage.Before(record.StageProve) {
		read(record.AsLeft, left)
	}
	if worked == PhaseProve && left == "holds" {
		s.do("relieve", "relieve")
	}
	if end == "billed" || end == "all" {
		s.billed()
	}
	if end == "handed" || end == "all" {
		s.handed()
	}
	if end == "word" {
		s.write(&record.Overrode{Reason: "r"})
	}
	if end == "again" {
		s.write(&record.Closed{Reason: "r"})
		s.stage(stage)
	}
}

func (s *scene) sound(name string, cases map[Case]int) {
	s.t.Helper()
	j, w := s.job(), s.work()
	for _, bill := range []bool{false, true} {
		a := Next(j, s.p, w, bill)
		cases[a.Case]++
		if a.What == DoNothing || rowOf(a.Case).Do == DoNothing || a.Stage.Rank() < 0 {
			s.t.Errorf("%s: nothing is next: %+v", name, a)
		}
		s.complete(name, a)
		open := len(OpenPoints(PointsOf(j, s.p, w)))
		if (a.What == DoClose) != (open == 0 && !j.Stage.Before(record.StageProve)) {
			s.t.Errorf("%s: %q with %d points open at %s", name, a.What, open, j.Stage)
		}
	}
	if a := Next(j, s.p, nil, false); a.What == DoNothing { // a work that cannot be told
		s.t.Errorf("%s: without its work nothing is next", name)
	}
}
