package report

import (
	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/unit"
)

// Reading says in words what was read.
func (w Words) Reading(r hold.Reading, p *pump.Pump, sys unit.System) string {
	return w.reading(r, p, sys)
}
