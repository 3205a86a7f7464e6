package record

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"
)

func longText(n int) string { return strings.Repeat("ü", n) }

func raw(s string) json.RawMessage { return json.RawMessage(s) }

// For each kind a body that passes and bodies that do not, each wrong in one thing.
var checks = map[Kind]struct {
	good []Body
	bad  []Body
}{
	KindBooked: {[]Body{booked()}, []Body{&Booked{}, edited(func(b *Booked) { b.CustomerName = " " }), edited(func(b *Booked) { b.Serial = "" }), edited(func(b *Booked) { b.Model = "" }),
		edited(func(b *Booked) { b.Complaint = "\n" }), edited(func(b *Booked) { b.Serial = longText(121) }), edited(func(b *Booked) { b.Fluid = "\x00" }), edited(func(b *Booked) { b.Hours = longText(121) }),
		edited(func(b *Booked) { b.Litres = "\x1b" }), edited(func(b *Booked) { b.Drive = longText(121) }), edited(func(b *Booked) { b.With = longText(4001) })}},
	KindNoted:    {[]Body{&Noted{"x"}, &Noted{longText(4000)}, &Noted{"a\nb\tc"}}, []Body{&Noted{}, &Noted{"  "}, &Noted{longText(4001)}, &Noted{"a\x00"}, &Noted{"\xff"}, &Noted{"\u0085"}}},
	KindPictured: {[]Body{&Pictured{Photo: Digest{1}}, &Pictured{Photo: Digest{1}, Stage: StageStrip}}, []Body{&Pictured{}, &Pictured{Photo: Digest{1}, Stage: "x"}, &Pictured{Photo: Digest{1}, Caption: longText(4001)}, &Pictured{Photo: Digest{1}, Part: longText(121)}}},
	KindBenched: {[]Body{&Benched{Hold: AsFound}, &Benched{Hold: AsLeft, Fluid: raw(`{"kind":"water"}`), Gauge: raw(` {} `)}}, []Body{&Benched{}, &Benched{Hold: "x"}, &Benched{Hold: AsLeft, Fluid: raw(`[]`)},
		&Benched{Hold: AsLeft, Gauge: raw(`{`)}, &Benched{Hold: AsLeft, Stopwatch: longText(121)}, &Benched{Hold: AsLeft, Ruler: "\x01"}}},
	KindPressed: {[]Body{&Pressed{Hold: AsLeft, Watch: "w", Press: PressStart, Stroke: "up"}, &Pressed{Hold: AsFound, Watch: "w", Press: PressEnd, Elapsed: 86400_000}}, []Body{&Pressed{},
		&Pressed{Hold: AsLeft, Watch: "w", Press: "x"}, &Pressed{Hold: AsLeft, Watch: "w", Press: PressTop, Elapsed: -1}, &Pressed{Hold: AsLeft, Watch: "w", Press: PressTop, Elapsed: 86400_001},
		&Pressed{Hold: AsLeft, Watch: "", Press: PressTop}, &Pressed{Hold: AsLeft, Watch: "w", Press: PressTop, Stroke: "left"}, &Pressed{Watch: "w", Press: PressTop},
		&Pressed{Hold: AsLeft, Watch: "w", Press: PressMark, Pressure: longText(121)}, &Pressed{Hold: AsLeft, Watch: "w", Press: PressMark, Rod: longText(121)}}},
	KindRead: {[]Body{aRead(AsLeft), &Read{AsFound, raw(`{"a":"x\\u0000"}`)}}, []Body{&Read{}, &Read{Hold: AsLeft}, &Read{"x", raw(`{}`)}, &Read{AsLeft, raw(`"x"`)}, &Read{AsLeft, raw(`{}{}`)}, &Read{AsLeft, raw(`{"a":"\u0000"}`)},
		&Read{AsLeft, raw(`{"a":"\\\u0000"}`)}, &Read{AsLeft, raw("{\"a\":\"\xff\"}")}, &Read{AsLeft, raw(`null`)}}},
	KindJudged: {[]Body{verdict(AsLeft, Holds), judgedWith(func(b *Judged) { b.Meets = 0 }), judgedWith(func(b *Judged) { b.Meets = 1 })}, []Body{&Judged{}, judgedWith(func(b *Judged) { b.Meets = math.NaN() }),
		judgedWith(func(b *Judged) { b.Meets = 1.01 }), judgedWith(func(b *Judged) { b.Meets = -0.01 }), judgedWith(func(b *Judged) { b.Word = "" }), judgedWith(func(b *Judged) { b.Engine = "" }),
		judgedWith(func(b *Judged) { b.Model = "" }), judgedWith(func(b *Judged) { b.Sheet = nil }), judgedWith(func(b *Judged) { b.Result = raw(`1`) }), judgedWith(func(b *Judged) { b.Hold = "" })}},
	KindFound:   {[]Body{&Found{Part: "ball", Text: "pitted"}, &Found{Part: "rod", Value: "20.02 mm", Size: "diameter"}}, []Body{&Found{Part: "ball"}, &Found{Part: "ball", Text: " "}, &Found{Text: "pitted"}, &Found{Part: "b", Text: "t", Size: longText(121)}, &Found{Part: "b", Value: longText(121)}}},
	KindChose:   {[]Body{&Chose{}, &Chose{map[string]string{"ball": "replace"}}}, []Body{&Chose{map[string]string{"": "replace"}}, &Chose{map[string]string{"ball": ""}}, &Chose{manyParts(501)}}},
	KindMinded:  {[]Body{&Minded{"relieve the pressure"}}, []Body{&Minded{}, &Minded{longText(4001)}}},
	KindSoaking: {[]Body{&Soaking{"soak", noon}}, []Body{&Soaking{"", noon}, &Soaking{"soak", time.Time{}}, &Soaking{"soak", noon.AddDate(10_000, 0, 0)}}},
	KindDid: {[]Body{&Did{Step: "s"}, &Did{Step: "s", Skipped: true, Note: "no shim left"}}, []Body{&Did{}, &Did{Step: "s", Skipped: true}, &Did{Step: "s", Skipped: true, Note: " "}, &Did{Step: "s", Torque: longText(121)},
		&Did{Step: "s", Wrench: "\x00"}, &Did{Step: "s", Adapter: "\x00"}, &Did{Step: "s", Angle: "\x00"}, &Did{Step: "s", Soaked: "\x00"}, &Did{Step: "s", Pressure: "\x00"}, &Did{Step: "s", Held: "\x00"}, &Did{Step: "s", Note: longText(4001)}}},
	KindStacked: {[]Body{&Stacked{Stack: "throat", Rings: []Ring{{"V-ring", "up"}, {"gland", ""}}}}, []Body{&Stacked{}, &Stacked{Stack: "t", Rings: []Ring{{"", "up"}}}, &Stacked{Stack: "t", Rings: []Ring{{"r", "left"}}},
		&Stacked{Stack: "t", Rings: make([]Ring, 101)}, &Stacked{Stack: "t", Shim: longText(121)}}},
	KindMoved:    {[]Body{&Moved{To: StageProve}, &Moved{To: StageBooked}}, []Body{&Moved{}, &Moved{To: "x"}, &Moved{To: StageClosed}, &Moved{To: StageProve, Reason: longText(4001)}}},
	KindOverrode: {[]Body{&Overrode{Reason: "r"}}, []Body{&Overrode{}, &Overrode{Reason: "r", Verdict: longText(121)}}},
	KindPriced: {[]Body{&Priced{Text: "kit", Quantity: 1500, Each: 4250, Currency: "EUR"}, &Priced{Text: "rebate", Quantity: -1000, Each: 500, Currency: "USD"}}, []Body{&Priced{}, &Priced{Text: "k", Currency: "eur"}, &Priced{Text: "k", Currency: "EURO"},
		&Priced{Text: "k", Currency: "E1R"}, &Priced{Currency: "EUR"}, &Priced{Text: "k", Currency: "EUR", Quantity: 1_000_000_001}, &Priced{Text: "k", Currency: "EUR", Each: math.MinInt64}, &Priced{Text: "k", Currency: "EUR", Quantity: 1_000_000_000, Each: maxMoney}}},
	KindHanded:  {[]Body{&Handed{To: "the mate", Signature: "M1 2 L3.5,-4"}}, []Body{&Handed{}, &Handed{To: "x", Signature: "C1"}, &Handed{To: "x", Signature: "M1<"}, &Handed{To: "x", Signature: strings.Repeat("1", 60001)}, &Handed{To: "x", Note: "\x00"}}},
	KindClosed:  {[]Body{&Closed{Good: true}, &Closed{Reason: "scrapped"}}, []Body{&Closed{}, &Closed{Good: true, Reason: longText(4001)}}},
	KindStruck:  {[]Body{&Struck{1, "r"}}, []Body{&Struck{}, &Struck{0, "r"}, &Struck{-1, "r"}, &Struck{1, ""}}},
	KindKept:    {[]Body{&Kept{raw(`{"name":"x"}`)}}, []Body{&Kept{}, &Kept{raw(`1`)}, &Kept{raw(`{"a":"\u0000"}`)}}},
	KindRetired: {[]Body{&Retired{}, &Retired{"gone"}}, []Body{&Retired{longText(4001)}}},
}

