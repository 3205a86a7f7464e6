package sheet

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/unit"
	"github.com/google/go-cmp/cmp"
)

// doc reads text that must be readable as YAML.
func doc(t *testing.T, text string) *Doc {
	t.Helper()
	d, err := Read("s.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// lines returns the errors of a document, one a line.
func lines(d *Doc) string {
	if err := d.Err(); err != nil {
		return err.Error()
	}
	return ""
}

func TestReadRefuses(t *testing.T) {
	deep := strings.Repeat("{a: ", 14) + "1" + strings.Repeat("}", 14)
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "s.yaml: found an empty file; expected a YAML document; start from `evenstroke schema` or from a demo file"},
		{"spaces only", " \n\t\n", "s.yaml: found an empty file; expected a YAML document; start from `evenstroke schema` or from a demo file"},
		{"comments only", "# nothing\n", "s.yaml:1: found a document that is not a list of keys; expected `key: value` lines at the top"},
		{"a list", "- a\n- b\n", "s.yaml:1: found a document that is not a list of keys; expected `key: value` lines at the top"},
		{"a word", "hello", "s.yaml:1: found a document that is not a list of keys; expected `key: value` lines at the top"},
		{"not UTF-8", "a: 1\nb: \xff\n", "s.yaml:2: found bytes that are not UTF-8 text; expected a text file; is this the right file? save it as UTF-8"},
		{"anchor", "a: &x 1\nb: 2\n", "s.yaml:1: found a YAML anchor or alias; expected plain `key: value` lines; write the value out"},
		{"alias", "a: &x 1\nb: *x\n", "s.yaml:1: found a YAML anchor or alias; expected plain `key: value` lines; write the value out"},
		{"merge key", "a: 1\n<<: *x\n", "s.yaml: found text that YAML cannot read (unknown anchor 'x' referenced); expected a YAML document of `key: value` lines; look for a wrong indent, a stray tab, an open quote or a cut-off end"},
		{"tag", "a: 1\nb: !!binary aGk=\n", "s.yaml:2: found the YAML tag \"!!binary\"; expected plain `key: value` lines; write the value out"},
		{"own tag", "a: !shout hi\n", "s.yaml:1: found the YAML tag \"!shout\"; expected plain `key: value` lines; write the value out"},
		{"key that is a list", "a: 1\n? [b, c]\n: 2\n", "s.yaml:2: found a key that is no plain text; expected plain `key: value` lines; write the value out"},
		{"too deep", "a: 1\nb: " + deep + "\n", "s.yaml:2: found blocks nested deeper than 12; expected plain `key: value` lines; write the value out"},
		{"second document", "a: 1\n---\nb: 2\n", "s.yaml:2: found text that YAML cannot read (a second document after `---`); expected a YAML document of `key: value` lines; look for a wrong indent, a stray tab, an open quote or a cut-off end"},
		{"tab", "a:\n\tb: 1\n", "s.yaml:2: found text that YAML cannot read (found character that cannot start any token); expected a YAML document of `key: value` lines; look for a wrong indent, a stray tab, an open quote or a cut-off end"},
		{"open quote", "a: \"b\nc: 1\n", "s.yaml:3: found text that YAML cannot read (found unexpected end of stream); expected a YAML document of `key: value` lines; look for a wrong indent, a stray tab, an open quote or a cut-off end"},
	} {
		_, err := Read("s.yaml", []byte(c.text))
		if err == nil || err.Error() != c.want {
			t.Errorf("%s:\n got %v\nwant %s", c.name, err, c.want)
		}
	}
}

func TestReadSize(t *testing.T) {
	text := "a: 1\n" + strings.Repeat("#", MaxBytes-5)
	if _, err := Read("s.yaml", []byte(text)); err != nil {
		t.Errorf("a file of the largest size: %v", err)
	}
	if _, err := Read("s.yaml", []byte(text+"#")); err == nil {
		t.Error("a file one byte larger is taken")
	}
}

// JSON is read as the subset of YAML that it is.
func TestReadJSON(t *testing.T) {
	m := doc(t, `{"name": "x", "bore": "30 mm", "on": true, "n": 3, "list": ["a", "b"]}`).Root()
	if m.Text("name", "a name") != "x" || m.SI("bore", unit.Length, Any()) != 0.03 || !m.OptBool("on", false) || m.Count("n", "n", 0, 9) != 3 || len(m.Texts("list", "x")) != 2 {
		t.Error(lines(m.doc))
	}
}

