package cli

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// asker puts questions and reads answers, one a line.
type asker struct {
	in  *bufio.Reader
	out io.Writer
}

var errNoAnswer = badInput("the answers ended before all questions were answered; nothing was analysed")

// line puts one question; an empty answer gives def.
func (q *asker) line(question, def string) (string, error) {
	if def != "" {
		question += " [" + def + "]"
	}
	fmt.Fprintf(q.out, "%s: ", question)
	s, err := q.in.ReadString('\n')
	s = strings.TrimSpace(s)
	if err != nil && (!errors.Is(err, io.EOF) || s == "") {
		return "", errNoAnswer
	}
	if s == "" {
		s = def
	}
	return s, nil
}

// choice asks until one of the options is given; the first letter is enough when it is unique.
func (q *asker) choice(question, def string, options ...string) (string, error) {
	for {
		s, err := q.line(question+" ("+strings.Join(options, ", ")+")", def)
		if err != nil {
			return "", err
		}
		var hit []string
		for _, o := range options {
			if o == s {
				return o, nil
			}
			if s != "" && strings.HasPrefix(o, s) {
				hit = append(hit, o)
			}
		}
		if len(hit) == 1 {
			return hit[0], nil
		}
		fmt.Fprintf(q.out, "  found %q; expected one of %s\n", s, strings.Join(options, ", "))
	}
}

// quantity asks until a value with its unit is given, and returns it as written.
func (q *asker) quantity(question, def string, d unit.Dim) (string, error) {
	for {
		s, err := q.line(question, def)
		if err != nil {
			return "", err
		}
		if _, err := unit.Parse(s, d); err == nil {
			return s, nil
		} else {
			fmt.Fprintln(q.out, "  "+err.Error())
		}
	}
}

// ask leads through a hold and returns the sheet, built as text so that the same reader checks it.
func (a *app) ask(pumpName string) (*hold.Sheet, error) {
	q := &asker{bufio.NewReader(a.in), a.err}
	if pumpName == "" {
		s, err := q.line("pump sheet (a file, or "+strings.Join(pump.Demo(), ", ")+")", "")
		if err != nil {
			return nil, err
		}
		pumpName = s
	}
	p, err := loadPump(pumpName, "")
	if err != nil {
		return nil, err
	}
	stage, err := q.choice("stage", "as found", "as found", "as left", "other")
	if err != nil {
		return nil, err
	}
	doc := fmt.Sprintf("hold: 1\npump: %q\nstage: %s\nreadings:\n", pumpName, stage)
	fmt.Fprintln(a.err, "Keep clear of the rod; never feel for a leak by hand.")
	n := 0
	for {
		kind, err := q.choice("reading", "done", askKinds(p)...)
		if err != nil {
			return nil, err
		}
		if kind == "done" {
			break
		}
		line, err := q.reading(kind, p)
		if err != nil {
			return nil, err
		}
		doc, n = doc+line, n+1
	}
	if n == 0 {
		doc = strings.Replace(doc, "readings:\n", "readings: []\n", 1)
	}
	return hold.ReadSheet("your answers", []byte(doc), nil)
}

func askKinds(p *pump.Pump) []string {
	if p.Drive.Kind == pump.Crank {
		return []string{"locked", "restart", "drips", "done"}
	}
	return []string{"creep", "still", "changeover", "drips", "done"}
}

// field is one question of a reading.
type field struct {
	key, question, def string
	dim                unit.Dim
}

func (q *asker) reading(kind string, p *pump.Pump) (string, error) {
	head, fields := "", []field(nil)
	pressure := field{"pressure", "pressure", unit.Metric().Show(p.Limits.Hold, unit.Pressure), unit.Pressure}
	switch kind {
	case "creep", "still", "changeover":
		d, err := q.choice("stroke", "", "up", "down")
		if err != nil {
			return "", err
		}
		head = d
		fields = []field{pressure, {"time", "time", "", unit.Time}}
		if kind == "creep" {
			fields = append(fields, field{"travel", "travel of the mark", "", unit.Length})
		}
	case "locked":
		return q.locked()
	case "restart":
		head, fields = "unknown", []field{{"time", "time from stop to start of the motor", "", unit.Time}}
	case "drips":
		var seen []string
		for _, x := range p.Map().Paths {
			if x.Visible {
				seen = append(seen, x.Name)
			}
		}
		s, err := q.choice("where", "", seen...)
		if err != nil {
			return "", err
		}
		n, err := q.line("drops", "0")
		if err != nil {
			return "", err
		}
		head, fields = s+", drops: "+n, []field{pressure, {"time", "time", "60 s", unit.Time}}
	}
	out := fmt.Sprintf("  - {%s: %s", kind, head)
	for _, f := range fields {
		s, err := q.quantity(f.question, f.def, f.dim)
		if err != nil {
			return "", err
		}
		out += fmt.Sprintf(", %s: %q", f.key, s)
	}
	return out + "}\n", nil
}

func (q *asker) locked() (string, error) {
	d, err := q.choice("the motor stopped on which stroke", "unknown", "up", "down", "unknown")
	if err != nil {
		return "", err
	}
	out := fmt.Sprintf("  - locked: %s\n    pressures:\n", d)
	for i := 0; ; i++ {
		s, err := q.line("time (empty when done)", map[bool]string{true: "0 s"}[i == 0])
		if err != nil {
			return "", err
		}
		if s == "" {
			return out, nil
		}
		p, err := q.quantity("pressure then", "", unit.Pressure)
		if err != nil {
			return "", err
		}
		out += fmt.Sprintf("      - {at: %q, pressure: %q}\n", s, p)
	}
}
