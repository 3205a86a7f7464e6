package unit

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// number is one number as it stands in a text.
type number struct {
	text  string  // as written, with its sign and exponent
	val   float64 // as read
	u     float64 // standard uncertainty of the short form 22.740(10), in the same unit
	hasU  bool    // the short form was used
	frac  bool    // written as a fraction
	comma bool    // with a decimal comma beyond doubt
}

// isSpace reports every space that people and word processors write: plain, tab, no-break, thin, narrow, figure.
func isSpace(r rune) bool { return r == ' ' || r == '\t' || unicode.Is(unicode.Zs, r) }

// digits returns the length of the run of digits at the start of s.
func digits(s string) int {
	n := 0
	for n < len(s) && '0' <= s[n] && s[n] <= '9' {
		n++
	}
	return n
}

// scan reads the number at the start of s and returns it with the rest; k is "" or the reason why there is none. With decimal
// set, a doubtful comma is a decimal one.
func scan(s string, decimal bool) (n number, rest string, k Kind) {
	s = strings.TrimLeftFunc(s, isSpace)
	body, sign := s, 1.0
	if strings.HasPrefix(s, "-") {
		sign = -1
	}
	if strings.HasPrefix(s, "-") || strings.HasPrefix(s, "+") {
		body = strings.TrimLeftFunc(s[1:], isSpace)
	}
	if isNonFinite(body) {
		return n, s, NotFinite
	}
	token := numberToken(body)
	if digits(strings.TrimLeft(token, ".,")) == 0 {
		return n, s, NoNumber
	}
	if v, after, ok := fraction(token, body[len(token):]); ok {
		n.val, n.frac, rest = sign*v, true, after
	} else if n, rest, k = decimalNumber(token, body[len(token):], sign, decimal); k != "" {
		return n, s, k
	}
	n.text = strings.TrimRightFunc(s[:len(s)-len(rest)], isSpace)
	return n, rest, ""
}

// decimalNumber reads token as a decimal number, with the exponent and the short uncertainty that may follow in rest.
func decimalNumber(token, rest string, sign float64, decimal bool) (n number, after string, k Kind) {
	exp, after := exponent(rest)
	canon, decimals, sure, ok := decimalText(token, decimal || len(after) != len(rest))
	if !ok {
		return n, rest, BadSeparators
	}
	v, err := strconv.ParseFloat(canon+"e"+strconv.Itoa(exp), 64)
	if err != nil || v == 0 && strings.Trim(canon, "0.") != "" {
		return n, rest, NotFinite
	}
	n = number{val: sign * v, comma: sure}
	if n.u, n.hasU, after, ok = shortU(after, math.Pow10(exp-decimals), math.Pow10(exp)); !ok {
		return n, rest, BadUncertainty
	}
	return n, after, ""
}

// isNonFinite reports the words for numbers that are none: NaN, Inf, infinity, ∞.
func isNonFinite(s string) bool {
	w := strings.ToLower(s)
	if i := strings.IndexFunc(w, func(r rune) bool { return !unicode.IsLetter(r) && r != '∞' }); i >= 0 {
		w = w[:i]
	}
	return w == "nan" || w == "inf" || w == "infinity" || w == "∞"
}

// numberToken returns the longest start of s made of digits, points, commas, and spaces or apostrophes between groups of three.
func numberToken(s string) string {
	i := 0
	for i < len(s) {
		r, size := utf8.DecodeRuneInString(s[i:])
		next := digits(s[i+size:])
		switch {
		case '0' <= r && r <= '9':
		case r == '.':
			if i == 0 && next == 0 {
				return ""
			}
		case r == ',' && next > 0:
		case (isSpace(r) || r == '\'' || r == '’') && groupAt(s[:i], s[i+size:]):
		default:
			return s[:i]
		}
		i += size
	}
	return s[:i]
}

// groupAt reports whether exactly three digits follow a separator and what stands before it can head such a number: one to
// three digits, not 0, no decimal mark.
func groupAt(before, after string) bool {
	head := digits(before)
	return digits(after) == 3 && !strings.HasPrefix(after[3:], "/") &&
		head >= 1 && head <= 3 && before[0] != '0' && !strings.ContainsAny(before, ".,")
}

// decimalText turns a token into the form of strconv: "1.234,5" into "1234.5". It returns the number of decimals, whether the
// token has a decimal comma beyond doubt, and false if the separators fit no way of writing a number.
func decimalText(token string, decimal bool) (canon string, decimals int, sure, ok bool) {
	spaced := strings.ContainsFunc(token, func(r rune) bool { return isSpace(r) || r == '\'' || r == '’' })
	t := strings.Map(func(r rune) rune {
		if isSpace(r) || r == '\'' || r == '’' {
			return -1
		}
		return r
	}, token)
	points, commas := strings.Count(t, "."), strings.Count(t, ",")
	mark := "." // the decimal mark
	switch {
	case commas == 0 && points <= 1:
	case commas > 0 && points > 0 && strings.LastIndex(t, ",") > strings.LastIndex(t, "."):
		mark, sure = ",", true
	case commas > 0 && points > 0:
	case commas == 1:
		if decimal || spaced || !groups(t, ",") {
			mark = ","
			sure = !groups(t, ",")
		}
	case points > 1:
		mark = ","
	}
	other := map[string]string{".": ",", ",": "."}[mark]
	whole, frac, _ := strings.Cut(t, mark)
	if strings.ContainsAny(frac, ".,") || spaced && strings.Contains(whole, other) ||
		strings.Contains(whole, other) && !groups(whole, other) {
		return "", 0, false, false
	}
	whole = strings.ReplaceAll(whole, other, "")
	if whole == "" {
		whole = "0"
	}
	if frac == "" {
		return whole, 0, sure, true
	}
	return whole + "." + frac, len(frac), sure, true
}

