package pump

import (
	"fmt"
	"math"
	"slices"

	"github.com/evenstroke/evenstroke/unit"
)

// shimSlack is the difference [m] of shims that is no departure: less than the thinnest shim (common practice).
const shimSlack = 0.02e-3

// stacks compares every stack that is recorded with that of the sheet.
func (a *audit) stacks() {
	for _, b := range a.b.Stacks {
		st, _ := a.p.Stack(b.Stack)
		a.rings(st, b)
		a.shim(st, b)
	}
}

// match is one line of the comparison of two lists: index in the sheet, index in the build, −1 where there is none.
type match struct{ sheet, built int }

// align pairs the rings of the sheet with those of the build: the longest common subsequence of parts; what is left over
// on either side stays alone.
func align(sheet []Ring, built []BuiltRing) []match {
	n, m := len(sheet), len(built)
	common := make([][]int, n+1)
	for i := range common {
		common[i] = make([]int, m+1)
	}
	for i := n - 1; i >= 0; i-- {
		for k := m - 1; k >= 0; k-- {
			if common[i][k] = max(common[i+1][k], common[i][k+1]); sheet[i].Part == built[k].Part {
				common[i][k] = common[i+1][k+1] + 1
			}
		}
	}
	var out []match
	i, k := 0, 0
	for i < n || k < m {
		switch {
		case i < n && k < m && sheet[i].Part == built[k].Part:
			out = append(out, match{i, k})
			i, k = i+1, k+1
		case k == m || i < n && common[i+1][k] >= common[i][k+1]:
			out = append(out, match{i, -1})
			i++
		default:
			out = append(out, match{-1, k})
			k++
		}
	}
	return out
}

// pairUp turns a ring that is missing in one place and too many in another into one in the wrong place.
func pairUp(ms []match, sheet []Ring, built []BuiltRing) (missing, extra []int, moved []match) {
	for _, m := range ms {
		if m.built < 0 {
			missing = append(missing, m.sheet)
		} else if m.sheet < 0 {
			extra = append(extra, m.built)
		}
	}
	for i := 0; i < len(missing); {
		k := slices.IndexFunc(extra, func(k int) bool { return built[k].Part == sheet[missing[i]].Part })
		if k < 0 {
			i++
			continue
		}
		moved = append(moved, match{missing[i], extra[k]})
		missing, extra = slices.Delete(missing, i, i+1), slices.Delete(extra, k, k+1)
	}
	return missing, extra, moved
}

func (a *audit) rings(st Stack, b Built) {
	ms := align(st.Rings, b.Rings)
	missing, extra, moved := pairUp(ms, st.Rings, b.Rings)
	for _, i := range missing {
		ring := st.Rings[i]
		d := a.ringDeparture(RingMissing, st, i+1, ring.Part, fmt.Sprintf("no %s as ring %d from the bottom", ring.Part, i+1), "it in its place")
		d.Figures, d.NoFigure = a.p.stackFigures(st.without(i), st, 0, a.c)
		a.add(d)
	}
	for _, k := range extra {
		d := a.ringDeparture(RingExtra, st, k+1, b.Rings[k].Part, fmt.Sprintf("a %s too many, as ring %d from the bottom", b.Rings[k].Part, k+1), "it left out")
		d.Figures, d.NoFigure = a.extraFigures(st, b.Rings[k], k)
		a.add(d)
	}
	for _, m := range moved {
		part := st.Rings[m.sheet].Part
		d := a.ringDeparture(RingPlace, st, m.built+1, part, fmt.Sprintf("the %s as ring %d from the bottom", part, m.built+1), fmt.Sprintf("it as ring %d", m.sheet+1))
		d.Figures, d.NoFigure = a.p.stackFigures(st.moved(m.sheet, m.built), st, 0, a.c)
		a.add(d)
	}
	a.lips(st, b, append(ms, moved...))
}

func (a *audit) ringDeparture(kind DepartureKind, st Stack, ring int, part, found, want string) Departure {
	return Departure{Kind: kind, Stack: st.Name, Ring: ring, Part: part, Found: found + " of the " + st.Name + " stack", Want: want,
		Why: "The set seals as a whole: glands at its ends, lips nested in each other."}
}

