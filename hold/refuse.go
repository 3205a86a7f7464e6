package hold

import (
	"fmt"
	"math"
	"strings"

	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// Refusal lists the readings that cannot come from this pump, each with the reason.
type Refusal struct {
	Pump  string
	Items []RefusalItem
}

// RefusalItem is one refused reading.
type RefusalItem struct {
	Reading int    `json:"reading"` // 1 for the first
	Line    int    `json:"line,omitempty"`
	Found   string `json:"found"`
	Want    string `json:"want"`
	Fix     string `json:"fix"`
}

// Error gives one line for each refused reading.
func (r *Refusal) Error() string {
	lines := make([]string, len(r.Items))
	for i, it := range r.Items {
		where := fmt.Sprintf("reading %d", it.Reading)
		if it.Line > 0 {
			where += fmt.Sprintf(" (line %d)", it.Line)
		}
		lines[i] = fmt.Sprintf("%s cannot come from the pump %s: found %s; expected %s; %s", where, r.Pump, it.Found, it.Want, it.Fix)
	}
	return strings.Join(lines, "\n")
}

// overRated is how far above its rating a stall may read before the reading is refused.
const overRated = 1.1

type checker struct {
	p     *pump.Pump
	m     pump.Map
	paths map[string]pump.Path
	out   *Refusal
	i     int
	line  int
	gauge float64 // Pa, where its scale ends; 0 when nobody says
}

// Refuse returns a *Refusal when a reading cannot come from this pump whatever leaks, as Analyse does first; *MissingError when p or s is
// nil; nil otherwise.
func Refuse(p *pump.Pump, s *Sheet) error {
	if err := given(p, s); err != nil {
		return err
	}
	c := &checker{p: p, m: p.Map(), paths: map[string]pump.Path{}, gauge: s.Gauge.Range, out: &Refusal{Pump: p.Name}}
	for _, q := range c.m.Paths {
		c.paths[q.Name] = q
	}
	for i, r := range s.Readings {
		c.i, c.line = i+1, r.Line
		c.reading(r)
	}
	if len(c.out.Items) > 0 {
		return c.out
	}
	return nil
}

func (c *checker) refuse(found, want, fix string) {
	c.out.Items = append(c.out.Items, RefusalItem{Reading: c.i, Line: c.line, Found: found, Want: want, Fix: fix})
}

func show(x float64, d unit.Dim) string { return unit.Metric().Show(x, d) }

func (c *checker) reading(r Reading) {
	c.scale(r)
	if what := lacks(r); what != "" {
		c.refuse("a reading without its "+what, "all that its kind needs", "fill it in; a hold sheet that is read has it all")
		return
	}
	if top := c.highest(r); r.Pressure > overRated*top {
		c.refuse("a pressure of "+show(r.Pressure, unit.Pressure), "at most the "+show(top, unit.Pressure)+" that it is rated for or its drive can reach", "read the gauge again; never run the pump above its rating")
	}
	switch r.Kind {
	case Creep, Changeover, Still, NoChangeover:
		c.stroke(r)
	case Restart:
		if !r.Kind.Fits(c.p.Drive.Kind) {
			c.refuse("a restart of the motor", "a reading of a stall", "a force-held drive has no pressure switch: time the creep of the rod instead")
		}
	case Locked:
		c.locked(r)
	case Run:
		c.run(r)
	case Drips, Caught:
		q, ok := c.paths[r.Path]
		if !ok || !q.Visible {
			c.refuse(fmt.Sprintf("fluid seen at %q", r.Path), "one of the paths that end outside: "+c.visible(), "name the place as the pump sheet does")
		}
	}
}

// highest is the highest pressure that a reading may show: the rating, or where a leak lets the drive go beyond it, that.
func (c *checker) highest(r Reading) float64 {
	switch r.Kind {
	case Creep, Changeover, Still, NoChangeover, Drips, Caught: // who looks for drops stands at a stall too
		if r.Stroke != 0 {
			return highestStall(c.p, c.m, r.Stroke)
		}
	}
	return c.p.Limits.Rated
}

// scale refuses a pressure that the gauge of the sheet cannot show.
func (c *checker) scale(r Reading) {
	most := r.Pressure
	for _, pt := range r.Points {
		most = math.Max(most, pt.Pressure)
	}
	if c.gauge > 0 && most > c.gauge*(1+1e-9) {
		c.refuse("a pressure of "+show(most, unit.Pressure)+" on a gauge that ends at "+show(c.gauge, unit.Pressure), "a pressure on the scale of the gauge", "look at the range of the gauge, and read it again")
	}
}

func (c *checker) visible() string {
	var names []string
	for _, q := range c.m.Paths {
		if q.Visible {
			names = append(names, q.Name)
		}
	}
	return strings.Join(names, ", ")
}

func (c *checker) stroke(r Reading) {
	if !r.Kind.Fits(c.p.Drive.Kind) {
		c.refuse("a "+strings.ReplaceAll(string(r.Kind), "_", " ")+" reading", "a locked hold, a restart or a run", "the rod of a crank drive stands still when the motor stops, it does not creep")
		return
	}
	travel := r.Travel
	if r.Kind == Changeover {
		travel = c.p.Stroke
	}
	if r.Kind == Creep && travel > c.p.Stroke*(1+1e-9) {
		c.refuse("a travel of "+show(travel, unit.Length), "at most the stroke of "+show(c.p.Stroke, unit.Length), "measure the travel of one stroke only")
	}
	if !math.IsNaN(r.At) && r.At > c.p.Stroke {
		c.refuse("a rod position of "+show(r.At, unit.Length), "0 to the stroke of "+show(c.p.Stroke, unit.Length), "measure from the bottom of the stroke")
	}
	if r.Kind != Still && r.Kind != NoChangeover && r.Time > 0 {
		if v := travel / r.Time; v > c.p.Drive.FreeSpeed {
			c.refuse("a rod speed of "+show(v, unit.Velocity), "at most the "+show(c.p.Drive.FreeSpeed, unit.Velocity)+" that its drive reaches without load", "look at the time again")
		}
	}
}

func (c *checker) locked(r Reading) {
	for _, pt := range r.Points {
		if pt.Pressure > overRated*c.p.Limits.Rated {
			c.refuse("a pressure of "+show(pt.Pressure, unit.Pressure), "at most the rated "+show(c.p.Limits.Rated, unit.Pressure), "read the gauge again; never run the pump above its rating")
			return
		}
		if pt.Pressure > 1.15*r.Points[0].Pressure {
			c.refuse("a pressure that rises to "+show(pt.Pressure, unit.Pressure)+" in a locked hold", "pressures that fall or stay", "start the hold when the motor stands still")
			return
		}
	}
}

func (c *checker) run(r Reading) {
	rate := float64(r.Count) / (r.Time + 2*r.UTime) // as slow as the watch may have it
	top := c.p.Drive.FreeSpeed / (2 * c.p.Stroke)
	if c.p.Drive.Kind == pump.Crank {
		top = 1.3 * c.p.Drive.Speed
	}
	if rate > top {
		c.refuse(fmt.Sprintf("%.3g cycles a second", rate), fmt.Sprintf("at most %.3g, which is what its drive reaches", top), "count a cycle as one stroke up and one down")
	}
	if most := 1.05 * float64(r.Count) * c.p.Displacement(); r.Volume > most {
		c.refuse("a volume of "+show(r.Volume, unit.Volume), fmt.Sprintf("at most the %s that %d cycles displace", show(most/1.05, unit.Volume), r.Count), "catch exactly the counted cycles")
	}
	for _, t := range []float64{r.UpTime, r.DownTime} {
		if c.p.Drive.Kind == pump.ForceHeld && t < c.p.Stroke/c.p.Drive.FreeSpeed {
			c.refuse("a stroke in "+show(t, unit.Time), "at least the "+show(c.p.Stroke/c.p.Drive.FreeSpeed, unit.Time)+" of its drive without load", "time several strokes and divide")
		}
	}
}
