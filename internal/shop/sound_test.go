package shop

import (
	"context"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
)

// overtorqued keeps a pump sheet whose piston valve would be torqued to ten times what it stands, and books such a pump in.
func (b *bench) overtorqued(t *testing.T) int64 {
	t.Helper()
	ctx := context.Background()
	m, err := b.Model(ctx, 0, "orrin-30")
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(strings.Replace(string(m.Text), "name: orrin-30", "name: orrin-31", 1), "torque: 64 N·m", "torque: 640 N·m", 1)
	r, err := b.Keep(ctx, By{Who: b.owner}, record.Subject{Kind: record.OfSheet}, &record.PumpSheet{Name: "orrin-31", Text: text})
	if err != nil {
		t.Fatal(err)
	}
	n, err := b.BookIn(ctx, By{Who: b.tech, Key: "over"}, record.Booked{CustomerName: "Harbour painters", Serial: "ALD-0900", Model: "orrin-31", Sheet: r.Entry.Subject.ID, Complaint: "creeps"})
	if err != nil {
		t.Fatal(err)
	}
	b.add(t, b.tech, n, &record.Chose{Parts: map[string]string{"piston valve ball": "replace"}})
	return n
}

// The order of work does not go through a joint that would not stand its torque, until a person who may answers for that step; the answer
// stands in the record, beside the departure, and is no word for closing the job as good.
func TestJointsThatDoNotStand(t *testing.T) {
	b := newBench(t)
	ctx := context.Background()
	n := b.overtorqued(t)
	torque := &record.Did{Step: "torque piston valve", Torque: "640 N·m", Wrench: "400 mm", Adapter: "42 mm", Angle: "90 °"}
	_, err := b.Add(ctx, By{Who: b.tech}, n, torque)
	code(t, err, record.NotAllowed)
	if err == nil || !strings.Contains(err.Error(), "640 N·m on a thread M16x1.5") {
		t.Errorf("it does not say why: %v", err)
	}
	b.add(t, b.tech, n, &record.Did{Step: "torque inlet housing", Torque: "135 N·m", Wrench: "400 mm", Adapter: "75 mm", Angle: "90 °"})
	answer := &record.Overrode{Reason: "a stud of class 12.9", Points: []string{assess.OverloadPoint("torque piston valve")}}
	_, err = b.Add(ctx, By{Who: b.tech}, n, answer)
	code(t, err, record.NotAllowed)
	b.add(t, b.owner, n, answer)
	b.add(t, b.tech, n, torque)
	j, err := b.Job(ctx, n)
	if err != nil {
		t.Fatal(err)
	}
	w, err := b.Work(j)
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, d := range w.Departures {
		found = found || d.Kind == pump.JointUnsound && d.Reason == "a stud of class 12.9"
	}
	if !found {
		t.Errorf("no departure says that the joint does not stand it, and who answers: %+v", w.Departures)
	}
	code(t, b.MayClose(j), record.NotAllowed)
}

// A step that is left out asks for nobody's word.
func TestUnsoundStepLeftOut(t *testing.T) {
	b := newBench(t)
	n := b.overtorqued(t)
	b.add(t, b.tech, n, &record.Did{Step: "torque piston valve", Skipped: true, Note: "the sheet is wrong"})
}
