package hold

import "github.com/evenstroke/evenstroke/pump"

// Kind is what was observed.
type Kind string

// The kinds of readings. Stroke readings need a force-held drive; locked and restart need a rod that stands still.
const (
	Creep        Kind = "creep"         // a mark on the rod moved so far in such a time
	Changeover   Kind = "changeover"    // a whole stroke took such a time
	Still        Kind = "still"         // a mark did not visibly move for so long
	NoChangeover Kind = "no_changeover" // no changeover for so long, rod position unknown
	Locked       Kind = "locked"        // pressures of a hold with the rod locked
	Restart      Kind = "restart"       // time from motor stop to restart by the pressure control
	Run          Kind = "run"           // cycles in a time, with volume caught or stroke times
	Drips        Kind = "drips"         // drops counted at a visible path
	Caught       Kind = "caught"        // volume caught at a visible path
	Sign         Kind = "sign"          // what a person notices
)

// Fits says whether a pump with such a drive can give a reading of this kind: the rod of a force-held one creeps at a stall, that of a crank
// stands still until its pressure control starts the motor again.
func (k Kind) Fits(d pump.DriveKind) bool {
	switch k {
	case Creep, Changeover, Still, NoChangeover:
		return d != pump.Crank
	case Restart:
		return d == pump.Crank
	}
	return true
}

// Reading is one observation with its errors (standard deviations), SI.
type Reading struct {
	Kind     Kind
	Line     int      // in the sheet, 0 when not from a file
	Stroke   pump.Dir // of a stall, or the stroke on which a locked rod stopped; 0 when not known
	Pressure float64  // Pa
	UPress   float64  // Pa
	Travel   float64  // m; of Still: the smallest movement that would have been seen
	UTravel  float64  // m
	Time     float64  // s
	UTime    float64  // s
	TimeIt   bool     // the distance was given and the time measured, not the other way round
	At       float64  // m, rod position at the start; NaN when not noted
	Warmth   float64  // K, temperature of the fluid during this reading; NaN when as in the sheet
	Reseat   int      // readings with different numbers have the balls reseated between them
	Path     string   // for drips and caught
	Count    int      // drops, or cycles of a run
	Drop     float64  // m³ of one drop
	Volume   float64  // m³ caught; NaN when not
	UVolume  float64  // m³
	UpTime   float64  // s of an upstroke in a run; NaN when not timed
	DownTime float64  // s
	Vented   bool     // locked: the chamber that is not at the line's pressure was vented
	Points   []Point  // locked: pressures at times, the first is the start
	Sign     string
	Derived  string // set when the program made this reading from a trace
}

// Point is one pressure of a locked hold.
type Point struct {
	Time, Pressure float64
}

// Sheet is the readings of one hold, with what was used to take them.
type Sheet struct {
	Pump     string // name or file of the pump sheet
	Serial   string
	Stage    string // as found, as left
	Fluid    FluidSpec
	Gauge    Gauge
	Stop     float64 // s, standard deviation of a stopwatch reading started and stopped by hand
	Ruler    float64 // m, standard deviation of a ruler reading
	Readings []Reading
}

// FluidSpec is the fluid of the test as the sheet describes it.
type FluidSpec struct {
	Kind        string
	Grade       int
	Cup         string
	CupTime     float64
	Density     float64
	ShearIndex  float64
	Air         float64 // volume share of entrained air at atmospheric pressure; NaN when not said
	Temperature float64 // K
}

// Gauge is the pressure gauge.
type Gauge struct {
	Range      float64 // Pa
	Class      float64 // share of the range, limit of error
	Resolution float64 // Pa
}

// Default errors of what a bench uses: assumptions, shown as such and replaced by what the sheet says.
const (
	defaultStop     = 0.3    // s: two presses by hand; common practice, no published source
	defaultRuler    = 0.5e-3 // m
	defaultDrop     = pump.Drop
	defaultSeen     = 0.5e-3
	defaultClass    = 0.016 // EN 837-1 accuracy class 1.6
	stickShare      = 0.01  // share of the pressure that friction hides from the rod and a hose still takes up; an assumption
	dropSpread      = 0.3   // relative sd of the size of a drop
	misreadPoint    = 0.02  // chance that one pressure of a locked hold is misread
	reseatSpread    = 0.6   // sd of ln q of a seat with debris from one reseat to the next
	lineSpread      = 0.25  // sd of ln of the compliance of line and chambers
	ballLate        = 0.09  // mean share of a downstroke taken by compression and the late ball (3 to 15 %)
	ballLateSD      = 0.035
	pistonLate      = 0.015 // the same for a stroke that brings no chamber under pressure: the ball on the piston alone
	pistonLateSD    = 0.012
	coolingFraction = 0.01 // sd of the share of its pressure that a locked line loses by cooling and stretch, at long times
	coolingTime     = 60.0 // s
)
