package claims

// V8, authorization.
var access = []Break{
	{"8.1.1", "the document says another role than the gate", "docs/security.md", "| writing a bill | office | write |", "| writing a bill | trainer | write |", "sec.TestRolesAreWritten"},
	{"8.1.2", "a field of which nothing is said", "internal/record/item.go", "	Initials string            `json:\"initials\"`\n", "	Initials string            `json:\"initials\"`\n	Wage int `json:\"wage,omitempty\"`\n", "sec.TestFieldsAreWritten"},
	{"8.1.1", "a technician writes bills", "internal/gate/may.go", "	Bill:          {from: record.Office, token: true},", "	Bill:          {from: record.Technician, token: true},", "gate.TestWhoMayWhat"},
	{"8.2.1", "nobody is asked who it is", "internal/web/server.go", "		if !ok || who.Person == 0 || who.Locked {\n", "		if !ok && who.Device == 0 {\n", "web.TestWhoMayGoWhere"},
	{"8.2.1", "an address is open to everybody", "internal/web/routes.go", "	in(\"POST /jobs/import\"", "	open(\"POST /jobs/import\"", "web.TestWhoMayGoWhere"},
	{"8.2.1", "a new address that nobody thought of", "internal/web/routes.go", "	in(\"GET /tokens\"", "	in(\"GET /tokens/all\", s.get(s.viewTokens))\n	in(\"GET /tokens\"", "web.TestEveryRouteIsListed"},
	{"8.2.1", "the API answers to the cookies of a page", "internal/api/api.go", "	if !open && (!ok || !who.Token) {\n", "	if !open && !ok {\n", "api.TestCookies"},
	{"8.2.1", "the API answers without a token", "internal/api/api.go", "	if !open && (!ok || !who.Token) {\n", "	if !open && ok && !who.Token {\n", "api.TestEveryOperationNeedsAToken"},
	{"8.2.1", "a token lets people in", "internal/gate/may.go", "	KeepPerson:    {from: record.Office},", "	KeepPerson:    {from: record.Office, token: true},", "api.TestNoPowerByToken"},
	{"8.2.1", "every token takes jobs of other shops in", "internal/gate/may.go", "	Import:        {from: record.Owner, token: true, whole: true},", "	Import:        {from: record.Office, token: true, whole: true},", "api.TestImportTakesTheRightOfAnOwner"},
	{"8.2.2", "everybody strikes what others wrote", "internal/shop/may.go", "	if entries[0].By == by.Person {\n", "	if entries[0].By != 0 {\n", "shop.TestOwnEntriesAreOnesOwn"},
	{"8.2.2", "everybody strikes what others wrote, on the pages", "internal/shop/may.go", "	if entries[0].By == by.Person {\n", "	if entries[0].By != 0 {\n", "web.TestNobodyActsForAnother"},
	{"8.2.2", "office makes owners", "internal/gate/may.go", "	if was == record.Owner || will == record.Owner {\n", "	if was == record.Owner {\n", "shop.TestPeopleAreKeptByThoseWhoMay"},
	{"8.2.3", "who may not changes a role", "internal/shop/may.go", "		if err := gate.MayKeepPerson(by.Who, was.Role, will.Role); err != nil {\n			return err\n		}\n", "", "shop.TestPeopleAreKeptByThoseWhoMay"},
	{"8.3.1", "a token that may only read writes", "internal/gate/may.go", "	if who.Token && who.Scope != \"write\" && what != Read && what != SeeWrong {\n", "	if who.Token && who.Scope == \"\" {\n", "gate.TestMayNot"},
	{"8.3.1", "a locked session may go on", "internal/gate/may.go", "	if who.Person == 0 || who.Locked {\n", "	if who.Person == 0 {\n", "gate.TestMayNot"},
}
