package seal

import "strings"

// Rating says how well a seal material stands a fluid at room temperature.
type Rating int

// Ratings, in the usual scale of four.
const (
	Satisfactory   Rating = 1
	Fair           Rating = 2 // static seals only
	Doubtful       Rating = 3
	Unsatisfactory Rating = 4
)

// String gives the rating in words.
func (r Rating) String() string {
	switch r {
	case Satisfactory:
		return "satisfactory"
	case Fair:
		return "fair: static seals only"
	case Doubtful:
		return "doubtful"
	case Unsatisfactory:
		return "unsatisfactory"
	}
	return "not rated"
}

// Suit is one cell of the table of materials and fluids.
type Suit struct {
	Material, Fluid string
	Rating          Rating
	Words           string // as general tables of elastomers put it
	Seen            bool   // read in a published table; else from memory, to be confirmed by a soak test
}

// suitFluids are the columns of suits.
var suitFluids = []string{"water", "mineral spirits", "aromatics", "acetone", "mek", "isocyanate"}

// suits lists, per material, the words for each fluid; a * marks what was read in a published table.
var suits = []struct {
	material string
	words    [6]string
}{
	{"nbr", [6]string{"good*", "good", "poor*", "unsuitable*", "poor*", "poor–fair"}},
	{"epdm", [6]string{"excellent*", "poor", "poor*", "good*", "good", "fair"}},
	{"fkm", [6]string{"good, not steam", "excellent", "excellent*", "unsuitable*", "poor", "fair–good"}},
	{"ffkm", [6]string{"excellent", "excellent", "excellent", "good", "good", "good"}},
	{"ptfe", [6]string{"excellent", "excellent", "excellent", "excellent", "excellent", "excellent"}},
	{"uhmwpe", [6]string{"excellent", "fair–good, swells warm", "fair", "good", "good", "good"}},
}

// Suits returns the whole table of materials (NBR, EPDM, FKM, FFKM, PTFE, UHMWPE) and fluids (water, mineral spirits,
// aromatics such as toluene and xylene, acetone, MEK, isocyanate hardener). Compounds vary: a test after ISO 1817 or
// ASTM D471 decides. Swell above 25 % counts as failure.
func Suits() []Suit {
	var all []Suit
	for _, row := range suits {
		for i, w := range row.words {
			words, seen := strings.CutSuffix(w, "*")
			all = append(all, Suit{row.material, suitFluids[i], rate(words), words, seen})
		}
	}
	return all
}

// rate turns words into the scale of four, the worse word deciding.
func rate(words string) Rating {
	first, _, _ := strings.Cut(words, ",")
	switch first {
	case "excellent", "good":
		return Satisfactory
	case "fair", "fair–good":
		return Fair
	case "poor–fair":
		return Doubtful
	}
	return Unsatisfactory // poor, unsuitable
}

// fluidNames maps what people write to the columns.
var fluidNames = map[string]string{
	"white spirit": "mineral spirits", "toluene": "aromatics", "xylene": "aromatics", "butanone": "mek",
	"methyl ethyl ketone": "mek", "hardener": "isocyanate",
}

// Stands returns how the material stands the fluid, names in any case. A name that is not in the table is a *NameError.
func Stands(material, fluid string) (Suit, error) {
	m, f := strings.ToLower(strings.TrimSpace(material)), strings.ToLower(strings.TrimSpace(fluid))
	if known, ok := fluidNames[f]; ok {
		f = known
	}
	var materials []string
	hasMaterial := false
	for _, row := range suits {
		materials = append(materials, row.material)
		hasMaterial = hasMaterial || row.material == m
	}
	if !hasMaterial {
		return Suit{}, &NameError{"material", material, strings.Join(materials, ", ")}
	}
	for _, s := range Suits() {
		if s.Material == m && s.Fluid == f {
			return s, nil
		}
	}
	return Suit{}, &NameError{"fluid", fluid, strings.Join(suitFluids, ", ")}
}