// read is one reading of one key, and the error line that it must give; no line when it must succeed.
type reading struct {
	name, text string
	read       func(*Map) any
	value      any
	want       string
}

func (r reading) check(t *testing.T) {
	t.Helper()
	d := doc(t, r.text)
	got := r.read(d.Root())
	if l := lines(d); l != r.want {
		t.Errorf("%s:\n got %s\nwant %s", r.name, l, r.want)
	}
	x, isFloat := got.(float64)
	w, _ := r.value.(float64)
	if isFloat && math.IsNaN(w) && math.IsNaN(x) {
		return
	}
	if r.value != nil && !cmp.Equal(got, r.value) {
		t.Errorf("%s: read %v, want %v", r.name, got, r.value)
	}
}

func TestTexts(t *testing.T) {
	text := func(m *Map) any { return m.Text("k", "a word") }
	name := func(m *Map) any { return m.Name("k", "a name") }
	list := func(m *Map) any { return m.Texts("k", "a word") }
	for _, r := range []reading{
		{"text", "k: hello", text, "hello", ""},
		{"number as text", "k: 12", text, "12", ""},
		{"missing", "a: 1\nb: 2", text, "", "s.yaml:1: k: found nothing; expected a word; add a line `k: …`"},
		{"empty", "k: ''", text, nil, "s.yaml:1: k: found an empty text; expected a word"},
		{"null", "k:", text, "", "s.yaml:1: k: found nothing; expected a word"},
		{"tilde", "k: ~", text, "", "s.yaml:1: k: found nothing; expected a word"},
		{"list for text", "k: [a]", text, "", "s.yaml:1: k: found a list; expected a word"},
		{"block for text", "k: {a: b}", text, "", "s.yaml:1: k: found a block of keys; expected a word"},
		{"long", "k: " + strings.Repeat("x", 4001), text, "", "s.yaml:1: k: found a text of 4001 bytes; expected a word of at most 4000; shorten it"},
		{"escape", `k: "a\eb"`, text, "", `s.yaml:1: k: found control or invisible characters in "a\x1bb"; expected a word in plain characters; type it anew`},
		{"right-to-left override", "k: \"a\\u202Eb\"", text, "", `s.yaml:1: k: found control or invisible characters in "a\u202eb"; expected a word in plain characters; type it anew`},
		{"two lines in a text", "k: |\n  a\n  b\n", text, "a\nb\n", ""},
		{"two lines in a name", "k: |\n  a\n  b\n", name, "", `s.yaml:1: k: found "a\nb\n"; expected a name in one line without spaces around it`},
		{"long name", "k: " + strings.Repeat("x", 61), name, "", `s.yaml:1: k: found "` + strings.Repeat("x", 57) + `…"; expected a name of at most 60 characters; shorten it`},
		{"name of 60", "k: " + strings.Repeat("é", 60), name, strings.Repeat("é", 60), ""},
		{"name with space", "k: ' a'", name, "", `s.yaml:1: k: found " a"; expected a name in one line without spaces around it`},
		{"list", "k: [a, b]", list, []string{"a", "b"}, ""},
		{"list missing", "a: 1", list, []string(nil), ""},
		{"word for list", "k: a", list, []string(nil), `s.yaml:1: k: found "a"; expected a list, each item a word`},
		{"list with a hole", "k:\n  - a\n  -\n", list, []string{"a"}, "s.yaml:3: k[2]: found nothing; expected a word"},
		{"list of blocks", "k:\n  - {a: b}\n", list, []string(nil), "s.yaml:2: k[1]: found a block of keys; expected a word"},
		{"list too long", "k: [" + strings.Repeat("a, ", 200) + "a]", list, []string(nil), "s.yaml:1: k: found 201 items; expected at most 200: a word"},
		{"optional there", "k: x", func(m *Map) any { return m.OptText("k", "a word", "def") }, "x", ""},
		{"optional not there", "a: x", func(m *Map) any { return m.OptText("k", "a word", "def") }, "def", ""},
		{"optional empty", "k: ''", func(m *Map) any { return m.OptText("k", "a word", "def") }, nil, "s.yaml:1: k: found an empty text; expected a word"},
	} {
		r.check(t)
	}
}

