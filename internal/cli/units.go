package cli

import (
	"strings"

	"github.com/evenstroke/evenstroke/unit"
)

func (a *app) setUnits() error {
	switch a.units {
	case "metric":
		a.sys = unit.Metric()
	case "imperial":
		a.sys = unit.Imperial()
	default:
		return badInput("--units: found %q; expected metric or imperial", a.units)
	}
	for _, pair := range a.unitOf {
		name, u, ok := strings.Cut(pair, "=")
		d, known := dimNamed(name)
		if !ok || !known {
			return badInput("--unit: found %q; expected kind=unit, e.g. pressure=psi or torque=lbf·ft", pair)
		}
		sys, err := a.sys.With(d, u)
		if err != nil {
			return badInput("--unit %s: %w", name, err)
		}
		a.sys = sys
	}
	return nil
}

func dimNamed(name string) (unit.Dim, bool) {
	for _, d := range unit.Dims() {
		if d.String() == strings.TrimSpace(name) {
			return d, true
		}
	}
	return 0, false
}
