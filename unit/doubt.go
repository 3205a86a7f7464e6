package unit

import (
	"regexp"
	"strconv"
)

// threeAfterPoint is a number whose point could part thousands: 2.900 psi is 2900 psi where a comma is the decimal mark.
var threeAfterPoint = regexp.MustCompile(`^\s*([1-9]\d{0,2})\.(\d{3})\s*([^\d±(]*)$`)

// doubtUnits are the units in which pressures with thousands are written, each with the largest value that makes sense; above it the
// point must be decimal. 4000 bar is ten times the pressure of an airless pump.
var doubtUnits = map[string]float64{"bar": 4000, "psi": 58000}

// Doubt returns an *[Error] for a text that [Parse] reads but that a person may have meant otherwise, with what to write instead, else
// nil: a pressure in bar or psi with a point and three digits after it ("2.100 bar"), which is 2.1 bar where the point is decimal and
// 2100 bar where it parts thousands. One with an uncertainty, or too large to be meant with thousands ("231.125 bar"), is not in doubt.
// Parse takes the point for decimal: whoever reads what people type asks for Doubt too.
func Doubt(s string, d Dim) error {
	m := threeAfterPoint.FindStringSubmatch(s)
	if d != Pressure || m == nil {
		return nil
	}
	row, ok := find(m[3], d)
	if !ok {
		return nil
	}
	grouped, err := strconv.ParseFloat(m[1]+m[2], 64)
	if err != nil || grouped > doubtUnits[row.sym] {
		return nil
	}
	decimal, err := strconv.ParseFloat(m[1]+"."+m[2], 64)
	if err != nil {
		return nil
	}
	plain := short(decimal)
	if threeAfterPoint.MatchString(plain) {
		plain += "0"
	}
	return fail(BadSeparators, d, "write "+join(plain, row.sym)+" or "+join(m[1]+m[2], row.sym), "%s may mean %s or %s", quote(s), plain, m[1]+m[2])
}
