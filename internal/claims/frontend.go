package claims

// V3, web frontend, and V4, API and web service.
var frontend = []Break{
	{"3.2.1", "a photo is given out as it pleases the browser", "internal/web/photo.go", "	w.Header().Set(\"Content-Type\", \"image/jpeg\")\n", "	w.Header().Set(\"Content-Type\", \"text/html; charset=utf-8\")\n", "web.TestOnePictureAnUpload"},
	{"3.2.1", "answers may be read by pages of other servers", "internal/gate/header.go", "	h.Set(\"Cross-Origin-Resource-Policy\", \"same-origin\")\n", "", "gate.TestHeaders"},
	{"3.2.2", "a script makes elements of text", "internal/web/static/js/app.js", "import { el, icon } from \"./dom.js\";", "import { el, icon } from \"./dom.js\"; document.body.innerHTML = location.hash;", "sec.TestScriptsHaveNoSinks"},
	{"3.3.2", "cookies go along from other pages", "internal/gate/cookie.go", "SameSite: http.SameSiteLaxMode", "SameSite: http.SameSiteNoneMode", "gate.TestCookieFlags"},
	{"3.3.4", "scripts may read cookies", "internal/gate/cookie.go", "HttpOnly: true", "HttpOnly: false", "gate.TestCookieFlags"},
	{"3.3.4", "scripts may read cookies, on the network", "internal/gate/cookie.go", "HttpOnly: true", "HttpOnly: !g.opt.Secure", "serve.TestCookiesOnTheNetwork"},
	{"3.4.2", "answers may be read from everywhere", "internal/gate/header.go", "	h.Set(\"Cache-Control\", \"no-store\")\n", "	h.Set(\"Cache-Control\", \"no-store\")\n	h.Set(\"Access-Control-Allow-Origin\", \"*\")\n", "api.TestAnswersAreNotKept"},
	{"3.4.3", "scripts written into a page run", "internal/gate/header.go", "script-src 'self';", "script-src 'self' 'unsafe-inline';", "gate.TestHeaders"},
	{"3.4.3", "the printed page may run scripts", "internal/web/paper.go", "style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none';", "style-src 'unsafe-inline'; img-src data:;", "web.TestPagesAreNotKept"},
	{"3.4.4", "browsers may guess types", "internal/gate/header.go", "	h.Set(\"X-Content-Type-Options\", \"nosniff\")\n", "", "web.TestPagesAreNotKept"},
	{"3.4.5", "addresses are told to others", "internal/gate/header.go", "	h.Set(\"Referrer-Policy\", \"same-origin\")\n", "", "gate.TestHeaders"},
	{"3.4.6", "pages may be framed", "internal/gate/header.go", "frame-ancestors 'none'; base-uri", "base-uri", "web.TestPagesAreNotKept"},
	{"3.5.1", "a form without an origin is taken", "internal/gate/header.go", "		return !token\n", "		return false\n", "gate.TestCrossSite"},
	{"3.5.1", "forms of other pages are taken", "internal/gate/wrap.go", "	if g.crossSite(r, v.who.Token) {", "	if g.crossSite(r, v.who.Token) && v.who.Person == 0 {", "web.TestOtherPagesCannotPost"},
	{"3.5.3", "a page that is looked at writes", "internal/web/routes.go", "	in(\"GET /jobs/{job}\", s.job)\n", "	in(\"GET /jobs/{job}\", s.post(s.again, s.viewJob))\n", "web.TestGetWritesNothing"},
	{"3.7.1", "a page has a script within", "internal/web/pages/door.html", "<input id=\"pin\" name=\"pin\"", "<script>x()</script><input id=\"pin\" name=\"pin\"", "sec.TestRawMarkup"},
	{"3.7.1", "a page asks another server", "internal/web/pages/door.html", "<input id=\"pin\" name=\"pin\"", "<img src=\"https://example.org/x.png\"><input id=\"pin\" name=\"pin\"", "sec.TestNothingFromElsewhere"},
	{"3.7.2", "a form leads to another server", "internal/web/form.go", "u.Scheme == \"\" && u.Host == \"\" && strings.HasPrefix(to, \"/\") && !strings.HasPrefix(to, \"//\")", "u.Scheme == \"\"", "web.TestNobodyIsLedElsewhere"},
	{"3.7.2", "the plain port leads to whatever name is asked for", "internal/serve/plain.go", "	own := \"\"\n", "	own := asked\n", "serve.TestPlainPortLeadsToHTTPSOnly"},
	{"4.1.1", "pages name no character set", "internal/web/zip.go", "\"text/html; charset=utf-8\"", "\"text/html\"", "web.TestPagesAreNotKept"},
	{"4.1.2", "a program is led on from plain HTTP", "internal/serve/plain.go", " || strings.HasPrefix(r.URL.Path, \"/api/\") {", " {", "serve.TestPlainPortLeadsToHTTPSOnly"},
	{"4.1.3", "everybody's X-Forwarded-For is believed", "internal/gate/host.go", "	if !g.proxy(from) {\n		return from\n	}\n	hops", "	hops", "gate.TestAddress"},
	{"4.1.3", "a visitor of a proxy passes for the machine itself", "internal/gate/setup.go", "!at.Addr().Unmap().IsLoopback() || g.proxy(at.Addr().Unmap())", "!at.Addr().Unmap().IsLoopback()", "gate.TestFromHereBehindAProxy"},
	{"4.1.3", "everybody can be named as a proxy", "internal/serve/config.go", "		case p.Bits() < widest4 ||", "		case p.Bits() < 0 ||", "serve.TestProxiesAreNamed"},
}
