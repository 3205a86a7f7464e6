package gen

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/pump"
)

// sheet writes the readings as a hold sheet in the published format. Errors are stated only where a technician would: for a
// clock read to the second.
func (s *Setup) sheet(readings []Reading) string {
	var b strings.Builder
	fmt.Fprintf(&b, "hold: 1\npump: %s\nstage: %s\n", s.Pump, s.Stage)
	fmt.Fprintf(&b, "fluid: {kind: %s, ", s.Fluid.Kind)
	if s.Fluid.Grade > 0 {
		fmt.Fprintf(&b, "grade: %d, ", s.Fluid.Grade)
	}
	fmt.Fprintf(&b, "temperature: %s °C}\n", num(s.Temperature-273.15))
	per := s.Gauge.per()
	fmt.Fprintf(&b, "gauge: {range: %s %s, class: %s %%, resolution: %s %s}\n", num(s.Gauge.Range/per), s.Gauge.Unit, num(100*s.Gauge.Class), num(s.Gauge.Resolution/per), s.Gauge.Unit)
	if s.round >= 1 {
		b.WriteString("stopwatch: 0.4 s\n")
	}
	b.WriteString("readings:\n")
	for _, r := range readings {
		b.WriteString("  - {" + strings.Join(s.fields(r), ", ") + "}\n")
	}
	return b.String()
}

func num(x float64) string { return strconv.FormatFloat(math.Round(x*1e6)/1e6, 'g', -1, 64) }

func (s *Setup) pressure(p float64) string { return num(p/s.Gauge.per()) + " " + s.Gauge.Unit }

func seconds(t float64) string { return num(t) + " s" }

func strokeName(d pump.Dir) string {
	if d == 0 {
		return "unknown"
	}
	return d.String()
}

// fields gives the keys of a reading, its kind first.
func (s *Setup) fields(r Reading) []string {
	f := []string{r.Kind + ": " + strokeName(r.Stroke)}
	add := func(format string, args ...any) { f = append(f, fmt.Sprintf(format, args...)) }
	switch r.Kind {
	case "creep":
		add("travel: %s mm", num(1e3*r.Travel))
		add("time: %s", seconds(r.Time))
		if r.Measured {
			add("measured: travel")
		}
		add("pressure: %s", s.pressure(r.Pressure))
	case "still", "no_changeover", "changeover":
		add("time: %s", seconds(r.Time))
		add("pressure: %s", s.pressure(r.Pressure))
	case "locked":
		var pts []string
		for _, p := range r.Points {
			pts = append(pts, fmt.Sprintf("{at: %s, pressure: %s}", seconds(p[0]), s.pressure(p[1])))
		}
		if r.Vented {
			add("vented: true")
		}
		add("pressures: [%s]", strings.Join(pts, ", "))
	case "restart":
		add("time: %s", seconds(r.Time))
	case "run":
		f[0] = fmt.Sprintf("run: %d", r.Count)
		add("pressure: %s", s.pressure(r.Pressure))
		add("time: %s", seconds(r.Time))
		if r.Volume > 0 {
			add("volume: %s mL", num(1e6*r.Volume))
		} else {
			add("up_time: %s", seconds(r.Up))
			add("down_time: %s", seconds(r.Down))
		}
	case "drips", "caught":
		f[0] = r.Kind + ": " + r.Path
		if r.Kind == "drips" {
			add("drops: %d", r.Count)
		} else {
			add("volume: %s mL", num(1e6*r.Volume))
		}
		add("time: %s", seconds(r.Time))
		add("pressure: %s", s.pressure(r.Pressure))
		if r.Stroke != 0 {
			add("stroke: %s", strokeName(r.Stroke))
		}
	case "sign":
		f[0] = "sign: " + r.Sign
	}
	if !math.IsNaN(r.Place) && r.Kind == "creep" {
		add("at: %s mm", num(1e3*r.Place))
	}
	if r.Again > 0 {
		add("reseat: %d", r.Again)
	}
	if r.Warm > 0 {
		add("temperature: %s °C", num(r.Warm-273.15))
	}
	return f
}
