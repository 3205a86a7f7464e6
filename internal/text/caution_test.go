package text_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/text"
	"github.com/evenstroke/evenstroke/pump"
)

// rule is one thing about which no two cautions may differ: a sentence that speaks of it has to say so, or must not say it at all.
type rule struct {
	name  string
	about string // a sentence that matches this
	says  string // has to match this too; "" when it must not be there
}

// rules are the rules of each language, the same in all of them. Common practice, no published source, but for the puncture: see package
// pump.
var rules = map[string][]rule{
	"en": {
		{"a rag is never a shield", `\brags?\b|\bcloth\b`, `\b[Nn]ever\b`},
		{"nobody feels for a leak, or stops one", `\bhands?\b.*\b(leak|tip|joint|gap)|\b(leak|tip|joint|gap)\b.*\bhands?\b|\bfingers\b|\ba finger\b|\b[Ff]eel for\b`, `\b[Nn]ever\b|\baway from\b|\bkeep .* off\b|\bhands off\b`},
		{"a puncture is an emergency, however small", `\b[Pp]uncture|\bbreaks the skin\b`, `(however small|even a little).*\bhospital at once\b.*"high-pressure injection".*\bsafety data sheet\b`},
		{"the rod is marked before the pressure is raised", `\b[Pp]ut a mark on the rod\b|\bMark the rod\b|\bmark is put\b`, `\bbefore the pressure is raised\b`},
		{"a joint is not opened under pressure", `\bcrack it\b|\bloosen .* under pressure\b`, ``},
		{"a jet goes into earthed metal", `\b(Spray|[Rr]un .* through the tip) into\b`, `\bearthed metal\b`},
	},
	"es": {
		{"a rag is never a shield", `\btrapos?\b|\bpaños?\b`, `\b[Nn]unca\b`},
		{"nobody feels for a leak, or stops one", `\bmanos?\b.*\b(fuga|boquilla|unión|abertura)|\b(fuga|boquilla|unión|abertura)\b.*\bmanos?\b|\bdedos\b|\bun dedo\b|\b[Pp]alpe\b`, `\b[Nn]unca\b|\blejos de\b|\bno acerque\b|\bmanos fuera\b`},
		{"a puncture is an emergency, however small", `\b[Pp]inchazo\b|\brompe la piel\b`, `(por pequeño que sea|aunque sea poco).*\bhospital de inmediato\b.*«inyección a alta presión».*\bficha de datos de seguridad\b`},
		{"the rod is marked before the pressure is raised", `\b[Mm]arque el vástago\b|\bLa marca se hace\b`, `\bantes de subir la presión\b`},
		{"a joint is not opened under pressure", `\bcubra la unión\b`, ``},
		{"a jet goes into earthed metal", `\b([Pp]ulverice dentro|ciclos por la boquilla hacia)\b`, `metálic[oa].*\bpuest[oa] a tierra\b`},
	},
}

// breaches names the rules that a text breaks.
func breaches(lang, said string) []string {
	var out []string
	for _, r := range rules[lang] {
		about := regexp.MustCompile(r.about)
		if r.says == "" && about.MatchString(said) {
			out = append(out, r.name)
		}
		for _, s := range strings.Split(strings.ReplaceAll(said, "; ", ". "), ". ") {
			if r.says != "" && about.MatchString(s) && !regexp.MustCompile(r.says).MatchString(whole(r, s, said)) {
				out = append(out, r.name)
			}
		}
	}
	return out
}

// whole is what a rule is held against: the sentence, or all that is said when one sentence is not enough for it.
func whole(r rule, sentence, said string) string {
	if strings.Contains(r.says, "hospital") || strings.Contains(r.says, "raised") || strings.Contains(r.says, "subir") {
		return said
	}
	return sentence
}

// TestCautionsAgree holds every caution, what every step says, what every next check asks for and what the papers tell a customer
// against the same rules, in every language: one page must not tell to cover with a rag what another tells never to go near with one.
func TestCautionsAgree(t *testing.T) {
	all := heard{}
	seen := map[pump.Hazard]bool{}
	for _, c := range pump.Cautions() {
		if seen[c.Hazard] || c.Text == "" {
			t.Errorf("%s: a second row, or no text", c.Hazard)
		}
		seen[c.Hazard] = true
		all.add(c.Text)
	}
	for _, p := range pumps(t) {
		for _, chosen := range choices(p) {
			steps, err := p.Work(chosen)
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range steps {
				all.step(s)
			}
		}
	}
	all.holds(t)
	texts, err := text.Load()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for lang := range rules {
		v := texts.In(lang)
		for s := range all {
			said, _ := v.Engine(s)
			n++
			for _, name := range breaches(lang, said) {
				t.Errorf("%s: %q breaks the rule that %s", lang, said, name)
			}
		}
		for _, key := range texts.Keys("") {
			for _, name := range breaches(lang, v.Raw(key)) {
				t.Errorf("%s, %s: %q breaks the rule that %s", lang, key, v.Raw(key), name)
			}
		}
	}
	if n < 400 {
		t.Errorf("only %d sentences were read", n)
	}
}

// The rules find what they are there for.
func TestARuleFindsItsBreach(t *testing.T) {
	for lang, bad := range map[string][]string{
		"en": {"A plugged tip keeps its pressure: cover the joint with a rag and crack it slowly.", "Feel for a leak by hand.", "Stop a leak with a finger.", "Any puncture: to hospital at once.",
			"A small puncture is an emergency: to a hospital at once, with the safety data sheet.", "Put a mark on the rod and time its creep.", "Spray into the measure."},
		"es": {"Una boquilla obstruida conserva su presión: cubra la unión con un trapo y aflójela despacio.", "Palpe la fuga con la mano.", "Tape la fuga con un dedo.", "Ante cualquier pinchazo: al hospital.", "Marque el vástago.", "Pulverice dentro del vaso."},
	} {
		for _, s := range bad {
			if len(breaches(lang, s)) == 0 {
				t.Errorf("%s: %q breaks no rule", lang, s)
			}
		}
	}
}

// TestStepsOfOneOrderHaveNamesOfTheirOwn: two steps of one order that are called the same cannot be told apart in a list that somebody
// signs, in any language.
func TestStepsOfOneOrderHaveNamesOfTheirOwn(t *testing.T) {
	texts, err := text.Load()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range pump.Demo() {
		p := demoPump(t, name)
		steps, err := p.Work(p.All(pump.Replace))
		if err != nil {
			t.Fatal(err)
		}
		for _, lang := range texts.Languages() {
			v, seen := texts.In(lang), map[string]string{}
			for _, s := range steps {
				said, _ := v.Engine(s.Title)
				if other := seen[strings.ToLower(said)]; other != "" {
					t.Errorf("%s in %s: %s and %s are both called %q", name, lang, other, s.ID, said)
				}
				seen[strings.ToLower(said)] = s.ID
			}
		}
	}
}