func edited(f func(*Booked)) *Booked { b := booked(); f(b); return b }

func judgedWith(f func(*Judged)) *Judged { b := verdict(AsLeft, Holds); f(b); return b }

func manyParts(n int) map[string]string {
	m := map[string]string{}
	for i := range n {
		m["p"+strings.Repeat("x", i%100)+string(rune('a'+i/100))] = "keep"
	}
	for i := 0; len(m) < n; i++ {
		m["q"+strings.Repeat("y", i%100)] = "keep"
	}
	return m
}

func TestCheck(t *testing.T) {
	for _, k := range Kinds() {
		c, ok := checks[k]
		if !ok || len(c.good) == 0 || len(c.bad) == 0 {
			t.Errorf("kind %s is not checked", k)
		}
		for i, b := range c.good {
			if err := b.Check(); err != nil || b.Kind() != k {
				t.Errorf("%s good %d: %v", k, i, err)
			}
		}
		for i, b := range c.bad {
			if code := CodeOf(b.Check()); code != Invalid && code != TooLarge {
				t.Errorf("%s bad %d %+v: code %q", k, i, b, code)
			}
			if _, err := (Draft{Subject: JobSubject(1), At: noon, Key: "k", Body: b}).Entry(); err == nil {
				t.Errorf("%s bad %d: a draft was taken", k, i)
			}
		}
	}
	if len(bodies) != len(Kinds()) || len(checks) != len(Kinds()) {
		t.Errorf("%d kinds, %d bodies, %d checks", len(Kinds()), len(bodies), len(checks))
	}
}

