package stroke

import (
	"math/rand/v2"

	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/pump"
)

// Mode is what is done with the pump.
type Mode int

const (
	// Stall shuts the tip. A force-held drive pushes and creeps; a crank drive runs up to its stop pressure and starts
	// again at its restart pressure.
	Stall Mode = iota
	// Run opens the tip at the start.
	Run
	// LockedHold shuts the tip and locks the rod where it stands, with the pressures that the stroke Setup.Start left.
	LockedHold
)

// Setup says what to simulate. SI, pressures gauge.
type Setup struct {
	Pump   *pump.Pump
	Fluid  Fluid
	Faults []Fault
	Mode   Mode

	Start     pump.Dir  // direction of the first stroke, or of the one on which a locked rod stopped; 0 means Up
	X0        float64   // m, rod position at the start, 0..stroke
	P0        float64   // Pa, line pressure at the start; 0 means the usual one, see StartPressure
	Empty     bool      // start without pressure
	Vented    []string  // chambers open to the air (LockedHold only)
	Tip       []Turn    // when the tip is opened and shut, in the order of time
	Duration  float64   // s
	RelTol    float64   // relative tolerance of the integration; 0 means 1e-5
	Sample    float64   // s between samples of the trace; 0 means none
	Friction  *Friction // of the rod; nil means the one that the packing stacks give, see PackingFriction
	Rebound   float64   // share of its speed with which a ball leaves seat and stop, 0..0.9
	Suction   float64   // Pa at the inlet, e.g. from the level in the pail; > −1 atmosphere
	Rand      *rand.Rand
	Progress  func(t float64) bool // called now and then; false ends the run with ode.ErrCanceled
	WholeLine bool                 // one node for fittings and hose, whatever Pump.Hose.Segments says
}

// Turn opens or shuts the tip.
type Turn struct {
	At   float64 // s
	Open bool
}

// Fluid is the liquid as the moving pump sees it: constants at the state of the test, and entrained air.
type Fluid struct {
	Density   float64 // kg/m³
	Viscosity float64 // Pa·s
	Bulk      float64 // K, secant bulk modulus from zero to the pressure of the test, without air, Pa
	Air       float64 // x0, share of the volume that is air at one atmosphere, 0..0.5
}

// Fault makes one leak path of the pump leak, or a ball late.
type Fault struct {
	Path string // name of a path of Pump.Map, or of a valve

	// Leak is the law of the leak, positive from Path.From to Path.To; nil does not leak. leak.Law, leak.Packing and
	// leak.Parallel of them are unrolled; any other path is called through its methods, which is slower.
	Leak leak.Path

	Along  []float64 // leak along the stroke, relative: Σ Along[i]·(x/stroke)^i, up to four terms; a worn bore. nil: 1
	Zone   *Zone     // where along the stroke it leaks; a scratched rod. nil: everywhere
	Reseat float64   // sd of the logarithm of the leak from one seating of the ball to the next; debris. Needs Setup.Rand
	Late   float64   // s for which the ball stays at its stop after the flow has turned
}

// Zone is a stretch of the stroke with smooth edges.
type Zone struct {
	From, To float64 // m, where the edges are half way
	Edge     float64 // m, length of an edge
}

// Friction of the rod against its packings.
type Friction struct {
	Steady  float64            // N, from the preload of the packings
	PerPa   map[string]float64 // m², by seal: normal force per pressure across it, times the coefficient of friction
	Viscous float64            // N·s/m
}
