package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/shop"
	"github.com/evenstroke/evenstroke/pump"
)

var (
	// languageKey is the key of a language itself, which is named in itself.
	languageKey = regexp.MustCompile(`<button name="lang" value="en" lang="en"[^>]*>`)
	unsaid      = regexp.MustCompile(`(?s)<(script|style|textarea|template)\b.*?</(script|style|textarea|template)>`)
	tags        = regexp.MustCompile(`(?s)<[^>]*>`)
	// english are words that stand in nearly every English sentence and in no Spanish one.
	english = regexp.MustCompile(`(?i)\b(the|of|with|that|which|from|found|expected|is|are|and|it|on|to)\b`)
)

// ownWords are texts of the shop: names in its pump sheet, what people typed, names of things. The sheet of the demo pump is English.
var ownWords = []string{"creeps <b>badly</b> & drips", "shown to the customer"}

// inSpanish wants a page without a mark of English, and without English, also in its pictures.
func inSpanish(t *testing.T, where, page string) {
	t.Helper()
	page = languageKey.ReplaceAllString(page, "")
	if i := strings.Index(page, `lang="en"`); i >= 0 {
		t.Errorf("%s: English is left: %.300s", where, page[i:])
	}
	text := strings.Join(strings.Fields(tags.ReplaceAllString(unsaid.ReplaceAllString(page, " "), " ")), " ")
	for _, own := range ownWords {
		text = strings.ReplaceAll(text, strings.NewReplacer("<", "&lt;", ">", "&gt;", "&", "&amp;").Replace(own), "")
	}
	if at := english.FindStringIndex(text); at != nil {
		t.Errorf("%s: this looks English: … %s …", where, text[max(0, at[0]-90):min(len(text), at[1]+90)])
	}
}

// spanish turns the person's pages Spanish.
func (b *bench) spanish(t *testing.T) {
	t.Helper()
	if code, body := b.post(b.client, "/me/lang", url.Values{"lang": {"es"}}); code != http.StatusOK || !strings.Contains(body, `<html lang="es"`) {
		t.Fatalf("to Spanish: %d %s", code, firstLines(body))
	}
}

func (b *bench) seen(t *testing.T, path string) string {
	t.Helper()
	code, body := b.get(b.client, path)
	if code != http.StatusOK {
		t.Errorf("%s: %d %s", path, code, firstLines(body))
	}
	inSpanish(t, path, body)
	return body
}

// sent posts a form and wants the page after it, or the page that says what is wrong, in Spanish.
func (b *bench) sent(t *testing.T, path string, form url.Values) string {
	t.Helper()
	_, body := b.post(b.client, path, form)
	inSpanish(t, path+" "+form.Encode(), body)
	return body
}

// TestAJobInSpanish walks a job of the demo pump from its booking to its papers and finds no English left.
func TestAJobInSpanish(t *testing.T) {
	b := newBench(t)
	b.spanish(t)
	b.seen(t, "/jobs/1")
	b.holdInSpanish(t, record.AsFound)
	b.sent(t, "/jobs/1/findings", url.Values{"part": {"rod"}, "text": {"rayado"}, "size": {"diameter"}, "value": {"21.18"}, "value.unit": {"mm"}})
	chosen := url.Values{}
	for part, a := range map[string]string{"throat leather ring": "replace", "throat polyethylene ring": "keep", "piston leather ring": "replace", "rod": "replace", "cylinder": "hone", "inlet valve seat": "turn over", "piston valve seat": "lap", "inlet valve ball": "keep"} {
		chosen.Set("part:"+part, a)
	}
	b.seen(t, "/jobs/1/choose")
	b.sent(t, "/jobs/1/choose", chosen)
	b.workInSpanish(t)
	b.holdInSpanish(t, record.AsLeft)
	b.seen(t, "/jobs/1/hand")
	b.sent(t, "/jobs/1/close", url.Values{"good": {"yes"}})
	b.sent(t, "/jobs/1/override", url.Values{"reason": {"se mostró al cliente"}})
	b.sent(t, "/jobs/1/hand", url.Values{"to": {"A. Cliente"}, "on_paper": {"true"}})
	b.papersInSpanish(t)
}

// try writes an entry; what keeps it out is said in Spanish.
func (b *bench) try(t *testing.T, body record.Body) {
	t.Helper()
	_, err := b.shop.Add(context.Background(), shop.By{Who: b.owner}, b.job, body)
	var fault *record.Fault
	if errors.As(err, &fault) {
		f := &Frame{Voice: catalogue(t).In("es")}
		inSpanish(t, "a fault", string(f.Fault(fault)))
	} else if err != nil {
		t.Fatal(err)
	}
}

