package pump

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// A demo pump calls itself invented by a key of its sheet; what a shop begins its own sheet with has the same figures and does not.
func TestOwnSheetIsNotInvented(t *testing.T) {
	for _, name := range Demo() {
		demo, err := DemoPump(name)
		if err != nil {
			t.Fatal(err)
		}
		text, err := OwnSheet(name)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(strings.ToLower(string(text)), "invented") {
			t.Errorf("%s: the copy still says that it is invented", name)
		}
		own, err := Read(demo.File, text)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if !demo.Invented || own.Invented {
			t.Errorf("%s: invented is %v, of the copy %v, want true and false", name, demo.Invented, own.Invented)
		}
		demo.Invented, demo.Note = false, ""
		if d := cmp.Diff(demo, own, cmpopts.EquateNaNs()); d != "" {
			t.Errorf("%s: the copy has other figures than the sheet:\n%s", name, d)
		}
	}
	if _, err := OwnSheet("none"); err == nil {
		t.Error("a pump that is not there has a sheet")
	}
}
