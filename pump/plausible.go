package pump

import (
	"math"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/seal"
	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/unit"
)

// Bounds of what is usual on pumps of this trade: general experience, no published source. A value beyond is doubted, not refused.
const (
	usualRating = 1.1  // rating over what the drive reaches
	usualHold   = 0.5  // hold over rating, at least
	usualSlow   = 5.0  // s, least creep limit
	usualHeld   = 10.0 // s, least hold
	usualReach  = 3.0  // s, longest changeover
	usualFit    = 0.02 // size of a part against that of the geometry
)

// doubt notes what can hardly be; quantities stand as {a} and {b} in the texts.
func (r *reader) doubt(at *sheet.Map, key string, kind DoubtKind, d unit.Dim, a, b float64, found, want, fix string) {
	r.p.Doubts = append(r.p.Doubts, Doubt{Kind: kind, Line: at.Line(key), Key: at.Where(key), Found: found, Want: want, Fix: fix,
		Quantities: map[string]Quantity{"a": {SI: a, Dim: d, Beside: []float64{b}}, "b": {SI: b, Dim: d, Beside: []float64{a}}}})
}

// plausible doubts what can hardly be.
func (r *reader) plausible() {
	r.limitDoubts()
	r.geometryDoubts()
	for i, v := range r.p.Valves {
		r.valveDoubts(r.at[item{"valve", i}], v)
	}
	for i, q := range r.p.Parts {
		r.partDoubts(r.at[item{"part", i}], q)
	}
	for i, j := range r.p.Joints {
		at := r.at[item{"joint", i}]
		if b, err := j.Bolt(); err == nil && (j.Bearing[1] > 4*b.Thread.D || j.Bearing[1] < 0.5*b.Thread.D) {
			r.doubt(at, "bearing_outer", DoubtSize, unit.Length, j.Bearing[1], b.Thread.D, "a bearing face of {a} on a thread of {b}", "a face of about the size of its thread", "look at the thread and at the unit of the face")
		}
	}
}

func (r *reader) limitDoubts() {
	p, at := r.p, r.at[item{"limits", 0}]
	l, top := p.Limits, p.drivenTo()
	if top > 0 && l.Rated > usualRating*top {
		r.doubt(at, "rated", DoubtDrive, unit.Pressure, l.Rated, top, "a rating of {a}, and a drive that reaches {b}", "a rating near what the drive can do", "look at rated and at the setting of the drive")
	}
	if l.Hold < usualHold*l.Rated {
		r.doubt(at, "hold", DoubtDrive, unit.Pressure, l.Hold, l.Rated, "a hold at {a} of a pump rated {b}", "a hold near the rated pressure", "look at hold and its unit")
	}
	if l.StrokeTime < usualSlow {
		r.doubt(at, "stroke_time", DoubtTime, unit.Time, l.StrokeTime, usualSlow, "a creep limit of {a} a stroke", "{b} or more with the gun shut", "stroke_time is the creep limit, not the speed of the pump")
	}
	if l.HoldFor < usualHeld {
		r.doubt(at, "hold_for", DoubtTime, unit.Time, l.HoldFor, usualHeld, "a hold of {a}", "{b} or more", "look at the unit of hold_for")
	}
	if d := r.at[item{"drive", 0}]; p.Drive.Changeover > usualReach {
		r.doubt(d, "changeover", DoubtTime, unit.Time, p.Drive.Changeover, usualReach, "a changeover of {a}", "less than {b}", "look at the unit of changeover")
	}
}

func (r *reader) geometryDoubts() {
	p, at, hose := r.p, r.at[item{"geometry", 0}], r.at[item{"hose", 0}]
	if p.Rod > 0.95*p.Bore || p.Rod < 0.15*p.Bore {
		r.doubt(at, "rod", DoubtSize, unit.Length, p.Rod, p.Bore, "a rod of {a} in a bore of {b}", "a rod that leaves room for its packing", "look at rod and bore, and at their units")
	}
	if p.Stroke > 20*p.Bore || p.Stroke < 0.2*p.Bore {
		r.doubt(at, "stroke", DoubtSize, unit.Length, p.Stroke, p.Bore, "a stroke of {a} in a bore of {b}", "a stroke of a few bores", "look at the unit of stroke")
	}
	for i, c := range p.Chambers {
		if swept := math.Abs(p.Sweep(c)) * p.Stroke; c.Dead > 5*swept {
			r.doubt(r.at[item{"chamber", i}], "dead_volume", DoubtSize, unit.Volume, c.Dead, swept, "a dead volume of {a}, and {b} a stroke", "less than a few strokes", "look at the unit of dead_volume")
		}
	}
	h := p.Hose
	if v := math.Pi / 4 * h.Bore * h.Bore * h.Length; h.Expansion*p.Limits.Rated > 0.5*(v+h.Fittings) {
		r.doubt(hose, "expansion", DoubtSize, unit.Volume, h.Expansion*p.Limits.Rated, v+h.Fittings, "a hose that grows by {a} at the rated pressure, of {b}", "a small part of its volume", "expansion is for the whole hose, a volume per pressure")
	}
	if h.Bore > 2*p.Bore {
		r.doubt(hose, "bore", DoubtSize, unit.Length, h.Bore, p.Bore, "a hose of {a} on a pump of {b} bore", "a hose narrower than the pump", "look at the unit of the hose's bore")
	}
}

