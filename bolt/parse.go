package bolt

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

const inch = 0.0254 // m, exact

// ParseError says why a designation (a thread, a class) could not be read.
type ParseError struct {
	What string // what was to be read, as "thread" or "tool class"
	Text string // what was given
	Want string // what would be accepted
}

// Error gives the complaint on one line.
func (e *ParseError) Error() string { return fmt.Sprintf("%s %q: want %s", e.What, e.Text, e.Want) }

// forms lists what ParseThread reads, for its error.
const forms = `a form such as "M12", "M24x2", "3/4-16 UNF", "1 1/4-12", "#10-32" or "5/8 UNC"`

// coarse lists the ISO 261 coarse pitches [mm] by nominal diameter [mm]. M6 to M36 agree with ISO 724 rows in the
// reference cases; the others are from memory of ISO 261.
var coarse = map[float64]float64{
	1.6: 0.35, 2: 0.4, 2.5: 0.45, 3: 0.5, 3.5: 0.6, 4: 0.7, 5: 0.8, 6: 1, 7: 1, 8: 1.25, 10: 1.5, 12: 1.75, 14: 2, 16: 2,
	18: 2.5, 20: 2.5, 22: 2.5, 24: 3, 27: 3, 30: 3.5, 33: 3.5, 36: 4, 39: 4, 42: 4.5, 45: 4.5, 48: 5, 52: 5, 56: 5.5, 60: 5.5, 64: 6,
}

// series lists threads per inch by nominal size: UNC, UNF; 0 where the series has none. 3/8 to 1 1/2 agree with ASME B1.1
// rows in the reference cases; the others are from memory of ASME B1.1.
var series = map[string][2]float64{
	"#0": {0, 80}, "#1": {64, 72}, "#2": {56, 64}, "#3": {48, 56}, "#4": {40, 48}, "#5": {40, 44}, "#6": {32, 40}, "#8": {32, 36},
	"#10": {24, 32}, "#12": {24, 28}, "1/4": {20, 28}, "5/16": {18, 24}, "3/8": {16, 24}, "7/16": {14, 20}, "1/2": {13, 20},
	"9/16": {12, 18}, "5/8": {11, 18}, "3/4": {10, 16}, "7/8": {9, 14}, "1": {8, 12}, "1 1/8": {7, 12}, "1 1/4": {7, 12},
	"1 3/8": {6, 12}, "1 1/2": {6, 12}, "1 3/4": {5, 0}, "2": {4.5, 0},
}

var (
	metricForm = regexp.MustCompile(`^M(\d{1,3}(?:\.\d{1,3})?)(?:X(\d{1,2}(?:\.\d{1,3})?))?(?:-\d[GH](?:\d[GH])?)?$`)
	inchForm   = regexp.MustCompile(`^(#\d{1,2}|(?:[1-6][ -])?\d{1,2}/\d{1,2}|[1-6]|\d?\.\d{1,4})(?:-(\d{1,2}(?:\.\d)?))?(?: ?-?(UNC|UNF|UNEF|UNS|UN))?(?:-[123][AB])?$`)
)

// ParseThread reads an ISO metric designation ("M12", the coarse pitch; "M24x2"; "M12×1.75-6g") or a unified one
// ("3/4-16 UNF", "1-12", "1 1/4-12", "#10-32", "5/8 UNC", a tolerance class such as "-2A" after it). Tolerance classes do not
// change the basic size and are dropped. "x", "X" and "×", decimal point and comma, spaces around them are all accepted.
//
// Not read, and refused: multi-start, left-hand (the torque is the same: drop the mark), pipe, trapezoidal threads.
// Errors: *ParseError when the text has none of these forms, when a metric diameter without pitch has no coarse pitch, when
// threads per inch contradict the series named, or when the pitch does not fit the diameter (d/P outside 3.5..80).
//
// Source: ISO 261, ISO 965-1 (designation), ASME B1.1.
func ParseThread(text string) (Thread, error) {
	s := strings.ToUpper(strings.TrimSpace(text))
	s = strings.NewReplacer("×", "X", ",", ".", "–", "-", "\"", "", "\u00a0", " ").Replace(s)
	s = strings.Join(strings.Fields(s), " ")
	if m := metricForm.FindStringSubmatch(strings.ReplaceAll(s, " ", "")); m != nil {
		return metric(text, m[1], m[2])
	}
	if m := inchForm.FindStringSubmatch(s); m != nil {
		return unified(text, m[1], m[2], m[3])
	}
	return Thread{}, &ParseError{"thread", text, forms}
}

