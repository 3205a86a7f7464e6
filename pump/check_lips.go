package pump

import (
	"fmt"
	"slices"

	"github.com/evenstroke/evenstroke/sheet"
)

// lips gives each v-ring the direction that the pressure map asks for, and fails where the sheet says otherwise.
func (r *reader) lips() {
	m := r.p.Map()
	for i, s := range r.p.Seals {
		if s.Kind != Packing || len(m.LipsOf(s)) == 0 { // the latter is noted by physics
			continue
		}
		facings := r.p.Facings(m, s)
		if facings == nil {
			r.at[item{"seal", i}].Fail("stacks", fmt.Sprintf("%s, with pressure from %s and from %s on different strokes", counts(len(s.Stacks), "stack"), s.Between[0], s.Between[1]),
				"two opposed sets, the lips facing away from each other", "a v-ring seals one way only: list the lower and the upper stack")
			continue
		}
		for k, name := range s.Stacks {
			for n := range r.p.Stacks {
				if r.p.Stacks[n].Name == name {
					r.stackLips(n, facings[k])
				}
			}
		}
	}
}

// why says in words what a facing follows from.
func (f Facing) why() string { return "the higher pressure stands on that side (" + f.Node + ")" }

func (r *reader) stackLips(n int, f Facing) {
	s := &r.p.Stacks[n]
	if !slices.ContainsFunc(s.Rings, func(q Ring) bool { return q.Kind == KindVRing }) {
		r.at[item{"stack", n}].Fail("rings", "no v-ring", "at least one ring that seals", "")
	}
	for k := range s.Rings {
		ring, m := &s.Rings[k], r.rings[n][k]
		if ring.Kind != KindVRing {
			continue
		}
		if ring.Lips != "" && ring.Lips != f.Lips {
			m.Fail("lips", fmt.Sprintf("lips %s on ring %d of the stack %q", ring.Lips, k+1, s.Name), "lips "+f.Lips+", toward "+r.p.nodeWords(f.Node), f.why())
		}
		ring.Lips = f.Lips
	}
	r.glands(s, r.rings[n], f)
}

// glands checks that the male gland stands on the side that the lips open to and the female gland behind the last ring: the
// male one fits into the open lips, the female one backs the set next to the rigid part (NAVEDTRA 14105).
func (r *reader) glands(s *Stack, ms []*sheet.Map, f Facing) {
	first, last := -1, -1
	for k, ring := range s.Rings {
		if ring.Kind == KindVRing {
			if first < 0 {
				first = k
			}
			last = k
		}
	}
	if first < 0 {
		return // noted by stackLips
	}
	for k, ring := range s.Rings {
		onLipSide := k < first
		if f.Lips == "up" {
			onLipSide = k > last
		}
		inside := k > first && k < last
		switch {
		case ring.Kind == KindMale && (!onLipSide || inside):
			ms[k].Fail("part", fmt.Sprintf("the male gland behind the lips or among the v-rings, as ring %d of the stack %q", k+1, s.Name),
				"the male gland on the side that the lips open to ("+f.Lips+")", f.why())
		case ring.Kind == KindFemale && (onLipSide || inside):
			ms[k].Fail("part", fmt.Sprintf("the female gland before the lips or among the v-rings, as ring %d of the stack %q", k+1, s.Name),
				"the female gland behind the v-rings", f.why())
		}
	}
}
