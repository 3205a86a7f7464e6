package claims

// V16, security logging and error handling.
var logging = []Break{
	{"16.2.1", "a line of the log does not say who", "internal/gate/wrap.go", "slog.Int64(\"person\", v.who.Person), ", "", "gate.TestLogHasNoSecrets"},
	{"16.2.5", "wrong PINs stand in the log", "internal/gate/guess.go", "		return false, g.wrong(ctx, person, device, have)\n", "		g.opt.Log.InfoContext(ctx, \"tried\", \"pin\", pin)\n		return false, g.wrong(ctx, person, device, have)\n", "gate.TestLogHasNoSecrets"},
	{"16.3.1", "sign-ins are not logged", "internal/gate/signin.go", "	g.opt.Log.InfoContext(r.Context(), \"signed in\", \"person\", person, \"device\", who.Device, \"by\", \"PIN\")\n", "", "gate.TestWhoComesIsWrittenDown"},
	{"16.3.1", "wrong PINs are not logged", "internal/gate/guess.go", "	g.opt.Log.WarnContext(ctx, \"wrong PIN\", \"person\", person, \"device\", device, \"known\", have.Known, \"count\", have.Wrong)\n", "", "gate.TestWhoComesIsWrittenDown"},
	{"16.3.2", "refusals are not logged", "internal/gate/wrap.go", "	level := slog.LevelInfo\n", "	level := slog.LevelInfo\n	if a.status == http.StatusForbidden || a.status == http.StatusUnauthorized {\n		return\n	}\n", "web.TestRefusalsAreWrittenDown"},
	{"16.3.3", "foreign pages are refused in silence", "internal/gate/wrap.go", "	level := slog.LevelInfo\n", "	level := slog.LevelInfo\n	if a.status == http.StatusForbidden {\n		return\n	}\n", "web.TestRefusalsAreWrittenDown"},
	{"16.3.4", "a panic is not logged", "internal/gate/wrap.go", "		g.opt.Log.ErrorContext(r.Context(), \"panic\", \"id\", v.id, \"value\", p, \"stack\", string(debug.Stack()))\n", "		_ = debug.Stack()\n", "gate.TestPanic"},
	{"16.5.1", "a panic is shown", "internal/gate/wrap.go", "\"a mistake in the program\"", "string(debug.Stack())", "gate.TestPanic"},
	{"16.5.1", "an error of the database is shown", "internal/web/problem.go", "Found: \"an error of its own\"", "Found: err.Error()", "web.TestErrorsTellNothing"},
	{"16.5.2", "without a database the door is open", "internal/gate/wrap.go", "	if err == nil {\n		return 0, nil\n	}\n	var f", "	if err == nil || r.Method == http.MethodGet {\n		return 0, nil\n	}\n	var f", "gate.TestDatabaseGone"},
	{"16.5.3", "outside of the gate everybody is somebody", "internal/gate/gate.go", "	return who, who.Person != 0 && !who.Locked\n", "	return who, !who.Locked\n", "gate.TestOutsideOfWrap"},
}
