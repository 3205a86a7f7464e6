package web

import (
	"fmt"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// The mark that papers bear has 128 bits at least, and is found in the records as it is printed.
func TestMarkOfPapersCanBeChecked(t *testing.T) {
	b := newBench(t)
	b.fill(t)
	for _, path := range []string{"report?as=html", "customer"} {
		_, page := b.get(b.client, fmt.Sprintf("/jobs/%d/%s", b.job, path))
		mark := between(page, `<p class="hash">`, "</p>")
		digits := strings.NewReplacer("-", "", " ", "").Replace(mark)
		if len(digits) < 32 {
			t.Errorf("%s: %q", path, mark)
			continue
		}
		var r store.Report
		if err := b.shop.Store().Expect(t.Context(), mark, &r); err != nil || !r.Sound() {
			t.Errorf("%s: %v %v", path, r.Problems, err)
		}
		b.add(t, &record.Noted{Text: "later"}) // the mark stands all the same
		if err := b.shop.Store().Expect(t.Context(), mark, &r); err != nil || !r.Sound() {
			t.Errorf("%s, later: %v %v", path, r.Problems, err)
		}
	}
}
