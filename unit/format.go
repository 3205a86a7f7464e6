package unit

import (
	"math"
	"strconv"
	"strings"
)

// group stands between groups of three digits in numbers of five digits and more before the decimal mark. It is the no-break
// space: in every font, never wrapped, and no decimal mark anywhere.
const group = "\u00a0"

// Sizes outside [everydayMin, everydayMax) are printed with an exponent.
const (
	everydayMin = 1e-4
	everydayMax = 1e9
)

// noValue is printed for a number that does not exist (NaN, infinite).
const noValue = "no value"

// Format prints the SI value si of the kind d in the unit u with the given number of significant digits (held to 1…15):
// "2380 psi", "12 500 psi" (no-break space from five digits on), "0.000500 in", "2.00 N·m", "45.0°". Zeros at the end stand
// only as far as digits demand. Between 0.0001 and 1e9 there is no exponent. Zero has no sign. If u is no unit of d the value
// is printed in SI with the SI symbol. NaN and infinities print as "no value". Parse reads the result back.
func Format(si float64, d Dim, u string, digits int) string {
	x, sym := inUnit(si, d, u)
	return join(plain(x, digits), sym)
}

// formatShort is Format with at most six digits and no zeros at the end.
func formatShort(si float64, d Dim, u string) string {
	x, sym := inUnit(si, d, u)
	return join(short(x), sym)
}

// short prints x with at most six significant digits and no zeros at the end.
func short(x float64) string {
	n := plain(x, 6)
	if strings.Contains(n, ".") && !strings.Contains(n, "e") {
		n = strings.TrimRight(strings.TrimRight(n, "0"), ".")
	}
	return n
}

// inUnit returns si in the unit u, or unchanged with the SI symbol if u is no unit of d.
func inUnit(si float64, d Dim, u string) (float64, string) {
	row, ok := find(u, d)
	if !ok {
		return si, d.SI()
	}
	return row.fromSI(si), row.sym
}

// join puts number and symbol together: a space between, none before the degree of angle, no symbol for the unit one.
func join(num, sym string) string {
	switch {
	case num == "" || num == noValue:
		return strings.TrimSpace(num + " " + sym)
	case sym == "" || sym == "1":
		return num
	case sym == "°":
		return num + sym
	}
	return num + " " + sym
}

// plain prints x with digits significant digits.
func plain(x float64, digits int) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return noValue
	}
	if x == 0 {
		return "0"
	}
	digits = max(1, min(digits, 15))
	e := strconv.FormatFloat(x, 'e', digits-1, 64)
	mantissa, exp, _ := strings.Cut(e, "e")
	n, err := strconv.Atoi(exp)
	if err != nil { // FormatFloat always writes an exponent
		return noValue
	}
	if a := math.Abs(x); a < everydayMin || a >= everydayMax {
		return mantissa + "e" + strconv.Itoa(n)
	}
	y, err := strconv.ParseFloat(e, 64)
	if err != nil {
		return noValue
	}
	return grouped(strconv.FormatFloat(y, 'f', max(0, digits-1-n), 64))
}

// grouped puts the no-break space into numbers of five and more digits before the decimal mark, and drops the sign of zero.
func grouped(s string) string {
	sign := ""
	if strings.HasPrefix(s, "-") {
		sign, s = "-", s[1:]
	}
	whole, rest, _ := strings.Cut(s, ".")
	if rest != "" {
		rest = "." + rest
	}
	if strings.Trim(whole+rest, "0.") == "" {
		sign = ""
	}
	if len(whole) < 5 {
		return sign + whole + rest
	}
	var b strings.Builder
	for i, c := range whole {
		if i > 0 && (len(whole)-i)%3 == 0 {
			b.WriteString(group)
		}
		b.WriteRune(c)
	}
	return sign + b.String() + rest
}

// FormatU prints si with its standard uncertainty u (both SI): u to two significant digits, the value to the same decimal
// place (GUM, JCGM 100:2008, 7.2.6): "22.740 ± 0.010 mm". If u is not positive and finite the value stands alone with six
// digits at most. Unit, grouping and "no value" as in [Format].
func FormatU(si, u float64, d Dim, unit string) string {
	x, sym := inUnit(si, d, unit)
	if math.IsNaN(x) || math.IsInf(x, 0) || !(u > 0) || math.IsInf(u, 0) {
		return formatShort(si, d, unit)
	}
	w := u
	if row, ok := find(unit, d); ok {
		w = u * row.den / row.num
	}
	if !(w > 0) || math.IsInf(w, 0) {
		return formatShort(si, d, unit)
	}
	a := max(math.Abs(x), w)
	if w < a*1e-13 || a < 1e-290 || a > 1e290 { // no common decimal place within the digits of a float64
		return join(plain(x, 15)+" ± "+plain(w, 2), sym)
	}
	scale, exp := 0, ""
	if a < everydayMin || a >= everydayMax {
		scale = int(math.Floor(math.Log10(a)))
		exp = "e" + strconv.Itoa(scale)
	}
	place := twoDigits(w) - scale // decimal place of the last digit kept
	return join(rounded(x, scale, place)+exp+" ± "+rounded(w, scale, place)+exp, sym)
}

// twoDigits returns the power of ten of the second significant digit of w after rounding to two digits.
func twoDigits(w float64) int {
	_, exp, _ := strings.Cut(strconv.FormatFloat(w, 'e', 1, 64), "e")
	n, err := strconv.Atoi(exp)
	if err != nil { // FormatFloat always writes an exponent
		return 0
	}
	return n - 1
}

// rounded prints x/10^scale rounded to the decimal place 10^place.
func rounded(x float64, scale, place int) string {
	x /= math.Pow10(scale)
	if place < 0 {
		return grouped(strconv.FormatFloat(x, 'f', -place, 64))
	}
	p := math.Pow10(place)
	return grouped(strconv.FormatFloat(math.RoundToEven(x/p)*p, 'f', 0, 64))
}
