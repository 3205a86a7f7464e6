package web

import "net/http"

// routes lists every address with what answers it. A page that needs nobody to be signed in says do, all others say in.
func (s *Server) routes() *http.ServeMux {
	m := http.NewServeMux()
	open := func(pattern string, a action) { m.Handle(pattern, s.do(a)) }
	in := func(pattern string, a action) { m.Handle(pattern, s.in(a)) }

	open("GET /static/{version}/{name...}", s.staticFile)
	open("GET /sw.js", s.rootFile("sw.js"))
	open("GET /manifest.webmanifest", s.rootFile("manifest.webmanifest"))
	open("GET /favicon.ico", s.rootFile("icon.svg"))
	open("GET /offline", s.offline)
	open("GET /trust", s.trust)
	open("GET /trust/root.cer", s.trustRoot)
	open("GET /healthz", s.health)

	open("GET /set-up", s.viewSetUp)
	open("POST /set-up", s.setUp)
	open("GET /door", s.viewDoor)
	open("POST /door", s.enter)
	open("POST /leave", func(w http.ResponseWriter, r *http.Request) error { return s.anew(w, r, s.leave) })
	open("GET /let-in", s.viewLetIn)
	open("POST /let-in", s.letIn)
	open("POST /passkey/in/begin", s.passkeyInBegin)
	open("POST /passkey/in/finish", s.passkeyInFinish)
	in("POST /passkey/new/begin", s.passkeyNewBegin)
	in("POST /passkey/new/finish", s.passkeyNewFinish)

	in("GET /{$}", s.board)
	in("GET /board/lanes", s.boardLanes)
	in("GET /board/events", s.events)
	in("GET /search", s.search)
	in("GET /t/{job}", s.tagTarget)

	in("GET /jobs/new", func(w http.ResponseWriter, r *http.Request) error { return s.viewBook(w, r, &Form{}) })
	in("POST /jobs/new", s.post(s.book, s.viewBook))
	in("POST /jobs/import", s.importJob)
	s.jobRoutes(in)
	s.shopRoutes(in)
	for from, to := range pageOf {
		in(http.MethodGet+" "+from, s.lead(to))
	}
	if s.API != nil {
		m.Handle("/api/", s.API)
	}
	open("/", func(w http.ResponseWriter, r *http.Request) error { return notFound(r.URL.Path) })
	return m
}

