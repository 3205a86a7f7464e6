package unit

import (
	"math"
	"strings"
)

// clock reads "1:20" and "1:20 min" as min:s, "1:20 h" as h:min, "1:02:03" as h:min:s. Every part after the first is below 60
// and has two digits; the last may have decimals.
func (p parser) clock(s, borrow string) (Value, error) {
	bad := p.fail(NoNumber, "write 1:20 for 1 min 20 s, or 80 s", "%s is no time of the form min:s", quote(p.in))
	i := strings.LastIndexByte(s, ':')
	end := i + 1
	for end < len(s) && (digits(s[end:end+1]) == 1 || s[end] == '.' || s[end] == ',') {
		end++
	}
	u := strings.TrimFunc(s[end:], isSpace)
	if u == "" {
		u = borrow
	}
	parts := strings.Split(s[:end], ":")
	unit := 60.0 // of the first part, in s
	row, known := find(u, Time)
	switch {
	case len(parts) == 3 && (u == "" || known && row.sym == "h"):
		unit = 3600
	case len(parts) == 2 && known && row.sym == "h":
		unit = 3600
	case len(parts) == 2 && (u == "" || known && (row.sym == "min" || u == borrow)):
	default:
		return Value{}, bad
	}
	total := 0.0
	for i, part := range parts {
		n, rest, k := scan(part, true)
		last := i == len(parts)-1
		whole := digits(part)
		if k != "" || rest != "" || n.frac || n.hasU || whole == 0 || !last && whole != len(part) || i > 0 && (whole != 2 || n.val >= 60) {
			return Value{}, bad
		}
		total += n.val * unit
		unit /= 60
	}
	return Value{SI: total, Dim: Time, Unit: "s"}, nil
}

// compound reads several numbers of descending units that make one quantity: "1 min 20 s", "1 h 5 min", "5 ft 2 in". ok is
// false if s is no such chain. Only the last number may have decimals, and each is smaller than one of the unit before.
func (p parser) compound(s string) (v Value, ok bool) {
	rest, before := s, (*def)(nil)
	total, sign := 0.0, 1.0
	for rest != "" {
		n, after, k := scan(rest, p.decimal)
		if k != "" || n.hasU {
			return v, false
		}
		end := strings.IndexAny(after, "0123456789")
		if end < 0 {
			end = len(after)
		}
		row, found := find(strings.TrimFunc(after[:end], func(r rune) bool { return isSpace(r) || r == ',' }), p.d)
		rest = after[end:]
		if !found || !chained(before, row, n, p.d) || rest != "" && n.val != math.Trunc(n.val) {
			return v, false
		}
		if n.val < 0 {
			sign = -1
		}
		total += row.toSI(math.Abs(n.val))
		before = row
	}
	return Value{SI: sign*total + 0, Dim: p.d, Unit: before.sym}, true
}

// chained reports whether n of the unit row may follow a number of the unit before: "20 s" after "1 min".
func chained(before, row *def, n number, d Dim) bool {
	if d == Length && row.sym != "ft" && row.sym != "in" {
		return false
	}
	if before == nil {
		return true
	}
	return !strings.HasPrefix(n.text, "-") && !strings.HasPrefix(n.text, "+") && n.val*row.num/row.den < before.num/before.den
}
