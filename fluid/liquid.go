package fluid

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Data describes a liquid by constants. A zero field means: take the default of the kind of fluid, and list it among the
// assumptions.
//
// State: Murnaghan's equation with constant thermal expansion at zero gauge pressure,
//
//	ρ(T,p) = ρ0·e^{-α0(T-T0)}·(1 + K'p/K0(T))^{1/K'}     K_T = K0(T) + K'p     K0(T) = K20·e^{-s(T-293.15 K)}
//
// so that bulk modulus and expansion are exact derivatives of the density. Source: F. D. Murnaghan, PNAS 30 (1944) 244.
type Data struct {
	Density      float64 // ρ0 at zero gauge pressure [kg/m³]: of an oil at 15 °C, of others at the temperature given with it
	Expansion    float64 // α0 [1/K]
	BulkModulus  float64 // K20, isothermal, at 20 °C and zero gauge pressure [Pa]
	BulkSlope    float64 // K', dK_T/dp [1]
	BulkSoftens  float64 // s, relative fall of K0 per kelvin [1/K]
	HeatCapacity float64 // cp [J/(kg·K)]
	RoelandsZ    float64 // pressure-viscosity index of [Roelands] [1]; of a coating the default is no pressure effect
	Activation   float64 // E/R of [Arrhenius] [K]; not used by an oil
}

// field gives access to one value of Data with its name, default and allowed range.
type field struct {
	value        *float64
	name, unit   string
	def, lo, hi  float64
	basis        string
	zeroIsLegal  bool // default 0 is a real value
	notInThisOne bool
}

// fill replaces zero fields by their defaults, notes them, and refuses impossible values.
func fill(fn string, fields []field) ([]Assumption, error) {
	var out []Assumption
	for _, f := range fields {
		if f.notInThisOne {
			continue
		}
		if *f.value == 0 {
			*f.value = f.def
			out = append(out, Assumption{Quantity: f.name, Value: f.def, Unit: f.unit, Basis: f.basis})
			if f.zeroIsLegal {
				continue
			}
		}
		if err := num.CheckRange(fn, f.name, *f.value, f.lo, f.hi, f.unit); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// defaults are the values of a kind of liquid that Data may leave open.
type defaults struct {
	data    Data
	basis   string
	densAt  string // where the density holds, for the list of assumptions
	arrhens bool
}

func (d *Data) fields(def defaults) []field {
	v, b := def.data, def.basis
	return []field{
		{value: &d.Density, name: "density " + def.densAt, unit: "kg/m³", def: v.Density, lo: 500, hi: 4000, basis: b},
		{value: &d.Expansion, name: "thermal expansion", unit: "1/K", def: v.Expansion, lo: 1e-5, hi: 3e-3, basis: b},
		{value: &d.BulkModulus, name: "bulk modulus at 20 °C", unit: "Pa", def: v.BulkModulus, lo: 1e8, hi: 1e10, basis: b},
		{value: &d.BulkSlope, name: "bulk modulus slope dK/dp", unit: "1", def: v.BulkSlope, lo: 1, hi: 20, basis: b},
		{value: &d.BulkSoftens, name: "fall of bulk modulus per kelvin", unit: "1/K", def: v.BulkSoftens, lo: 1e-5, hi: 0.02, basis: b},
		{value: &d.HeatCapacity, name: "heat capacity", unit: "J/(kg·K)", def: v.HeatCapacity, lo: 500, hi: 5000, basis: b},
		{value: &d.RoelandsZ, name: "pressure-viscosity index Z", unit: "1", def: v.RoelandsZ, lo: 0.05, hi: 1.5, basis: b,
			zeroIsLegal: v.RoelandsZ == 0},
		{value: &d.Activation, name: "viscosity activation E/R", unit: "K", def: v.Activation, lo: 100, hi: 20000, basis: b,
			notInThisOne: !def.arrhens},
	}
}

// liquid is the model of every fluid but water.
type liquid struct {
	data     Data
	t0       float64                 // temperature of data.Density [K]
	tLo, tHi float64                 // range [K]
	mu0      func(T float64) float64 // viscosity at zero gauge pressure [Pa·s], or
	nu0      func(T float64) float64 // kinematic viscosity at zero gauge pressure [m²/s]
}

func (l liquid) limits() (float64, float64) { return l.tLo, l.tHi }

func (l liquid) state(T, p float64) state {
	d := l.data
	k0 := d.BulkModulus * math.Exp(-d.BulkSoftens*(T-293.15))
	u := d.BulkSlope * p / k0
	s := state{
		density:   d.Density * math.Exp(-d.Expansion*(T-l.t0)) * math.Pow(1+u, 1/d.BulkSlope),
		bulk:      k0 + d.BulkSlope*p,
		expansion: d.Expansion - d.BulkSoftens/d.BulkSlope*u/(1+u),
	}
	adiabatic := s.bulk / (1 - s.expansion*s.expansion*T*s.bulk/(s.density*d.HeatCapacity))
	s.sound = math.Sqrt(adiabatic / s.density)
	return s
}

func (l liquid) viscosity(T, p float64) float64 {
	var mu float64
	if l.nu0 != nil {
		mu = l.nu0(T) * l.state(T, 0).density
	} else {
		mu = l.mu0(T)
	}
	return mu * roelandsFactor(mu, l.data.RoelandsZ, p)
}