// holdInSpanish makes a hold with everything a page can say of one: watches that give nothing, doubtful readings, the next checks.
func (b *bench) holdInSpanish(t *testing.T, h record.HoldStage) {
	t.Helper()
	page := map[record.HoldStage]string{record.AsFound: "/jobs/1/found", record.AsLeft: "/jobs/1/prove"}[h]
	look := "/jobs/1/look?hold=" + url.QueryEscape(string(h))
	b.seen(t, page)
	b.seen(t, look) // no reading yet
	b.sent(t, "/jobs/1/judge", url.Values{"hold": {string(h)}})
	for _, p := range []record.Pressed{
		{Watch: "a", Press: record.PressStart, Stroke: "up", Pressure: "2330 psi"}, {Watch: "a", Press: record.PressTop, Elapsed: 9000}, {Watch: "a", Press: record.PressMark, Elapsed: 11000},
		{Watch: "b", Press: record.PressStart, Stroke: "up"}, {Watch: "b", Press: record.PressBottom, Elapsed: 3000}, {Watch: "b", Press: record.PressEnd, Elapsed: 4000}, {Watch: "b", Press: record.PressTop, Elapsed: 5000},
		{Watch: "c", Press: record.PressStart, Pressure: "200 bar"}, {Watch: "c", Press: record.PressEnd, Elapsed: 9000}, {Watch: "d", Press: record.PressTop, Elapsed: 10},
		{Watch: "e", Press: record.PressStart, Locked: true, Pressure: "200 bar"}, {Watch: "e", Press: record.PressTop, Elapsed: 10}, {Watch: "e", Press: record.PressMark, Elapsed: 900},
		{Watch: "f", Press: record.PressStart, Stroke: "down", Pressure: "200 bar"}, {Watch: "f", Press: record.PressTop, Elapsed: 4000}, {Watch: "f", Press: record.PressTop, Elapsed: 9000}, {Watch: "f", Press: record.PressStart, Elapsed: 9500},
	} {
		p.Hold = h
		b.try(t, &p)
	}
	for _, r := range []string{`{"creep":"up","pressure":"2330 psi","travel":"60 mm","time":"14.2 s"}`, `{"creep":"up","pressure":"2330 psi","travel":"1 mm","time":"60 s"}`, `{"still":"down","pressure":"2330 psi","time":"30 s"}`, `{"sign":"spits"}`} {
		b.add(t, &record.Read{Hold: h, Reading: json.RawMessage(r)})
	}
	b.seen(t, look)
	b.seen(t, look+"&watch=g&elapsed_ms=12000")
	for _, kind := range readingKinds {
		b.seen(t, "/jobs/1/readings?hold="+url.QueryEscape(string(h))+"&kind="+kind)
	}
	for _, bad := range []url.Values{
		{"kind": {"creep"}, "pressure": {"2330"}, "pressure.unit": {"psi"}}, {"kind": {"creep"}, "pressure": {"9000 bar"}, "travel": {"3 m"}, "time": {"9 s"}}, {"kind": {"still"}, "pressure": {"60 mm"}, "time": {"9 s"}},
		{"kind": {"run"}, "cycles": {"20"}, "pressure": {"100 bar"}}, {"kind": {"run"}, "cycles": {"2000"}, "pressure": {"100 bar"}, "time": {"2 s"}, "volume": {"9 L"}}, {"kind": {"drips"}, "path": {"roof"}, "pressure": {"100 bar"}, "time": {"9 s"}, "drops": {"4"}},
		{"kind": {"locked"}, "stroke": {"up"}}, {"kind": {"sign"}, "sign": {"hums"}}, {"kind": {"changeover"}, "pressure": {"200 bar"}, "time": {"1 ms"}},
	} {
		bad.Set("hold", string(h))
		if bad.Get("stroke") == "" {
			bad.Set("stroke", "up")
		}
		if body := b.sent(t, "/jobs/1/readings", bad); !strings.Contains(body, `id="errors"`) {
			t.Errorf("%s is taken", bad.Encode())
		}
	}
	b.sent(t, "/jobs/1/judge", url.Values{"hold": {string(h)}})
	b.verdictInSpanish(t, h)
}

func (b *bench) verdictInSpanish(t *testing.T, h record.HoldStage) {
	t.Helper()
	_, got, err := b.shop.Judge(context.Background(), shop.By{Who: b.owner}, b.job, h)
	if err != nil {
		t.Fatal(err)
	}
	body := b.seen(t, fmt.Sprintf("/jobs/1/verdict/%d", got.Entry.Seq))
	if !strings.Contains(body, "Supuesto") && !strings.Contains(body, "las probabilidades de partida son experiencia general") {
		t.Error("the verdict does not say in Spanish what it assumes")
	}
}

