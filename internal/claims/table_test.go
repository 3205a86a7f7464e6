package claims

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var tree = Tree{Root: filepath.Join("..", "..")}

// TestTableStandsInTheTree: each row breaks a text that is there once, for a claim that docs/security.md says is met by the test of the row.
func TestTableStandsInTheTree(t *testing.T) {
	rows := Breaks()
	if len(rows) < 80 {
		t.Errorf("%d breaks", len(rows))
	}
	page, err := os.ReadFile(filepath.Join(tree.Root, "docs", "security.md"))
	if err != nil {
		t.Fatal(err)
	}
	if want := fmt.Sprintf("line by line, %d times for %d of these claims", len(rows), len(claimsOf(rows))); !strings.Contains(string(page), want) {
		t.Errorf("docs/security.md does not say %q", want)
	}
	seen := map[Break]bool{}
	for _, b := range rows {
		if seen[b] {
			t.Errorf("%s, %s: twice", b.Claim, b.What)
		}
		seen[b] = true
		if b.Old == b.New || b.What == "" {
			t.Errorf("%s, %s: breaks nothing, or does not say what", b.Claim, b.What)
		}
		if _, err := tree.Broken(b); err != nil {
			t.Errorf("%s, %s: %v", b.Claim, b.What, err)
		}
		if line := claimIn(string(page), b.Claim); !strings.Contains(line, " | met | ") || !strings.Contains(line, "`"+b.Test+"`") {
			t.Errorf("%s, %s: docs/security.md does not say that it is met by %s: %q", b.Claim, b.What, b.Test, line)
		}
	}
}

// claimIn is the row of a claim in the document.
func claimIn(page, claim string) string {
	return regexp.MustCompile(`(?m)^\| ` + regexp.QuoteMeta(claim) + ` \|.*$`).FindString(page)
}

// TestJudge: only a failing test of that very name is red; what did not compile, did not run or took too long says nothing.
func TestJudge(t *testing.T) {
	for out, want := range map[string]Outcome{
		"=== RUN   TestA\n    a_test.go:1: no\n--- FAIL: TestA (0.00s)\nFAIL\n":                                    Red,
		"--- PASS: TestA (0.00s)\nok\n":                                                                            Green,
		"--- FAIL: TestAB (0.00s)\n--- PASS: TestA (0.00s)\nFAIL\n":                                                Green,
		"    --- FAIL: TestA (0.00s)\n":                                                                            Wrong,
		"--- SKIP: TestA (0.00s)\nok\n":                                                                            Wrong,
		"testing: warning: no tests to run\nPASS\n":                                                                Wrong,
		"# x\na.go:1:1: undefined: b\nFAIL\tx [build failed]\n":                                                    Wrong,
		"panic: test timed out after 4m0s\n--- FAIL: TestA (0.00s)\n":                                              Wrong,
		"panic: boom\n\ngoroutine 7 [running]:\nFAIL\tx\t0.1s\n":                                                   Wrong,
		"--- FAIL: TestA (0.00s)\npanic: runtime error [recovered]\n\ngoroutine 7 [running]:\nFAIL\tx\t0.1s\nFAIL": Red,
	} {
		if got, why := judge("p.TestA", out); got != want {
			t.Errorf("%q: %s (%s), want %s", out, got, why, want)
		}
	}
}