func metric(text, size, pitch string) (Thread, error) {
	d, _ := strconv.ParseFloat(size, 64) // the form admits digits and one point only
	p := coarse[d]
	if pitch != "" {
		p, _ = strconv.ParseFloat(pitch, 64)
	} else if p == 0 {
		return Thread{}, &ParseError{"thread", text, "a pitch as well, as M24x2: this diameter has no ISO 261 coarse pitch"}
	}
	name := "M" + number(d) + "×" + number(p)
	return sized(text, Thread{name, Metric, d / 1000, p / 1000})
}

func unified(text, size, threads, kind string) (Thread, error) {
	size, d, ok := inches(size)
	if !ok {
		return Thread{}, &ParseError{"thread", text, forms}
	}
	row := series[size]
	tpi, _ := strconv.ParseFloat(threads, 64)
	standard := map[string]float64{"UNC": row[0], "UNF": row[1]}[kind]
	switch {
	case threads == "" && standard == 0:
		return Thread{}, &ParseError{"thread", text, "the threads per inch as well, as 3/4-16"}
	case threads == "":
		tpi = standard
	case (kind == "UNC" || kind == "UNF") && tpi != standard:
		return Thread{}, &ParseError{"thread", text, fmt.Sprintf("threads per inch of the series %s (ASME B1.1 has %s)", kind, number(standard))}
	}
	if kind == "" && tpi == row[0] && tpi > 0 {
		kind = "UNC"
	} else if kind == "" && tpi == row[1] && tpi > 0 {
		kind = "UNF"
	}
	name := size + "-" + number(tpi)
	if kind != "" {
		name += " " + kind
	}
	return sized(text, Thread{name, Unified, d * inch, inch / tpi})
}

// inches reads a size in inches and returns its normal form: number sizes (#n is 0.060 + 0.013·n in), fractions, decimals.
func inches(s string) (string, float64, bool) {
	if n, ok := strings.CutPrefix(s, "#"); ok {
		k, _ := strconv.Atoi(n)
		_, known := series[s]
		return s, 0.060 + 0.013*float64(k), known
	}
	top, bottom, ok := strings.Cut(s, "/")
	if !ok {
		d, _ := strconv.ParseFloat(s, 64)
		for name := range series {
			if _, v, _ := fraction(name); v == d {
				return name, d, true
			}
		}
		return s, d, d > 0
	}
	return fraction(top + "/" + bottom)
}

// fraction reads "3/4", "1 1/4", "1-1/4" or "2".
func fraction(s string) (string, float64, bool) {
	if strings.HasPrefix(s, "#") {
		return s, 0, false
	}
	whole, rest, mixed := strings.Cut(strings.ReplaceAll(s, "-", " "), " ")
	if !mixed {
		whole, rest = "", whole
	}
	w, _ := strconv.ParseFloat(whole, 64)
	top, bottom, isFraction := strings.Cut(rest, "/")
	t, _ := strconv.ParseFloat(top, 64)
	if !isFraction {
		return rest, t, t > 0
	}
	b, _ := strconv.ParseFloat(bottom, 64)
	if b == 0 || t == 0 || t >= b {
		return s, 0, false
	}
	return strings.TrimSpace(whole + " " + rest), w + t/b, true
}

func sized(text string, t Thread) (Thread, error) {
	if !(t.P > 0) || math.IsInf(t.P, 0) || t.D/t.P < 3.5 || t.D/t.P > 80 {
		return Thread{}, &ParseError{"thread", text, "a pitch that fits the diameter (diameter/pitch from 3.5 to 80)"}
	}
	return t, nil
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
