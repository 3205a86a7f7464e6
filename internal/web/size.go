package web

import (
	"errors"
	"html/template"
	"net/http"

	"github.com/evenstroke/evenstroke/internal/assess"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/unit"
)

// saidView is what a page says at once beside a field: in red where it is past a limit.
type saidView struct {
	F     *Frame
	Bad   bool
	Lines []template.HTML
}

// sizeWords says what a size is when new and where its limits are.
func (v *JobView) sizeWords(part, size string) string {
	z, ok := assess.SizeOf(v.J.Model.Pump, part, size)
	if !ok {
		return ""
	}
	return v.F.sizeLimits(z, v.F.Units.Apart(unit.Length, z.New, z.Min, z.Max))
}

// sizeLimits says what a size is when new and where its limits are; told are the three as they are printed.
func (f *Frame) sizeLimits(z assess.Size, told []string) string {
	out := f.T("find.new", told[0])
	if z.Min == z.Min { // not NaN
		out += ", " + f.T("find.min", told[1])
	}
	if z.Max == z.Max {
		out += ", " + f.T("find.max", told[2])
	}
	return out
}

// measured says how a measured size stands to its limits, with as many digits as tell one from the other.
func (f *Frame) measured(m assess.Measured) saidView {
	told := f.Units.Apart(unit.Length, m.New, m.Min, m.Max, m.Value)
	out := saidView{F: f, Bad: m.Side != assess.Inside}
	switch m.Side {
	case assess.Below:
		out.say(f.T("size.below", told[3], told[1]))
	case assess.Above:
		out.say(f.T("size.above", told[3], told[2]))
	default:
		out.say(f.T("size.inside", told[3], f.sizeLimits(m.Size, told[:3])))
	}
	return out
}

func (s *saidView) say(text string) { s.Lines = append(s.Lines, marked(text, true)) }

// saySize answers how a size that is being typed stands to its limits, as a piece of the page.
func (s *Server) saySize(w http.ResponseWriter, r *http.Request) error {
	v, err := s.jobView(r, &Form{}, "find.title")
	if err != nil {
		return err
	}
	f := &Form{Values: r.URL.Query()}
	said := saidView{F: v.F}
	if text := f.Quantity("value"); text != "" {
		m, err := assess.CheckSize(v.J.Model.Pump, f.Get("part"), f.Get("size"), text)
		var fault *record.Fault
		switch {
		case errors.As(err, &fault) && status(fault.Code) < 500:
			said.Bad, said.Lines = true, []template.HTML{v.F.Fault(fault)}
		case err != nil:
			return err
		default:
			said = v.F.measured(m)
		}
	}
	v.F.Data = said
	return s.render(w, http.StatusOK, "findings", "said", v.F)
}
