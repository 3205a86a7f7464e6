package plain

import (
	"strings"

	"github.com/evenstroke/evenstroke/num"
)

// quantity is what a person calls an argument of a formula. want replaces the range where the range is no interval.
type quantity struct {
	what    string
	want    string
	percent bool // a share that is shown in per cent
}

// article is the name with its article.
func (q quantity) article() string {
	if strings.ContainsRune("aeiou", rune(q.what[0])) && !strings.HasPrefix(q.what, "uni") {
		return "an " + q.what
	}
	return "a " + q.what
}

// quantities are the arguments by name and SI unit, those that mean something else in one function before it by function. What is not
// here is called by its kind: a length, a pressure.
var quantities = map[string]quantity{
	"M N·m": {what: "torque"}, "torque N·m": {what: "torque"}, "step N·m": {what: "step of the wrench's scale"}, "reading N·m": {what: "uncertainty of reading the scale"},
	"tolerance N·m":          {what: "tolerance of the torque", want: "a tolerance of at most half of the torque"},
	"F N":                    {what: "force"},
	"FA N":                   {what: "force of the pressure"},
	"load N":                 {what: "axial load"},
	"tool 1":                 {what: "deviation of the tool", percent: true},
	"T K":                    {what: "temperature"},
	"Temperature K":          {what: "temperature"},
	"L m":                    {what: "length of the wrench"},
	"E m":                    {what: "length of the adapter"},
	"adapter m":              {what: "length of the adapter"},
	"L+E·cosθ m":             {what: "reach of wrench and adapter together", want: "a reach above 0; an adapter that points back may not be longer than the wrench"},
	"θ rad":                  {what: "angle of the adapter"},
	"Db m":                   {what: "mean diameter of the bearing face"},
	"Di m":                   {what: "inner diameter of the bearing face"},
	"Do m":                   {what: "outer diameter of the bearing face", want: "a diameter larger than the inner one"},
	"d3 m":                   {what: "core diameter of the thread"},
	"P m":                    {what: "pitch of the thread"},
	"K 1":                    {what: "torque factor"},
	"μth 1":                  {what: "friction in the thread"},
	"μb 1":                   {what: "friction under the head"},
	"Rp Pa":                  {what: "yield strength"},
	"bearing limit Pa":       {what: "strength of the bearing face"},
	"stiffness N/m":          {what: "stiffness", want: "that of the bolt and that of the joint, or neither"},
	"p Pa":                   {what: "pressure"},
	"P0 Pa":                  {what: "pressure at the start"},
	"p0 Pa":                  {what: "pressure at the start"},
	"dp Pa":                  {what: "pressure difference"},
	"Suction Pa":             {what: "suction pressure"},
	"q m³/s":                 {what: "leak"},
	"share 1":                {what: "share of the laminar part", percent: true},
	"Late s":                 {what: "delay of the ball"},
	"Reseat 1":               {what: "spread from one reseat to the next"},
	"Along 1":                {what: "course of the leak along the stroke", want: "none that is negative at any place"},
	"Duration s":             {what: "time to simulate"},
	"Sample s":               {what: "time between samples", want: "a longer one, or a shorter time to simulate: the trace would not fit"},
	"RelTol 1":               {what: "tolerance of the integration"},
	"RelTol ":                {what: "tolerance of the integration"},
	"X0 m":                   {what: "rod position at the start"},
	"Air 1":                  {what: "share of air in the fluid", percent: true},
	"air 1":                  {what: "share of air in the fluid", percent: true},
	"AirFraction 1":          {what: "share of air in the fluid", percent: true},
	"grade 1":                {what: "viscosity grade", want: "an ISO viscosity grade, as 32, 46 or 68"},
	"ViscosityIndex 1":       {what: "viscosity index"},
	"vi 1":                   {what: "viscosity index"},
	"Viscosity Pa·s":         {what: "viscosity"},
	"Density kg/m³":          {what: "density"},
	"rhoBall kg/m³":          {what: "density of the ball", want: "one that is larger than that of the liquid"},
	"ShearRate 1/s":          {what: "shear rate"},
	"ShearIndex 1":           {what: "shear index"},
	"N 1":                    {what: "shear index"},
	"fluid.CupViscosity/t s": {what: "time of the cup"},
	"At s":                   {what: "time at which the tip is turned"},
	"t s":                    {what: "time"},
	"Bore m":                 {what: "bore"},
	"Rod m":                  {what: "rod diameter", want: "one below the bore"},
	"TailRod m":              {what: "diameter of the lower rod", want: "one below the bore"},
	"Stroke m":               {what: "stroke"},
	"Length m":               {what: "length"},
	"Speed 1/s":              {what: "speed of the crank"},
	"Stop Pa":                {what: "stop pressure"},
	"Restart Pa":             {what: "restart pressure"},
	"MovingMass kg":          {what: "moving mass"},
	"Mode 1":                 {what: "mode", want: "a stall, a run or a locked hold"},
	"Start 1":                {what: "stroke at the start", want: "up or down"},
	"clearance m":            {what: "clearance"},
	"compression m":          {what: "compression of the spring"},
	"shims m":                {what: "thickness of the shims"},
	"depth m":                {what: "depth of the cavity"},
	"β·h 1":                  {what: "height of the ring times how fast stress falls in it", want: "a lower ring: this one would jam"},
	"Shore A 1":              {what: "hardness in Shore A"},
	"Facing 1":               {what: "way the lips face", want: "toward the pressure or away from it"},
	"half width m":           {what: "width of the contact", want: "a contact below a fifth of its radius: the ball would be pressed into the seat"},
	"Eccentricity 1":         {what: "eccentricity", want: "0 to 1; 0 for a liquid that thins"},
	"Outer m":                {what: "outer diameter", want: "one larger than the inner"},
	"t2 K":                   {what: "second temperature", want: "one other than the first"},
	"nu2 m²/s":               {what: "viscosity at the second temperature", want: "one below that at the lower temperature"},
	"betaWall Pa":            {what: "stiffness of the wall", want: "one above 0"},
	"e Pa":                   {what: "modulus", want: "one above 0"},
	"sum of weights ":        {what: "sum of the weights"},
}

