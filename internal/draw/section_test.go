package draw

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// TestEveryPathHasAPlace checks that each leak path of each arrangement has its drop inside the section, once.
func TestEveryPathHasAPlace(t *testing.T) {
	for name, p := range pumps(t) {
		s := newSection(p)
		left, right := s.extent()
		seen := map[string]int{}
		for _, d := range s.drops {
			seen[d.path]++
			if len(d.at) == 0 || len(d.at) != len(d.dir) {
				t.Errorf("%s: %s has %d places and %d directions", name, d.path, len(d.at), len(d.dir))
			}
			for _, a := range d.at {
				if a.x < -left || a.x > right || a.y < 0 || a.y > s.bottom {
					t.Errorf("%s: the drop of %s lies at %v, outside the section", name, d.path, a)
				}
			}
		}
		for _, q := range p.Map().Paths {
			if seen[q.Name] != 1 {
				t.Errorf("%s: %s is drawn %d times", name, q.Name, seen[q.Name])
			}
		}
	}
}

// TestDropsLieOnTheLowSide checks, from the pressure map, at which end of a packing its drops come out: the air side of a
// throat, the suction side of the piston, both ends where pressure comes from both sides.
func TestDropsLieOnTheLowSide(t *testing.T) {
	find := func(s *section, path string) drip {
		i := slices.IndexFunc(s.drops, func(d drip) bool { return d.path == path })
		return s.drops[i]
	}
	s := newSection(demoLike())
	if d := find(s, "throat packing"); len(d.at) != 1 || d.at[0].y >= s.throats[0].y || d.dir[0] != (pt{0, -1}) {
		t.Errorf("throat of a differential pump: %+v; want above the packing", d)
	}
	if d := find(s, "piston packing"); len(d.at) != 1 || d.at[0].y <= s.bores[0].y+s.bores[0].h || d.dir[0] != (pt{0, 1}) {
		t.Errorf("piston packing of a differential pump: %+v; want below the packing", d)
	}
	if d := find(s, "inlet valve"); d.at[0].y <= s.valves[1].y {
		t.Errorf("inlet valve: %+v; want below its seat", d)
	}
	s = newSection(throughRod())
	if d := find(s, "piston packing"); len(d.at) != 2 || d.dir[0] == d.dir[1] {
		t.Errorf("piston packing between two chambers under pressure in turn: %+v; want a drop at each end", d)
	}
	if d := find(s, "tail packing"); len(d.at) != 1 || d.at[0].y < s.tails[0].y+s.tails[0].h {
		t.Errorf("tail packing: %+v; want below the packing", d)
	}
	s = newSection(plunger())
	if d := find(s, "plunger packing"); len(d.at) != 1 || d.at[0].y > s.bores[0].y || d.dir[0] != (pt{0, -1}) {
		t.Errorf("plunger: %+v; want above the packing, into the open", d)
	}
}

// TestTones checks the tints against the pressure map of a differential pump: the upper chamber stands under pressure on both
// strokes, the lower one on the downstroke only (it fills from the pail on the upstroke).
func TestTones(t *testing.T) {
	s := newSection(demoLike())
	for node, want := range map[string]string{"upper": "full", "lower": "partial", pump.Suction: "slack", pump.Line: "full"} {
		if got := s.tone(node); got != want {
			t.Errorf("%s: %s, want %s", node, got, want)
		}
	}
}

// TestLipsOpenTheRightWay reads the outline of a v-ring back: with the lips up its ends stand above its middle.
func TestLipsOpenTheRightWay(t *testing.T) {
	for _, lips := range []string{"up", "down"} {
		var c canvas
		c.profile(&pump.Ring{Kind: pump.KindVRing, Lips: lips}, lips, 0, 20, 10, 20, 6)
		var xy [12]float64
		d := c.b.String()
		d = d[strings.Index(d, `d="M`)+4:]
		n := 0
		for _, f := range strings.FieldsFunc(d, func(r rune) bool { return !strings.ContainsRune("0123456789.-", r) })[:12] {
			xy[n] = mustFloat(t, f)
			n++
		}
		end, middle := xy[1], xy[3]
		if up := end < middle; up != (lips == "up") {
			t.Errorf("lips %s: the ends of the V lie at %g, its middle at %g (y grows downward)", lips, end, middle)
		}
	}
}