func TestChoices(t *testing.T) {
	choice := func(m *Map) any { return m.Choice("k", "rod", "head") }
	yes := func(m *Map) any { return m.OptBool("k", true) }
	for _, r := range []reading{
		{"choice", "k: head", choice, "head", ""},
		{"near", "k: heat", choice, "", `s.yaml:1: k: found "heat"; expected one of rod, head; did you mean "head"?`},
		{"far", "k: elephant", choice, "", `s.yaml:1: k: found "elephant"; expected one of rod, head`},
		{"capitals", "k: Head", choice, "", `s.yaml:1: k: found "Head"; expected one of rod, head; did you mean "head"?`},
		{"missing", "a: 1", choice, "", "s.yaml:1: k: found nothing; expected one of rod, head; add a line `k: …`"},
		{"optional", "a: 1", func(m *Map) any { return m.OptChoice("k", "x", "rod", "head") }, "x", ""},
		{"yes", "k: yes", yes, true, ""}, {"no", "k: no", yes, false, ""}, {"true", "k: true", yes, true, ""}, {"false", "k: false", yes, false, ""},
		{"absent", "a: 1", yes, true, ""},
		{"maybe", "k: maybe", yes, true, `s.yaml:1: k: found "maybe"; expected one of yes, no, true, false`},
	} {
		r.check(t)
	}
}

// Check values: 1 in = 25.4 mm, 1 bar = 100 kPa, both exact by definition (NIST SP 811).
func TestQuantities(t *testing.T) {
	si := func(d unit.Dim, r Range) func(*Map) any { return func(m *Map) any { return m.SI("k", d, r) } }
	nan := math.NaN()
	for _, r := range []reading{
		{"millimetres", "k: 30 mm", si(unit.Length, Any()), 0.03, ""},
		{"inches", "k: 2 in", si(unit.Length, Any()), 0.0508, ""},
		{"bar", "k: 2 bar", si(unit.Pressure, Any()), 2e5, ""},
		{"no unit", "k: 30", si(unit.Length, Any()), nan, `s.yaml:1: k: found "30" has no unit; expected a length; write e.g. 30 mm or 1.18 in`},
		{"wrong unit", "k: 52 mm", si(unit.Torque, Any()), nan, `s.yaml:1: k: found "52 mm" is a length; expected a torque; write e.g. 52 N·m or 38.4 lbf·ft`},
		{"not there", "a: 1", si(unit.Torque, Any()), nan, "s.yaml:1: k: found nothing; expected a torque such as 52 N·m; add a line `k: …`"},
		{"at the lower end", "k: 0 mm", si(unit.Length, NotNegative(1)), 0.0, ""},
		{"below the lower end", "k: -1 mm", si(unit.Length, NotNegative(1)), nan, `s.yaml:1: k: found "-1 mm"; expected a length from 0, up to 1000 mm`},
		{"at the open end", "k: 0 mm", si(unit.Length, Positive(1)), nan, `s.yaml:1: k: found "0 mm"; expected a length above 0, up to 1000 mm`},
		{"at the upper end", "k: 1 m", si(unit.Length, Positive(1)), 1.0, ""},
		{"above the upper end", "k: 1.01 m", si(unit.Length, Positive(1)), nan, `s.yaml:1: k: found "1.01 m"; expected a length above 0, up to 1000 mm`},
		{"outside between", "k: 9 bar", si(unit.Pressure, Between(1e6, 2e6)), nan, `s.yaml:1: k: found "9 bar"; expected a pressure from 10.0 bar, up to 20.0 bar`},
		{"only a lower end", "k: 9 bar", si(unit.Pressure, Range{1e6, math.Inf(1), false}), nan, `s.yaml:1: k: found "9 bar"; expected a pressure from 10.0 bar`},
		{"only an upper end", "k: 9 bar", si(unit.Pressure, Range{math.Inf(-1), 1e5, false}), nan, `s.yaml:1: k: found "9 bar"; expected a pressure up to 1.00 bar`},
		{"a list", "k: [1 mm]", si(unit.Length, Any()), nan, "s.yaml:1: k: found a list; expected a length such as 30 mm"},
		{"infinite", "k: .inf", si(unit.Ratio, Any()), nan, `s.yaml:1: k: found ".inf" has no number; expected a ratio; write e.g. 8 % or 0.0800`},
		{"optional", "a: 1", func(m *Map) any { return m.OptSI("k", unit.Length, Any(), 7) }, 7.0, ""},
		{"optional there", "k: 7 mm", func(m *Map) any { return m.OptSI("k", unit.Length, Any(), 1) }, 0.007, ""},
		{"uncertainty", "k: 7 ± 0.1 mm", func(m *Map) any { v, ok := m.OptQuantity("k", unit.Length, Any()); return ok && v.U == 0.0001 }, true, ""},
		{"no quantity", "a: 1", func(m *Map) any { _, ok := m.OptQuantity("k", unit.Length, Any()); return ok }, false, ""},
		{"bad quantity", "k: 7", func(m *Map) any { _, ok := m.OptQuantity("k", unit.Length, Any()); return ok }, false,
			`s.yaml:1: k: found "7" has no unit; expected a length; write e.g. 7 mm or 0.276 in`},
	} {
		r.check(t)
	}
}

