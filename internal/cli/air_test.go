package cli

import (
	"testing"

	"github.com/evenstroke/evenstroke/fluid"
	"github.com/evenstroke/evenstroke/unit"
)

// The simulator takes as much air in the fluid as a hold does where nobody says how much.
func TestUsualAir(t *testing.T) {
	v, err := unit.Parse((&app{}).strokeCmd().Flags().Lookup("air").DefValue, unit.Ratio)
	if err != nil || v.SI != fluid.UsualAir {
		t.Errorf("stroke takes %g, %v; a hold %g", v.SI, err, fluid.UsualAir)
	}
}
