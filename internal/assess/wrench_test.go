package assess

import (
	"math"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

func TestWrenchOf(t *testing.T) {
	for _, c := range []struct {
		length, scale    string
		arm, least, most float64
	}{
		{"400 mm", "200 N·m", 0.4, 0, 200}, {"16 in", "40–200 N·m", 0.4064, 40, 200}, {"", "", 0, 0, 0}, {"0.4 m", "40-200 N·m", 0.4, 40, 200},
		{"400 mm", "20 to 150 lbf·ft", 0.4, 27.1164, 203.373}, {"40 cm", "2,5–12 N·m", 0.4, 2.5, 12},
	} {
		w := WrenchOf(&record.Tool{Sort: "wrench", Length: c.length, Range: c.scale})
		if math.Abs(w.Arm-c.arm) > 1e-9 || math.Abs(w.Least-c.least) > 1e-3 || math.Abs(w.Most-c.most) > 1e-3 {
			t.Errorf("%s, %s: %+v", c.length, c.scale, w)
		}
	}
	w := Wrench{Least: 40, Most: 200}
	if !w.Reads(40) || !w.Reads(200) || w.Reads(39) || w.Reads(201) || !(Wrench{}).Reads(500) {
		t.Error("what lies on a scale")
	}
}

func TestCheckTool(t *testing.T) {
	for _, c := range []struct {
		tool  record.Tool
		where string
	}{
		{record.Tool{Sort: "wrench"}, "-"}, {record.Tool{Sort: "wrench", Length: "400 mm", Range: "40–200 N·m", Class: "II A"}, "-"},
		{record.Tool{Sort: "wrench", Length: "400"}, "length"}, {record.Tool{Sort: "wrench", Length: "400 m"}, "length"}, {record.Tool{Sort: "wrench", Length: "40 N·m"}, "length"},
		{record.Tool{Sort: "wrench", Range: "up to strong"}, "range"}, {record.Tool{Sort: "wrench", Range: "200–40 N·m"}, "range"}, {record.Tool{Sort: "wrench", Range: "40–200 bar"}, "range"},
		{record.Tool{Sort: "wrench", Class: "II Z"}, "class"}, {record.Tool{Sort: "gauge", Range: "400 bar", Class: "1.6 %"}, "-"}, {record.Tool{Sort: "gauge", Range: "400 mm"}, "range"},
		{record.Tool{Sort: "ruler", Range: "what it says"}, "-"},
	} {
		if got := whereOf(t, CheckTool(&c.tool)); got != c.where {
			t.Errorf("%+v: %q, want %q", c.tool, got, c.where)
		}
	}
}

// A torque outside says what to do: too little, too much on a face, too much on rings.
func TestRemedy(t *testing.T) {
	for _, c := range []struct {
		at      float64
		through string
		want    Remedy
	}{{64, "", RemedyNone}, {60, "", RemedyNone}, {68, "", RemedyNone}, {59.9, "", RemedyTighten}, {68.1, "", RemedyLoosen}, {68.1, "throat", RemedyStack}, {59.9, "throat", RemedyTighten}, {0, "", RemedyNone}} {
		if got := (&Torque{Least: 60, Most: 68, Through: c.through}).Remedy(c.at); got != c.want {
			t.Errorf("%g through %q: %q, want %q", c.at, c.through, got, c.want)
		}
	}
}

// The reading of a wrench with its spanner in line is not the torque at the joint: M = M_read·(L + E)/L (moment equilibrium), so that
// a reading of 64 N·m with an arm of 400 mm and a spanner of 42 mm in line is 70.72 N·m at the joint; square to it, it is the reading.
func TestAtJoint(t *testing.T) {
	q := &Torque{Asked: 64, Adapter: 0.042}
	for _, c := range []struct{ angle, want float64 }{{0, 70.72}, {math.Pi / 2, 64}, {math.Pi, 57.28}} {
		if got, err := q.AtJoint(64, 0.4, c.angle); err != nil || math.Abs(got-c.want) > 1e-9 {
			t.Errorf("at %g rad: %g, %v; want %g", c.angle, got, err, c.want)
		}
	}
	if set, err := q.Setting(0.4, 0); err != nil || math.Abs(set*1.105-64) > 1e-9 {
		t.Errorf("to set in line: %g, %v", set, err)
	}
	if _, err := q.AtJoint(64, 0, 0); err == nil {
		t.Error("without the arm there is an answer")
	}
}
