package web

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/unit"
)

type ringField struct {
	Row   string
	Part  string
	Now   string
	Parts []option
	Lips  []option
	LipIs string
	HasIt bool // it is a ring with lips
}

type stackPage struct {
	*JobView
	Name       string
	Rings      []ringField
	Shim       string
	ShimUnit   string
	Wide       string
	Narrow     string
	Departures []departureView
	Built      bool
	ToStep     string
}

// viewStack is the page on which is written how a stack was built: ring by ring as it stands, which way its lips face, the shim.
func (s *Server) viewStack(w http.ResponseWriter, r *http.Request, form *Form) error {
	v, err := s.jobView(r, form, "stack.title")
	if err != nil {
		return err
	}
	name := form.Value("stack", r.URL.Query().Get("name"))
	st, ok := v.J.Model.Stack(name)
	if !ok && name == "" { // what is left in the browser by a form that was refused
		http.Redirect(w, r, jobPath(v.J.Number, "/work"), http.StatusSeeOther)
		return nil
	}
	if !ok {
		return notFound(r.URL.Path)
	}
	f := v.F
	d := &stackPage{JobView: v, Name: name, ShimUnit: f.Units.Unit(unit.Length), Departures: v.departures(), ToStep: jobPath(v.J.Number, "/work")}
	if st.Shim > 0 {
		d.Shim = number(f.Units, st.Shim, unit.Length)
	}
	var built *record.Stacked
	for _, l := range v.J.Stacks {
		if l.Body.Stack == name {
			built, d.Built = l.Body, true
		}
	}
	if built != nil {
		d.Shim = built.Shim
	}
	var parts []option
	seen := map[string]bool{}
	for _, q := range st.Rings {
		if !seen[q.Part] {
			seen[q.Part] = true
			parts = append(parts, option{Value: q.Part, Word: q.Part})
		}
	}
	for i := len(st.Rings) - 1; i >= 0; i-- { // as it stands: the top first
		q := st.Rings[i]
		row := ringField{Row: strconv.Itoa(i), Part: q.Part, Now: q.Part, Parts: parts, HasIt: q.Lips != "", LipIs: q.Lips,
			Lips: []option{{"up", f.T("lips.up"), ""}, {"down", f.T("lips.down"), ""}, {"", f.T("lips.none"), ""}}}
		if built != nil && i < len(built.Rings) {
			row.Now, row.LipIs = built.Rings[i].Part, built.Rings[i].Lips
		}
		d.Rings = append(d.Rings, row)
	}
	wide, err := draw.StackBare(v.J.Model.Pump, name, f.Units, draw.In(f.Told))
	if err != nil {
		return err
	}
	narrow, err := draw.StackNarrow(v.J.Model.Pump, name, nil, f.Units, draw.In(f.Told))
	if err != nil {
		return err
	}
	d.Wide, d.Narrow = draw.Inline(wide), draw.Inline(narrow)
	f.Title = f.T("job.page", f.T("stack.of", name), strconv.FormatInt(v.J.Number, 10))
	v.F.Data = d
	return s.render(w, statusOf(form), "stack", "frame.html", v.F)
}

// keepStack keeps how a stack was built.
func (s *Server) keepStack(r *http.Request, f *Form) (string, error) {
	b := &record.Stacked{Stack: f.Get("stack"), Shim: f.Quantity("shim")}
	for i := range 100 {
		part := f.Get(fmt.Sprintf("part%d", i))
		if part == "" {
			break
		}
		b.Rings = append(b.Rings, record.Ring{Part: part, Lips: f.Get(fmt.Sprintf("lips%d", i))})
	}
	return s.add(r, f, b, "/stack?name="+escape(b.Stack)+"&done=kept")
}
