package web

import (
	"regexp"
	"slices"
	"strings"
	"testing"
)

// The service worker keeps every file that a page needs without a network, and no other: one that is not there would keep it from being
// installed, and no hold would open offline.
func TestWorkerKeepsTheFilesThatAre(t *testing.T) {
	b := newBench(t)
	worker := string(b.server.static.by["sw.js"].plain)
	list := regexp.MustCompile(`(?s)const files = \[(.*?)\.\.\.\[(.*?)\]`).FindStringSubmatch(worker)
	if list == nil {
		t.Fatal("sw.js has no list of files")
	}
	var kept []string
	for _, m := range regexp.MustCompile(`"([^"]+)"`).FindAllStringSubmatch(list[1], -1) {
		kept = append(kept, m[1])
	}
	for _, m := range regexp.MustCompile(`"([^"]+)"`).FindAllStringSubmatch(list[2], -1) {
		kept = append(kept, "js/"+m[1]+".js")
	}
	for _, name := range kept {
		if b.server.static.by[name] == nil {
			t.Errorf("sw.js keeps %s, which is not there", name)
		}
	}
	for name := range b.server.static.by {
		needed := strings.HasSuffix(name, ".css") || strings.HasSuffix(name, ".woff2") || strings.HasPrefix(name, "js/") || strings.HasPrefix(name, "vendor/") && strings.HasSuffix(name, ".js")
		if needed && !slices.Contains(kept, name) {
			t.Errorf("sw.js does not keep %s", name)
		}
	}
}