func TestDraft(t *testing.T) {
	good := Draft{Subject: JobSubject(1), At: noon, Key: "k", Body: &Noted{"x"}}
	for name, c := range map[string]struct {
		edit func(*Draft)
		code Code
	}{
		"good": {func(*Draft) {}, ""}, "no body": {func(d *Draft) { d.Body = nil }, Invalid}, "no key": {func(d *Draft) { d.Key = "" }, Invalid},
		"long key": {func(d *Draft) { d.Key = strings.Repeat("k", 81) }, Invalid}, "space": {func(d *Draft) { d.Key = "a b" }, Invalid}, "key ü": {func(d *Draft) { d.Key = "ü" }, Invalid},
		"key byte": {func(d *Draft) { d.Key = "\xff" }, Invalid}, "no time": {func(d *Draft) { d.At = time.Time{} }, Invalid}, "late": {func(d *Draft) { d.At = noon.AddDate(200, 0, 0) }, Invalid},
		"large": {func(d *Draft) { d.Body = &Read{AsLeft, raw(`{"a":"` + strings.Repeat("x", maxBody) + `"}`)} }, TooLarge},
	} {
		d := good
		c.edit(&d)
		e, err := d.Entry()
		if CodeOf(err) != c.code || err == nil && (e.Kind != KindNoted || string(e.Body) != `{"text":"x"}`) {
			t.Errorf("%s: %+v, %v", name, e, err)
		}
	}
}