// kinds are what an argument that has no name above is called, by SI unit, where the kind of quantity is no good name.
var kinds = map[string]string{"": "number", "1": "factor", "K": "temperature", "rad": "angle", "°": "angle", "N·s/m": "friction", "m/N": "compliance", "1/m": "decay",
	"Pa·sⁿ": "consistency"}

// quantityOf names the argument that was refused. In a setup it may stand in a part of it: Pump.Hose.Bore.
func quantityOf(e *num.RangeError) quantity {
	name := e.Name
	for {
		for _, key := range []string{e.Func + "/" + name + " " + e.Unit, name + " " + e.Unit} {
			if q, ok := quantities[key]; ok {
				return q
			}
		}
		_, rest, ok := strings.Cut(name, ".")
		if !ok {
			break
		}
		name = rest
	}
	if kind, ok := kinds[e.Unit]; ok {
		return quantity{what: kind}
	}
	if d, ok := dimension(e.Unit); ok {
		return quantity{what: d.String()}
	}
	return quantity{what: "quantity"}
}

// fields are the fields of a setup or of a description of a fluid.
var fields = map[string]string{
	"Pump": "pump sheet", "Pump.Hose": "hose of the pump sheet", "Pump.Hose.Tip": "tip under `hose` of the pump sheet", "Pump.Drive.Kind": "kind of drive of the pump sheet",
	"P0": "pressure at the start", "Vented": "chamber open to the air", "Faults": "fault", "Friction": "friction", "Mode": "mode", "Tip": "tip", "Rand": "seed",
	"Kind": "kind of fluid", "Grade": "viscosity grade", "Nu100": "viscosity at 100 °C", "ViscosityIndex": "viscosity index", "Cup": "flow cup", "CupTime": "time of the cup",
	"Viscosity": "viscosity", "ShearRate": "shear rate", "ShearIndex": "shear index", "Density": "density", "Temperature": "temperature",
}

func fieldOf(name string) string {
	if what, ok := fields[name]; ok {
		return what
	}
	return "setup"
}
