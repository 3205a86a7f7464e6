package seal

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Kind is what a ring of a stack does.
type Kind string

// Kinds of rings. Only a VRing seals.
const (
	FemaleGland Kind = "female gland" // the V-shaped seat that the lips' backs rest in
	VRing       Kind = "v-ring"
	MaleGland   Kind = "male gland" // the wedge between the lips
	Backup      Kind = "backup"     // closes the gap behind the stack
	Wiper       Kind = "wiper"      // keeps dirt out; no seal
	Spacer      Kind = "spacer"     // spacer or shim
	Spring      Kind = "spring"
)

// Facing is where the open side of a lip points.
type Facing string

// Facings. A flat ring has none.
const (
	Up   Facing = "up"
	Down Facing = "down"
	Flat Facing = ""
)

// Ring is one ring of a stack.
type Ring struct {
	Kind     Kind
	Material string  // name, for the reader
	Height   float64 // m, along the axis, free
	ID, OD   float64 // m
	Lips     Facing
	Inner    Wall    // friction and K on the rod or stem
	Outer    Wall    // friction and K on the bore or housing
	Share    float64 // energising share e of a lip that faces the pressure; 0: K of the wall
	Opening  float64 // opening share o of a lip that faces away, 0..1
	Modulus  float64 // Pa, in compression
	Rate     float64 // N/m, of a Spring; else 0
	Limit    float64 // Pa, highest axial stress or pressure that it stands; 0: not checked
}

// DefaultOpening is the share of the pressure that folds in a lip that faces away from it. Assumed: no published value.
const DefaultOpening = 0.2

// NewRing returns a ring with the default properties of its material at the temperature T [K] (see LookUp). V-rings, backup
// rings and wipers press on both walls; glands, spacers and springs run free of them (K = 0). A Spring needs its Rate set.
func NewRing(kind Kind, material string, id, od, height float64, lips Facing, temperature float64) (Ring, error) {
	m, err := LookUp(material, temperature)
	if err != nil {
		return Ring{}, err
	}
	r := Ring{
		Kind: kind, Material: m.Name, Height: height, ID: id, OD: od, Lips: lips, Modulus: m.Modulus.Value, Limit: m.Limit.Value,
		Opening: DefaultOpening,
	}
	if kind == VRing || kind == Backup || kind == Wiper {
		r.Inner = Wall{m.Mu.Value, m.K.Value}
		r.Outer = r.Inner
	}
	if kind == Spring {
		return r, nil
	}
	return r, r.check("seal.NewRing")
}

func (r Ring) area() float64 { return math.Pi / 4 * (r.OD - r.ID) * (r.OD + r.ID) }

func (r Ring) section() float64 { return (r.OD - r.ID) / 2 }

func (r Ring) check(fn string) error {
	switch r.Kind {
	case FemaleGland, VRing, MaleGland, Backup, Wiper, Spacer, Spring:
	default:
		return &NameError{"kind of ring", string(r.Kind), "female gland, v-ring, male gland, backup, wiper, spacer, spring"}
	}
	switch r.Lips {
	case Up, Down, Flat:
	default:
		return &NameError{"facing of the lips", string(r.Lips), `"up", "down" or ""`}
	}
	if err := first(
		num.CheckPositive(fn, "d", r.ID, "m"), annulus(fn, r.ID, r.OD), num.CheckPositive(fn, "h", r.Height, "m"),
		r.Inner.check(fn, "i"), r.Outer.check(fn, "o"),
		num.CheckRange(fn, "e", r.Share, 0, 2, "1"), num.CheckRange(fn, "o", r.Opening, 0, 1, "1"),
		num.CheckRange(fn, "limit", r.Limit, 0, math.Inf(1), "Pa"),
		num.CheckRange(fn, "β·h", decay(r.Inner, r.Outer, r.ID, r.OD, rest)*r.Height, 0, 5, "1"), // beyond it the ring jams
	); err != nil {
		return err
	}
	if r.Kind == Spring {
		return num.CheckPositive(fn, "rate", r.Rate, "N/m")
	}
	return num.CheckPositive(fn, "E", r.Modulus, "Pa")
}

// share returns the energising share on a wall under pressure from the given side; 0 for what is no lip.
func (r Ring) share(w Wall, from Facing) float64 {
	switch {
	case r.Kind != VRing || r.Lips == Flat || from == Flat:
		return 0
	case r.Lips != from:
		return -r.Opening
	case r.Share > 0:
		return r.Share
	}
	return w.K
}

// Lips returns which way a lip must open when the pressures above and below it are these [Pa]: toward the higher one. Equal
// pressures need no lip: Flat. Errors: *num.RangeError when a pressure is not finite.
// Source: NAVEDTRA 14105 Fluid Power, V-packings: the fluid spreads the lips, and a set seals in one direction only.
func Lips(above, below float64) (Facing, error) {
	if err := first(num.CheckFinite("seal.Lips", "above", above, "Pa"), num.CheckFinite("seal.Lips", "below", below, "Pa")); err != nil {
		return Flat, err
	}
	switch {
	case above > below:
		return Up, nil
	case below > above:
		return Down, nil
	}
	return Flat, nil
}

// Sets returns the V-packing sets that a place needs, from top to bottom, for all the states that the machine goes through,
// each a pair {above, below} of pressures [Pa]: none, one, or two opposed sets with the lips facing away from each other, so
// that no pressure is trapped between them. Source: NAVEDTRA 14105 Fluid Power.
func Sets(states [][2]float64) ([]Facing, error) {
	var up, down bool
	for _, s := range states {
		f, err := Lips(s[0], s[1])
		if err != nil {
			return nil, err
		}
		up, down = up || f == Up, down || f == Down
	}
	var sets []Facing
	if up {
		sets = append(sets, Up)
	}
	if down {
		sets = append(sets, Down)
	}
	return sets, nil
}
