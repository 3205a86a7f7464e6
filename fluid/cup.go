package fluid

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// cup is one efflux cup: ν = a·t - b/t - a·t0 in mm²/s with t in s, valid for t of lo..hi.
type cup struct {
	name     string
	a, t0, b float64
	lo, hi   float64 // s
	orifice  float64 // diameter [m]
	volume   float64 // that flows out [m³]
	standard string
	at       float64 // temperature of the standard [K]
}

// The formulas of ISO 2431 and of the 3, 4 and 5 cups of ASTM D1200 are from memory; those of D1200 fit published pairs
// of time and viscosity within 3 %, those of ISO 2431 have a leading term that goes with the fourth power of the orifice, as
// Poiseuille's law asks. Dip cups (ASTM D4212) repeat worse than the others: 5..10 %, common practice. Orifices and
// volumes, from memory, serve the shear rate only.
var cups = [...]cup{
	{"ISO 3", 0.443, 0, 200, 30, 100, 3e-3, 100e-6, "ISO 2431", zeroCelsius + 23},
	{"ISO 4", 1.37, 0, 200, 30, 100, 4e-3, 100e-6, "ISO 2431", zeroCelsius + 23},
	{"ISO 5", 3.28, 0, 220, 30, 100, 5e-3, 100e-6, "ISO 2431", zeroCelsius + 23},
	{"ISO 6", 6.90, 0, 570, 30, 100, 6e-3, 100e-6, "ISO 2431", zeroCelsius + 23},
	{"Ford 1", 0.49, 35.0, 0, 55, 100, 1.90e-3, 100e-6, "ASTM D1200", zeroCelsius + 25},
	{"Ford 2", 1.44, 18.0, 0, 40, 100, 2.53e-3, 100e-6, "ASTM D1200", zeroCelsius + 25},
	{"Ford 3", 2.31, 6.58, 0, 20, 100, 3.40e-3, 100e-6, "ASTM D1200", zeroCelsius + 25},
	{"Ford 4", 3.85, 4.49, 0, 20, 100, 4.12e-3, 100e-6, "ASTM D1200", zeroCelsius + 25},
	{"Ford 5", 12.1, 2.00, 0, 20, 100, 5.20e-3, 100e-6, "ASTM D1200", zeroCelsius + 25},
	{"Zahn 1", 1.1, 29, 0, 35, 80, 2.0e-3, 44e-6, "ASTM D4212", zeroCelsius + 25},
	{"Zahn 2", 3.5, 14, 0, 20, 80, 2.7e-3, 44e-6, "ASTM D4212", zeroCelsius + 25},
	{"Zahn 3", 11.7, 7.5, 0, 20, 80, 3.8e-3, 44e-6, "ASTM D4212", zeroCelsius + 25},
	{"Zahn 4", 14.8, 5, 0, 20, 80, 4.3e-3, 44e-6, "ASTM D4212", zeroCelsius + 25},
	{"Zahn 5", 23, 0, 0, 20, 80, 5.3e-3, 44e-6, "ASTM D4212", zeroCelsius + 25},
}

// CupError says that no cup has the given name.
type CupError struct{ Name string }

// Error lists the cups that exist.
func (e *CupError) Error() string {
	return fmt.Sprintf("fluid: no cup %q, want one of %v", e.Name, Cups())
}

// Cups returns the names of the efflux cups, as "ISO 4".
func Cups() []string {
	names := make([]string, len(cups))
	for i, c := range cups {
		names[i] = c.name
	}
	return names
}

func findCup(name string) (cup, error) {
	for _, c := range cups {
		if c.name == name {
			return c, nil
		}
	}
	return cup{}, &CupError{name}
}

func (c cup) nu(t float64) float64 { return mm2 * (c.a*(t-c.t0) - c.b/t) }

// CupViscosity returns the kinematic viscosity ν [m²/s] of a liquid that runs out of the cup in t seconds.
//
//	ISO 3..6: ν = a·t - b/t      Ford 1..5, Zahn 1..5: ν = a·(t - t0)      ν in mm²/s
//
// Valid for t of 30..100 s (ISO), 20..100 s (Ford 3..5), 55..100 s (Ford 1), 40..100 s (Ford 2), 20..80 s (Zahn 2..5),
// 35..80 s (Zahn 1), for a Newtonian or nearly Newtonian liquid. Errors: *CupError, *num.RangeError.
// Source: ISO 2431; ASTM D1200 (recommended times §11.2); ASTM D4212.
func CupViscosity(name string, t float64) (float64, error) {
	c, err := findCup(name)
	if err != nil {
		return 0, err
	}
	if err := num.CheckRange("fluid.CupViscosity", "t", t, c.lo, c.hi, "s"); err != nil {
		return 0, err
	}
	return c.nu(t), nil
}

// CupTime returns the efflux time [s] of a liquid of kinematic viscosity nu [m²/s]: the inverse of [CupViscosity], with
// its range and errors. It is how to choose a cup.
func CupTime(name string, nu float64) (float64, error) {
	c, err := findCup(name)
	if err != nil {
		return 0, err
	}
	if err := num.CheckRange("fluid.CupTime", "nu", nu, c.nu(c.lo), c.nu(c.hi), "m²/s"); err != nil {
		return 0, err
	}
	// a·t² - (ν + a·t0)·t - b = 0, positive root
	s := nu/mm2 + c.a*c.t0
	return (s + math.Sqrt(s*s+4*c.a*c.b)) / (2 * c.a), nil
}

// CupRate returns the apparent wall shear rate Γ = 4Q/(πr³) [1/s] in the orifice of the cup when it empties in t seconds,
// Q the mean flow. It tells at which shear rate a cup measures. Range and errors as [CupViscosity].
// Source: Poiseuille flow; orifice and volume of the cup from memory.
func CupRate(name string, t float64) (float64, error) {
	c, err := findCup(name)
	if err != nil {
		return 0, err
	}
	if err := num.CheckRange("fluid.CupRate", "t", t, c.lo, c.hi, "s"); err != nil {
		return 0, err
	}
	r := c.orifice / 2
	return 4 * c.volume / t / (math.Pi * r * r * r), nil
}
