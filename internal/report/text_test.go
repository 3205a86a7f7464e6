package report

import (
	"bytes"
	"errors"
	"os/exec"
	"strings"
	"testing"

	"golang.org/x/text/unicode/norm"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/outside"
)

// strange are texts that people and machines may put into a record.
var strange = []string{
	"", " ", "\u00a0", "Łódź façade “Größe” Ω ± m² µm Δp η ≤ √ °C 10⁻⁶ ψ N·m", strings.Repeat("x", 900), strings.Repeat("long words ", 120),
	"עברית 160 bar (תקין)", "العربية ١٢٣ bar", "mixed עברית and العربية, 12.5 mL/min", "😀🔧 job 🧑‍🔧", "漢字かな", "e\u0301a\u0302o\u0308 \u0301alone x̄σ̂",
	"\x00\x01\x1b[31mred\r\n\ttab\u2028line\u2029para\u202eevil\u200b\ufeff", "\xff\xfe bad utf8 \xc3", `)Tj ET (\\ <</MCID 0>> BDC EMC %`, "</style><script>x</script>&#0;", "\U0010FFFF\U000E0001",
}

// strangeDocument has a text in every field that a person can fill.
func strangeDocument(s string) Document {
	doc := Document{Title: s, Shop: s, ShopLines: []string{s, s}, Made: s, Version: s, Pump: thePump(), Job: []Fact{{s, s}, {"Job", s}}, Overrides: []string{s},
		SignOffs: []SignOff{{s, s, s}}, Prices: []PriceLine{{s, s, s}, {s, "", s}}, Total: s, Currency: s, Signature: &Signature{Name: s, Role: s, When: s}, RecordMark: s,
		Photos: []Photo{{s, sample(8, 8), s, s}}, Cautions: []string{s}, Unknown: []string{s}, Stacks: []Stack{{Name: "throat"}}}
	r := result(s, hold.NotProven)
	r.Paths[1].How = map[string]float64{s: 1}
	r.Next[0].Do, r.Next[0].Hazards, r.Groups, r.Doubts[0].Text, r.Verdict.Need[0].Text = s, []string{s}, [][]string{{s, s}}, s, s
	doc.Holds = []Hold{{Heading: s, Result: r, Sheet: &hold.Sheet{Readings: []hold.Reading{{Kind: hold.Sign, Sign: s}, {Kind: hold.Drips, Path: s, Time: 60, Derived: s}}}}}
	doc.Pump.Name, doc.Pump.Note, doc.Pump.Seals[0].Name = s, s, s
	doc.Pump.Stacks[0].Rings[1].Part, doc.Pump.Joints[0].Name = s, s
	doc.Torques = Torques(doc.Pump)
	doc.Steps = document().Steps
	doc.Steps[0].Title, doc.Steps[0].Detail, doc.Steps[0].Why, doc.Steps[0].Cautions = s, s, s, []string{s}
	return doc
}

func strangeCustomer(s string) Customer {
	return Customer{Title: s, Shop: s, ShopLines: []string{s}, Made: s, Version: s, Note: s, For: s, Facts: []Fact{{s, s}}, Brought: []string{s}, Found: []string{s, s}, Done: []string{s},
		Proof: s, Overrides: []string{s}, Advised: []string{s}, Prices: []PriceLine{{s, s, s}}, Total: s, Currency: s, Back: s, Ask: []string{s}, RecordMark: s, Signature: &Signature{Name: s}}
}

// sound writes both papers; they must come out, or an error must say why.
func sound(t *testing.T, s string) (a, b []byte) {
	t.Helper()
	var doc, cust bytes.Buffer
	var known *DocumentError
	if err := PDF(&doc, strangeDocument(s)); err != nil && !errors.As(err, &known) {
		t.Errorf("%.40q: %v", s, err)
	}
	if err := CustomerPDF(&cust, strangeCustomer(s)); err != nil && !errors.As(err, &known) {
		t.Errorf("%.40q: customer: %v", s, err)
	}
	for _, p := range [][]byte{doc.Bytes(), cust.Bytes()} {
		if len(p) > 0 && (!bytes.HasPrefix(p, []byte("%PDF-1.7")) || !bytes.HasSuffix(bytes.TrimSpace(p), []byte("%%EOF"))) {
			t.Errorf("%.40q: the file is not whole", s)
		}
	}
	return doc.Bytes(), cust.Bytes()
}

func TestStrangeTexts(t *testing.T) {
	qpdf, err := exec.LookPath("qpdf")
	for _, s := range strange {
		a, b := sound(t, s)
		if err != nil {
			continue
		}
		for _, p := range [][]byte{a, b} {
			cmd := exec.Command(qpdf, "--check", "-")
			cmd.Stdin = bytes.NewReader(p)
			if out, err := cmd.CombinedOutput(); err != nil && !strings.Contains(string(out), "-: No such file") {
				t.Errorf("%.40q: qpdf: %v\n%s", s, err, out)
			}
		}
	}
}

// TestScripts reads texts in other scripts back from the paper: as they were written, joined letters and directions included.
func TestScripts(t *testing.T) {
	c := Customer{For: "Łódź façade “Größe” Ω ± m² µm Δp η ≤ √ °C 10⁻⁶ ψ N·m", Brought: []string{"e\u0301clat", "משאבת צבע", "مضخة طلاء"}, Found: []string{"A 漢 B"}}
	got := strings.NewReplacer("\u202a", "", "\u202b", "", "\u202c", "").Replace(plainSpaces(
		norm.NFC.String(output(t, outside.Program(t, "pdftotext", "poppler-utils"), customerPaper(t, c), "-")))) // without -raw, which gives the words as they stand
	got = strings.ReplaceAll(got, "\uFEFC", "لا") // the joined pair of letters is one sign
	for _, w := range []string{c.For, "éclat", "משאבת צבע", "مضخة طلاء", "�", "Characters that the font of this paper lacks"} {
		if !strings.Contains(got, w) {
			t.Errorf("the paper does not say %q; it says %s", w, got)
		}
	}
}

// TestVisual compares the order of drawing with that of UAX 9 (5.0 and its rules, worked out by hand; capitals there are Hebrew here).
func TestVisual(t *testing.T) {
	for in, want := range map[string]string{
		"plain":          "plain",
		"car אבג end":    "car גבא end",    // UAX 9, 3.3: "car means CAR." in small
		"אבג car דה":     "הד car גבא",     // a line from right to left
		"אבג 123":        "123 גבא",        // a number stands left of the word that comes before it
		"a אבג 123 דה b": "a הד 123 גבא b", // and inside such words in a line from left to right
		"(אב)":           "(בא)",           // mirrored signs
	} {
		if got := visual(in); got != want {
			t.Errorf("%q is drawn %q, want %q", in, got, want)
		}
	}
}

func FuzzPaper(f *testing.F) { // TestStrangeTexts writes all of them
	for _, s := range strange[5:7] {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if len(s) > 4000 {
			s = s[:4000]
		}
		sound(t, s)
	})
}
