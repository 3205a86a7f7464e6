package draw

import (
	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// LeakMapBare is LeakMap without the verdict across its top, for a page of 600 px or more that has the verdict beside it: numbers at the
// section, the words to the right of it. Its title and its description still say the verdict.
func LeakMapBare(p *pump.Pump, r *hold.Result, sys unit.System, opts ...Option) string {
	m := newLeakMap(p, r, sys, pageForm, opts...)
	m.bare = true
	return m.narrow()
}

// LeakMapBareNarrow is LeakMapNarrow without the verdict across its top.
func LeakMapBareNarrow(p *pump.Pump, r *hold.Result, sys unit.System, opts ...Option) string {
	m := newLeakMap(p, r, sys, narrowForm, opts...)
	m.bare = true
	return m.narrow()
}

// above draws the verdict across the top, unless the map is bare, and returns where the section begins, gap below it.
func (m *leakMap) above(gap float64) float64 {
	if m.bare {
		return m.f.margin
	}
	return m.band(m.p, m.r, m.sys, m.f) + gap
}
