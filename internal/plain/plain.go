// Package plain says what the science packages refuse in words of the trade. Their errors name the function and the argument, as one
// who calls them from a program needs it; a person at a terminal or a page is told which quantity it is, what was found, in the units
// chosen, and what is expected.
package plain

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/fluid"
	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/num"
	"github.com/evenstroke/evenstroke/ode"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/seal"
	"github.com/evenstroke/evenstroke/sheet"
	"github.com/evenstroke/evenstroke/stroke"
	"github.com/evenstroke/evenstroke/unit"
)

// Text is the message of an error with what a science package refused said in words, wherever in it that stands. places tells where a
// quantity was given, as "--temperature" for "temperature"; nil or what it leaves out is said by the name of the quantity alone.
func Text(err error, sys unit.System, places map[string]string) string {
	text := err.Error()
	each(err, func(e error) bool {
		said := say(e, sys, places)
		if said != "" {
			text = strings.Replace(text, e.Error(), said, 1)
		}
		return said == ""
	})
	return text
}

// Input says whether a science package refused what it was given, rather than failed on it.
func Input(err error) bool {
	input := false
	each(err, func(e error) bool {
		switch e.(type) {
		case *num.RangeError, *leak.RegimeError, *bolt.ParseError, *seal.NameError, *fluid.SpecError, *fluid.CupError, *stroke.PathError, *stroke.SetupError,
			*pump.BuildError, *pump.ChoiceError, *pump.CycleError, *pump.UnknownStepError, *unit.Error:
			input = true
		}
		return true
	})
	return input
}

// each calls fn on an error and on what it wraps, as long as fn says to go on.
func each(err error, fn func(error) bool) {
	if err == nil || !fn(err) {
		return
	}
	switch e := err.(type) {
	case interface{ Unwrap() error }:
		each(e.Unwrap(), fn)
	case interface{ Unwrap() []error }:
		for _, one := range e.Unwrap() {
			each(one, fn)
		}
	}
}

// say words one error, or "" when it is none of a science package or says it well itself.
func say(err error, sys unit.System, places map[string]string) string {
	switch e := err.(type) {
	case *num.RangeError:
		return outside(e, sys, places)
	case *num.BracketError:
		return "the computation found no solution between the ends that it tried; this is a fault of the program, or a sheet far outside of what pumps are"
	case *leak.RegimeError:
		return regime(e)
	case *bolt.ParseError:
		return message(place(e.What, places), fmt.Sprintf("the %s %q", e.What, e.Text), e.Want, "")
	case *seal.NameError:
		return message(place(e.What, places), fmt.Sprintf("the %s %q", e.What, e.Name), "one of "+e.Want, sheet.Nearest(e.Name, strings.Split(e.Want, ", ")))
	case *fluid.CupError:
		return message(place("flow cup", places), fmt.Sprintf("the cup %q", e.Name), "one of "+strings.Join(fluid.Cups(), ", "), sheet.Nearest(e.Name, fluid.Cups()))
	case *fluid.SpecError:
		found := e.Got
		if found == "given" {
			found = "one"
		}
		return message(place(fieldOf(e.Field), places), found, e.Want, "")
	case *stroke.PathError:
		what := fieldOf(e.Field)
		return message(place(what, places), fmt.Sprintf("%q, which this pump does not have", e.Name), "one of "+strings.Join(e.Have, ", "), sheet.Nearest(e.Name, e.Have))
	case *stroke.SetupError:
		what := fieldOf(e.Field)
		return place(what, places) + ": " + e.Why
	}
	return halted(err)
}

// halted words an integration that came to a halt.
func halted(err error) string {
	at := func(t float64, why string) string {
		return fmt.Sprintf("the simulation came to a halt at %.4g s: %s; try a shorter time, a looser tolerance or a smaller fault", t, why)
	}
	switch e := err.(type) {
	case *ode.StepError:
		return at(e.T, "the motion changes faster than it can be followed")
	case *ode.StepLimitError:
		return at(e.T, fmt.Sprintf("%d steps were not enough", e.Steps))
	case *ode.NaNError:
		return at(e.T, "a pressure or a speed is no number any more")
	case *ode.ZenoError:
		return at(e.T, "something opens and shuts without time passing")
	}
	if err == ode.ErrCanceled {
		return "the simulation was stopped"
	}
	return ""
}

func message(where, found, want, mend string) string {
	s := "found " + found + "; expected " + want
	if where != "" {
		s = where + ": " + s
	}
	if mend != "" {
		s += "; " + mend
	}
	return s
}

// place is where a quantity was given, or its name.
func place(what string, places map[string]string) string {
	if p, ok := places[what]; ok {
		return p
	}
	return what
}

func regime(e *leak.RegimeError) string {
	found := fmt.Sprintf("a flow with a Reynolds number of %.3g", e.Re)
	if e.Re > e.Hi {
		return message("", found, fmt.Sprintf("at most %g, below which it is smooth", e.Hi), "give a smaller leak")
	}
	return message("", found, fmt.Sprintf("at least %g, above which a hole throttles evenly", e.Lo), "give a larger leak")
}

// outside words a quantity outside the range of a formula.
func outside(e *num.RangeError, sys unit.System, places map[string]string) string {
	q := quantityOf(e)
	show := func(x float64) string { return number(x) + unitOf(e.Unit) }
	in := func(r sheet.Range) string { return r.Plain() + unitOf(e.Unit) }
	if d, ok := dimension(e.Unit); ok && (e.Unit != "1" || q.percent) {
		show = func(x float64) string { return sys.Show(x, d) }
		in = func(r sheet.Range) string { return r.In(d, sys) }
	}
	found := "no finite number"
	if !math.IsNaN(e.Value) && !math.IsInf(e.Value, 0) {
		found = show(e.Value)
	}
	want := q.article() + " that the formula covers"
	switch {
	case q.want != "":
		want = q.want
	case e.Low < e.High:
		want = q.article() + " " + in(sheet.Range{Low: bound(e.Low), High: bound(e.High), Open: e.Above})
	}
	return message(place(q.what, places), found, want, "")
}

// bound turns the largest numbers that there are into no bound at all.
func bound(x float64) float64 {
	if math.Abs(x) >= 1e300 {
		return math.Inf(int(math.Copysign(1, x)))
	}
	return x
}

func number(x float64) string { return fmt.Sprintf("%.4g", x) }

func unitOf(si string) string {
	if si == "" || si == "1" {
		return ""
	}
	return " " + si
}

// dimension is the kind of quantity of an SI unit: a temperature, not a difference, for K.
func dimension(si string) (unit.Dim, bool) {
	i := slices.IndexFunc(unit.Dims(), func(d unit.Dim) bool { return d.SI() == si })
	if i < 0 {
		return 0, false
	}
	return unit.Dims()[i], true
}
