package seal

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/num"
)

const inch = 0.0254 // m, exact

//go:embed as568.csv
var as568 string

// ORing is one size of SAE AS568 with its tolerances [m].
type ORing struct {
	Dash               string // dash number, "214"
	ID, IDTol          float64
	Section, SectTol   float64
	ISOInside, ISOTolA float64 // m, ISO 3601-1:2012 inside diameter and class A tolerance of the same size
	Boss               bool    // a tube-fitting size (900 series)
	Note               string  // where the sources differ
}

// ORings returns all 369 sizes in the order of the dash numbers. The error of a damaged table names its row.
func ORings() ([]ORing, error) {
	r := csv.NewReader(strings.NewReader(as568))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		return nil, fmt.Errorf("seal: AS568 table: %w", err)
	}
	var all []ORing
	for _, f := range rows[1:] {
		var v [7]float64
		for i, col := range []int{1, 2, 3, 4, 9, 10} {
			if f[col] == "" {
				continue // boss sizes have no ISO 3601-1 row
			}
			if v[i], err = strconv.ParseFloat(f[col], 64); err != nil {
				return nil, fmt.Errorf("seal: AS568 table, row %s: %w", f[0], err)
			}
		}
		all = append(all, ORing{
			Dash: f[0], ID: v[0] * inch, IDTol: v[1] * inch, Section: v[2] * inch, SectTol: v[3] * inch,
			ISOInside: v[4] / 1000, ISOTolA: v[5] / 1000, Boss: f[11] == "boss", Note: f[12],
		})
	}
	return all, nil
}

// Dash returns the size with that dash number, as "214", "-214", "AS568-214" or "14" for 014. A number that the standard
// does not have is a *NameError.
func Dash(number string) (ORing, error) {
	n := strings.ToUpper(strings.TrimSpace(number))
	n = strings.TrimLeft(strings.TrimPrefix(n, "AS568"), " -")
	if len(n) > 0 && len(n) < 3 {
		n = strings.Repeat("0", 3-len(n)) + n
	}
	all, err := ORings()
	if err != nil {
		return ORing{}, err
	}
	for _, o := range all {
		if o.Dash == n {
			return o, nil
		}
	}
	return ORing{}, &NameError{"O-ring dash number", number, "001–050, 102–178, 201–284, 309–395, 425–475 or 901–932 of AS568"}
}

// ClassBTolerance returns the tolerance ± [m] of the inside diameter d1 [m] of an O-ring of class B:
//
//	t = 0.009·d1^0.95 + 0.11     in mm
//
// for 0.7 to 700 mm. Source: ISO 3601-1:2012, eq A.1.
func ClassBTolerance(inside float64) (float64, error) {
	if err := num.CheckRange("seal.ClassBTolerance", "d1", inside, 0.7e-3, 0.7, "m"); err != nil {
		return 0, err
	}
	return (0.009*math.Pow(inside*1000, 0.95) + 0.11) / 1000, nil
}

// Squeeze returns (c−t)/c, by how much a groove of depth t [m] flattens a section c [m]: c > 0, 0 < t. Negative: the ring
// does not touch. The depth is from the bottom of the groove to the opposite wall, clearance in it.
// Source: seal design guides; Mechanical Engineers' Handbook, vol. 3: at most 30 % static, 16 % moving.
func Squeeze(section, depth float64) (float64, error) {
	fn := "seal.Squeeze"
	if err := first(num.CheckPositive(fn, "c", section, "m"), num.CheckPositive(fn, "t", depth, "m")); err != nil {
		return 0, err
	}
	return (section - depth) / section, nil
}

// Fill returns the share of a groove's section that the ring takes, (π/4·c²)/(w·t): section c, width w, depth t [m], all > 0.
// Above 1 the ring does not fit. Source: O-ring design guides: 60 to 85 %, never above 90 % at the worst tolerances.
func Fill(section, width, depth float64) (float64, error) {
	fn := "seal.Fill"
	if err := first(
		num.CheckPositive(fn, "c", section, "m"), num.CheckPositive(fn, "w", width, "m"), num.CheckPositive(fn, "t", depth, "m"),
	); err != nil {
		return 0, err
	}
	return math.Pi / 4 * section * section / (width * depth), nil
}

// Stretch returns (D−d1)/d1 of a ring with the inside diameter d1 on the diameter D [m], both > 0. Negative: it is
// compressed around its circumference. Source: O-ring design guides: at most 5 to 6 %, compression at most 1 to 3 %.
func Stretch(inside, on float64) (float64, error) {
	fn := "seal.Stretch"
	if err := first(num.CheckPositive(fn, "d1", inside, "m"), num.CheckPositive(fn, "D", on, "m")); err != nil {
		return 0, err
	}
	return (on - inside) / inside, nil
}

// StretchedSection returns the section c′ [m] of a ring (inside d1, section c) sitting on the diameter D [m], its volume kept:
//
//	c′²·(D + c′) = c²·(d1 + c)
//
// d1, c, D > 0, stretch from −0.2 to 1. Often shortened to c·√(d1/D). Volume of a torus.
func StretchedSection(inside, section, on float64) (float64, error) {
	fn := "seal.StretchedSection"
	if err := first(
		num.CheckPositive(fn, "d1", inside, "m"), num.CheckPositive(fn, "c", section, "m"),
		num.CheckPositive(fn, "D", on, "m"), num.CheckRange(fn, "stretch", on/inside-1, -0.2, 1, "1"),
	); err != nil {
		return 0, err
	}
	volume := section * section * (inside + section)
	return num.Newton(func(x float64) (float64, float64) {
		return x*x*(on+x) - volume, x * (2*on + 3*x)
	}, section/2, 1.5*section, 1e-15*section)
}

// Extrusion limits: largest diametral clearance [in] by hardness and pressure band [psi], from a design guide's table.
var (
	extrusionBands = []float64{500, 1000, 1500, 2000, 3000}
	extrusion70    = []float64{0.016, 0.010, 0.006, 0.004, 0.002}
	extrusion90    = []float64{0.028, 0.024, 0.020, 0.016, 0.010}
)

const (
	psi          = 6894.757293168 // Pa, lbf/in² from exact definitions
	extrusionTop = 3000 * psi     // where the table ends
)

// ExtrusionGap returns the largest diametral clearance [m] into which an O-ring of hardness Shore A does not extrude at the
// pressure p [Pa], without back-up ring. The table has rows for 70 and 90 Shore A (a hardness between takes the softer row)
// and ends at 3000 psi (20.7 MPa); a pressure on the edge of two bands takes the narrower gap.
// Errors: *num.RangeError for a hardness outside 70..100 or a pressure outside 0..3000 psi.
// Source: O-ring design guide, extrusion limits. Above 1500 psi a back-up ring is advised.
func ExtrusionGap(shore, pressure float64) (float64, error) {
	fn := "seal.ExtrusionGap"
	if err := first(
		num.CheckRange(fn, "Shore A", shore, 70, 100, "1"), num.CheckRange(fn, "p", pressure, 0, extrusionTop, "Pa"),
	); err != nil {
		return 0, err
	}
	row := extrusion70
	if shore >= 90 {
		row = extrusion90
	}
	for i, top := range extrusionBands {
		if pressure < top*psi {
			return row[i] * inch, nil
		}
	}
	return row[len(row)-1] * inch, nil
}
