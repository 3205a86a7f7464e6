package pump

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// golden compares text with a file of testdata, or rewrites it with -update. The files are read by a person before they are
// kept: they pin words, not numbers.
func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if f := flag.Lookup("update"); f != nil && f.Value.String() == "true" {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("%s (-want +got):\n%s", file, d)
	}
}

// demo reads a demo pump.
func demo(t testing.TB, name string) *Pump {
	t.Helper()
	data, err := DemoSheet(name)
	if err != nil {
		t.Fatal(err)
	}
	p, err := Read(name+".yaml", data)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// allDemos reads all demo pumps.
func allDemos(t testing.TB) []*Pump {
	t.Helper()
	var out []*Pump
	for _, name := range Demo() {
		out = append(out, demo(t, name))
	}
	return out
}
