package record

import (
	"fmt"
	"testing"
	"time"
)

// onDevice is a job whose entries were made on devices, a second apart.
func onDevice(t *testing.T, more ...onward) *Job {
	t.Helper()
	entries := chain(t, booked())
	for i, m := range more {
		e := made(t, m, time.Duration(i)*time.Second)
		e.Seq = int64(i) + 2
		e.Seal(entries[len(entries)-1].Hash)
		entries = append(entries, e)
	}
	j, err := Fold(entries)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// made is the entry of a body, so long after the first.
func made(t *testing.T, m onward, after time.Duration) Entry {
	t.Helper()
	e, err := Draft{Subject: JobSubject(7), At: noon.Add(after), By: 1, Device: m.device, Key: fmt.Sprintf("%d-%s-%s", m.device, after, m.body.Kind()), Body: m.body}.Entry()
	if err != nil {
		t.Fatal(err)
	}
	return e
}

type onward struct {
	device int64
	body   Body
}

func pressed(device int64, watch string, p Press) onward {
	return onward{device, &Pressed{Hold: AsFound, Watch: watch, Press: p, Stroke: map[Press]string{PressStart: "up"}[p]}}
}

func over(device int64, watch, taken string) onward {
	o := pressed(device, watch, PressStart)
	o.body.(*Pressed).TakesOver = taken
	return o
}

func TestRunningWatch(t *testing.T) {
	for _, c := range []struct {
		name string
		in   []onward
		want string
	}{
		{"none", nil, ""},
		{"one", []onward{pressed(1, "a", PressStart), pressed(1, "a", PressTop)}, "a"},
		{"ended", []onward{pressed(1, "a", PressStart), pressed(1, "a", PressEnd)}, ""},
		{"the end of another device's watch of the same name", []onward{pressed(1, "a", PressStart), pressed(2, "a", PressEnd)}, "a"},
		{"a press without a start", []onward{pressed(1, "a", PressTop)}, ""},
		{"a second one of the same device", []onward{pressed(1, "a", PressStart), pressed(1, "b", PressStart)}, "b"},
		{"a second one that ended", []onward{pressed(1, "a", PressStart), pressed(1, "b", PressStart), pressed(1, "b", PressEnd)}, ""},
		{"taken over", []onward{pressed(1, "a", PressStart), over(2, "b", "a")}, "b"},
		{"taken over, then ended", []onward{pressed(1, "a", PressStart), over(2, "b", "a"), pressed(2, "b", PressEnd)}, ""},
		{"its end struck", []onward{pressed(1, "a", PressStart), pressed(1, "a", PressEnd), {1, &Struck{3, "undone"}}}, "a"},
	} {
		got := ""
		if w := onDevice(t, c.in...).Running(AsFound); w != nil {
			got = w.Name
		}
		if got != c.want {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
		if w := onDevice(t, c.in...).Running(AsLeft); w != nil {
			t.Errorf("%s: the watch %q runs for the other hold", c.name, w.Name)
		}
	}
}

// One hold has one watch at a time: the second device is told so, until the first has ended or is taken over by name.
func TestOneWatchAHold(t *testing.T) {
	running := []onward{pressed(1, "a", PressStart)}
	taken := append(running[:1:1], over(2, "b", "a"))
	ended := append(running[:1:1], pressed(1, "a", PressEnd))
	again := append(ended[:2:2], pressed(2, "b", PressStart))
	for _, c := range []struct {
		name string
		in   []onward
		then onward
		at   time.Duration // since the first entry
		code Code
		seq  int64
	}{
		{"a start of another device", running, pressed(2, "b", PressStart), time.Minute, Conflict, 2},
		{"of the same device", running, pressed(1, "b", PressStart), time.Minute, "", 0},
		{"after the end", ended, pressed(2, "b", PressStart), time.Minute, "", 0},
		{"a take-over", running, over(2, "b", "a"), time.Minute, "", 0},
		{"a take-over of a watch that is not the one that runs", running, over(2, "b", "x"), time.Minute, Conflict, 2},
		{"a press of a watch that was taken over", taken, pressed(1, "a", PressTop), time.Minute, Conflict, 3},
		{"one made before it was", taken, pressed(1, "a", PressTop), time.Second / 2, "", 0},
		{"a press of the watch that took over", taken, pressed(2, "b", PressTop), time.Minute, "", 0},
		{"the end struck, nothing runs", ended, onward{1, &Struck{3, "undone"}}, time.Minute, "", 0},
		{"the end struck while another runs", again, onward{1, &Struck{3, "undone"}}, time.Minute, Conflict, 4},
	} {
		j := onDevice(t, c.in...)
		e := made(t, c.then, c.at)
		err := j.Takes(&e, c.then.body)
		if CodeOf(err) != c.code {
			t.Errorf("%s: got %v, want code %q", c.name, err, c.code)
			continue
		}
		if f, ok := err.(*Fault); ok && f.Seq != c.seq {
			t.Errorf("%s: the fault names entry %d, want %d", c.name, f.Seq, c.seq)
		}
	}
	fix := made(t, pressed(2, "a", PressStart), time.Minute)
	fix.Corrects = 2
	if err := onDevice(t, running...).Takes(&fix, pressed(2, "a", PressStart).body); err != nil {
		t.Errorf("a start that another device corrects: %v", err)
	}
}