func TestNumbers(t *testing.T) {
	num := func(m *Map) any { return m.Number("k", "a price", NotNegative(1e6)) }
	count := func(m *Map) any { return m.Count("k", "pieces", 1, 9) }
	nan := math.NaN()
	for _, r := range []reading{
		{"point", "k: 12.5", num, 12.5, ""},
		{"comma", "k: '12,5'", num, 12.5, ""},
		{"comma before three digits", "k: '1,234'", num, nan, `s.yaml:1: k: found "1,234", whose comma may part thousands or decimals; expected a price (a plain number); write the decimal mark as a point and leave thousands ungrouped`},
		{"comma before three digits that parts decimals for certain", "k: '0,125'", num, 0.125, ""},
		{"unit", "k: 12 mm", num, nan, `s.yaml:1: k: found "12 mm"; expected a price (a plain number)`},
		{"not a number", "k: .nan", num, nan, `s.yaml:1: k: found ".nan"; expected a price (a plain number)`},
		{"NaN", "k: NaN", num, nan, `s.yaml:1: k: found "NaN"; expected a price (a plain number)`},
		{"infinite", "k: Inf", num, nan, `s.yaml:1: k: found "Inf"; expected a price (a plain number)`},
		{"negative", "k: -1", num, nan, `s.yaml:1: k: found "-1"; expected a price from 0, up to 1000000`},
		{"too large", "k: 1e7", num, nan, `s.yaml:1: k: found "1e7"; expected a price from 0, up to 1000000`},
		{"optional", "a: 1", func(m *Map) any { return m.OptNumber("k", "x", Any(), 3) }, 3.0, ""},
		{"count", "k: 9", count, 9, ""},
		{"count too many", "k: 10", count, 1, `s.yaml:1: k: found "10"; expected pieces: a whole number from 1 to 9`},
		{"count of a half", "k: 1.5", count, 1, `s.yaml:1: k: found "1.5"; expected pieces: a whole number from 1 to 9`},
		{"count optional", "a: 1", func(m *Map) any { return m.OptCount("k", "x", 1, 9, 4) }, 4, ""},
		{"version", "k: 2", func(m *Map) any { return m.Count("k", "the version", 1, 1) }, 1, `s.yaml:1: k: found "2"; expected the version: 1`},
	} {
		r.check(t)
	}
}

