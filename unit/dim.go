package unit

// Dim is the kind of a quantity. The zero Dim is none: Parse refuses it.
type Dim uint8

// The kinds of quantity. Same dimension but different meaning is a different Dim: a torque is no energy, a temperature is no
// temperature difference.
const (
	Length           Dim = iota + 1 // m
	Area                            // m²
	Volume                          // m³
	Time                            // s
	Mass                            // kg
	Force                           // N
	Pressure                        // Pa, gauge
	Torque                          // N·m
	Flow                            // m³/s
	Velocity                        // m/s
	Temperature                     // K, absolute
	TempDiff                        // K, a difference
	Angle                           // rad
	DynViscosity                    // Pa·s
	KinViscosity                    // m²/s
	Density                         // kg/m³
	Frequency                       // 1/s
	Ratio                           // 1
	Stiffness                       // N/m
	Compliance                      // m³/Pa, volume taken up per pressure
	PressureRate                    // Pa/s, rise or fall of a pressure
	Power                           // W
	ThermalExpansion                // 1/K
	dimEnd
)

// BulkModulus is read and printed like a pressure.
const BulkModulus = Pressure

// dimInfo describes one Dim: its name, the SI symbol, and an example (number and two units) for messages.
type dimInfo struct {
	name, si string
	sample   float64
	a, b     string
}

var dims = [dimEnd]dimInfo{
	0:                {"unknown quantity", "", 1, "", ""},
	Length:           {"length", "m", 20, "mm", "in"},
	Area:             {"area", "m²", 3, "cm²", "in²"},
	Volume:           {"volume", "m³", 250, "mL", "fl oz"},
	Time:             {"time", "s", 80, "s", "min"},
	Mass:             {"mass", "kg", 2, "kg", "lb"},
	Force:            {"force", "N", 50, "N", "lbf"},
	Pressure:         {"pressure", "Pa", 2380, "psi", "bar"},
	Torque:           {"torque", "N·m", 52, "N·m", "lbf·ft"},
	Flow:             {"flow", "m³/s", 2, "L/min", "gpm"},
	Velocity:         {"velocity", "m/s", 0.2, "m/s", "in/s"},
	Temperature:      {"temperature", "K", 21, "°C", "°F"},
	TempDiff:         {"temperature difference", "K", 5, "K", "°F"},
	Angle:            {"angle", "rad", 90, "°", "turn"},
	DynViscosity:     {"dynamic viscosity", "Pa·s", 30, "mPa·s", "cP"},
	KinViscosity:     {"kinematic viscosity", "m²/s", 35, "cSt", "mm²/s"},
	Density:          {"density", "kg/m³", 870, "kg/m³", "lb/gal"},
	Frequency:        {"frequency", "1/s", 60, "1/min", "Hz"},
	Ratio:            {"ratio", "1", 8, "%", "1"},
	Stiffness:        {"stiffness", "N/m", 5, "N/mm", "lbf/in"},
	Compliance:       {"compliance", "m³/Pa", 0.2, "mL/bar", "cc/psi"},
	PressureRate:     {"pressure rate", "Pa/s", 50, "psi/min", "bar/min"},
	Power:            {"power", "W", 1.5, "kW", "hp"},
	ThermalExpansion: {"thermal expansion", "1/K", 12, "ppm/K", "1/K"},
}

func (d Dim) info() dimInfo {
	if d >= dimEnd {
		d = 0
	}
	return dims[d]
}

// String returns the name of the quantity in lower case: "length", "temperature difference".
func (d Dim) String() string { return d.info().name }

// SI returns the symbol of the coherent SI unit in which values of d are held: "m", "Pa", "m³/s"; empty for an unknown d.
func (d Dim) SI() string { return d.info().si }

// article returns the name with its article: "a torque", "an angle".
func (d Dim) article() string {
	name := d.String()
	switch name[0] {
	case 'a', 'e', 'i', 'o', 'u':
		return "an " + name
	}
	return "a " + name
}

// Dims returns every kind of quantity, in the order of the constants.
func Dims() []Dim {
	all := make([]Dim, 0, dimEnd-1)
	for d := Length; d < dimEnd; d++ {
		all = append(all, d)
	}
	return all
}