// TestPlainSets checks the order of the glands that a packing without a stack in its sheet is drawn with: the male gland on the
// side that the lips open to (NAVEDTRA 14105, Fluid Power), two sets facing away from each other between two pressures.
func TestPlainSets(t *testing.T) {
	up := plainSet("up")
	if up.rings[0].Kind != pump.KindFemale || up.rings[4].Kind != pump.KindMale {
		t.Error("lips up: want the female gland lowest and the male gland highest")
	}
	p := throughRod()
	p.Seals[2].Stacks = nil
	sets := setsOf(p, p.Map(), p.Seals[2])
	if len(sets) != 2 || sets[0].lips != "down" || sets[1].lips != "up" {
		t.Errorf("two opposed sets: %+v; want the lower one with lips down, the upper one with lips up", sets)
	}
	if throat := setsOf(p, p.Map(), p.Seals[0]); len(throat) != 1 || throat[0].lips != "down" {
		t.Errorf("throat: %+v; want lips down, toward the chamber", throat)
	}
}

// TestColumnsDoNotTangle checks that no leader crosses another in the maps of the demo pumps, and that on the two differential
// ones none runs over the marker of another path. (Four valves at the sides with their seals stand closer than that.)
func TestColumnsDoNotTangle(t *testing.T) {
	for _, name := range pump.Demo() {
		p := demo(t, name)
		for _, word := range []string{hold.Holds, ""} {
			r := result(p, word)
			if word == "" {
				r = nil
			}
			m := newLeakMap(p, r, unit.Metric(), wideForm)
			m.wide()
			for _, k := range []*column{&m.left, &m.right} {
				crossed, over := k.crossings()
				if crossed > 0 || over > 0 && len(p.Valves) == 2 {
					t.Errorf("%s %q: %d leaders cross, %d run over a marker", name, word, crossed, over)
				}
			}
		}
	}
}

// TestGroupsAreJoined checks that the members of a group that stand on one side follow each other, with a caption for each side.
func TestGroupsAreJoined(t *testing.T) {
	for name, p := range pumps(t) {
		r := result(p, hold.DoesNotHold)
		m := newLeakMap(p, r, unit.Metric(), wideForm)
		svg := m.wide()
		captions := 0
		for _, k := range []*column{&m.left, &m.right} {
			groups := map[int]int{}
			for _, q := range k.clusters {
				for _, l := range q.labels {
					if l.group != q.labels[0].group {
						t.Errorf("%s: %s stands among another group", name, l.path)
					}
				}
				if g := q.labels[0].group; g >= 0 {
					groups[g]++
					captions++
				}
			}
			for g, n := range groups {
				if n > 1 {
					t.Errorf("%s: group %d is split within a column", name, g)
				}
			}
		}
		if got := strings.Count(svg, ">"+apart); got != captions || got < len(r.Groups) {
			t.Errorf("%s: %d captions, %d clusters, %d groups", name, got, captions, len(r.Groups))
		}
	}
}

// TestDropGrowsWithChance reads the radius of the marker back: its area above the least size grows in proportion.
func TestDropGrowsWithChance(t *testing.T) {
	p := demoLike()
	r := result(p, hold.Holds)
	last := 0.0
	for _, chance := range []float64{0.05, 0.2, 0.5, 0.99} {
		r.Paths[0].P = chance
		m := newLeakMap(p, r, unit.Metric(), wideForm)
		l := m.labels[slices.IndexFunc(m.labels, func(l *label) bool { return l.path == r.Paths[0].Path })]
		l.at = []pt{{0, 0}}
		m.marker(l)
		d := m.b.String()
		size := mustFloat(t, strings.Fields(d[strings.Index(d, "A")+1:])[0])
		if size <= last {
			t.Errorf("chance %g: radius %g, not more than %g before", chance, size, last)
		}
		last = size
	}
}

// TestTeardrop checks the outline by geometry: the straight sides touch the circle, so that radius and side meet at a right angle.
func TestTeardrop(t *testing.T) {
	for _, dir := range []pt{{0, 1}, {1, 0}, {0.6, -0.8}} {
		c, r := pt{30, 40}, 10.0
		d := teardrop(c, dir, r)
		f := strings.FieldsFunc(d, func(x rune) bool { return !strings.ContainsRune("0123456789.-", x) })
		v := make([]float64, len(f))
		for i := range f {
			v[i] = mustFloat(t, f[i])
		}
		tip, a := pt{v[0], v[1]}, pt{v[2], v[3]}
		if math.Abs(math.Hypot(a.x-c.x, a.y-c.y)-r) > 0.02 {
			t.Errorf("%v: the side ends %g from the centre", dir, math.Hypot(a.x-c.x, a.y-c.y))
		}
		if dot := (a.x-c.x)*(tip.x-a.x) + (a.y-c.y)*(tip.y-a.y); math.Abs(dot) > 0.5 {
			t.Errorf("%v: side and radius meet with the dot product %g, want 0", dir, dot)
		}
		if ahead := (tip.x-c.x)*dir.x + (tip.y-c.y)*dir.y; ahead >= 0 {
			t.Errorf("%v: the tip points the way the drop runs", dir)
		}
	}
}