func TestDecodeIsStrict(t *testing.T) {
	for _, c := range []struct {
		kind Kind
		text string
		ok   bool
	}{
		{KindNoted, `{"text":"x"}`, true}, {KindNoted, ` {"text":"x"} `, true}, {KindNoted, `{"text":"x","more":1}`, false}, {KindNoted, `{"text":"x"}1`, false}, {KindNoted, `{"text":"x"}{}`, false},
		{KindNoted, `{"text":1}`, false}, {KindNoted, `{"text":""}`, false}, {KindNoted, `null`, false}, {KindChose, `null`, false}, {KindRetired, `null`, false}, {KindNoted, ``, false}, {KindNoted, `[]`, false},
		{"other", `{}`, false}, {KindPictured, `{"photo":"00"}`, false}, {KindPictured, `{"photo":"` + strings.Repeat("zz", 32) + `"}`, false}, {KindPictured, `{"photo":"` + strings.Repeat("01", 32) + `"}`, true},
		{KindSoaking, `{"step":"s","ready":"yesterday"}`, false},
	} {
		b, err := Decode(c.kind, []byte(c.text))
		if (err == nil) != c.ok || !c.ok && (CodeOf(err) != Invalid || b != nil) {
			t.Errorf("%s %s: %v, %v", c.kind, c.text, b, err)
		}
	}
	for text, ok := range map[string]bool{`{"name":"x","sort":"gauge"}`: true, `{"name":"x","sort":"gauge","more":1}`: false, `{"name":"x","sort":"gauge"}{}`: false, `{"name":1,"sort":"gauge"}`: false, `null`: false, `[]`: false} {
		if i, err := DecodeItem(OfTool, []byte(text)); (err == nil) != ok || !ok && (CodeOf(err) != Invalid || i != nil) {
			t.Errorf("a tool %s: %v, %v", text, i, err)
		}
	}
}

func TestItems(t *testing.T) {
	good := map[SubjectKind]string{
		OfShop: `{"name":"Yard","currency":"EUR","units":"metric","lang":"en","paper":"A4"}`, OfPerson: `{"name":"A B","initials":"AB","role":"owner","unit":{"pressure":"psi"}}`,
		OfDevice: `{"name":"tablet"}`, OfCustomer: `{"name":"Ferry yard"}`, OfPump: `{"serial":"ALD-1","model":"M","sheet":0}`, OfTool: `{"name":"wrench 1","sort":"wrench","due":"2027-03-01"}`,
		OfSheet: `{"name":"M","text":"x: 1"}`, OfFluid: `{"name":"water","test":{"kind":"water"}}`, OfPrice: `{"text":"kit","each":100}`,
	}
	bad := map[SubjectKind][]string{
		OfShop: {`{"name":"Y","currency":"eur","units":"metric","lang":"en","paper":""}`, `{"name":"Y","currency":"EUR","units":"x","lang":"en","paper":""}`, `{"name":"Y","currency":"EUR","units":"metric","lang":"","paper":""}`,
			`{"name":"Y","currency":"EUR","units":"metric","lang":"en","paper":"A5"}`},
		OfPerson: {`{"name":"A","initials":"A","role":"boss"}`, `{"name":"A","initials":"ABCDEFG","role":"owner"}`, `{"name":"A","initials":"A","role":"owner","look":"x"}`, `{"name":"A","initials":"A","role":"owner","units":"x"}`, `{"name":"A","initials":"A","role":"owner","unit":{"":"psi"}}`},
		OfDevice: {`{"name":""}`}, OfCustomer: {`{"name":""}`, `{"name":"x","phone":"\u0000"}`}, OfPump: {`{"serial":"","model":"M","sheet":0}`, `{"serial":"S","model":"","sheet":0}`},
		OfTool: {`{"name":"w","sort":"x"}`, `{"name":"w","sort":"wrench","due":"2027-13-01"}`}, OfSheet: {`{"name":"M","text":""}`}, OfFluid: {`{"name":"w","test":[]}`}, OfPrice: {`{"text":"","each":1}`, `{"text":"k","each":1000000000001}`},
	}
	for _, k := range Catalogue() {
		i, err := DecodeItem(k, []byte(good[k]))
		if err != nil || k != OfShop && len(Words(i.Words()...)) == 0 || i.Label() == "" {
			t.Errorf("%s: %v, %v", k, i, err)
			continue
		}
		kept, err := Keep(i)
		if err != nil {
			t.Fatal(err)
		}
		if again, err := DecodeItem(k, kept.Value); err != nil || again.Label() != i.Label() {
			t.Errorf("%s again: %v, %v", k, again, err)
		}
		for _, text := range append(bad[k], good[k]+"x", `null`, ``, `{"unknown":1}`) {
			if i, err := DecodeItem(k, []byte(text)); CodeOf(err) != Invalid && CodeOf(err) != TooLarge || i != nil {
				t.Errorf("%s %s: %v, %v", k, text, i, err)
			}
		}
		if len(bad[k]) == 0 {
			t.Errorf("%s has no bad case", k)
		}
	}
	_, err := DecodeItem(OfJob, []byte(`{}`))
	wantCode(t, err, Invalid)
	_, err = Keep(&Customer{})
	wantCode(t, err, Invalid)
}

