package pump

import (
	"fmt"
	"math"
	"strings"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/unit"
)

// counts names a number of things: "1 stack", "3 stacks".
func counts(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

func (r *reader) parts(ms []*sheet.Map) {
	for i, m := range ms {
		r.at[item{"part", i}] = m
		q := Part{
			Name:       m.Name("name", "the name of the part"),
			Kind:       m.Choice("kind", PartKinds()...),
			Material:   m.Name("material", "the material of the part"),
			Quantity:   m.Count("quantity", "how many the pump has", 1, 100),
			Kit:        m.OptText("kit", "the kit that the part comes in", ""),
			Price:      m.Number("price", "the price of one, in the shop's currency", sheet.NotNegative(1e6)),
			Reversible: m.OptBool("reversible", false),
			Soak:       m.OptSI("soak", unit.Time, sheet.NotNegative(maxSoak), 0),
			Serves:     m.Texts("serves", "a leak path: the name of a seal, a valve or an outlet"),
		}
		for j, w := range m.OptList("wear", "measured sizes", 10) {
			q.Wear = append(q.Wear, r.wear(w, q, j))
		}
		if q.Reversible && q.Kind != KindSeat {
			m.Fail("reversible", "a reversible "+q.Kind, "it only on a seat", "remove the line")
		}
		m.Done()
		r.p.Parts = append(r.p.Parts, q)
	}
}

func (r *reader) wear(m *sheet.Map, q Part, n int) Wear {
	w := Wear{
		Size: m.Name("size", "what is measured, e.g. diameter"),
		New:  m.SI("new", unit.Length, sheet.NotNegative(maxLength)),
		Min:  m.OptSI("min", unit.Length, sheet.NotNegative(maxLength), math.NaN()),
		Max:  m.OptSI("max", unit.Length, sheet.NotNegative(maxLength), math.NaN()),
	}
	for _, before := range q.Wear {
		if before.Size == w.Size {
			m.Fail("size", fmt.Sprintf("%q a second time", w.Size), "each size once", "put both limits into one entry")
		}
	}
	switch {
	case !m.Has("min") && !m.Has("max"):
		m.Fail("", "no limit", "min, max or both", "add the size at which the part is worn out")
	case w.Min > w.New:
		m.Fail("min", "a lower limit above the new size", "a lower limit below it", "check that min and max are not swapped")
	case w.Max < w.New:
		m.Fail("max", "an upper limit below the new size", "an upper limit above it", "check that min and max are not swapped")
	}
	m.Done()
	return w
}

func (r *reader) joints(ms []*sheet.Map) {
	for i, m := range ms {
		r.at[item{"joint", i}] = m
		j := Joint{
			Name:     m.Name("name", "the name of the joint"),
			Thread:   m.Name("thread", "a thread such as M24x2"),
			Torque:   m.SI("torque", unit.Torque, sheet.Positive(10000)),
			Tol:      m.OptSI("tolerance", unit.Torque, sheet.NotNegative(10000), 0),
			Through:  m.OptText("through", "the stack that the clamp goes through", ""),
			Friction: m.Choice("friction", "A", "B", "C", "D", "E"),
			Yield:    m.OptSI("proof_strength", unit.Pressure, sheet.Between(10e6, 3000e6), 0),
			Where:    m.Choice("where", Bench, InPump),
			Loosely:  m.OptBool("loosely", false),
			Adapter:  m.OptSI("adapter", unit.Length, sheet.NotNegative(1), 0),
			Spanner:  m.OptText("spanner", "the tool that fits", ""),
			Holds:    m.Texts("holds", "a part or a stack that the joint keeps in place"),
		}
		j.Bearing[0] = m.SI("bearing_inner", unit.Length, sheet.Positive(maxLength))
		j.Bearing[1] = m.SI("bearing_outer", unit.Length, sheet.Positive(maxLength))
		j.CarriedBy = m.OptText("carried_by", "the part that the joint sits on", "")
		r.checkJoint(m, j)
		m.Done()
		r.p.Joints = append(r.p.Joints, j)
	}
}

func (r *reader) checkJoint(m *sheet.Map, j Joint) {
	if j.Thread != "" {
		if _, err := bolt.ParseThread(j.Thread); err != nil {
			want := "a thread such as M24x2 or 3/4-16 UNF"
			if pe, ok := err.(*bolt.ParseError); ok {
				want = pe.Want
			}
			m.Fail("thread", fmt.Sprintf("%q, which is no thread", j.Thread), want, "")
		}
	}
	if j.Tol > j.Torque/2 {
		m.Fail("tolerance", "a tolerance of more than half the torque", "± a small part of the torque", "check that torque and tolerance are not swapped")
	}
	if j.Bearing[0] >= j.Bearing[1] {
		m.Fail("bearing_inner", "an inner diameter as large as the outer or larger", "bearing_inner below bearing_outer", "check that the two are not swapped")
	}
	if j.Loosely && j.Where == Bench {
		m.Fail("loosely", "a joint on the bench that waits for the rod", "loosely only with `where: pump`", "")
	}
	if j.CarriedBy != "" && j.Where == InPump {
		m.Fail("carried_by", "a joint in the pump that sits on a part", "carried_by only with `where: bench`", "")
	}
}

func (r *reader) stacks(ms []*sheet.Map) {
	for i, m := range ms {
		r.at[item{"stack", i}] = m
		s := Stack{
			Name:       m.Name("name", "the name of the stack"),
			Inner:      m.SI("inner", unit.Length, sheet.Positive(maxLength)),
			Outer:      m.SI("outer", unit.Length, sheet.Positive(maxLength)),
			Depth:      m.OptSI("depth", unit.Length, sheet.NotNegative(maxLength), 0),
			Shim:       m.OptSI("shim", unit.Length, sheet.NotNegative(0.05), 0),
			FilledFrom: m.Choice("filled_from", Top, Bottom),
		}
		if s.Inner >= s.Outer {
			m.Fail("inner", "rings whose inner diameter is as large as the outer or larger", "inner below outer", "check that the two are not swapped")
		}
		rings := m.List("rings", "rings, from the lowest to the highest", 1, 40)
		for _, q := range rings {
			s.Rings = append(s.Rings, Ring{
				Part:   q.Name("part", "the part that the ring is"),
				Height: q.SI("height", unit.Length, sheet.Positive(0.2)),
				Lips:   q.OptChoice("lips", "", "up", "down"),
			})
			q.Done()
		}
		r.rings = append(r.rings, rings)
		m.Done()
		r.p.Stacks = append(r.p.Stacks, s)
	}
}

func (r *reader) order(ms []*sheet.Map) {
	for i, m := range ms {
		r.at[item{"order", i}] = m
		r.p.Order = append(r.p.Order, Before{
			First: strings.TrimSpace(m.Text("first", "the step that comes first")),
			Then:  strings.TrimSpace(m.Text("then", "the step that comes after it")),
			Why:   m.Text("why", "the reason"),
		})
		m.Done()
	}
}
