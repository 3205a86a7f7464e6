package draw

import (
	"slices"
	"strings"
)

// title of the leak map.
func (m *leakMap) title() said {
	if m.r == nil {
		return m.t("Where " + m.p.Name + " can leak")
	}
	return m.t("Leak map of " + m.p.Name + ": " + m.r.Verdict.Word)
}

// describe says in words all that the leak map shows.
func (m *leakMap) describe() said {
	out := []said{m.t("Section of the pump with its leak paths.")}
	if m.r != nil {
		out = append(out, m.t("Verdict: "+m.r.Verdict.Word+"; chance that the pump meets its limit: "+Chance(m.r.Verdict.Meets)+"."))
		for _, s := range append(Findings(m.p, m.r, m.sys), needText(m.r)) {
			if s != "" {
				out = append(out, capital(m.t(s)))
			}
		}
	}
	for _, set := range m.ranked() {
		for _, l := range set {
			s := said(l.path)
			if l.share != "" {
				s += ": " + l.share
			}
			if l.flow != "" {
				s += ", " + m.t("if so "+string(l.flow))
			}
			out = append(out, s+".")
		}
	}
	if m.r != nil {
		for _, g := range m.r.Groups {
			out = append(out, m.t("Cannot be told apart: "+strings.Join(g, ", ")+"."))
		}
	}
	for _, ch := range m.p.Chambers {
		out = append(out, m.t("Chamber "+ch.Name+": "+m.pressureWords(ch.Name)+"."))
	}
	return join(out, " ")
}

// ranked returns the labels in their groups, the likeliest first.
func (m *leakMap) ranked() [][]*label {
	chance := func(l *label) float64 {
		q, _ := m.share(l.path)
		return q.P
	}
	sets := m.sets()
	for _, set := range sets {
		slices.SortStableFunc(set, func(a, b *label) int { return order(chance(b), chance(a)) })
	}
	slices.SortStableFunc(sets, func(a, b []*label) int { return order(chance(b[0]), chance(a[0])) })
	return sets
}
