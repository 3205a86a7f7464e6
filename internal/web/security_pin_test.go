package web

import (
	"fmt"
	"net/http"
	"net/url"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// TestPINsAreTakenAsTyped: nothing is cut off a PIN or tidied, where somebody signs in, where a PIN is changed and where one is given.
func TestPINsAreTakenAsTyped(t *testing.T) {
	y := newYard(t)
	owner, tech := y.worker("owner", record.Owner), y.worker("tech", record.Technician)
	for _, typed := range []string{" " + pin, pin + " ", pin + "\t", pin[:3] + " " + pin[3:], pin + "0"} {
		b := y.device("tablet")
		if got := b.post("/door", url.Values{"person": {fmt.Sprint(tech.person)}, "pin": {typed}}); got.Code == http.StatusSeeOther {
			t.Errorf("%q lets in", typed)
		}
		if got := tech.post("/me/pin", url.Values{"old": {pin}, "pin": {"934068 "}}); got.Code != http.StatusUnprocessableEntity {
			t.Errorf("a PIN with a space is taken: %d", got.Code)
		}
		if got := owner.post(fmt.Sprintf("/catalogue/person/%d/pin", tech.person), url.Values{"pin": {" 934068"}}); got.Code != http.StatusUnprocessableEntity {
			t.Errorf("a PIN with a space is given: %d", got.Code)
		}
	}
	if got := y.device("tablet").post("/door", url.Values{"person": {fmt.Sprint(tech.person)}, "pin": {pin}}); got.Code != http.StatusSeeOther {
		t.Errorf("the PIN itself: %d", got.Code)
	}
}
