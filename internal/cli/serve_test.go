package cli

import (
	"testing"
)

// A new folder, and one of an earlier version, say from which schema to which they were brought.
func TestMigrationIsSaid(t *testing.T) {
	dir := t.TempDir()
	s := serveIn(t, dir)
	begun, done := s.until(t, "bringing the schema of the database up to date"), s.until(t, "the schema of the database is up to date")
	for _, l := range []map[string]any{begun, done} {
		if l["from"] != 0.0 || l["to"].(float64) < 4 {
			t.Errorf("it says %v", l)
		}
	}
	if begun["version"] != Version || done["took"] == nil {
		t.Errorf("it says %v and %v", begun, done)
	}
	s.until(t, "listening")
}

func runOK(t *testing.T, line string) {
	t.Helper()
	if out, errw, code := runLine(line); code != 0 {
		t.Fatalf("%s: exit %d\n%s%s", line, code, out, errw)
	}
}
