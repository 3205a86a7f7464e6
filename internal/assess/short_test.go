package assess

import (
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// shortHold finds the point of a hold that was too short.
func shortHold(s *scene) (Point, bool) {
	for _, q := range PointsOf(s.job(), s.p, s.work()) {
		if q.Code == PointHold {
			return q, true
		}
	}
	return Point{}, false
}

// A mark may prove in seconds; the two minutes that the sheet of orrin-30 asks for are a fact of their own. Each stroke says what is missing
// of them, and how far a leak at the limit, a stroke of 100 mm in a minute, would have moved a mark. Holding on answers it, and so does
// a name; a reading after the name asks again.
func TestAHoldThatIsShort(t *testing.T) {
	s := newScene(t, "orrin-30").whole()
	s.still(record.AsLeft, "up", 30)
	s.still(record.AsLeft, "down", 120)
	s.judged(record.AsLeft, record.Holds)
	q, ok := shortHold(s)
	if !ok || !q.Open() || len(q.Short) != 1 {
		t.Fatalf("30 s of 120 on one stroke: %+v", q)
	}
	if c := q.Short[0]; c.Stroke != "up" || c.Short() != 90 || math.Abs(c.AtLimit-0.05) > 1e-12 {
		t.Errorf("got %+v, want 90 s missing on the upstroke, and 50 mm of a mark at the limit", c)
	}
	s.write(&record.Overrode{Reason: "the mark proves it", Points: []string{q.ID}})
	if q, ok := shortHold(s); !ok || q.Open() || q.Named == nil {
		t.Errorf("answered by a name: %+v", q)
	}
	s.still(record.AsLeft, "up", 60)
	s.judged(record.AsLeft, record.Holds)
	if q, ok := shortHold(s); !ok || !q.Open() || len(q.Short) != 1 || q.Short[0].Short() != 60 {
		t.Errorf("a reading after the name: %+v", q)
	}
	s.still(record.AsLeft, "up", 120)
	s.judged(record.AsLeft, record.Holds)
	if q, ok := shortHold(s); ok {
		t.Errorf("held for as long as asked: %+v", q)
	}
}

// Of a crank one hold of the locked rod is asked for.
func TestALockedHoldThatIsShort(t *testing.T) {
	s := newScene(t, "tolsk-18").whole()
	s.read(record.AsLeft, `{"locked": "up", "pressures": [{"at": "0 s", "pressure": "207 bar"}, {"at": "60 s", "pressure": "206 bar"}]}`)
	s.judged(record.AsLeft, record.Holds)
	q, ok := shortHold(s)
	if !ok || len(q.Short) != 1 || q.Short[0].Stroke != "" || q.Short[0].Short() != s.p.Limits.HoldFor-60 {
		t.Errorf("a minute of a locked rod: %+v", q)
	}
	if q.Depart == nil || q.Depart.Kind != pump.HoldShort {
		t.Errorf("it carries no departure: %+v", q)
	}
}
