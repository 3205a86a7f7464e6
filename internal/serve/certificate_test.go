package serve

import (
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/localca"
)

// An authority that ends soon is told in good time: /healthz and the log, which says it once.
func TestAnAuthorityThatEndsIsTold(t *testing.T) {
	for _, c := range []struct {
		left int // days
		told bool
	}{{200, false}, {30, true}} {
		cfg := config(t)
		cfg.Demo = true
		made := time.Now().AddDate(-10, 0, c.left)
		if _, err := localca.Open(filepath.Join(cfg.Data, "authority"), func() time.Time { return made }); err != nil {
			t.Fatal(err)
		}
		r := start(t, cfg)
		here := "http://" + strings.SplitN(strings.TrimPrefix(r.wait(t, "The demo workshop (all invented): "), "http://"), "/", 2)[0]
		r.wait(t, "On the workshop's network: ")
		for range 3 {
			if code, body := get(t, http.DefaultClient, here+"/healthz"); code != http.StatusOK || strings.Contains(body, `"certificate"`) != c.told {
				t.Errorf("%d days before: %d %s", c.left, code, body)
			}
		}
		if n := strings.Count(r.log.String(), "the certificates of the shop want mending"); (n == 1) != c.told || n > 1 {
			t.Errorf("%d days before: the log says it %d times", c.left, n)
		}
		r.end(t)
	}
}
