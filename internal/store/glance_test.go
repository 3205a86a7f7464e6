package store

import (
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"github.com/evenstroke/evenstroke/internal/pgtest"
	"github.com/evenstroke/evenstroke/internal/record"
)

// What this process wrote is seen at once; what another wrote, after a moment.
func TestGlance(t *testing.T) {
	for engine, where := range map[string]func(*testing.T) string{
		"sqlite":   func(t *testing.T) string { return filepath.Join(t.TempDir(), "shop.db") },
		"postgres": func(t *testing.T) string { return pgtest.Start(t) },
	} {
		t.Run(engine, func(t *testing.T) {
			dsn := where(t)
			here := openAt(t, dsn)
			shop := record.Subject{Kind: record.OfShop, ID: 1}
			name := func() string {
				i, err := here.Glance(t.Context(), shop)
				must(t, err)
				return i.Label
			}
			booked := func() int {
				lanes, err := here.Board(t.Context(), 100)
				must(t, err)
				return len(lanes[0].Jobs)
			}
			_, err := here.Glance(t.Context(), shop)
			wantCode(t, err, record.NotFound)
			for i, as := range []string{"Aldersay", "Aldersay yard", "Aldersay coatings"} {
				keepItem(t, here, record.Subject{Kind: record.OfShop, ID: int64(min(i, 1))}, &record.Shop{Name: as, Currency: "EUR", Units: "metric", Lang: "en"})
				aJob(t, here)
				for range 2 { // read, and as it was a moment ago
					if name() != as || booked() != i+1 {
						t.Errorf("own write %d is not seen: %s, %d jobs", i, name(), booked())
					}
				}
			}
			there := openAt(t, dsn)
			keepItem(t, there, shop, &record.Shop{Name: "Brennock", Currency: "EUR", Units: "metric", Lang: "en"})
			aJob(t, there)
			for tries := 0; name() != "Brennock" || booked() != 4; tries++ {
				if tries == 1000 {
					t.Fatalf("looked 1000 times: what another process wrote is not seen: %s, %d jobs", name(), booked())
				}
				time.Sleep(moment / 10)
			}
		})
	}
}

func TestGlimpse(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := &glimpse[int]{7, 3, time.Now()}
		if (*glimpse[int])(nil).holds(0) || !g.holds(3) || g.holds(4) {
			t.Error("a glimpse holds until something is written")
		}
		if time.Sleep(moment - time.Millisecond); !g.holds(3) {
			t.Error("a glimpse holds for a moment")
		}
		if time.Sleep(time.Millisecond); g.holds(3) {
			t.Error("a glimpse holds for more than a moment")
		}
	})
}