// workInSpanish does the work: every page of a step, steps left out, done wrong and refused.
func (b *bench) workInSpanish(t *testing.T) {
	t.Helper()
	j, err := b.shop.Job(context.Background(), b.job)
	if err != nil {
		t.Fatal(err)
	}
	w, err := b.shop.Work(j)
	if err != nil {
		t.Fatal(err)
	}
	b.seen(t, "/jobs/1/work")
	for i, st := range w.Steps {
		b.seen(t, "/jobs/1/step?id="+escape(st.ID))
		if i == 0 {
			b.sent(t, "/jobs/1/step", url.Values{"step": {st.ID}, "do": {"sign"}}) // its cautions are not read
		}
		for _, c := range st.Mind {
			b.add(t, &record.Minded{Caution: c.Text})
		}
		b.doInSpanish(t, st)
		if st.Stack != "" && st.Ring == 1 {
			b.sent(t, "/jobs/1/stack", url.Values{"stack": {st.Stack}, "part0": {"rod"}, "part1": {"throat leather ring"}, "lips1": {"up"}, "shim": {"3 mm"}})
			b.sent(t, "/jobs/1/stack", url.Values{"stack": {st.Stack}})
			b.seen(t, "/jobs/1/stack?name="+escape(st.Stack))
		}
	}
	body := b.seen(t, "/jobs/1/work")
	for _, want := range []string{"sobra", "par fuera de tolerancia", "fuerza de apriete como se montó:"} {
		if !strings.Contains(body, want) {
			t.Errorf("the departures do not say %q", want)
		}
	}
	b.seen(t, "/jobs/1")
}

// doInSpanish does one step: first in every way that is refused, then so that it departs from the order, some not at all.
func (b *bench) doInSpanish(t *testing.T, st assess.Step) {
	t.Helper()
	form := url.Values{"step": {st.ID}, "do": {"sign"}, "note": {"hecho"}}
	switch st.Kind {
	case pump.StepTorque:
		body := b.sent(t, "/jobs/1/step", url.Values{"step": {st.ID}, "torque": {"50 N·m"}, "adapter": {"80 mm"}, "turn": {"line"}})
		if strings.Contains(body, "añada una línea") || !strings.Contains(body, "rellene: Llave") {
			t.Errorf("%s: the page does not say what to do on the page", st.ID)
		}
		for _, bad := range []url.Values{{"torque": {"50 mm"}}, {}, {"torque": {"50 N·m"}, "angle": {"9°"}}, {"torque": {"5000 N·m"}}, {"torque": {"50 N·m"}, "wrench": {"0.4 m"}, "adapter": {"0.5 m"}, "angle": {"180°"}}, {"torque": {"50 N·m"}, "tool": {"77"}}} {
			bad.Set("step", st.ID)
			b.sent(t, "/jobs/1/step", bad)
		}
		b.sent(t, "/jobs/1/step", url.Values{"step": {st.ID}, "torque": {"50 N·m"}}) // how the spanner sits was not said
		b.seen(t, "/jobs/1/torque?torque=50+N·m&turn=line&wrench=400+mm&step="+escape(st.ID))
		b.seen(t, "/jobs/1/torque?torque=5+N·m&turn=line&wrench=400+mm&step="+escape(st.ID))
		form.Set("torque", fmt.Sprintf("%.1f N·m", 0.7*st.Torque))
		form.Set("turn", "line")
		form.Set("wrench", "400 mm")
	case pump.StepSoak:
		b.sent(t, "/jobs/1/soak", url.Values{"step": {st.ID}})
		b.seen(t, "/jobs/1/step?id="+escape(st.ID))
		form.Set("soaked", "5 min")
	case pump.StepHold:
		form.Set("pressure", "10 bar")
		form.Set("held", "5 s")
	case pump.StepMeasure, pump.StepLubricate:
		form.Set("do", "skip")
		b.sent(t, "/jobs/1/step", url.Values{"step": {st.ID}, "do": {"skip"}}) // without a reason
	}
	b.sent(t, "/jobs/1/step", form)
}

