package cli

import (
	"fmt"
	"strings"
)

// progress shows how far a long work is: a line that is written anew when somebody looks on, else nothing.
type progress struct {
	a    *app
	last string // what the line says now
}

// show writes what is being done and the share of it that is done, when that is another whole per cent than before.
func (p *progress) show(what string, share float64) {
	if !p.a.errIsTerminal() {
		return
	}
	line := strings.TrimSpace(fmt.Sprintf("%s %3.0f %%", what, 100*share))
	if line != p.last {
		p.clear()
		fmt.Fprint(p.a.err, line)
		p.last = line
	}
}

// clear takes the line away again.
func (p *progress) clear() {
	if p.last != "" {
		fmt.Fprint(p.a.err, "\r"+strings.Repeat(" ", length(p.last))+"\r")
		p.last = ""
	}
}
