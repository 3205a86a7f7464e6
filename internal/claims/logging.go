package claims

// V16, security logging and error handling.
var logging = []Break{
	{"16.1.1", "a line of which the inventory says nothing", "internal/gate/session.go", "\"session ended\"", "\"a session was ended\"", "sec.TestLogInventory"},
	{"16.1.1", "a section of the document is put off", "docs/security.md", "What is written where:", "To be written.", "sec.TestPlainWordsFirst"},
	{"16.2.4", "the log is not what a program can read", "internal/serve/serve.go", "slog.New(slog.NewJSONHandler(to, nil))", "slog.New(slog.NewTextHandler(to, nil))", "serve.TestLogOfTheServer"},
	{"16.4.1", "what stands in a line of the log may begin another", "internal/serve/serve.go", "func logger(cfg Config, to io.Writer) *slog.Logger {\n", `type raw struct{ io.Writer }

func (r raw) Write(p []byte) (int, error) {
	out := make([]byte, 0, len(p))
	for i := 0; i < len(p); i++ {
		if p[i] == '\\' && i+1 < len(p) && p[i+1] == 'n' {
			out = append(out, '\n')
			i++
			continue
		}
		out = append(out, p[i])
	}
	_, err := r.Writer.Write(out)
	return len(p), err
}

func logger(cfg Config, to io.Writer) *slog.Logger {
	to = raw{to}
`, "serve.TestLogOfTheServer"},
	{"16.3.4", "handshakes that fail are not logged", "internal/serve/serve.go", "ErrorLog: slog.NewLogLogger(g.log.Handler(), slog.LevelInfo)}", "ErrorLog: slog.NewLogLogger(slog.DiscardHandler, slog.LevelInfo)}", "serve.TestNetworkByHTTPS"},
	{"16.3.1", "a code that does not fit is not logged", "internal/gate/device.go", "		g.opt.Log.WarnContext(ctx, \"code refused\", \"from\", g.address(r).String(), \"err\", err)\n", "", "gate.TestWhoComesIsWrittenDown"},
	{"16.2.1", "a line of the log does not say who", "internal/gate/wrap.go", "slog.Int64(\"person\", v.who.Person), ", "", "gate.TestLogHasNoSecrets"},
	{"16.2.3", "who asks is written past the log", "internal/gate/may.go", "	r, ok := rules[what]\n", "	fmt.Println(who)\n	r, ok := rules[what]\n", "sec.TestLogsGoToOnePlace"},
	{"16.2.3", "the log goes where the inventory does not say", "internal/cli/serve.go", "serve.Run(ctx, cfg, Version, a.out, a.err)", "serve.Run(ctx, cfg, Version, a.out, a.out)", "sec.TestLogsGoToOnePlace"},
	{"16.2.5", "wrong PINs stand in the log", "internal/gate/guess.go", "		return false, g.wrong(ctx, person, device, have)\n", "		g.opt.Log.InfoContext(ctx, \"tried\", \"pin\", pin)\n		return false, g.wrong(ctx, person, device, have)\n", "gate.TestLogHasNoSecrets"},
	{"16.3.1", "sign-ins are not logged", "internal/gate/signin.go", "	g.opt.Log.InfoContext(r.Context(), \"signed in\", \"person\", person, \"device\", who.Device, \"by\", \"PIN\")\n", "", "gate.TestWhoComesIsWrittenDown"},
	{"16.3.1", "wrong PINs are not logged", "internal/gate/guess.go", "	g.opt.Log.WarnContext(ctx, \"wrong PIN\", \"person\", person, \"device\", device, \"known\", have.Known, \"count\", have.Wrong)\n", "", "gate.TestWhoComesIsWrittenDown"},
	{"16.3.2", "refusals are not logged", "internal/gate/wrap.go", "	level := slog.LevelInfo\n", "	level := slog.LevelInfo\n	if a.status == http.StatusForbidden || a.status == http.StatusUnauthorized {\n		return\n	}\n", "web.TestRefusalsAreWrittenDown"},
	{"16.3.3", "foreign pages are refused in silence", "internal/gate/wrap.go", "	level := slog.LevelInfo\n", "	level := slog.LevelInfo\n	if a.status == http.StatusForbidden {\n		return\n	}\n", "web.TestRefusalsAreWrittenDown"},
	{"16.3.4", "a panic is not logged", "internal/gate/wrap.go", "		g.opt.Log.ErrorContext(r.Context(), \"panic\", \"id\", v.id, \"value\", p, \"stack\", string(debug.Stack()))\n", "		_ = debug.Stack()\n", "gate.TestPanic"},
	{"16.5.1", "a panic is shown", "internal/gate/wrap.go", "\"a mistake in the program\"", "string(debug.Stack())", "gate.TestPanic"},
	{"16.5.1", "an error of the database is shown as it is", "internal/store/fault.go", "Where: doing, Found: found, Mend: mend, Err: err}", "Where: doing, Found: found + \": \" + err.Error(), Mend: mend, Err: err}", "web.TestErrorsTellNothing"},
	{"16.5.2", "without a database the door is open", "internal/gate/wrap.go", "	if err == nil {\n		return 0, nil\n	}\n	var f", "	if err == nil || r.Method == http.MethodGet {\n		return 0, nil\n	}\n	var f", "gate.TestDatabaseGone"},
	{"16.5.3", "outside of the gate everybody is somebody", "internal/gate/gate.go", "	return who, who.Person != 0 && !who.Locked\n", "	return who, !who.Locked\n", "gate.TestOutsideOfWrap"},
	{"16.2.2", "times have no zone", "internal/serve/serve.go", "	return slog.New(slog.NewTextHandler(to, nil))\n", "	return slog.New(slog.NewTextHandler(to, &slog.HandlerOptions{ReplaceAttr: func(_ []string, a slog.Attr) slog.Attr {\n		if a.Key == slog.TimeKey {\n			return slog.String(a.Key, a.Value.Time().Format(time.DateTime))\n		}\n		return a\n	}}))\n", "serve.TestLogOfTheServer"},
	{"16.4.1", "an address is a line of the log as it comes", "internal/gate/wrap.go", "	g.opt.Log.LogAttrs(r.Context(), level, \"request\",", "	g.opt.Log.InfoContext(r.Context(), r.URL.Path)\n	g.opt.Log.LogAttrs(r.Context(), level, \"request\",", "gate.TestLogLinesCannotBeForged"},
	{"16.5.2", "a full disk is a fault of the program", "internal/store/fault.go", "	return record.Full, \"no space left", "	return record.Internal, \"no space left", "store.TestDatabaseFull"},
}