func (s *Server) jobRoutes(in func(string, action)) {
	in("GET /jobs/{job}", s.job)
	in("POST /jobs/{job}/entries", s.entry)
	in("GET /jobs/{job}/booked", s.get(s.viewBooked))
	in("POST /jobs/{job}/booked", s.post(s.correctBooked, s.viewBooked))
	in("POST /jobs/{job}/notes", s.post(s.note, s.viewJob))
	in("POST /jobs/{job}/mind", s.post(s.mind, nil))
	in("POST /jobs/{job}/strike", s.post(s.strike, s.viewHistory))
	in("POST /jobs/{job}/photos", s.addPhoto)
	in("GET /photos/{hash}", s.photo)
	in("GET /photos/{hash}/small", s.photo)

	in("GET /jobs/{job}/found", s.get(s.viewHold))
	in("GET /jobs/{job}/prove", s.get(s.viewHold))
	in("GET /jobs/{job}/look", s.look)
	in("GET /jobs/{job}/presses", s.pressesNow)
	in("POST /jobs/{job}/judge", s.post(s.judge, s.viewHold))
	in("GET /jobs/{job}/readings", s.get(s.viewReadings))
	in("POST /jobs/{job}/readings", s.post(s.addReading, s.viewReadings))
	in("POST /jobs/{job}/bench", s.post(s.keepBench, s.viewReadings))
	in("GET /jobs/{job}/verdict/{seq}", s.viewVerdict)

	in("GET /jobs/{job}/findings", s.get(s.viewFindings))
	in("POST /jobs/{job}/findings", s.post(s.addFinding, s.viewFindings))
	in("GET /jobs/{job}/size", s.saySize)
	in("GET /jobs/{job}/choose", s.get(s.viewChoose))
	in("POST /jobs/{job}/choose", s.post(s.choose, s.viewChoose))
	in("GET /jobs/{job}/work", s.get(s.viewWork))
	in("GET /jobs/{job}/step", s.get(s.viewStep))
	in("POST /jobs/{job}/step", s.post(s.doStep, s.viewStep))
	in("GET /jobs/{job}/run", s.get(s.viewRun))
	in("POST /jobs/{job}/run", s.post(s.signRun, s.viewRun))
	in("GET /jobs/{job}/torque", s.sayTorque)
	in("GET /jobs/{job}/stack", s.get(s.viewStack))
	in("POST /jobs/{job}/stack", s.post(s.keepStack, s.viewStack))
	in("POST /jobs/{job}/soak", s.post(s.soak, s.viewStep))

	in("GET /jobs/{job}/hand", s.get(s.viewHand))
	in("POST /jobs/{job}/prices", s.post(s.addPrice, s.viewHand))
	in("POST /jobs/{job}/prices/remove", s.post(s.removePrice, s.viewHand))
	in("POST /jobs/{job}/override", s.post(s.override, s.viewHand))
	in("POST /jobs/{job}/hand", s.post(s.handOver, s.viewHand))
	in("POST /jobs/{job}/close", s.post(s.closeJob, s.viewHand))
	in("POST /jobs/{job}/again", s.post(s.again, s.viewJob))
	in("POST /jobs/{job}/reopen", s.post(s.reopen, s.viewJob))
	in("GET /jobs/{job}/history", s.get(s.viewHistory))
	in("GET /jobs/{job}/tag", s.tag)
	in("GET /jobs/{job}/tag.pdf", s.tagPDF)
	in("GET /jobs/{job}/report", s.reportPage)
	in("GET /jobs/{job}/report.pdf", s.reportPDF)
	in("GET /jobs/{job}/customer", s.customerPage)
	in("GET /jobs/{job}/customer.pdf", s.customerPDF)
	in("GET /jobs/{job}/archive", s.exportJob)
}

func (s *Server) shopRoutes(in func(string, action)) {
	in("GET /pumps/{id}", s.pumpHistory)
	in("GET /customers/{id}", s.customerHistory)
	in("GET /me", s.get(s.viewMe))
	in("POST /me", s.post(s.keepMe, s.viewMe))
	in("POST /me/pin", s.changePIN)
	in("POST /me/passkeys/drop", s.post(s.dropPasskey, s.viewMe))
	in("POST /me/sessions/end", s.post(s.endSession, s.viewMe))
	in("POST /me/wrong-pins", s.post(s.wrongPINsRead, s.viewMe))
	in("POST /me/units", s.post(s.switchUnits, nil))
	in("POST /me/look", s.post(s.switchLook, nil))
	in("POST /me/lang", s.post(s.switchLang, nil))

	in("GET /catalogue", s.catalogue)
	in("GET /catalogue/{kind}", s.listItems)
	in("GET /catalogue/{kind}/new", s.get(s.viewItem))
	in("POST /catalogue/{kind}/new", s.post(s.keepItem, s.viewItem))
	in("GET /catalogue/{kind}/{id}", s.get(s.viewItem))
	in("POST /catalogue/{kind}/{id}", s.post(s.keepItem, s.viewItem))
	in("POST /catalogue/{kind}/{id}/retire", s.post(s.retireItem, s.viewItem))
	in("GET /catalogue/{kind}/{id}/history", s.itemHistory)
	in("POST /catalogue/person/{id}/pin", s.post(s.setPIN, s.viewItem))
	in("POST /catalogue/device/{id}/out", s.post(s.takeOut, s.viewItem))
	in("GET /devices/code", s.viewCode)
	in("POST /devices/code", s.makeCode)
	in("GET /tokens", s.get(s.viewTokens))
	in("POST /tokens", s.makeToken)
	in("POST /tokens/{id}/revoke", s.post(s.revokeToken, s.viewTokens))
}

// get shows a view that has a form, not yet filled in.
func (s *Server) get(view func(http.ResponseWriter, *http.Request, *Form) error) action {
	return func(w http.ResponseWriter, r *http.Request) error { return view(w, r, &Form{}) }
}
