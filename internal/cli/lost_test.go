package cli

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"syscall"
	"testing"

	"github.com/spf13/cobra"
)

// prints is, for each command that prints, a line that prints something on the demo workshop, in an order that works. A command that is
// missing here fails the test.
var prints = []string{
	"", "help hold", "completion bash", "completion zsh", "completion fish", "completion powershell", "demo --dir d", "sheet orrin-30",
	"hold orrin-as-left.yaml --no-next", "stroke orrin-30 --for '1 s'", "torque orrin-30 --length '400 mm'", "stack orrin-30", "work tolsk-18 --all replace",
	"schema", "schema pump", "version", "new pump", "backup copy.db", "restore copy.db --data second", "verify", "export 1 job.zip", "import job.zip",
	"echo 804937 | pin 'Mara Kell'", "device", "token make 'Mara Kell' --name stock", "token list", "token end 1", "authority replace", "authority show",
}

// printsLong are the commands that serve until they are stopped; what they print is no result.
var printsLong = []string{"serve"}

// narrow is an output with room for so many bytes.
type narrow struct{ room int }

var errNoRoom = errors.Join(syscall.ENOSPC)

func (n *narrow) Write(p []byte) (int, error) {
	if len(p) > n.room {
		took := n.room
		n.room = 0
		return took, errNoRoom
	}
	n.room -= len(p)
	return len(p), nil
}

// TestLostOutput runs each command with an output that is full from the beginning, and one that is full before its end: exit code 1 and
// a line that says so, as text and as JSON. A work order that was cut short must not pass for a whole one.
func TestLostOutput(t *testing.T) {
	demoShop(t)
	for i, line := range prints {
		for j, more := range []string{"", " --json"} {
			if i == 0 && more != "" {
				continue
			}
			whole, errw, code := runLine(fresh(line, 3*j) + more)
			if code != 0 || whole == "" {
				t.Fatalf("%q%s prints nothing or fails: exit %d: %s", line, more, code, errw)
			}
			for k, room := range []int{len(whole) / 2, 0}[:2-j] { // a document is refused at once as a text is
				words, in := shellLine(fresh(line, 3*j+k+1) + more)
				var errw bytes.Buffer
				a := &narrow{room}
				if code := Main(words, strings.NewReader(in), a, &errw); code != exitFailed || !strings.Contains(errw.String(), "standard output") {
					t.Errorf("%q%s with room for %d of %d bytes: exit %d, says %q", line, more, room, len(whole), code, errw.String())
				}
			}
		}
	}
	var have []string
	for _, line := range prints {
		words, _ := shellLine(line)
		if c, _, err := (&app{}).root().Find(words); err == nil {
			have = append(have, name(c))
		}
	}
	each((&app{}).root(), func(c *cobra.Command) {
		if !slices.Contains(have, name(c)) && !slices.Contains(printsLong, name(c)) && !c.HasSubCommands() {
			t.Errorf("no line in this test runs %q", name(c))
		}
	})
}

// fresh changes the names of new files in a line, so that it can be run again.
func fresh(line string, n int) string {
	mark := string(rune('a' + n))
	if strings.HasPrefix(line, "backup") || strings.HasPrefix(line, "export") {
		return strings.NewReplacer("copy.db", mark+"-copy.db", "job.zip", mark+"-job.zip").Replace(line)
	}
	return strings.NewReplacer("copy.db", "a-copy.db", "job.zip", "a-job.zip", "second", mark+"-second").Replace(line)
}