// without returns the stack less one ring.
func (s Stack) without(i int) Stack {
	s.Rings = slices.Delete(slices.Clone(s.Rings), i, i+1)
	return s
}

// moved returns the stack with one ring taken out and put in again so that it stands at another place.
func (s Stack) moved(from, to int) Stack {
	ring := s.Rings[from]
	s = s.without(from)
	s.Rings = slices.Insert(s.Rings, min(to, len(s.Rings)), ring)
	return s
}

// extraFigures works out the stack with one more ring, whose height is that of the same part elsewhere in the pump.
func (a *audit) extraFigures(st Stack, b BuiltRing, k int) ([]Figure, string) {
	for _, other := range a.p.Stacks {
		for _, ring := range other.Rings {
			if ring.Part != b.Part {
				continue
			}
			ring.Lips = b.Lips
			more := st
			more.Rings = slices.Insert(slices.Clone(st.Rings), min(k, len(st.Rings)), ring)
			return a.p.stackFigures(more, st, 0, a.c)
		}
	}
	return nil, "the sheet has no ring " + quoted(b.Part) + ", so that its height and material are not known"
}

// lips finds v-rings that stand the wrong way round. All of a stack make one departure.
func (a *audit) lips(st Stack, b Built, ms []match) {
	f, ok := a.p.FacingOf(a.p.Map(), st)
	if !ok {
		return
	}
	as := st
	as.Rings = slices.Clone(st.Rings)
	var wrong, silent []int
	lips := 0
	for _, m := range ms {
		if m.sheet < 0 || m.built < 0 || st.Rings[m.sheet].Kind != KindVRing {
			continue
		}
		lips++
		switch got := b.Rings[m.built].Lips; {
		case got == "":
			silent = append(silent, m.built+1)
		case got != f.Lips:
			wrong = append(wrong, m.built+1)
			as.Rings[m.sheet].Lips = got
		}
	}
	why := "Pressure spreads the lips only when it comes from their open side; " + f.why() + "."
	want := fmt.Sprintf("lips %s, toward %s", f.Lips, a.p.nodeWords(f.Node))
	if len(wrong) > 0 {
		d := Departure{Kind: LipsReversed, Stack: st.Name, Found: fmt.Sprintf("%s of the %s stack the other way round", someRings(wrong, lips), st.Name), Want: want, Why: why}
		if len(wrong) == 1 {
			d.Ring, d.Part = wrong[0], b.Rings[wrong[0]-1].Part
		}
		d.Figures, d.NoFigure = a.p.stackFigures(as, st, 0, a.c)
		a.add(d)
	}
	if len(silent) > 0 {
		a.add(Departure{Kind: LipsNotRecorded, Stack: st.Name, Found: fmt.Sprintf("no word on which way the lips of %s of the %s stack point", someRings(silent, lips), st.Name),
			Want: want, Why: why, NoFigure: "the direction is not known"})
	}
}

// someRings names rings by number: "ring 2", "rings 2, 3", "all 5 v-rings".
func someRings(rings []int, all int) string {
	slices.Sort(rings)
	if len(rings) == 1 {
		return fmt.Sprintf("ring %d", rings[0])
	}
	if len(rings) == all {
		return fmt.Sprintf("all %d v-rings", all)
	}
	s := "rings "
	for i, r := range rings {
		if i > 0 {
			s += ", "
		}
		s += fmt.Sprint(r)
	}
	return s
}

func (a *audit) shim(st Stack, b Built) {
	if b.Shim == nil || math.Abs(*b.Shim-st.Shim) <= shimSlack {
		return
	}
	as := st
	as.Shim = *b.Shim
	d := Departure{Kind: ShimOff, Stack: st.Name, Found: "shims of {shim} in the " + st.Name + " stack", Want: "{want}",
		Quantities: map[string]Quantity{"shim": {SI: *b.Shim, Dim: unit.Length}, "want": {SI: st.Shim, Dim: unit.Length}},
		Why:        "Where the nut stops at a shoulder, height and shims set the load on the rings."}
	if a.p.through(st.Name) {
		d.Why = "The nut goes through the stack: its torque sets the load, shims only move the nut."
		d.NoFigure = "the load does not change with the shims"
	} else {
		d.Figures, d.NoFigure = a.p.stackFigures(as, st, 0, a.c)
	}
	a.add(d)
}
