package pump

import (
	"fmt"
	"math"
	"slices"

	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/unit"
)

// Slack of the checks against slips of the pen; they are not fits.
const (
	fitSlack    = 0.05 // a packing's diameter against rod or bore
	tallest     = 1.3  // stack over cavity; a set stands at most a little proud of it (NAVEDTRA 14105: slightly lower)
	lowest      = 0.5  // stack over cavity
	stallMargin = 1.1  // stall pressure over rated pressure
)

// show prints a value so that it can be told from one close to it.
func show(si float64, d unit.Dim) string {
	return unit.Value{SI: si, Dim: d, Unit: unit.Metric().UnitFor(si, d)}.String()
}

// physics checks what follows from the numbers and the pressure map. It runs on a sheet that is sound in itself.
func (r *reader) physics() {
	m := r.p.Map()
	for i, c := range r.p.Chambers {
		at := r.at[item{"chamber", i}]
		if slices.Contains(m.Dead, c.Name) {
			at.Fail("name", fmt.Sprintf("the chamber %q, which a stroke compresses and no valve lets out", c.Name), "a valve from it, or open_to: line", "add the valve or mend its from and to")
		}
		if slices.Contains(m.Dry, c.Name) {
			at.Fail("name", fmt.Sprintf("the chamber %q, which a stroke expands and no valve fills", c.Name), "a valve into it from suction or from a chamber", "add the valve or mend its from and to")
		}
	}
	r.delivers(m)
	for i, s := range r.p.Seals {
		at := r.at[item{"seal", i}]
		if len(m.LipsOf(s)) == 0 {
			at.Fail("between", fmt.Sprintf("%s and %s, which never differ in pressure", s.Between[0], s.Between[1]), "two nodes of which one is under pressure on some stroke", "name the nodes on its two sides")
		}
		r.place(at, s)
	}
	r.drivePressure(m)
	for i, s := range r.p.Stacks {
		r.stackSize(r.at[item{"stack", i}], s)
	}
}

// delivers checks that no stroke draws fluid back from the line and that at least one pushes some out.
func (r *reader) delivers(m Map) {
	at := r.at[item{"top", 0}]
	switch {
	case m.Creep[Up] < 0 || m.Creep[Down] < 0:
		at.Fail("chambers", "chambers that draw fluid back from the line on one stroke", "none that does", "open_to: line belongs to the chamber that the other one feeds")
	case m.Creep[Up] == 0 && m.Creep[Down] == 0 && len(m.Dead) == 0:
		at.Fail("chambers", "no chamber that pushes fluid into the line on either stroke", "one that does", "add the valve or mend its from and to")
	}
}

// place checks that a packing lies where rod or bore is.
func (r *reader) place(at *sheet.Map, s Seal) {
	if s.Kind != Packing {
		return
	}
	a, inA := r.p.Chamber(s.Between[0])
	b, inB := r.p.Chamber(s.Between[1])
	outside := slices.Contains(s.Between[:], Air)
	switch {
	case s.On == "rod" && (!outside || inA == inB):
		at.Fail("between", fmt.Sprintf("%s and %s for a packing on the rod", s.Between[0], s.Between[1]), "a chamber and air", "a packing between the two chambers is on the bore")
	case s.On == "rod" && !a.Rod && !b.Rod && r.p.TailRod == 0:
		at.Fail("on", "a packing on the rod of the head-side chamber, and no tail rod", "tail_rod in geometry, or the rod-side chamber", "")
	case s.On == "bore" && !(inA && inB) && !(outside && inA != inB):
		at.Fail("between", fmt.Sprintf("%s and %s for a packing on the bore", s.Between[0], s.Between[1]), "the two chambers, or one chamber and air", "")
	}
}

// drivePressure checks that the drive reaches the hold pressure and does not go far beyond the rated one.
func (r *reader) drivePressure(m Map) {
	d, l := r.p.Drive, r.p.Limits
	at := r.at[item{"drive", 0}]
	if d.Kind == Crank {
		if d.Stop > l.Rated {
			at.Fail("stop", "a stop pressure of "+show(d.Stop, unit.Pressure), "at most the rated "+show(l.Rated, unit.Pressure), "")
		}
		if d.Stop < l.Hold {
			at.Fail("stop", "a stop pressure of "+show(d.Stop, unit.Pressure), "at least the hold pressure of "+show(l.Hold, unit.Pressure), "the hold would never begin")
		}
		return
	}
	for _, side := range []struct {
		key   string
		force float64
		dir   Dir
	}{{"force_up", d.ForceUp, Up}, {"force_down", d.ForceDown, Down}} {
		if m.Creep[side.dir] <= 0 {
			continue
		}
		stall := side.force / m.Creep[side.dir]
		found := fmt.Sprintf("%s, which stalls at %s on the %sstroke", show(side.force, unit.Force), show(stall, unit.Pressure), side.dir)
		switch {
		case stall < l.Hold:
			at.Fail(side.key, found, "at least the hold pressure of "+show(l.Hold, unit.Pressure), "force = pressure × area "+show(m.Creep[side.dir], unit.Area))
		case stall > stallMargin*l.Rated:
			at.Fail(side.key, found, "at most a tenth above the rated "+show(l.Rated, unit.Pressure), "force = pressure × area "+show(m.Creep[side.dir], unit.Area))
		}
	}
}

// stackSize checks a stack against rod, bore and cavity.
func (r *reader) stackSize(at *sheet.Map, s Stack) {
	seal, _ := r.p.Seal(s.Seal)
	switch seal.On {
	case "rod":
		rod := r.p.Rod
		if !r.rodSide(seal) {
			rod = r.p.TailRod
		}
		if math.Abs(s.Inner-rod) > fitSlack*rod {
			at.Fail("inner", show(s.Inner, unit.Length)+" on a rod of "+show(rod, unit.Length), "the diameter of the rod", "")
		}
	case "bore":
		if math.Abs(s.Outer-r.p.Bore) > fitSlack*r.p.Bore {
			at.Fail("outer", show(s.Outer, unit.Length)+" in a bore of "+show(r.p.Bore, unit.Length), "the diameter of the bore", "")
		}
	}
	if s.Depth == 0 {
		return
	}
	height := s.Height()
	if height > tallest*s.Depth || height < lowest*s.Depth {
		at.Fail("depth", fmt.Sprintf("a cavity of %s for rings and shims of %s", show(s.Depth, unit.Length), show(height, unit.Length)),
			"a cavity about as deep as the stack", "check the heights of the rings and the depth")
	}
}

func (r *reader) rodSide(s Seal) bool {
	for _, n := range s.Between {
		if c, ok := r.p.Chamber(n); ok {
			return c.Rod
		}
	}
	return true
}

// Height returns the height [m] of the rings and shims of a stack, not pressed.
func (s Stack) Height() float64 {
	h := s.Shim
	for _, ring := range s.Rings {
		h += ring.Height
	}
	return h
}
