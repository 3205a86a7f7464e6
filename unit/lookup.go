package unit

import "strings"

// spelling is one accepted way to write a unit.
type spelling struct {
	key string
	def *def
}

// spellings maps every accepted way to write a unit to its row, one map a Dim; folded does so without capitals; written lists
// them in the order of the table.
var spellings, folded, written = index()

func index() (exact, fold [dimEnd]map[string]*def, list [dimEnd][]spelling) {
	for d := range table {
		exact[d], fold[d] = map[string]*def{}, map[string]*def{}
		for i := range table[d] {
			u := &table[d][i]
			for _, k := range u.keys() {
				exact[d][k] = u
				if !u.exact {
					fold[d][strings.ToLower(k)] = u
				}
				list[d] = append(list[d], spelling{strings.ToLower(k), u})
			}
		}
	}
	return exact, fold, list
}

// keys returns the lookup forms of all spellings of u, the symbol first, with and without the optional separators.
func (u *def) keys() []string {
	all := []string{key(u.sym)}
	for _, name := range strings.Split(u.names, "|") {
		if name != "" {
			all = append(all, key(strings.ReplaceAll(name, "_", "·")), key(strings.ReplaceAll(name, "_", "")))
		}
	}
	return all
}

// runeKey is the plain form of characters that are written in several ways; an empty string drops the character, "·" is a
// separator.
var runeKey = map[rune]string{
	'µ': "u", 'μ': "u", 'º': "°", '˚': "°", '℃': "°C", '℉': "°F",
	'″': `"`, '“': `"`, '”': `"`, '′': "'", '’': "'", '‘': "'",
	'²': "2", '³': "3", '⁻': "-", '¹': "1",
	'^': "", '(': "", ')': "", '[': "", ']': "",
	'·': "·", '⋅': "·", '∙': "·", '•': "·", '*': "·", '×': "·", '.': "·", '_': "·",
	'‐': "·", '‑': "·", '–': "·", '−': "·", '-': "·",
}

// key brings a written unit to the form in which it is looked up: one sort of separator, micro sign, degree sign, superscript.
// It keeps capitals. Of a text longer than any unit it returns nothing.
func key(s string) string {
	if len(s) > 4*maxRunes {
		return ""
	}
	s = inverse(s)
	var b strings.Builder
	sep := false
	for _, r := range s {
		k, special := runeKey[r]
		if !special {
			k = string(r)
		}
		switch {
		case k == "·" || isSpace(r):
			sep = true
			continue
		case k == "":
			continue
		case sep && k != "/" && b.Len() > 0 && !strings.HasSuffix(b.String(), "/") && !strings.HasSuffix(b.String(), "°"):
			b.WriteString("·")
		}
		sep = false
		b.WriteString(k)
	}
	k := strings.ReplaceAll(b.String(), "·per·", "/")
	if rest, ok := strings.CutPrefix(k, "per·"); ok {
		k = "/" + rest
	}
	if i := strings.LastIndexByte(k, '/'); i >= 0 {
		if short, ok := timeWords[strings.ToLower(k[i+1:])]; ok {
			k = k[:i+1] + short
		}
	}
	return k
}

// timeWords shortens the time under a stroke: gal/minute, L/hr.
var timeWords = map[string]string{"minute": "min", "second": "s", "sec": "s", "hour": "h", "hr": "h"}

// inverse rewrites a trailing inverse unit as a division: "mL·min⁻¹" is mL/min, "min^-1" is /min.
func inverse(s string) string {
	for _, suffix := range []string{"⁻¹", "^-1", "^−1"} {
		base, ok := strings.CutSuffix(s, suffix)
		if !ok {
			continue
		}
		i := strings.LastIndexAny(base, "·⋅.* ")
		if i < 0 {
			return "/" + base
		}
		return strings.TrimRight(base[:i], "·⋅.* ") + "/" + strings.TrimLeft(base[i:], "·⋅.* ")
	}
	return s
}

// find returns the unit written u in d: spelled exactly, else with other capitals.
func find(u string, d Dim) (*def, bool) {
	if d == 0 || d >= dimEnd {
		return nil, false
	}
	k := key(u)
	if row, ok := spellings[d][k]; ok {
		return row, true
	}
	row, ok := folded[d][strings.ToLower(k)]
	return row, ok
}

