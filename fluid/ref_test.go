package fluid

import (
	"testing"

	"github.com/evenstroke/evenstroke/internal/refcase"
)

// one makes a formula of a function of T and p with one result.
func one(name string, f func(T, p float64) (float64, error)) refcase.Formula {
	return func(g refcase.Given) (refcase.Want, error) {
		v, err := f(g.Num("T"), g.Num("p"))
		return refcase.Want{name: v}, err
	}
}

func TestRef(t *testing.T) {
	w := Water()
	formulas := map[string]refcase.Formula{
		"Water.Density":     one("rho", w.Density),
		"Water.Viscosity":   one("mu", w.Viscosity),
		"Water.BulkModulus": one("K", w.BulkModulus),
		"Water.Adiabatic":   one("K", w.Adiabatic),
		"Water.SoundSpeed":  one("c", w.SoundSpeed),
		"Water.Expansion":   one("alpha", w.Expansion),
		"waterViscosity": func(g refcase.Given) (refcase.Want, error) {
			return refcase.Want{"mu": waterViscosity(g.Num("T"), g.Num("rho"))}, nil
		},
		"if97Heat": func(g refcase.Given) (refcase.Want, error) {
			h, cp := if97Heat(g.Num("T"), g.Num("p"))
			return refcase.Want{"h": h, "cp": cp}, nil
		},
		"state":                stateCase,
		"Oil.Viscosity":        oilCase,
		"EffectiveBulkModulus": effectiveCase,
	}
	for name, f := range oilFormulas() {
		formulas[name] = f
	}
	for name, f := range cupFormulas() {
		formulas[name] = f
	}
	refcase.Run(t, "fluid", formulas, nil)
}

// if97Heat returns specific enthalpy [J/kg] and isobaric heat capacity [J/(kg·K)] of liquid water at T [K] and absolute
// pressure pAbs [Pa]. A pump does not need them; with them the cases reach the coefficients of every derivative.
func if97Heat(T, pAbs float64) (h, cp float64) {
	tau := if97Temperature / T
	g := if97Gibbs(pAbs/if97Pressure, tau)
	return if97GasConstant * T * tau * g.t, -if97GasConstant * tau * tau * g.tt
}

func stateCase(g refcase.Given) (refcase.Want, error) {
	l := liquid{t0: 293.15, data: Data{Density: g.Num("density"), Expansion: g.Num("alpha"), BulkModulus: g.Num("K20"),
		BulkSlope: g.Num("slope"), BulkSoftens: g.Num("softens"), HeatCapacity: g.Num("cp")}}
	s := l.state(g.Num("T"), g.Num("p"))
	return refcase.Want{"rho": s.density, "K": s.bulk, "alpha": s.expansion, "c": s.sound}, nil
}

// oilCase returns the kinematic viscosity at zero gauge pressure.
func oilCase(g refcase.Given) (refcase.Want, error) {
	f, err := Oil(int(g.Num("grade")), OilOptions{Nu100: g.Num("nu100")})
	if err != nil {
		return nil, err
	}
	mu, err := f.Viscosity(g.Num("T"), 0)
	if err != nil {
		return nil, err
	}
	rho, err := f.Density(g.Num("T"), 0)
	return refcase.Want{"nu": mu / rho}, err
}

func effectiveCase(g refcase.Given) (refcase.Want, error) {
	b, err := EffectiveBulkModulus(g.Num("beta"), g.Num("air"), g.Num("p"), g.Num("n"))
	return refcase.Want{"beta": b}, err
}

func oilFormulas() map[string]refcase.Formula {
	return map[string]refcase.Formula{
		"GradeViscosity": func(g refcase.Given) (refcase.Want, error) {
			mid, lo, hi, err := GradeViscosity(int(g.Num("grade")))
			return refcase.Want{"mid": mid, "lo": lo, "hi": hi}, err
		},
		"WaltherAB": func(g refcase.Given) (refcase.Want, error) {
			a, b, err := WaltherAB(g.Num("t1"), g.Num("nu1"), g.Num("t2"), g.Num("nu2"))
			return refcase.Want{"A": a, "B": b}, err
		},
		"WaltherViscosity": func(g refcase.Given) (refcase.Want, error) {
			nu, err := WaltherViscosity(g.Num("A"), g.Num("B"), g.Num("T"))
			return refcase.Want{"nu": nu}, err
		},
		"ViscosityIndex": func(g refcase.Given) (refcase.Want, error) {
			vi, err := ViscosityIndex(g.Num("nu40"), g.Num("nu100"))
			return refcase.Want{"VI": vi}, err
		},
		"IndexViscosity": func(g refcase.Given) (refcase.Want, error) {
			nu, err := IndexViscosity(g.Num("nu40"), g.Num("VI"))
			return refcase.Want{"nu100": nu}, err
		},
		"Roelands": func(g refcase.Given) (refcase.Want, error) {
			mu, err := Roelands(g.Num("mu0"), g.Num("z"), g.Num("p"))
			return refcase.Want{"mu": mu}, err
		},
		"Arrhenius": func(g refcase.Given) (refcase.Want, error) {
			mu, err := Arrhenius(g.Num("muRef"), g.Num("tRef"), g.Num("activation"), g.Num("T"))
			return refcase.Want{"mu": mu}, err
		},
	}
}

func cupFormulas() map[string]refcase.Formula {
	return map[string]refcase.Formula{
		"CupViscosity": func(g refcase.Given) (refcase.Want, error) {
			nu, err := CupViscosity(g.Text("cup"), g.Num("t"))
			return refcase.Want{"nu": nu}, err
		},
		"CupTime": func(g refcase.Given) (refcase.Want, error) {
			t, err := CupTime(g.Text("cup"), g.Num("nu"))
			return refcase.Want{"t": t}, err
		},
		"CupRate": func(g refcase.Given) (refcase.Want, error) {
			rate, err := CupRate(g.Text("cup"), g.Num("t"))
			return refcase.Want{"rate": rate}, err
		},
		"SeriesBulkModulus": func(g refcase.Given) (refcase.Want, error) {
			b, err := SeriesBulkModulus(g.Num("betaLiquid"), g.Num("betaWall"), g.Num("gas"), g.Num("betaGas"))
			return refcase.Want{"beta": b}, err
		},
		"TubeWallModulus": func(g refcase.Given) (refcase.Want, error) {
			b, err := TubeWallModulus(g.Num("E"), g.Num("D"), g.Num("t"))
			return refcase.Want{"beta": b}, err
		},
	}
}