// groups reports whether s is a number with thousands separated by sep: one to three digits, not beginning with 0, then groups
// of three.
func groups(s, sep string) bool {
	parts := strings.Split(s, sep)
	if n := len(parts[0]); n < 1 || n > 3 || parts[0][0] == '0' {
		return false
	}
	for _, p := range parts[1:] {
		if len(p) != 3 {
			return false
		}
	}
	return true
}

// superscripts turns raised digits and signs into plain ones.
var superscripts = strings.NewReplacer("⁰", "0", "¹", "1", "²", "2", "³", "3", "⁴", "4", "⁵", "5", "⁶", "6", "⁷", "7", "⁸", "8",
	"⁹", "9", "⁻", "-", "⁺", "+", "−", "-")

// exponent reads "e-3", "E+3", "×10^-3", "·10⁻³", "x 10-3" at the start of s; without one it returns 0 and s.
func exponent(s string) (int, string) {
	if len(s) > 1 && (s[0] == 'e' || s[0] == 'E') {
		if n, size := signed(s[1:]); size > 0 {
			return n, s[1+size:]
		}
		return 0, s
	}
	t := strings.TrimLeftFunc(s, isSpace)
	for _, times := range []string{"×", "·", "⋅", "x", "*"} {
		after, ok := strings.CutPrefix(t, times)
		if !ok {
			continue
		}
		after, ok = strings.CutPrefix(strings.TrimLeftFunc(after, isSpace), "10")
		if !ok {
			continue
		}
		end := strings.IndexFunc(after, func(r rune) bool {
			return !strings.ContainsRune("^+-0123456789⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺−", r)
		})
		if end < 0 {
			end = len(after)
		}
		power := strings.TrimPrefix(superscripts.Replace(after[:end]), "^")
		if n, size := signed(power); size > 0 && size == len(power) {
			return n, after[end:]
		}
	}
	return 0, s
}

// signed reads a whole number with an optional sign and returns it with its length, 0 if there is none. Beyond ±9999 it stays
// there, which is beyond every float64 anyway.
func signed(s string) (n, size int) {
	t := strings.TrimLeft(s, "+-")
	lead := len(s) - len(t)
	d := digits(t)
	if lead > 1 || d == 0 {
		return 0, 0
	}
	for _, c := range t[:d] {
		n = min(n*10+int(c-'0'), 9999)
	}
	if s[0] == '-' {
		n = -n
	}
	return n, lead + d
}

// fraction reads "5/8", "1 1/2" and "1-1/2": token is the whole number before, rest what follows. The denominator is one of
// those that people use for parts of an inch, a gallon or a turn.
func fraction(token, rest string) (v float64, after string, ok bool) {
	whole, err := strconv.Atoi(token)
	if err != nil || len(token) > 6 {
		return 0, rest, false
	}
	if num, den, after, ok := over(token + rest); ok {
		return float64(num) / float64(den), after, true
	}
	part := strings.TrimLeftFunc(rest, isSpace)
	part = strings.TrimPrefix(part, "-")
	if len(part) == len(rest) {
		return 0, rest, false
	}
	num, den, after, ok := over(part)
	if !ok || num >= den {
		return 0, rest, false
	}
	return float64(whole) + float64(num)/float64(den), after, true
}

// over reads "5/8" at the start of s.
func over(s string) (num, den int, after string, ok bool) {
	a := digits(s)
	if a == 0 || a > 4 || a >= len(s) || s[a] != '/' {
		return 0, 0, s, false
	}
	b := digits(s[a+1:])
	if b == 0 || b > 3 {
		return 0, 0, s, false
	}
	num, _ = signed(s[:a])
	den, _ = signed(s[a+1 : a+1+b])
	switch den {
	case 2, 3, 4, 6, 8, 10, 12, 16, 32, 64, 128:
		return num, den, s[a+1+b:], true
	}
	return 0, 0, s, false
}

// shortU reads "(10)" in "22.740(10) mm", in units of the last digit, or "(0.010)", in the unit itself (GUM 7.2.2). ok is false
// if a bracket stands there that holds neither.
func shortU(s string, last, whole float64) (u float64, has bool, rest string, ok bool) {
	if !strings.HasPrefix(s, "(") {
		return 0, false, s, true
	}
	inner, after, closed := strings.Cut(s[1:], ")")
	if !closed {
		return 0, false, s, false
	}
	scale := last
	if strings.ContainsAny(inner, ".,") {
		scale = whole
	}
	v, err := strconv.ParseFloat(strings.Replace(inner, ",", ".", 1), 64)
	if err != nil || strings.Trim(inner, "0123456789.,") != "" || math.IsInf(v*scale, 0) {
		return 0, false, s, false
	}
	return v * scale, true, after, true
}