func TestBlocks(t *testing.T) {
	items := func(m *Map) any { return len(m.List("k", "things", 1, 2)) }
	for _, r := range []reading{
		{"list", "k: [{a: 1}, {a: 2}]", items, 2, ""},
		{"too many", "k: [{a: 1}, {a: 2}, {a: 3}]", items, 0, "s.yaml:1: k: found 3 items; expected 1 to 2 things"},
		{"too few", "k: []", items, 0, "s.yaml:1: k: found 0 items; expected 1 to 2 things"},
		{"an item that is no block", "k:\n  - {a: 1}\n  - b\n", items, 1, `s.yaml:3: k[2]: found "b"; expected a block of keys: things`},
		{"no list", "k: 3", items, 0, `s.yaml:1: k: found "3"; expected a list of things`},
		{"optional list", "a: 1", func(m *Map) any { return len(m.OptList("k", "things", 2)) }, 0, ""},
		{"optional list too long", "k: [{a: 1}, {a: 1}]", func(m *Map) any { return len(m.OptList("k", "things", 1)) }, 0, "s.yaml:1: k: found 2 items; expected 0 to 1 things"},
		{"block", "k: {a: x}", func(m *Map) any { return m.Map("k", "keys").Text("a", "a word") }, "x", ""},
		{"no block", "k: 3", func(m *Map) any { return m.Map("k", "some keys") == nil }, true, `s.yaml:1: k: found "3"; expected some keys`},
		{"optional block", "a: 1", func(m *Map) any { return m.OptMap("k", "keys") == nil }, true, ""},
		{"optional block there", "k: {a: x}", func(m *Map) any { return m.OptMap("k", "keys").Has("a") }, true, ""},
		{"error inside", "k:\n  - a: 1\n  - a: 2 mm\n", func(m *Map) any { return m.List("k", "t", 0, 9)[1].Count("a", "pieces", 0, 9) }, 0, `s.yaml:3: k[2].a: found "2 mm"; expected pieces: a whole number from 0 to 9`},
	} {
		r.check(t)
	}
}

func TestDone(t *testing.T) {
	for _, r := range []reading{
		{"unknown key", "bore: 1\nborre: 2", func(m *Map) any { m.Text("bore", "x"); m.Done(); return nil }, nil, `s.yaml:2: borre: found an unknown key; expected one of bore; did you mean "bore"?`},
		{"ignored key", "bore: 1\nrod: 2", func(m *Map) any { m.Text("bore", "x"); m.Ignore("rod"); m.Done(); return nil }, nil, ""},
		{"key twice", "a: 1\nb: 2\na: 3", func(m *Map) any { m.Text("a", "x"); m.Text("b", "x"); m.Done(); return nil }, nil, "s.yaml:3: a: found the key a second time; expected each key once; remove one of the two"},
		{"empty key", "'': 1", func(m *Map) any { m.OptText("a", "x", ""); m.Done(); return nil }, nil, `s.yaml:1: found an unknown key; expected one of a`},
	} {
		r.check(t)
	}
}

// Errors come in the order of the file, whatever the order of reading, and stop after 20 with the number of the others.
func TestErrOrderAndLimit(t *testing.T) {
	d := doc(t, "a: 1\nb: 2\nc: 3\n")
	m := d.Root()
	m.Fail("c", "three", "x", "")
	m.Fail("a", "one", "x", "")
	m.Fail("b", "two", "x", "")
	if got := lines(d); got != "s.yaml:1: a: found one; expected x\ns.yaml:2: b: found two; expected x\ns.yaml:3: c: found three; expected x" {
		t.Error(got)
	}
	var b strings.Builder
	for range 25 {
		b.WriteString("- x\n")
	}
	d = doc(t, "k:\n"+b.String())
	d.Root().List("k", "things", 0, 99)
	es := List(d.Err())
	if len(es) != 21 || es[20].Found != "5 more things that are wrong" {
		t.Errorf("%d errors, the last %v", len(es), es[len(es)-1])
	}
	d = doc(t, manyKeys(30))
	d.Root().Done()
	if es := List(d.Err()); len(es) != 21 || es[20].Found != "10 more things that are wrong" {
		t.Errorf("%d errors, the last %v", len(es), es[len(es)-1])
	}
}

func manyKeys(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString("key" + string(rune('a'+i%26)) + string(rune('a'+i/26)) + ": 1\n")
	}
	return b.String()
}

func TestAsked(t *testing.T) {
	d := doc(t, "a: {b: 1}\nl: [{c: 1}, {c: 2}]\n")
	m := d.Root()
	m.Map("a", "x").Text("b", "x")
	for _, q := range m.List("l", "x", 0, 9) {
		q.Text("c", "x")
		q.OptText("d", "x", "")
	}
	if diff := cmp.Diff([]string{"a", "a.b", "l", "l[].c", "l[].d"}, d.Asked()); diff != "" {
		t.Error(diff)
	}
}