// papersInSpanish reads the papers, the history and the lists.
func (b *bench) papersInSpanish(t *testing.T) {
	t.Helper()
	p, err := pump.DemoPump("orrin-30")
	if err != nil {
		t.Fatal(err)
	}
	ownWords = append(ownWords, strings.Join(strings.Fields(p.Note), " "))
	body := b.seen(t, "/jobs/1/report?as=html")
	for _, want := range []string{"Desvíos", "se encontró:", "Próximas comprobaciones", "observado: escupe", "Supuesto: "} {
		if !strings.Contains(body, want) {
			t.Errorf("the report does not say %q", want)
		}
	}
	b.seen(t, "/jobs/1/customer")
	body = b.seen(t, "/jobs/1/history")
	now := `</b> <ins><span class="sr">ahora </span>`
	for _, want := range []string{"<b>Cliente" + now + "Harbour painters</ins>", "<b>Bomba" + now + "ALD-0417", "apretar al par", "Firmado en papel", "Llegó arriba", "cambiar"} {
		if !strings.Contains(body, want) {
			t.Errorf("the history does not say %q", want)
		}
	}
	for _, p := range []string{"/jobs/1/tag", "/jobs/1/report", "/jobs/1/booked", "/", "/search?q=harbour", "/jobs/77", "/nothing", "/pumps/1", "/pumps/1000", "/customers/1", "/me", "/catalogue", "/tokens"} {
		_, body := b.get(b.client, p)
		inSpanish(t, p, body)
	}
	for path, form := range map[string]url.Values{
		"/jobs/new":               {"serial": {"S"}, "model": {"0:orrin-30"}, "customer": {"C"}, "complaint": {"x"}, "hours": {"three weeks"}},
		"/catalogue/customer/new": {"name": {""}},
		"/catalogue/price/new":    {"text": {"kit"}, "each": {"12,345"}},
		"/catalogue/sheet/new":    {"name": {"x"}, "text": {"pump: 1\nname: y"}},
		"/catalogue/person/new":   {"name": {"x"}, "role": {"king"}},
		"/me":                     {"unit:pressure": {"fathom"}},
	} {
		b.sent(t, path, form)
	}
}

// A script gets what is wrong in Spanish too; the name of the field stays as the form has it.
func TestAScriptHearsSpanish(t *testing.T) {
	b := newBench(t)
	b.spanish(t)
	req, err := http.NewRequest(http.MethodPost, b.url+"/jobs/1/entries", strings.NewReader(`{"key":"p-1","at":"2026-11-25T10:00:00Z","kind":"pressed","body":{"hold":"as found","watch":"w","press":"start","elapsed_ms":0,"stroke":"up","pressure":"2330"}}`))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Accept", "application/json")
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Sec-Fetch-Site", "same-origin")
	code, answer := b.do(b.client, req)
	var p struct{ Where, Found, Want, Mend, Detail string }
	if err := json.Unmarshal([]byte(answer), &p); err != nil || code < 400 {
		t.Fatalf("%d %s", code, answer)
	}
	if p.Where != "pressure" || p.Found != `"2330" no tiene unidad` || p.Want != "una presión" || !strings.HasPrefix(p.Detail, `Presión: se encontró: "2330" no tiene unidad; se espera: una presión; `) {
		t.Errorf("found %q, want %q, mend %q, detail %q", p.Found, p.Want, p.Mend, p.Detail)
	}
}

// A sentence that nobody translated is marked as English, and what stands in it stays text.
func TestWhatHasNoTranslationIsMarked(t *testing.T) {
	f := &Frame{Voice: catalogue(t).In("es")}
	if got := f.E("The <b>moon</b> leaks."); got != `<span lang="en">The &lt;b&gt;moon&lt;/b&gt; leaks.</span>` {
		t.Errorf("got %s", got)
	}
	if got := f.E("worn"); got != "gastado" {
		t.Errorf("got %s", got)
	}
	if got := f.Fault(record.Faultf(record.Invalid, "torque", "<moon>", "nobody knows what: it is a long way up to there, and dark", "")); !strings.HasPrefix(string(got), `<span lang="en">torque: found &lt;moon&gt;`) {
		t.Errorf("got %s", got)
	}
	if got := (&Frame{Voice: catalogue(t).In("en")}).E("The moon leaks."); got != "The moon leaks." {
		t.Errorf("English says %s", got)
	}
	if !slices.Contains(hold.Signs, "spits") {
		t.Error("the sign of the tests is gone")
	}
}

// On a page nobody adds lines to a file.
func TestAdviceForThePage(t *testing.T) {
	for lang, want := range map[string]string{"en": "Adapter: found an adapter without the length of the wrench; expected both lengths, or an adapter square to the wrench; fill in: Wrench", "es": "Adaptador: se encontró: un adaptador sin el largo de la llave; se espera: los dos largos, o un adaptador a escuadra con la llave; rellene: Llave"} {
		f := &Frame{Voice: catalogue(t).In(lang)}
		if got := f.Fault(record.Faultf(record.Invalid, "adapter", "an adapter without the length of the wrench", "both lengths, or an adapter square to the wrench", "add a line `wrench: …`, from the hand to the drive")); string(got) != want {
			t.Errorf("%s: %s, want %s", lang, got, want)
		}
	}
}
