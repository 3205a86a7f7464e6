package unit

import (
	"math"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxRunes is the longest text that Parse reads.
const maxRunes = 64

// spelled replaces characters for which one plain form is enough everywhere in a quantity.
var spelled = strings.NewReplacer("½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8",
	"⁄", "/", "−", "-", "+/-", "±", "+-", "±", "＋", "+", "．", ".", "，", ",")

// Parse reads one quantity of the kind d as people write it: "2,380 psi", "52 N·m", "38 ft-lb", "5/8 in", "1 1/2 in", "0,787 in",
// "1 min 20 s", "1:20" (min:s, only for a [Time]), "22.74 ± 0.01 mm", "3000 psi ± 1 %", "22.740(10) mm", "(22.74 ± 0.02) mm (k=2)".
//
// A number without a unit is an error, except for a [Ratio], whose unit 1 is never written. The package comment says how commas
// are read and what ± means. On success SI and U are finite and U ≥ 0. The error is an *[Error].
func Parse(s string, d Dim) (Value, error) {
	if d == 0 || d >= dimEnd {
		return Value{}, noSuchDim()
	}
	text, err := clean(s, d)
	if err != nil {
		return Value{}, err
	}
	text, k, err := cutCoverage(text, d)
	if err != nil {
		return Value{}, err
	}
	left, right, hasU := cutPlusMinus(text)
	p := parser{in: text, d: d, decimal: hasDecimalComma(left) || hasDecimalComma(right)}
	if !hasU {
		right = ""
	}
	if m := threeAfterComma.FindStringSubmatch(left); d == Length && !p.decimal && m != nil {
		return Value{}, fail(BadSeparators, d, "write "+m[1]+"."+m[2]+" or "+m[1]+m[2], "%s may mean thousands or decimals", quote(s))
	}
	v, err := p.value(left, right, hasU)
	if err != nil {
		return Value{}, err
	}
	v.U /= k
	if k != 1 && !v.HasU {
		return Value{}, fail(BadUncertainty, d, "write e.g. 22.74 ± 0.02 mm (k=2), or leave k out", "%s has k but no uncertainty", quote(s))
	}
	return v, nil
}

// threeAfterComma is a number whose comma could be either mark. For a length it is refused: at a bench 22,740 mm is a
// micrometer reading as often as it is not, and the two differ by a factor of a thousand.
var threeAfterComma = regexp.MustCompile(`^\s*[+-]?([1-9]\d{0,2}),(\d{3})(?:[^\d.,eE].*)?$`)

// clean checks length and characters and trims.
func clean(s string, d Dim) (string, error) {
	if !utf8.ValidString(s) {
		return "", fail(BadText, d, example("", 0, d), "the text is no valid UTF-8")
	}
	if n := utf8.RuneCountInString(s); n > maxRunes {
		return "", fail(TooLong, d, "write one number and its unit, at most 64 characters", "%s has %d characters", quote(s), n)
	}
	t := strings.TrimFunc(strings.TrimPrefix(s, "\ufeff"), func(r rune) bool { return isSpace(r) || r == '\n' || r == '\r' })
	if strings.ContainsFunc(t, func(r rune) bool { return r != '\t' && (unicode.IsControl(r) || unicode.Is(unicode.Cf, r)) }) {
		return "", fail(BadText, d, "write one number and its unit in one line", "%s holds control characters", quote(t))
	}
	t = strings.TrimFunc(spelled.Replace(t), isSpace)
	if t == "" {
		return "", fail(NoNumber, d, example("", 0, d), "nothing is written")
	}
	return t, nil
}

// cutCoverage takes "(k=2)" off the end and returns k, 1 if there is none.
func cutCoverage(s string, d Dim) (string, float64, error) {
	open := strings.LastIndexByte(s, '(')
	if open < 0 || !strings.HasSuffix(s, ")") {
		return s, 1, nil
	}
	inner := strings.Map(func(r rune) rune {
		if isSpace(r) {
			return -1
		}
		return r
	}, s[open+1:len(s)-1])
	num, ok := strings.CutPrefix(strings.ToLower(inner), "k=")
	if !ok {
		return s, 1, nil
	}
	n, rest, bad := scan(num, true)
	if bad != "" || rest != "" || n.val < 1 || n.val > 10 {
		return s, 1, fail(BadUncertainty, d, "write k as a number from 1 to 10, e.g. (k=2)", "%s has the coverage factor %s", quote(s), quote(num))
	}
	return strings.TrimRightFunc(s[:open], isSpace), n.val, nil
}

// cutPlusMinus cuts at ±. "(a ± b) unit" becomes "a" and "b unit".
func cutPlusMinus(s string) (left, right string, ok bool) {
	left, right, ok = strings.Cut(s, "±")
	if ok && strings.HasPrefix(left, "(") && strings.Count(right, ")") >= 1 && !strings.Contains(left, ")") {
		left, right = left[1:], strings.Replace(right, ")", " ", 1)
	}
	return left, right, ok
}

// hasDecimalComma reports whether the first number in s has a decimal comma beyond doubt.
func hasDecimalComma(s string) bool {
	n, _, k := scan(s, false)
	return k == "" && n.comma
}

// parser reads one quantity.
type parser struct {
	in      string
	d       Dim
	decimal bool // a doubtful comma is decimal
}

// value reads left ± right.
func (p parser) value(left, right string, hasU bool) (Value, error) {
	var un number
	var uUnit string
	if hasU {
		n, rest, k := scan(right, p.decimal)
		if k != "" || n.hasU || n.val < 0 || strings.Contains(rest, "±") {
			return Value{}, p.badU(right)
		}
		un, uUnit = n, strings.TrimFunc(rest, isSpace)
	}
	borrow := uUnit
	if p.isPercent(uUnit) {
		borrow = ""
	}
	v, n, err := p.quantity(left, borrow)
	if err != nil || !hasU && !n.hasU {
		return v, err
	}
	switch {
	case hasU && n.hasU:
		return Value{}, p.badU(right)
	case n.hasU:
		un, uUnit = number{val: n.u}, v.Unit
	case uUnit == "":
		uUnit = v.Unit
	}
	return p.withU(v, un, uUnit)
}

// isPercent reports whether the unit u after ± makes the uncertainty a relative one.
func (p parser) isPercent(u string) bool {
	if p.d == Ratio {
		return false
	}
	row, ok := find(u, Ratio)
	return ok && u != "" && row.sym == "%"
}

// withU adds the standard uncertainty n of unit u to v.
func (p parser) withU(v Value, n number, u string) (Value, error) {
	v.HasU = true
	if p.isPercent(u) {
		if p.d == Temperature {
			return Value{}, p.badU(n.text + " " + u)
		}
		v.U = math.Abs(v.SI) * n.val / 100
	} else {
		d := p.d
		if d == Temperature {
			d = TempDiff
		}
		row, err := p.row(u, d, n)
		if err != nil {
			return Value{}, err
		}
		v.U = row.toSI(n.val)
	}
	if math.IsInf(v.U, 0) || math.IsNaN(v.U) {
		return Value{}, p.fail(NotFinite, example("", 0, p.d), "the uncertainty in %s is beyond every number", quote(p.in))
	}
	return v, nil
}

// quantity reads one number (or a clock time, or "1 min 20 s") with its unit. borrow is the unit to take if none is written.
func (p parser) quantity(s, borrow string) (Value, number, error) {
	s = strings.TrimFunc(s, isSpace)
	if p.d == Time && strings.Contains(s, ":") {
		v, err := p.clock(s, borrow)
		return v, number{}, err
	}
	n, rest, k := scan(s, p.decimal)
	if k != "" {
		return Value{}, n, p.noNumber(k, s)
	}
	u := strings.TrimFunc(rest, isSpace)
	if u == "" {
		u = borrow
	}
	if p.d == Time || p.d == Length {
		if _, known := find(u, p.d); !known && strings.ContainsAny(u, "0123456789") {
			if v, ok := p.compound(s); ok {
				return v, number{}, nil
			}
		}
	}
	row, err := p.row(u, p.d, n)
	if err != nil {
		return Value{}, n, err
	}
	if n.frac && !row.frac {
		return Value{}, n, p.fail(SeveralNumbers, "write one decimal number, e.g. "+join(short(n.val), row.sym),
			"%s holds two numbers with a stroke between them", quote(p.in))
	}
	v := Value{SI: row.toSI(n.val) + 0, Dim: p.d, Unit: row.sym} // + 0 takes the sign off a zero
	if math.IsInf(v.SI, 0) || math.IsNaN(v.SI) || v.SI == 0 && n.val != 0 && row.off == 0 {
		return Value{}, n, p.noNumber(NotFinite, s)
	}
	if p.d == Temperature && v.SI < 0 {
		return Value{}, n, belowZero(p.in)
	}
	return v, n, nil
}

// row finds the unit u of the number n.
func (p parser) row(u string, d Dim, n number) (*def, error) {
	if u == "" {
		if d == Ratio {
			u = "1"
		} else {
			return nil, p.fail(NoUnit, p.withUnit(n), "%s has no unit", quote(p.in))
		}
	}
	if row, ok := find(u, d); ok {
		return row, nil
	}
	if _, other := dimOf(u, d); !other && secondNumber(u) {
		fix := "write one of them with its unit"
		if d == Time {
			fix = "write one of them with its unit, or 1 min 20 s"
		}
		return nil, p.fail(SeveralNumbers, fix, "%s holds several numbers", quote(p.in))
	}
	row, err := resolve(u, d, n.text, n.val)
	if e, ok := err.(*Error); ok && d != p.d {
		e.Want = p.d.article() + " is needed"
	}
	return row, err
}

// withUnit is the advice for a number without a unit; a fraction is taken for inches.
func (p parser) withUnit(n number) string {
	if n.frac && p.d == Length {
		return "write e.g. " + join(n.text, "in") + " or " + join(plain(n.val*inch*1e3, 3), "mm")
	}
	return example(n.text, n.val, p.d)
}

// secondNumber reports whether what should be a unit holds a further number: digits at the start or after a space or a sign.
func secondNumber(u string) bool {
	before := ' '
	for _, r := range u {
		if '0' <= r && r <= '9' && (isSpace(before) || strings.ContainsRune("-–—~;,:/(+", before)) {
			return true
		}
		before = r
	}
	return false
}

func (p parser) fail(k Kind, fix, format string, args ...any) error {
	return fail(k, p.d, fix, format, args...)
}

// badU is the error of an uncertainty that cannot be read.
func (p parser) badU(right string) error {
	fix := "write e.g. 22.74 ± 0.01 mm, with one positive number after ±"
	if p.d == Temperature {
		fix = "write e.g. 21 ± 0.5 °C"
	}
	return p.fail(BadUncertainty, fix, "%s cannot stand after ± in %s", quote(strings.TrimSpace(right)), quote(p.in))
}

// noNumber is the error of a text at whose start no number can be read.
func (p parser) noNumber(k Kind, s string) error {
	switch k {
	case NotFinite:
		return p.fail(k, example("", 0, p.d), "%s is no finite number of usable size", quote(s))
	case BadSeparators:
		return p.fail(k, "write 1234.5, 1,234.5 or 1.234,5", "%s mixes points and commas", quote(s))
	case BadUncertainty:
		return p.fail(k, "write e.g. 22.740(10) mm or 22.740 ± 0.010 mm", "%s has a bracket that is no uncertainty", quote(s))
	}
	return p.fail(NoNumber, example("", 0, p.d), "%s has no number", quote(s))
}