func TestList(t *testing.T) {
	one := &Error{File: "f", Line: 3, Found: "x", Want: "y", Fix: "z"}
	if es := List(one); len(es) != 1 || es[0] != one {
		t.Errorf("one error: %v", es)
	}
	if es := List(errors.New("other")); es != nil {
		t.Errorf("an error of another kind: %v", es)
	}
	if got := one.Error(); got != "f:3: found x; expected y; z" {
		t.Error(got)
	}
	if got := (Errors{one, one}).Error(); strings.Count(got, "\n") != 1 {
		t.Error(got)
	}
}

func TestNearest(t *testing.T) {
	options := []string{"bore", "stroke", "up", "throat packing", "piston packing", "piston valve"}
	for _, c := range []struct{ s, want string }{
		{"bor", `did you mean "bore"?`}, {"bore", `did you mean "bore"?`}, {"xyzzy", ""}, {strings.Repeat("b", 50), ""}, {strings.Repeat("b", 500), ""},
		{"Bore", `did you mean "bore"?`}, {"obre", `did you mean "bore"?`}, {"cord", ""}, {"", ""}, {"out", ""}, {"u", `did you mean "up"?`},
		{"throat", `did you mean "throat packing"?`}, {"piston", ""}, {"piston v", `did you mean "piston valve"?`}, {"pistn pakcing", `did you mean "piston packing"?`},
	} {
		if got := Nearest(c.s, options); got != c.want {
			t.Errorf("%s: %q, want %q", c.s, got, c.want)
		}
	}
	// Levenshtein 1966: kitten → sitting is 3.
	if n := distance("kitten", "sitting"); n != 3 {
		t.Errorf("kitten to sitting: %d", n)
	}
}

func TestExampleCoversEveryDim(t *testing.T) {
	for _, d := range unit.Dims() {
		if _, err := unit.Parse(example(d), d); err != nil {
			t.Errorf("the example %q for a %s cannot be read: %v", example(d), d, err)
		}
	}
}

// FuzzRead: hostile files give errors that say where and what, never a panic; what is read can be walked.
func FuzzRead(f *testing.F) {
	for _, s := range []string{
		"", "a: 1", "a: {b: [1, 2, {c: 3 mm}]}", "a: &x [*x]", "? [a]\n: b", "a: !!binary x", "--- \n---\n", "a: |\n  x\n", "\xff", "\ufeffa: 1", "a: \"\\u202e\"",
		`{"a": {"b": null}}`, "<<: {a: 1}", "a: [[[[[[[[[[[[[[1]]]]]]]]]]]]]]", "- a", "a:\n\tb: 1", "\x00", "a: 1e999", "%YAML 1.1\n---\na: 1", "a: ,", "k: [a, a: b]",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		d, err := Read("f.yaml", data)
		if err == nil {
			walk(d.Root(), 0)
			err = d.Err()
		}
		if err == nil {
			return
		}
		es := List(err)
		if len(es) == 0 || len(es) > maxErrors+1 {
			t.Fatalf("%d errors in %v", len(es), err)
		}
		for _, e := range es {
			if e.File != "f.yaml" || e.Found == "" || e.Want == "" || e.Line < 0 {
				t.Fatalf("an error that says too little: %#v", e)
			}
		}
	})
}

// walk asks for everything in every way.
func walk(m *Map, depth int) {
	for _, k := range m.Keys() {
		m.Text(k, "a text")
		m.Name(k, "a name")
		m.Choice(k, "yes", "no")
		m.OptBool(k, true)
		m.SI(k, unit.Length, Positive(1))
		m.OptQuantity(k, unit.Time, Any())
		m.Number(k, "a number", Between(0, 1))
		m.Count(k, "a count", 0, 3)
		m.Texts(k, "texts")
		for _, q := range m.List(k, "blocks", 0, 50) {
			walk(q, depth+1)
		}
		if q := m.Map(k, "a block"); q != nil {
			walk(q, depth+1)
		}
	}
	m.OptText("not there", "a text", "")
	m.Done()
}

