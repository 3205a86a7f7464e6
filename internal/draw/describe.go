package draw

import (
	"slices"
	"strings"
)

// title of the leak map.
func (m *leakMap) title() string {
	if m.r == nil {
		return "Where " + m.p.Name + " can leak"
	}
	return "Leak map of " + m.p.Name + ": " + m.r.Verdict.Word
}

// describe says in words all that the leak map shows.
func (m *leakMap) describe() string {
	var b strings.Builder
	b.WriteString("Section of the pump with its leak paths. ")
	if m.r != nil {
		b.WriteString("Verdict: " + m.r.Verdict.Word + "; chance that the pump meets its limit: " + Chance(m.r.Verdict.Meets) + ". ")
		for _, s := range []string{limitText(m.p, m.sys), strokeText(m.r, m.sys), needText(m.r)} {
			if s != "" {
				b.WriteString(strings.ToUpper(s[:1]) + s[1:] + ". ")
			}
		}
	}
	for _, set := range m.ranked() {
		for _, l := range set {
			b.WriteString(l.path)
			if l.share != "" {
				b.WriteString(": " + l.share)
			}
			if l.flow != "" {
				b.WriteString(", if so " + l.flow)
			}
			b.WriteString(". ")
		}
	}
	if m.r != nil {
		for _, g := range m.r.Groups {
			b.WriteString("Cannot be told apart: " + strings.Join(g, ", ") + ". ")
		}
	}
	for _, ch := range m.p.Chambers {
		b.WriteString("Chamber " + ch.Name + ": " + m.pressureWords(ch.Name) + ". ")
	}
	return strings.TrimSpace(b.String())
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
