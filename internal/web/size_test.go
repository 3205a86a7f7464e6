package web

import (
	"fmt"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// page reads a page of the job that has to answer.
func (b *bench) page(path string) string {
	b.Helper()
	code, body := b.get(b.client, path)
	if code != http.StatusOK {
		b.Fatalf("%s: %d\n%s", path, code, firstLines(body))
	}
	return html.UnescapeString(body)
}

// rodLimits are the limits of the rod of the demo pump, and a size just below the least.
func rodLimits(t *testing.T) (z assess.Size, below float64) {
	t.Helper()
	p, err := pump.DemoPump("orrin-30")
	if err != nil {
		t.Fatal(err)
	}
	z, ok := assess.SizeOf(p, "rod", "diameter")
	if !ok {
		t.Fatal("the rod has no diameter")
	}
	return z, z.Min - 4.5e-6
}

// checked is the choice that a page shows for a part.
func checked(page, part string) string {
	m := regexp.MustCompile(`name="part:` + regexp.QuoteMeta(part) + `" value="([^"]*)" checked`).FindStringSubmatch(page)
	if m == nil {
		return "nothing is checked"
	}
	return m[1]
}

// A measured size past its limit is never taken in silence: red at the field while it is typed, red where it is kept, and the choice takes the
// part for one to replace and shows the measurement beside the limit, in inches with the four decimals that tell them apart.
func TestASizePastItsLimitIsRed(t *testing.T) {
	b := newBench(t)
	if code, _ := b.post(b.client, "/me/units", url.Values{"units": {"imperial"}, "back": {"/"}}); code != http.StatusOK {
		t.Fatalf("the units answered %d", code)
	}
	z, below := rodLimits(t)
	typed := fmt.Sprintf("%.4f", below/0.0254)
	told := unit.Imperial().Apart(unit.Length, z.New, z.Min, below)
	if z.Min == z.New || told[1] == told[2] || !regexp.MustCompile(`^\d\.\d{4} in$`).MatchString(told[1]) {
		t.Fatalf("limits that cannot be told apart: %q", told)
	}
	said := func(value string) string {
		return b.page("/jobs/1/size?part=rod&size=diameter&value.unit=in&value=" + url.QueryEscape(value))
	}
	if got := said(typed); !strings.Contains(got, `class="said bad"`) || !strings.Contains(got, told[2]) || !strings.Contains(got, told[1]) || !strings.Contains(got, "Replace") {
		t.Errorf("a rod of %s in: %s", typed, got)
	}
	if got := said(fmt.Sprintf("%.4f", (z.New+z.Min)/2/0.0254)); strings.Contains(got, "bad") || !strings.Contains(got, told[1]) {
		t.Errorf("a rod within its limits: %s", got)
	}
	for _, bad := range []string{"2115", "x", "0.8 bar"} {
		if got := said(bad); !strings.Contains(got, `class="said bad"`) {
			t.Errorf("%q: %s", bad, got)
		}
	}
	if got := said(""); strings.TrimSpace(got) != "" {
		t.Errorf("nothing typed: %q", got)
	}
	if got := b.page("/jobs/1/findings?part=rod"); !strings.Contains(got, `hx-get="/jobs/1/size"`) || !strings.Contains(got, told[1]) {
		t.Error("the field does not ask how the size stands, or the limit has too few digits")
	}
	if checked(b.page("/jobs/1/choose"), "rod") != "" {
		t.Error("an unmeasured rod is not left in place")
	}
	if code, _ := b.post(b.client, "/jobs/1/findings", url.Values{"part": {"rod"}, "size": {"diameter"}, "value": {typed}, "value.unit": {"in"}}); code != http.StatusOK {
		t.Fatalf("the finding answered %d", code)
	}
	for _, path := range []string{"/jobs/1/findings?part=rod", "/jobs/1/choose"} {
		if got := b.page(path); !strings.Contains(got, `class="said bad"`) || !strings.Contains(got, told[2]+" is below the least, "+told[1]) {
			t.Errorf("%s says nothing of the rod that is worn", path)
		}
	}
	if got := checked(b.page("/jobs/1/choose"), "rod"); got != "replace" {
		t.Errorf("a worn rod is preselected as %q", got)
	}
	b.add(t, &record.Chose{Parts: map[string]string{"rod": "keep"}}) // in the knowledge of it
	if got := checked(b.page("/jobs/1/choose"), "rod"); got != "keep" {
		t.Errorf("a choice in the knowledge of the size is shown as %q", got)
	}
	b.add(t, &record.Found{Part: "rod", Size: "diameter", Value: typed + " in"})
	if got := checked(b.page("/jobs/1/choose"), "rod"); got != "replace" {
		t.Errorf("a rod that was measured after the choice is preselected as %q", got)
	}
}

// The page of the choice of a closed job says what was chosen, and lets nobody choose.
func TestAClosedJobShowsItsChoice(t *testing.T) {
	b := newBench(t)
	b.fill(t)
	b.add(t, &record.Closed{Reason: "taken back as it is"})
	got := b.page("/jobs/1/choose")
	if !regexp.MustCompile(`throat leather ring × \d</dt><dd>replace`).MatchString(got) || !regexp.MustCompile(`inlet valve seat</dt><dd>turn over`).MatchString(got) {
		t.Errorf("the choice is not shown: %s", firstLines(got))
	}
	if strings.Contains(got, "<input type=\"radio\"") || strings.Contains(got, "<dt>rod</dt>") {
		t.Error("a closed job can be chosen for, or names a part that was left in place")
	}
}
