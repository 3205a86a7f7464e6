package unit

import (
	"math"
	"strconv"
)

// System says which unit a person wants for each kind of quantity. Copy one of [Metric] and [Imperial] and change fields, or
// use [System.With].
type System struct {
	Pressure, Torque                string
	Length, SmallLength             string // SmallLength below a tenth of a millimetre
	Area                            string
	Flow, SmallFlow                 string // SmallFlow below two litres per minute, as leaks are
	Volume, LargeVolume             string // LargeVolume from one of it on
	Temperature, TempDiff           string
	Force, Mass                     string
	Velocity, Time, Frequency       string
	DynViscosity, KinViscosity      string
	Density, Angle, Ratio           string
	Stiffness, Compliance           string
	PressureRate, Power, ThermalExp string
}

// Metric returns the units of a metric workshop: bar, N·m, mm, L/min, mL, °C.
func Metric() System {
	return System{
		Pressure: "bar", Torque: "N·m", Length: "mm", SmallLength: "µm", Area: "mm²", Flow: "L/min", SmallFlow: "mL/min",
		Volume: "mL", LargeVolume: "L", Temperature: "°C", TempDiff: "K", Force: "N", Mass: "kg", Velocity: "m/s", Time: "s",
		Frequency: "1/min", DynViscosity: "mPa·s", KinViscosity: "mm²/s", Density: "kg/m³", Angle: "°", Ratio: "%",
		Stiffness: "N/mm", Compliance: "mL/bar", PressureRate: "bar/min", Power: "kW", ThermalExp: "1/K",
	}
}

// Imperial returns the units of a workshop in inches and pounds, with US liquid measures: psi, lbf·ft, in, gpm, fl oz, °F.
func Imperial() System {
	return System{
		Pressure: "psi", Torque: "lbf·ft", Length: "in", SmallLength: "thou", Area: "in²", Flow: "gpm", SmallFlow: "fl oz/min",
		Volume: "fl oz", LargeVolume: "gal", Temperature: "°F", TempDiff: "°F", Force: "lbf", Mass: "lb", Velocity: "in/s", Time: "s",
		Frequency: "1/min", DynViscosity: "cP", KinViscosity: "cSt", Density: "lb/gal", Angle: "°", Ratio: "%",
		Stiffness: "lbf/in", Compliance: "cc/psi", PressureRate: "psi/min", Power: "hp", ThermalExp: "1/°F",
	}
}

// field returns the place of the unit of d in s, nil for an unknown d.
func (s *System) field(d Dim) *string {
	if d == 0 || d >= dimEnd {
		return nil
	}
	return [dimEnd]*string{
		Length: &s.Length, Area: &s.Area, Volume: &s.Volume, Time: &s.Time, Mass: &s.Mass, Force: &s.Force, Pressure: &s.Pressure,
		Torque: &s.Torque, Flow: &s.Flow, Velocity: &s.Velocity, Temperature: &s.Temperature, TempDiff: &s.TempDiff, Angle: &s.Angle,
		DynViscosity: &s.DynViscosity, KinViscosity: &s.KinViscosity, Density: &s.Density, Frequency: &s.Frequency, Ratio: &s.Ratio,
		Stiffness: &s.Stiffness, Compliance: &s.Compliance, PressureRate: &s.PressureRate, Power: &s.Power,
		ThermalExpansion: &s.ThermalExp,
	}[d]
}

// Unit returns the unit for d, the SI symbol if the System names none.
func (s System) Unit(d Dim) string {
	if f := s.field(d); f != nil && *f != "" {
		return *f
	}
	return d.SI()
}

// With returns s with the unit u for d; the error is that of an unknown unit or wrong dimension.
func (s System) With(d Dim, u string) (System, error) {
	sym, err := Canonical(u, d)
	if err != nil {
		return s, err
	}
	*s.field(d) = sym
	return s, nil
}

// Limits of the smaller and larger units of a System, SI.
const (
	smallLength = 1e-4       // m: a tenth of a millimetre
	smallFlow   = 2e-3 / 60  // m³/s: two litres per minute, more than any leak that a pump still works with
	longTime    = 120        // s: from two minutes on a time is shown in minutes
	veryLong    = 120 * 60.0 // s: from two hours on in hours
)

// UnitFor returns the unit in which s shows the SI value si of the kind d: [System.Unit], or the smaller or larger one that the
// size of si asks for (µm, mL/min, L, min, h).
func (s System) UnitFor(si float64, d Dim) string {
	a := math.Abs(si)
	u := ""
	switch {
	case d == Length && a > 0 && a < smallLength:
		u = s.SmallLength
	case d == Flow && a < smallFlow:
		u = s.SmallFlow
	case d == Volume && s.LargeVolume != "":
		if x, err := FromSI(a, s.LargeVolume, d); err == nil && x >= 1 {
			u = s.LargeVolume
		}
	case d == Time && a >= veryLong:
		u = "h"
	case d == Time && a >= longTime:
		u = "min"
	}
	if u == "" {
		return s.Unit(d)
	}
	return u
}

// Show prints si with three significant digits in the unit of [System.UnitFor]: "164 bar", "12.7 µm", "18.0 mL/min". A
// temperature is printed to a tenth of a degree.
func (s System) Show(si float64, d Dim) string {
	u := s.UnitFor(si, d)
	if d == Temperature {
		if x, sym := inUnit(si, d, u); math.Abs(x) < everydayMax {
			return join(grouped(strconv.FormatFloat(x, 'f', 1, 64)), sym)
		}
	}
	return Format(si, d, u, 3)
}

// ShowU prints si with its standard uncertainty (GUM 7.2.6, see [FormatU]) in the unit of [System.UnitFor]; a time of less than hours in
// seconds, as a stopwatch has it: "130.58 ± 0.30 s".
func (s System) ShowU(si, u float64, d Dim) string {
	sym := s.UnitFor(si, d)
	if d == Time && sym == "min" {
		sym = "s"
	}
	return FormatU(si, u, d, sym)
}
