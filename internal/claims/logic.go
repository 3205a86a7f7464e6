package claims

// V2, validation and business logic.
var logic = []Break{
	{"2.1.3", "the document does not name a limit", "docs/security.md", "| a token | 366 days at most |", "| a token | some days |", "sec.TestNumbersOfTheDocument"},
	{"2.2.1", "a quantity that cannot be read is kept", "internal/shop/check.go", "	if _, err := unit.Parse(s, d); err != nil {\n", "	if _, err := unit.Parse(s, d); err != nil && len(s) > 20 {\n", "shop.TestWhatCannotBeReadIsNotKept"},
	{"2.2.1", "any text may be as long as it likes", "internal/record/check.go", "	case utf8.RuneCountInString(s) > most:\n", "	case utf8.RuneCountInString(s) > most<<20:\n", "record.TestCheck"},
	{"2.2.2", "what is sent by hand is not checked", "internal/shop/check.go", "		return s.checkPump(j, b)\n	case *record.Overrode:", "		return nil\n	case *record.Overrode:", "shop.TestWhatCannotBeReadIsNotKept"},
	{"2.2.3", "a number stands for nothing", "internal/shop/refs.go", "	if record.CodeOf(err) == record.NotFound {\n		return nil, record", "	if record.CodeOf(err) == record.NotFound {\n		return nil, nil\n	}\n	if err != nil && r.Field == \"\" {\n		return nil, record", "shop.TestNumbersStandForSomething"},
	{"2.2.3", "a bill is in any currency", "internal/shop/check.go", "p.Currency != b.Currency {", "p.Currency == \"\" {", "shop.TestWhatCannotBeReadIsNotKept"},
	{"2.2.3", "a job is closed as good without proof", "internal/shop/closing.go", "open > 0 {", "open > 100 {", "shop.TestClosingNeedsProofOrAName"},
	{"2.3.2", "a closed job takes entries", "internal/record/summary.go", "	case *Noted, *Pictured, *Moved:\n", "	case *Noted, *Pictured, *Moved, *Read, *Found, *Chose, *Priced, *Did, *Closed:\n", "record.TestTakes"},
	{"2.3.2", "a token lives for ever", "internal/gate/token.go", "tokenLife = 366 * 24 * time.Hour", "tokenLife = 3660 * 24 * time.Hour", "gate.TestTokens"},
	{"2.3.3", "what failed half-way is kept", "internal/store/tx.go", "		if back := tx.Rollback(); back != nil && !errors.Is(back, sql.ErrTxDone) {\n			return errors.Join(err, back)\n		}\n		return err\n	}\n	return tx.Commit()", "		if back := tx.Commit(); back != nil {\n			return errors.Join(err, back)\n		}\n		return err\n	}\n	return tx.Commit()", "store.TestContract"},
	{"2.3.4", "two write over one another", "internal/store/append.go", "ifSeq != AnySeq && ifSeq != sum.Seq {", "ifSeq != AnySeq && ifSeq > sum.Seq {", "store.TestContract"},
	{"2.4.1", "a device asks as often as it likes", "internal/gate/wrap.go", "		if left := g.devices.take(key, v.start); left > 0 {\n", "		if left := g.devices.take(key, v.start); left > time.Hour {\n", "gate.TestRates"},
	{"2.4.1", "an address asks as often as it likes", "internal/gate/wrap.go", "	if left := g.addresses.take(network(g.address(r)), v.start); left > 0 {\n", "	if left := g.addresses.take(network(g.address(r)), v.start); left > time.Hour {\n", "gate.TestRates"},
	{"2.4.1", "a program asks as often as it likes", "internal/gate/wrap.go", "	if v.who.Device != 0 || v.who.Token {\n", "	if v.who.Device != 0 {\n", "api.TestRatesHoldForEveryOperation"},
	{"2.1.1", "the document of the API does not say what comes in", "internal/api/route.go", "	in.RequestBody = s.request(registry)\n", "	_ = in\n", "api.TestDocument"},
	{"2.1.1", "the document of the API does not say what may be answered", "internal/api/route.go", "	if s.found {\n		out[http.StatusNotFound] = true\n	}\n", "", "api.TestOperations"},
	{"2.2.1", "what is wrong in a form is not shown", "internal/web/pages/pieces.html", "<div class=\"notice error\" role=\"alert\" id=\"errors\" tabindex=\"-1\">{{template \"icon\" (.F.Icon \"stop\")}}<div><h2>{{if .F.In}}", "<div class=\"notice error\" role=\"alert\" tabindex=\"-1\">{{template \"icon\" (.F.Icon \"stop\")}}<div><h2>{{if .F.In}}", "web.TestBoxesAreChecked"},
	{"2.3.4", "two processes set the shop up", "internal/gate/setup.go", "record.CodeOf(err) == record.Conflict || got.Duplicate {", "record.CodeOf(err) == record.Conflict && got.Duplicate {", "gate.TestSetUpAtOnce"},
}
