package main

import (
	"strings"
	"testing"
)

const stream = `{"Action":"start","Package":"p"}
{"Action":"run","Package":"p","Test":"TestA"}
{"Action":"output","Package":"p","Test":"TestA","Output":"=== RUN   TestA\n"}
{"Action":"pass","Package":"p","Test":"TestA/part","Elapsed":2.5}
{"Action":"pass","Package":"p","Test":"TestA","Elapsed":3}
{"Action":"output","Package":"p","Test":"TestB","Output":"    b_test.go:7: found 1; expected 2\n"}
{"Action":"fail","Package":"p","Test":"TestB","Elapsed":0.5}
{"Action":"skip","Package":"p","Test":"TestC","Elapsed":0}
{"Action":"output","Package":"p","Output":"FAIL\tp\t4.0s\n"}
{"Action":"fail","Package":"p","Elapsed":4}
# p: it does not build
`

// What fails is printed, what passes is not; a test with parts is named by its parts; the last line counts.
func TestRead(t *testing.T) {
	var out strings.Builder
	var c count
	if err := c.read(strings.NewReader(stream), &out); err != nil {
		t.Fatal(err)
	}
	c.print(&out)
	for _, want := range []string{"b_test.go:7: found 1; expected 2", "FAIL\tp\t4.0s", "# p: it does not build", "     2.5 s  p TestA/part\n     0.5 s  p TestB", "FAIL: 2 passed, 2 failed, 1 left out"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("%q is not in\n%s", want, out.String())
		}
	}
	if strings.Contains(out.String(), "RUN") || strings.Contains(out.String(), "p TestA\n") {
		t.Errorf("too much:\n%s", out.String())
	}
}

func TestRuns(t *testing.T) {
	if got := runs([]string{"-race", "./a", "--", "-count=1", "./b"}); len(got) != 2 || strings.Join(got[0], " ") != "-race ./a" || strings.Join(got[1], " ") != "-count=1 ./b" {
		t.Errorf("%q", got)
	}
}