// dimOf returns the first kind of quantity, other than not, that has a unit written u.
func dimOf(u string, not Dim) (Dim, bool) {
	for d := Length; d < dimEnd; d++ {
		if d == not {
			continue
		}
		if _, ok := find(u, d); ok {
			return d, true
		}
	}
	return 0, false
}

// resolve returns the row of the unit written u in d, or the error that helps most. num and x are the number as written and as
// read, for the example in the message.
func resolve(u string, d Dim, num string, x float64) (*def, error) {
	if d == 0 || d >= dimEnd {
		return nil, noSuchDim()
	}
	if row, ok := find(u, d); ok {
		return row, nil
	}
	text := join(num, u)
	if e := unclear(u, d, num); e != nil {
		return nil, e
	}
	fix := usual(d)
	if other, ok := dimOf(u, d); ok {
		if num != "" {
			fix = example(num, x, d)
		}
		return nil, fail(WrongDimension, d, fix, "%s is %s", quote(text), other.article())
	}
	if near, _ := nearest(u, d); near != "" {
		fix = "did you mean " + near + "? Otherwise " + fix
	}
	return nil, fail(UnknownUnit, d, fix, "%s: unknown unit %s", quote(text), quote(u))
}

// unclear returns the error of a unit that people write but that has two meanings or needs a word of explanation, else nil.
func unclear(u string, d Dim, num string) *Error {
	k, text := key(u), quote(join(num, u))
	switch strings.ToLower(k) {
	case "oz", "ozs", "ounce", "ounces":
		return fail(UnclearUnit, d, "write fl oz (US), imp fl oz or mL for a volume; oz av or g for a mass; ozf or N for a force",
			"%s: oz may be a volume or a weight", text)
	case "psia", "psi·a", "bara", "bar·a", "kpaa", "mpaa":
		if d == Pressure {
			e := fail(UnclearUnit, d, "subtract the air pressure (about 14.7 psi or 1.013 bar) and write psi or bar",
				"%s is an absolute pressure", text)
			e.Want = "a gauge pressure is needed"
			return e
		}
	case "mpa", "mpa/min", "mpa/s":
		if d == Pressure || d == PressureRate {
			fix := join(num, "M"+strings.ToLower(u)[1:])
			return fail(UnclearUnit, d, "write "+strings.Replace(fix, "pa", "Pa", 1)+" with a capital M", "%s: m is milli, M is mega", text)
		}
	case "m":
		if d == Time {
			return fail(WrongDimension, d, "write "+join(num, "min")+" for minutes", "%s is in metres", text)
		}
	case "nm":
		if d == Length && k == "nm" {
			return fail(UnclearUnit, d, "write nanometres in µm; a torque is no length", "%s may be nanometres or newton metres", text)
		}
	case "kg", "kgs", "kilo", "kilos":
		if d == Force {
			return fail(WrongDimension, d, "write "+join(num, "kgf")+" for the weight of that mass, or N", "%s is a mass", text)
		}
	}
	return nil
}

// nearest returns the symbol of the unit of d whose spelling is closest to u, with the number of changed characters; "" if none
// is close.
func nearest(u string, d Dim) (string, int) {
	k := strings.ToLower(key(u))
	best, limit := "", min(2, len([]rune(k))/2)
	for _, w := range written[d] {
		if diff := len(k) - len(w.key); diff > 6 || diff < -6 { // in bytes; two characters are six at most
			continue
		}
		n := distance(k, w.key)
		if n < limit || n == limit && best == "" {
			best, limit = w.def.sym, n
		}
	}
	return best, limit
}

// distance returns the number of single-character insertions, deletions, replacements and swaps of neighbours that turn a into
// b (optimal string alignment).
func distance(a, b string) int {
	s, t := []rune(a), []rune(b)
	rows := make([][]int, len(s)+1)
	for i := range rows {
		rows[i] = make([]int, len(t)+1)
		rows[i][0] = i
	}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(s); i++ {
		for j := 1; j <= len(t); j++ {
			change := 1
			if s[i-1] == t[j-1] {
				change = 0
			}
			rows[i][j] = min(rows[i-1][j]+1, rows[i][j-1]+1, rows[i-1][j-1]+change)
			if i > 1 && j > 1 && s[i-1] == t[j-2] && s[i-2] == t[j-1] {
				rows[i][j] = min(rows[i][j], rows[i-2][j-2]+1)
			}
		}
	}
	return rows[len(s)][len(t)]
}
