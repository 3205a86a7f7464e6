package pump

import (
	"fmt"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/sheet"
)

// names is a set of names that may be referred to, with what each is.
type names map[string]string

func (n names) list() []string {
	out := make([]string, 0, len(n))
	for k := range n {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// add notes a name, or fails when it is taken.
func (n names) add(m *sheet.Map, name, what string) {
	if name == "" {
		return
	}
	if old, taken := n[name]; taken {
		m.Fail("name", fmt.Sprintf("%q, which is %s already", name, old), "a name of its own", "rename one of the two")
		return
	}
	n[name] = what
}

// longList is the number of names beyond which an error does not list them.
const longList = 12

// known fails unless the name is in the set; an empty name has been noted already.
func (n names) known(m *sheet.Map, key, name, what string) bool {
	if name == "" {
		return false
	}
	if _, ok := n[name]; ok {
		return true
	}
	list := n.list()
	want := what + ": one of " + strings.Join(list, ", ")
	switch {
	case len(list) == 0:
		want = what + ", but the sheet has none"
	case len(list) > longList:
		want = what + " that the sheet lists"
	}
	m.Fail(key, fmt.Sprintf("the unknown name %q", name), want, sheet.Nearest(name, list))
	return false
}

// references checks that names are unique and that every reference points at something.
func (r *reader) references() {
	nodes := r.nodeNames()
	paths := r.pathNames(nodes)
	parts, stacks := names{}, names{}
	fitted := names{} // parts and stacks: what a joint may hold
	for i, q := range r.p.Parts {
		m := r.at[item{"part", i}]
		fitted.add(m, q.Name, "a part")
		parts[q.Name] = q.Kind
		for _, s := range q.Serves {
			paths.known(m, "serves", s, "a leak path")
		}
	}
	for i, s := range r.p.Stacks {
		fitted.add(r.at[item{"stack", i}], s.Name, "a part or a stack")
		stacks[s.Name] = "a stack"
	}
	r.ringReferences(parts)
	r.stackReferences(stacks)
	r.jointReferences(parts, stacks, fitted)
	r.turnable()
}

func (r *reader) nodeNames() names {
	nodes := names{Suction: "a fixed node", Line: "a fixed node", Air: "a fixed node", Pail: "a fixed node"}
	sides := map[bool]bool{}
	for i, c := range r.p.Chambers {
		m := r.at[item{"chamber", i}]
		nodes.add(m, c.Name, "the name of a node")
		if m.Has("side") && sides[c.Rod] {
			m.Fail("side", "a second chamber on that side of the piston", "one chamber on the rod side, one on the head side", "what is joined at all times is one chamber")
		}
		sides[c.Rod] = true
	}
	return nodes
}

// pathNames checks the nodes of valves, seals and outlets and returns the names of the leak paths.
func (r *reader) pathNames(nodes names) names {
	paths := names{}
	for i, v := range r.p.Valves {
		m := r.at[item{"valve", i}]
		paths.add(m, v.Name, "the name of a leak path")
		from, to := nodes.known(m, "from", v.From, "a node"), nodes.known(m, "to", v.To, "a node")
		switch {
		case !from || !to:
		case v.From == v.To:
			m.Fail("to", "a valve from a node to itself", "two different nodes", "")
		case v.From == Air || v.From == Pail || v.From == Line:
			m.Fail("from", quoted(v.From), "a chamber or suction", "a valve lets fluid out of a chamber or in from suction")
		case v.To == Air || v.To == Pail || v.To == Suction:
			m.Fail("to", quoted(v.To), "a chamber or line", "a valve lets fluid into a chamber or out to the line")
		}
	}
	for i, s := range r.p.Seals {
		m := r.at[item{"seal", i}]
		paths.add(m, s.Name, "the name of a leak path")
		a, b := nodes.known(m, "between", s.Between[0], "a node"), nodes.known(m, "between", s.Between[1], "a node")
		if a && b && s.Between[0] == s.Between[1] {
			m.Fail("between", "a seal between a node and itself", "two different nodes", "")
		}
	}
	for i, o := range r.p.Outlets {
		m := r.at[item{"outlet", i}]
		paths.add(m, o.Name, "the name of a leak path")
		if nodes.known(m, "from", o.From, "a node") && (o.From == Air || o.From == Pail || o.From == Suction) {
			m.Fail("from", quoted(o.From), "the line or a chamber", "an outlet leads from a node under pressure to the pail or to the air")
		}
	}
	return paths
}

func quoted(s string) string { return fmt.Sprintf("%q", s) }

// ringReferences gives each ring the kind and material of its part.
func (r *reader) ringReferences(parts names) {
	used := map[string]int{}
	for i := range r.p.Stacks {
		for k := range r.p.Stacks[i].Rings {
			ring, m := &r.p.Stacks[i].Rings[k], r.rings[i][k]
			if !parts.known(m, "part", ring.Part, "a part") {
				continue
			}
			used[ring.Part]++
			q, _ := r.p.Part(ring.Part)
			ring.Kind, ring.Material = q.Kind, q.Material
			if !slices.Contains(RingKinds(), q.Kind) {
				m.Fail("part", fmt.Sprintf("%q, a %s", q.Name, q.Kind), "a part of a kind that stands in a stack: "+strings.Join(RingKinds(), ", "), "")
			}
			if ring.Lips != "" && q.Kind != KindVRing && q.Kind != KindWiper {
				m.Fail("lips", "lips on a "+q.Kind, "lips on a v-ring or a wiper only", "remove the line")
			}
		}
	}
	for i, q := range r.p.Parts {
		if n := used[q.Name]; n > 0 && n != q.Quantity {
			r.at[item{"part", i}].Fail("quantity", fmt.Sprintf("%d, but the stacks have %d of it", q.Quantity, n), "the same number in both", "")
		}
	}
}

// stackReferences links stacks and seals, each stack to one seal.
func (r *reader) stackReferences(stacks names) {
	owner := names{}
	for i, s := range r.p.Seals {
		m := r.at[item{"seal", i}]
		for _, name := range s.Stacks {
			if !stacks.known(m, "stacks", name, "a stack") {
				continue
			}
			if other, taken := owner[name]; taken {
				m.Fail("stacks", fmt.Sprintf("the stack %q, which makes up the %s already", name, other), "each stack in one seal", "")
				continue
			}
			owner[name] = s.Name
			for k := range r.p.Stacks {
				if r.p.Stacks[k].Name == name {
					r.p.Stacks[k].Seal = s.Name
				}
			}
		}
	}
	for i, s := range r.p.Stacks {
		if s.Name != "" && owner[s.Name] == "" {
			r.at[item{"stack", i}].Fail("name", fmt.Sprintf("the stack %q, which no seal names", s.Name), "a stack that a seal lists under stacks", "add it to its seal or remove it")
		}
	}
}

func (r *reader) jointReferences(parts, stacks, fitted names) {
	joints := names{}
	for i, j := range r.p.Joints {
		m := r.at[item{"joint", i}]
		joints.add(m, j.Name, "the name of a joint")
		if j.Through != "" {
			stacks.known(m, "through", j.Through, "a stack")
		}
		if j.CarriedBy != "" {
			parts.known(m, "carried_by", j.CarriedBy, "a part")
		}
		if r.inStack(j.CarriedBy) {
			m.Fail("carried_by", "the ring "+quoted(j.CarriedBy), "a part that stands in no stack, such as the rod", "")
		}
		if slices.Contains(j.Holds, j.CarriedBy) {
			m.Fail("holds", "the part that the joint sits on", "what comes free when the joint is open", "leave it out here")
		}
		for i, h := range j.Holds {
			if slices.Contains(j.Holds[:i], h) {
				m.Fail("holds", quoted(h)+" a second time", "each part and stack once", "")
			}
			if fitted.known(m, "holds", h, "a part or a stack") && r.inStack(h) {
				m.Fail("holds", fmt.Sprintf("the ring %q", h), "the stack that it stands in", "name the stack")
			}
		}
	}
}

// inStack says whether a part stands in a stack.
func (r *reader) inStack(part string) bool { return len(r.p.stacksOf(part)) > 0 }

// stacksOf returns the names of the stacks that a part stands in.
func (p *Pump) stacksOf(part string) []string {
	var out []string
	for _, s := range p.Stacks {
		if slices.ContainsFunc(s.Rings, func(q Ring) bool { return q.Part == part }) {
			out = append(out, s.Name)
		}
	}
	return out
}

// turnable checks that a valve whose seat can be turned over has a reversible seat among its parts.
func (r *reader) turnable() {
	for i, v := range r.p.Valves {
		reversible := slices.ContainsFunc(r.p.Parts, func(q Part) bool {
			return q.Kind == KindSeat && q.Reversible && slices.Contains(q.Serves, v.Name)
		})
		m := r.at[item{"valve", i}]
		switch {
		case v.Turnable && !reversible:
			m.Fail("turnable", "yes, but no reversible seat serves this valve", "a part of kind seat with `reversible: yes` and this valve under serves", "mark the seat as reversible or set turnable to no")
		case !v.Turnable && reversible:
			m.Fail("turnable", "no, but a reversible seat serves this valve", "the same in both places", "set turnable to yes or reversible to no")
		}
	}
}
