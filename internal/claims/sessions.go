package claims

// V7, session management.
var sessions = []Break{
	{"7.1.1", "the program has another idle time than the document", "internal/gate/gate.go", "o.Idle = 15 * time.Minute", "o.Idle = 45 * time.Minute", "sec.TestNumbersOfTheDocument"},
	{"7.2.1", "a session works on every device", "internal/store/access.go", "ON v.hash = $2 AND v.device = d.device WHERE", "ON v.hash = $2 WHERE", "gate.TestSessionOfAnotherDevice"},
	{"7.2.2", "a token does not end", "internal/store/keys.go", "t.Revoked || t.Expires.Before(s.now())", "t.Revoked", "gate.TestTokens"},
	{"7.2.2", "a token cannot be revoked", "internal/store/keys.go", "t.Revoked || t.Expires.Before(s.now())", "t.Expires.Before(s.now())", "gate.TestTokens"},
	{"7.2.3", "a secret has 64 random bits", "internal/gate/cookie.go", "	b := make([]byte, secretBytes)\n	rand.Read(b)\n", "	b := make([]byte, secretBytes)\n	rand.Read(b[:8])\n", "gate.TestSecretsAreOfTheirForm"},
	{"7.2.4", "signing in keeps the session that was there", "internal/gate/session.go", "	token := newSecret()\n", "	token := newSecret()\n	if old := g.cookie(r, sessionCookie); old != \"\" {\n		token = old\n	}\n", "gate.TestFixation"},
	{"7.2.4", "the session before goes on", "internal/gate/session.go", "		if err := g.st.EndSession(r.Context(), old); err != nil {\n			return err\n		}\n", "		_ = old\n", "gate.TestFixation"},
	{"7.3.1", "a session that is not used is not locked", "internal/gate/session.go", "	if now.Sub(s.Seen) > g.opt.Idle {\n", "	if now.Sub(s.Seen) > g.opt.Life {\n", "gate.TestIdle"},
	{"7.3.1", "an open page keeps somebody signed in", "internal/web/refuse.go", "return r.URL.Path == \"/board/events\" || r.URL.Path == \"/board/lanes\" ||", "return r.URL.Path == \"/board/events\" ||", "web.TestBackgroundKeepsNobodyIn"},
	{"7.3.2", "a session never ends", "internal/store/access.go", "	if !person.Valid || at.Expires.Before(s.now()) {", "	if !person.Valid {", "gate.TestSessionEnds"},
	{"7.4.1", "leaving ends nothing on the server", "internal/gate/session.go", "	if token == \"\" {\n		return nil\n	}\n	return g.st.EndSession(r.Context(), token)\n", "	_ = token\n	return nil\n", "web.TestLeavingClears"},
	{"7.4.2", "who left is still signed in", "internal/gate/people.go", "!ok || i.Retired {", "!ok {", "gate.TestRoleChange"},
	{"7.4.2", "the token of who left works", "internal/gate/people.go", "!ok || i.Retired {", "!ok {", "gate.TestTokenOfSomebodyWhoLeft"},
	{"7.4.3", "other sessions go on after a change of PIN", "internal/gate/session.go", "	g.forget(person)\n	return g.st.EndSessions(ctx, person, 0)\n", "	g.forget(person)\n	return nil\n", "gate.TestChangePIN"},
	{"7.4.3", "signing out everywhere signs out nowhere", "internal/gate/session.go", "	if err := g.st.EndSessions(r.Context(), who.Person, 0); err != nil {\n		return err\n	}\n", "", "gate.TestSignOutEverywhere"},
	{"7.4.5", "taking a device out ends no session", "internal/store/access.go", "DELETE FROM device_secret WHERE device = $1", "DELETE FROM device_secret WHERE device = $1 AND device = 0", "gate.TestDropDevice"},
	{"7.5.1", "a sign-in is fresh for a day", "internal/gate/session.go", "freshFor = 10 * time.Minute", "freshFor = 24 * time.Hour", "web.TestLastingPowerTakesAFreshSignIn"},
	{"7.5.1", "another role takes no fresh sign-in", "internal/shop/may.go", "		return gate.Fresh(by.Who, s.now(), \"changing a role\")\n", "		return nil\n", "shop.TestRoleTakesAFreshSignIn"},
	{"7.5.1", "a passkey is added by whoever finds the tablet", "internal/gate/passkey.go", "	if err := g.fresh(who, \"adding a passkey\"); err != nil {\n		return err\n	}\n", "", "gate.TestAddPasskeyRefused"},
	{"7.6.2", "asking for a page signs in", "internal/gate/header.go", "	case http.MethodGet, http.MethodHead, http.MethodOptions:\n", "	case http.MethodGet, http.MethodHead, http.MethodOptions, http.MethodPost:\n", "web.TestOtherPagesCannotPost"},
}