// TestFormat says what a file is that was given in the wrong place, in one line.
func TestFormat(t *testing.T) {
	for _, c := range []struct{ text, key, want string }{
		{"hold: 1\npump: orrin\n", "hold", ""},
		{"pump: 1\n", "pump", ""},
		{"hold: 1\npump: orrin\nreadings: []\n", "pump", "s.yaml:1: found a hold sheet; expected a pump sheet; `evenstroke hold` reads a hold sheet"},
		{"\npump: 1\nname: orrin\n", "hold", "s.yaml:2: found a pump sheet; expected a hold sheet; `evenstroke sheet` reads a pump sheet; --pump takes one too"},
		{"build: 1\npump: orrin\n", "prior", "s.yaml:1: found a build record; expected a prior file; a build record is given with --build"},
		{"serve: 1\n", "hold", "s.yaml:1: found a configuration of serve; expected a hold sheet; a configuration is given with --config"},
		{"prior: 1\n", "serve", "s.yaml:1: found a prior file; expected a configuration of serve; a prior file is given with --prior"},
		{"pump: orrin\nreadings: []\n", "hold", "s.yaml:1: hold: found nothing; expected the version of the format: 1; add the line `hold: 1` if this is a hold sheet"},
		{"a: b\nc: d\n", "pump", "s.yaml:1: pump: found nothing; expected the version of the format: 1; add the line `pump: 1` if this is a pump sheet"},
		{"hold: one\n", "hold", "s.yaml:1: hold: found \"one\"; expected the version of the format: 1; add the line `hold: 1` if this is a hold sheet"},
		{"hold: 2\n", "hold", `s.yaml:1: hold: found "2"; expected the version of the format: 1`},
	} {
		d, err := Read("s.yaml", []byte(c.text))
		if err != nil {
			t.Fatal(err)
		}
		ok, got := d.Root().Format(c.key, 1), ""
		if d.Err() != nil {
			got = d.Err().Error()
		}
		if got != c.want || ok != (c.want == "") {
			t.Errorf("%q as %s: %v %s\nwant %s", c.text, c.key, ok, got, c.want)
		}
	}
}

// TestCommaInFlow names the comma that cuts a value between { } in two, once, and says to quote it.
func TestCommaInFlow(t *testing.T) {
	read := func(text string) string {
		d, err := Read("s.yaml", []byte(text))
		if err != nil {
			return err.Error()
		}
		m := d.Root().Map("r", "a reading")
		m.SI("pressure", unit.Pressure, Any())
		m.OptSI("time", unit.Time, Any(), 0)
		m.Done()
		if d.Err() == nil {
			return ""
		}
		return d.Err().Error()
	}
	cut := `s.yaml:1: r.pressure: found a comma that ends the value: "2", then "900 psi"; expected a pressure such as ` + example(unit.Pressure) + `; write it in quotes, pressure: "2,900 psi", or without the comma`
	for text, want := range map[string]string{
		"r: {pressure: 2,900 psi, time: 3 s}": cut, "r: {pressure: 2,900 psi}": cut,
		`r: {pressure: "2,900 psi", time: 3 s}`: "", "r:\n  pressure: 2,900 psi\n  time: 3 s": "", "r: {pressure: 2900 psi, time: 3 s}": "",
		"r: {pressure: 29 bar, 900}":        `s.yaml:1: r.900: found an unknown key; expected one of pressure, time`,
		`r: {pressure: "2", 900 psi: }`:     "s.yaml:1: r.900 psi: found an unknown key; expected one of pressure, time\n",
		"r: {pressure: 2900 psi, 900: }":    `s.yaml:1: r.900: found an unknown key; expected one of pressure, time`,
		"r: {pressure: 2900 psi, tme: 3 s}": `s.yaml:1: r.tme: found an unknown key; expected one of pressure, time; did you mean "time"?`,
	} {
		if got := read(text); got != want && !(strings.HasSuffix(want, "\n") && strings.Contains(got+"\n", want)) {
			t.Errorf("%s\n got %s\nwant %s", text, got, want)
		}
	}
}

// TestDoubtfulPoint refuses in a file that a person wrote what a program may mean.
func TestDoubtfulPoint(t *testing.T) {
	for text, want := range map[string]string{
		"p: 2.100 bar": `s.yaml:1: p: found "2.100 bar" may mean 2.1 or 2100; expected a pressure; write 2.1 bar or 2100 bar`, "p: 2.10 bar": "", `{"p": "2.100 bar"}`: "",
	} {
		d, err := Read("s.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		d.Root().SI("p", unit.Pressure, Any())
		got := ""
		if d.Err() != nil {
			got = d.Err().Error()
		}
		if got != want {
			t.Errorf("%s: %s, want %s", text, got, want)
		}
	}
}
