package assess

import (
	"encoding/json"
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

// judged writes a verdict of the readings on record with another word, since the action depends on the word alone.
func (s *scene) judged(h record.HoldStage, word string) {
	s.t.Helper()
	out, err := Judge(s.job(), h, s.p, s.text, nil, nil, "test", hold.Quick())
	if err != nil {
		s.t.Fatal(err)
	}
	out.Body.Word = word
	s.write(out.Body)
}

func (s *scene) expect(what What, step string) {
	s.t.Helper()
	j := s.job()
	w, err := WorkOf(j, s.p, s.p.Rebuild, s.at)
	if err != nil {
		s.t.Fatal(err)
	}
	if got, want := Next(j, s.p, w), (Action{j.Stage, what, step}); got != want {
		s.t.Errorf("got %+v, want %+v", got, want)
	}
}

func (s *scene) stage(to record.Stage) { s.write(&record.Moved{To: to}) }

func (s *scene) do(from, to string) {
	s.t.Helper()
	w, err := WorkOf(s.job(), s.p, s.p.Rebuild, s.at)
	if err != nil {
		s.t.Fatal(err)
	}
	on := false
	for _, x := range w.Steps {
		if on = on || x.ID == from; on && !x.State.Settled() {
			s.write(properly(s.p, x.Step))
		}
		if x.ID == to {
			return
		}
	}
}

// A whole job, from its booking to its end, with the next action at each moment.
func TestNextThroughAJob(t *testing.T) {
	p, text := demoPump(t, "orrin-30")
	s := &scene{newBook(t, p), p, text}
	still := func(h record.HoldStage, stroke string) {
		s.write(&record.Read{Hold: h, Reading: json.RawMessage(`{"still": "` + stroke + `", "pressure": "2330 psi", "time": "60 s"}`)})
	}
	s.expect(DoHold, "")
	s.stage(record.StageFound)
	s.expect(DoHold, "")
	s.presses(record.AsFound, "1", key{press: record.PressStart, stroke: "up", pressure: "2330 psi"})
	s.expect(DoHold, "") // a watch that has only begun is no reading
	s.presses(record.AsFound, "1", key{at: 30, press: record.PressEnd})
	s.expect(LookVerdict, "")
	s.judged(record.AsFound, hold.NotProven)
	s.expect(DoHold, "")
	still(record.AsFound, "down")
	s.expect(LookVerdict, "")
	s.judged(record.AsFound, hold.DoesNotHold)
	s.expect(LookVerdict, "")

	s.stage(record.StageStrip)
	s.expect(DoChoose, "")
	s.write(&record.Chose{Parts: map[string]string{"throat leather ring": "replace"}})
	s.expect(DoStep, "soak throat leather ring")
	s.write(&record.Soaking{Step: "soak throat leather ring", Ready: s.at})
	s.expect(DoStep, "earth")
	s.do("earth", "clean")
	s.expect(DoStep, "measure rod")
	s.do("measure rod", "measure inlet valve ball")
	s.expect(DoChoose, "") // what is next belongs to the build: look at the choice again
	s.stage(record.StageChoose)
	s.expect(DoChoose, "")
	s.stage(record.StageBuild)
	s.expect(DoStep, workOf(t, s.book, p).Next.ID)
	s.do("soak throat leather ring", "torque inlet housing")
	s.expect(DoProve, "")
	s.stage(record.StageProve)
	s.expect(DoStep, "put back")
	s.do("put back", "prime")
	s.expect(DoProve, "")
	still(record.AsLeft, "up")
	s.expect(LookVerdict, "")
	s.judged(record.AsLeft, hold.NotProven)
	s.expect(DoProve, "")
	still(record.AsLeft, "down")
	s.judged(record.AsLeft, hold.DoesNotHold)
	s.expect(LookVerdict, "")
	s.judged(record.AsLeft, hold.Holds)
	s.expect(DoStep, "hold")
	s.do("hold", "hold")
	s.expect(DoStep, "relieve")
	s.do("relieve", "relieve")
	s.expect(DoHandOver, "")
	still(record.AsLeft, "up") // a doubt
	s.expect(LookVerdict, "")
	s.judged(record.AsLeft, hold.Holds)
	s.stage(record.StageHand)
	s.expect(DoHandOver, "")
	s.write(&record.Handed{To: "A. Kin"})
	s.expect(DoClose, "")
	s.write(&record.Closed{Good: true})
	s.expect(DoNothing, "")
}

func TestNextWithoutAChoiceOrWork(t *testing.T) {
	p, text := demoPump(t, "tolsk-18")
	s := &scene{newBook(t, p), p, text}
	s.stage(record.StageBuild)
	s.expect(DoChoose, "")
	s.stage(record.StageProve)
	s.expect(DoStep, "earth")
	if got := Next(s.job(), p, nil); got.What != DoProve {
		t.Errorf("without its work: %+v", got)
	}
}