func (r *reader) valveDoubts(at *sheet.Map, v Valve) {
	if !v.OnPiston && v.Ball > r.p.Bore {
		r.doubt(at, "ball", DoubtSize, unit.Length, v.Ball, r.p.Bore, "a ball of {a} beside a bore of {b}", "a ball narrower than the bore", "look at ball and bore, and at their units")
	}
	if v.Seat < 0.3*v.Ball || v.Seat > 0.97*v.Ball {
		r.doubt(at, "seat", DoubtSize, unit.Length, v.Seat, v.Ball, "a seat of {a} under a ball of {b}", "a contact circle of about seven tenths of the ball", "a ball on a narrow seat lets little by, on a wide one it jams: look at both")
	}
	if v.Lift > 0.6*v.Ball || v.Lift < 0.02*v.Ball {
		r.doubt(at, "lift", DoubtSize, unit.Length, v.Lift, v.Ball, "a lift of {a} of a ball of {b}", "about a quarter of the ball", "look at the unit of lift")
	}
}

func (r *reader) partDoubts(at *sheet.Map, q Part) {
	ring := slices.Contains(RingKinds(), q.Kind) && !rigid(q.Kind) && q.Kind != "spring"
	_, err := seal.LookUp(q.Material, 293.15)
	switch {
	case !known(q.Material):
		r.materialDoubt(at, q, "a material that is known, such as stainless steel, bronze, PTFE or leather", "look at the spelling of material")
	case ring && err != nil:
		r.materialDoubt(at, q, "one of ptfe, uhmwpe, leather, fabric rubber, nbr, fkm for a ring", "of other materials no set can be worked out")
	}
	for _, w := range q.Wear {
		if got, key := r.sizeOf(q, w); got > 0 && math.Abs(w.New-got) > usualFit*got {
			r.doubt(at, "wear", DoubtSize, unit.Length, w.New, got, "a new "+q.Name+" of {a}, and {b} in "+key, "the same size in both", "look at the size of the part and at "+key)
		}
		for _, limit := range []float64{w.Min, w.Max} {
			if math.Abs(limit-w.New) > 0.2*w.New {
				r.doubt(at, "wear", DoubtSize, unit.Length, limit, w.New, "a limit of {a} for a new size of {b}", "a limit close to the new size", "look at the decimal point and the unit of the limit")
			}
		}
	}
}

func (r *reader) materialDoubt(at *sheet.Map, q Part, want, fix string) {
	r.p.Doubts = append(r.p.Doubts, Doubt{Kind: DoubtMaterial, Line: at.Line("material"), Key: at.Where("material"), Found: "the " + q.Name + " of " + quoted(q.Material), Want: want, Fix: fix})
}

// sizeOf returns the size of the geometry that a measured size of a part has when it is new, and the key that it stands under.
func (r *reader) sizeOf(q Part, w Wear) (float64, string) {
	switch {
	case q.Kind == KindRod && w.Size == "diameter" && r.p.TailRod == 0:
		return r.p.Rod, "geometry"
	case q.Kind == KindCylinder && w.Size == "bore":
		return r.p.Bore, "geometry"
	case q.Kind == KindBall && w.Size == "diameter" && len(q.Serves) == 1:
		if v, ok := r.p.Valve(q.Serves[0]); ok {
			return v.Ball, "valves"
		}
	}
	return 0, ""
}

// substances are words that tell a material.
var substances = []string{"steel", "iron", "bronze", "brass", "copper", "alumin", "chrom", "titanium", "nickel", "alloy", "carbide", "ceramic", "alumina", "zirconia", "nitride",
	"cobalt", "ptfe", "uhmwpe", "polyethylene", "polyurethane", "polyamide", "nylon", "acetal", "pom", "peek", "pvdf", "plastic", "rubber", "nbr", "fkm", "ffkm", "epdm", "leather", "fabric", "aramid",
	"graphite", "felt", "fibre", "fiber", "glass"}

// known says whether a word of a material tells a substance.
func known(material string) bool {
	m := strings.ToLower(material)
	return slices.ContainsFunc(substances, func(s string) bool { return strings.Contains(m, s) })
}

// overloads doubts what a joint or a packing set would not stand, each at the line of its torque or its stack.
func (r *reader) overloads() {
	for _, d := range r.p.Overloads(Conditions{}) {
		at, key := r.at[item{"top", 0}], ""
		if i := slices.IndexFunc(r.p.Joints, func(j Joint) bool { return j.Name == d.Joint }); i >= 0 {
			at, key = r.at[item{"joint", i}], "torque"
		} else if i := slices.IndexFunc(r.p.Stacks, func(s Stack) bool { return s.Name == d.Stack }); i >= 0 {
			at, key = r.at[item{"stack", i}], "rings"
		}
		d.Line, d.Key = at.Line(key), at.Where(key)
		r.p.Doubts = append(r.p.Doubts, d)
	}
}