// Amounts by hand: commercial rounding, half away from zero (DIN 1333, from memory).
func TestAmount(t *testing.T) {
	for _, c := range []struct{ quantity, each, want int64 }{
		{1000, 4250, 4250}, {1500, 4250, 6375}, {333, 1000, 333}, {500, 1, 1}, {499, 1, 0}, {-500, 1, -1}, {-499, 1, 0}, {2500, 3, 8}, {1500, -3, -5}, {-1500, -3, 5}, {1_000_000_000, 1_000_000, 1_000_000_000_000},
	} {
		if got := (&Priced{Quantity: c.quantity, Each: c.each}).Amount(); got != c.want {
			t.Errorf("%d × %d = %d, want %d", c.quantity, c.each, got, c.want)
		}
	}
}

func TestWords(t *testing.T) {
	for _, c := range []struct {
		text string
		want string
	}{
		{"Creeps DOWN, 2330 psi", "creeps down 2330 psi"}, {"ALD-0417", "ald-0417 ald 0417"}, {"Müller", "muller"}, {"Mu\u0308ller", "muller"}, {"a a A", "a"}, {"--x--", "x"}, {"-", ""}, {"İzmir", "izmir"},
		{"ÅNGSTRÖM", "angstrom"}, {"日本 語", "日本 語"}, {"x_1%", "x 1"}, {"", ""}, {"\xff\x00", ""}, {longText(100), strings.Repeat("u", 64)}, {strings.Repeat("語", 40), strings.Repeat("語", 21)},
	} {
		if got := strings.Join(Words(c.text), " "); got != c.want {
			t.Errorf("%q: %q, want %q", c.text, got, c.want)
		}
	}
	if got := strings.Join(Terms("ALD-04 Müller"), " "); got != "ald-04 muller" {
		t.Errorf("terms %q", got)
	}
	var many []string
	for i := range 500 {
		many = append(many, strings.Repeat("x", i%50)+string(rune('a'+i/50)))
	}
	if n := len(Words(many...)); n != maxWords {
		t.Errorf("%d words", n)
	}
	if SortKey(" Ärmel") != "armel" || NameKey(" MU\u0308LLER ") != "müller" || NameKey("Muller") == NameKey("Müller") {
		t.Error("keys")
	}
}

// What a decoder of JSON would change is refused before: bytes that are no UTF-8, half a pair of surrogates.
func TestTypedJSON(t *testing.T) {
	for text, fine := range map[string]bool{
		"": true, `{"a":"ü"}`: true, `"\u00fc\n\\"`: true, `"\ud83d\ude00"`: true, `"\\ud83d"`: true, `"\\\\ud83d"`: true, `"\uFFFD"`: true, "\"\uFFFD\"": true, `"\D83D\DE00"`: true, `"\u`: true, `\`: true,
		"\"a\xffb\"": false, "\xc3": false, `"\ud83d"`: false, `"\ude00"`: false, `"\ude00\ud83d"`: false, `"\ud83d\u0041"`: false, `"\ud83dx\ude00"`: false, `"\ud83d\ud83d\ude00"`: false, `"\\\ud83d"`: false,
		`"\ud83d\\ude00"`: false, `"\uD83D`: false,
	} {
		if err := TypedJSON("x", []byte(text)); (err == nil) != fine || err != nil && CodeOf(err) != Invalid {
			t.Errorf("%q: %v, want it taken %v", text, err, fine)
		}
	}
	for text, fine := range map[string]bool{"": true, "ü\n": true, "\uFFFD": true, "a\xff": false, "\x00": false} {
		if err := Typed("x", text); (err == nil) != fine || err != nil && CodeOf(err) != Invalid {
			t.Errorf("%q: %v, want it taken %v", text, err, fine)
		}
	}
}

// FuzzTypedJSON: what is taken comes out of the decoder as it went in.
func FuzzTypedJSON(f *testing.F) {
	for _, s := range []string{`"a"`, `"\ud83d\ude00"`, `"\ud83d"`, "\"\xff\"", `{"a":"\\ud83d"}`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		var v any
		if TypedJSON("x", data) != nil || json.Unmarshal(data, &v) != nil {
			return
		}
		s, ok := v.(string)
		if ok && strings.Count(s, "\uFFFD") != strings.Count(string(data), "\uFFFD")+strings.Count(strings.ToLower(string(data)), `\ufffd`) && !strings.Contains(string(data), `\\`) {
			t.Errorf("%q became %q", data, s)
		}
	})
}
