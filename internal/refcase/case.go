// Package refcase runs reference cases: plain-text files that state, for one formula, what is given, what an outside
// source says the result is, and how close the formula has to come. It is used by tests only.
//
// A case is a block of lines; blocks are separated by blank lines; a line that starts with # is a comment:
//
//	case    annulus-piston-leak
//	func    Annulus
//	kind    published
//	source  Fox & McDonald, Introduction to Fluid Mechanics, Ex 8.1
//	given   d=0.025 m  h=5e-6 m  grade="VG 32"
//	want    Q = 5.757e-8 m³/s
//	tol     rel 2e-4  because printed to four digits
//
// Kinds: standard, published, certified, analytic, independent, limit, practice. A value that came from our own code is not a case.
// A case of the kind practice is a fact of the trade; its source begins with "common practice, no published source".
package refcase

import (
	"fmt"
	"strconv"
	"strings"
)

var kinds = map[string]bool{
	"standard": true, "published": true, "certified": true, "analytic": true, "independent": true, "limit": true, practice: true,
}

const (
	practice       = "practice"
	practiceSource = "common practice, no published source"
)

// Case is one reference case as written in a file.
type Case struct {
	Name, Func, Kind, Source string
	Given                    map[string]string // value with unit, or quoted text
	Want                     []Expect          // empty when an error is wanted
	WantError                bool
	TolRel, TolAbs           float64
	Because                  string
	File                     string
	Line                     int
}

// Expect is one expected output.
type Expect struct {
	Name, Unit string
	Value      float64
}

// Parse reads all cases of one file. Errors name file and line.
func Parse(file, text string) ([]Case, error) {
	var cases []Case
	var cur *Case
	for i, line := range strings.Split(text, "\n") {
		trimmed := strings.TrimSpace(line)
		if strings.HasPrefix(trimmed, "#") {
			continue
		}
		if trimmed == "" {
			cur = nil
			continue
		}
		if cur == nil {
			cases = append(cases, Case{Given: map[string]string{}, File: file, Line: i + 1})
			cur = &cases[len(cases)-1]
		}
		key, rest, _ := strings.Cut(trimmed, " ")
		if err := cur.set(key, strings.TrimSpace(rest)); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", file, i+1, err)
		}
	}
	for _, c := range cases {
		if err := c.check(); err != nil {
			return nil, fmt.Errorf("%s:%d: case %q: %w", c.File, c.Line, c.Name, err)
		}
	}
	return cases, nil
}

func (c *Case) set(key, rest string) error {
	switch key {
	case "case":
		c.Name = rest
	case "func":
		c.Func = rest
	case "kind":
		c.Kind = rest
	case "source":
		c.Source = strings.TrimSpace(c.Source + " " + rest)
	case "given":
		return c.addGiven(rest)
	case "want":
		return c.addWant(rest)
	case "tol":
		return c.setTol(rest)
	default:
		return fmt.Errorf("unknown line %q", key)
	}
	return nil
}

// addGiven splits `d=0.025 m  cup="ISO 4"` at each name=.
func (c *Case) addGiven(rest string) error {
	for rest != "" {
		name, after, ok := strings.Cut(rest, "=")
		if !ok {
			return fmt.Errorf("given: %q has no name=value", rest)
		}
		name, after = strings.TrimSpace(name), strings.TrimLeft(after, " ")
		var value string
		if strings.HasPrefix(after, `"`) {
			end := strings.Index(after[1:], `"`)
			if end < 0 {
				return fmt.Errorf("given: %s has an open quote", name)
			}
			value, rest = after[:end+2], strings.TrimSpace(after[end+2:])
		} else {
			fields := strings.Fields(after)
			if len(fields) < 2 {
				return fmt.Errorf("given: %s needs a number and a unit (1 for none)", name)
			}
			value = fields[0] + " " + fields[1]
			rest = strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(strings.TrimPrefix(after, fields[0])), fields[1]))
		}
		if _, dup := c.Given[name]; dup {
			return fmt.Errorf("given: %s stands twice", name)
		}
		c.Given[name] = value
	}
	return nil
}

func (c *Case) addWant(rest string) error {
	if rest == "error" {
		c.WantError = true
		return nil
	}
	for _, part := range strings.Split(rest, ";") {
		name, value, ok := strings.Cut(part, "=")
		fields := strings.Fields(value)
		if !ok || len(fields) != 2 {
			return fmt.Errorf("want: %q is not `name = number unit`", part)
		}
		x, err := strconv.ParseFloat(fields[0], 64)
		if err != nil {
			return fmt.Errorf("want: %w", err)
		}
		c.Want = append(c.Want, Expect{Name: strings.TrimSpace(name), Unit: fields[1], Value: x})
	}
	return nil
}

func (c *Case) setTol(rest string) error {
	size, why, ok := strings.Cut(rest, "because")
	fields := strings.Fields(size)
	if !ok || len(fields) != 2 || strings.TrimSpace(why) == "" {
		return fmt.Errorf("tol: %q is not `rel|abs number because reason`", rest)
	}
	x, err := strconv.ParseFloat(fields[1], 64)
	if err != nil || x < 0 {
		return fmt.Errorf("tol: %q is not a tolerance", fields[1])
	}
	switch fields[0] {
	case "rel":
		c.TolRel = x
	case "abs":
		c.TolAbs = x
	default:
		return fmt.Errorf("tol: %q is neither rel nor abs", fields[0])
	}
	c.Because = strings.TrimSpace(why)
	return nil
}

func (c *Case) check() error {
	switch {
	case c.Name == "" || c.Func == "" || c.Source == "":
		return fmt.Errorf("case, func and source are all needed")
	case !kinds[c.Kind]:
		return fmt.Errorf("kind %q is not one of standard, published, certified, analytic, independent, limit, practice", c.Kind)
	case (c.Kind == practice) != strings.HasPrefix(c.Source, practiceSource):
		return fmt.Errorf("a case of the kind %s has a source that begins with %q, and no other kind has", practice, practiceSource)
	case c.WantError == (len(c.Want) > 0):
		return fmt.Errorf("want is needed: numbers or `error`, not both")
	case !c.WantError && c.Because == "":
		return fmt.Errorf("tol with its reason is needed")
	}
	return nil
}
