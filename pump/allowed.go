package pump

import (
	"math"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/unit"
)

// Place is where fluid goes that leaves the pump.
type Place string

// The places. The key in the limits of a pump sheet is the same word.
const (
	AtThroat  Place = "throat"  // past the packing on the rod, into the wet cup
	ToOutside Place = "outside" // past fittings, hose or gun
	ToPail    Place = "pail"    // past the drain valve
)

// Places lists the places.
func Places() []Place { return []Place{AtThroat, ToOutside, ToPail} }

// Allowed is what may leak out at a place at rated pressure.
type Allowed struct {
	Flow    float64 // m³/s; 0 is none
	Assumed bool    // the sheet does not say
}

// Drop is the volume of a drop [m³] by which drops a minute are taken for a flow: twenty make a millilitre (common practice, no published
// source; a drop of paint is rather larger, and the limit then the stricter one).
const Drop = 0.05e-6

// defaultLeaks stand for what a sheet does not say: at the throat as much as a wet cup shows without overflowing in a shift, nothing else
// (common practice, no published source).
var defaultLeaks = map[Place]Allowed{AtThroat: {20 * Drop / 60, true}, ToOutside: {0, true}, ToPail: {0, true}}

// Place says where a leak path leads, "" when it stays inside the pump or goes back into the suction.
func (p Path) Place() Place {
	switch {
	case !p.Visible:
		return ""
	case p.Kind == PathDrain:
		return ToPail
	case p.OnRod:
		return AtThroat
	}
	return ToOutside
}

// Allowed is what may leak out on a path at rated pressure; ok is false for a path that does not lead out of the pump.
func (p *Pump) Allowed(q Path) (a Allowed, ok bool) {
	place := q.Place()
	if place == "" {
		return Allowed{}, false
	}
	if a, ok := p.Limits.Leaks[place]; ok {
		return a, true
	}
	return defaultLeaks[place], true
}

// allowed reads a limit: none, so many drops a minute, or a flow.
func allowed(m *sheet.Map, place Place) Allowed {
	key := string(place)
	text := strings.TrimSpace(m.OptText(key, "what may leak there", ""))
	if text == "" {
		return defaultLeaks[place]
	}
	if text == "none" {
		return Allowed{}
	}
	refuse := func(found string) Allowed {
		m.Fail(key, found, "none, drops a minute such as `20 drops/min`, or a flow such as `1 mL/min`", "write what the maker's manual allows, or leave the line out")
		return Allowed{}
	}
	flow := math.NaN()
	if n, ok := strings.CutSuffix(text, "drops/min"); ok {
		v, err := strconv.ParseFloat(strings.TrimSpace(n), 64)
		if err != nil {
			return refuse(strconv.Quote(text))
		}
		flow = v * Drop / 60
	} else if v, err := unit.Parse(text, unit.Flow); err == nil {
		flow = v.SI
	}
	if !(flow > 0 && flow <= maxAllowed) {
		return refuse(strconv.Quote(text))
	}
	return Allowed{Flow: flow}
}

// maxAllowed is more than any pump may leak and still be called sound: half a litre a minute.
const maxAllowed = 0.5e-3 / 60
