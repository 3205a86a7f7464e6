package bolt

import (
	"testing"

	"github.com/evenstroke/evenstroke/internal/refcase"
)

// contactOf reads thread, friction and bearing diameter of a case.
func contactOf(g refcase.Given) (Contact, error) {
	t, err := ParseThread(g.Text("thread"))
	return Contact{Thread: t, Bearing: g.Num("Db"), MuThread: g.Num("mu"), MuBearing: g.Num("mub")}, err
}

// ofContact adapts a formula of one number and a contact.
func ofContact(in, out string, f func(float64, Contact) (float64, error)) refcase.Formula {
	return func(g refcase.Given) (refcase.Want, error) {
		c, err := contactOf(g)
		if err != nil {
			return nil, err
		}
		v, err := f(g.Num(in), c)
		return refcase.Want{out: v}, err
	}
}

// ofNums adapts a formula of plain numbers.
func ofNums(out string, f func(a, b, c, d float64) (float64, error), in ...string) refcase.Formula {
	return func(g refcase.Given) (refcase.Want, error) {
		var x [4]float64
		for i, name := range in {
			x[i] = g.Num(name)
		}
		v, err := f(x[0], x[1], x[2], x[3])
		return refcase.Want{out: v}, err
	}
}

func two(f func(a, b float64) (float64, error)) func(a, b, c, d float64) (float64, error) {
	return func(a, b, _, _ float64) (float64, error) { return f(a, b) }
}

func three(f func(a, b, c float64) (float64, error)) func(a, b, c, d float64) (float64, error) {
	return func(a, b, c, _ float64) (float64, error) { return f(a, b, c) }
}

func threadCase(g refcase.Given) (refcase.Want, error) {
	t, err := ParseThread(g.Text("thread"))
	return refcase.Want{"d": t.D, "P": t.P, "d2": t.PitchDiameter(), "D1": t.NutMinor(), "d3": t.Core(), "As": t.StressArea()}, err
}

func frictionCase(g refcase.Given) (refcase.Want, error) {
	c, err := Friction(g.Text("class"))
	return refcase.Want{"lo": c.Mu.Lo, "hi": c.Mu.Hi}, err
}

func scatterCase(g refcase.Given) (refcase.Want, error) {
	t, err := ParseThread(g.Text("thread"))
	if err != nil {
		return nil, err
	}
	spread := Spread(g.Text("spread"))
	d, err := Scatter{
		Thread: t, Bearing: g.Num("Db"), Torque: g.Num("M"), Tolerance: g.Num("tol"), Tool: g.Num("tool"), Reading: g.Num("reading"),
		MuThread:  Range{g.Num("mulo"), g.Num("muhi"), spread},
		MuBearing: Range{g.Num("mublo"), g.Num("mubhi"), spread},
		Shared:    g.Num("shared") == 1,
	}.Clamp()
	return refcase.Want{"mean": d.Mean, "std": d.Std, "q05": d.Q05, "q95": d.Q95, "linear": d.Linear}, err
}

func toolCase(g refcase.Given) (refcase.Want, error) {
	tool, err := NewTool(g.Text("class"))
	m := g.Num("M")
	if err != nil {
		return nil, err
	}
	dev, err := tool.Deviation(m)
	return refcase.Want{"deviation": dev}, err
}

func TestRef(t *testing.T) {
	refcase.Run(t, "bolt", map[string]refcase.Formula{
		"Thread":     threadCase,
		"Torque":     ofContact("F", "M", Torque),
		"Clamp":      ofContact("M", "F", Clamp),
		"Breakaway":  ofContact("F", "M", Breakaway),
		"LongTorque": ofContact("F", "M", LongTorque),
		"NutFactor": func(g refcase.Given) (refcase.Want, error) {
			c, err := contactOf(g)
			if err != nil {
				return nil, err
			}
			k, err := NutFactor(c)
			return refcase.Want{"K": k}, err
		},
		"ShortTorque": ofNums("M", three(ShortTorque), "K", "F", "d"),
		"ShortClamp":  ofNums("F", three(ShortClamp), "K", "M", "d"),
		"MeanBearing": ofNums("Db", two(MeanBearing), "Do", "Di"),
		"AreaBearing": ofNums("Db", two(AreaBearing), "Do", "Di"),
		"YieldPreload": func(g refcase.Given) (refcase.Want, error) {
			th, err := ParseThread(g.Text("thread"))
			if err != nil {
				return nil, err
			}
			f, err := YieldPreload(th, g.Num("bore"), g.Num("Rp"), g.Num("mu"), g.Num("nu"))
			return refcase.Want{"F": f}, err
		},
		"EquivalentStress": func(g refcase.Given) (refcase.Want, error) {
			th, err := ParseThread(g.Text("thread"))
			if err != nil {
				return nil, err
			}
			s, err := EquivalentStress(g.Num("F"), th, g.Num("bore"), g.Num("mu"))
			return refcase.Want{"sigma": s}, err
		},
		"WorkingStress": func(g refcase.Given) (refcase.Want, error) {
			th, err := ParseThread(g.Text("thread"))
			if err != nil {
				return nil, err
			}
			s, err := WorkingStress(g.Num("F"), g.Num("FS"), th, g.Num("bore"), g.Num("mu"))
			return refcase.Want{"sigma": s}, err
		},
		"ProofStress": func(g refcase.Given) (refcase.Want, error) {
			rp, err := ProofStress(g.Text("class"), g.Num("d"))
			return refcase.Want{"Rp": rp}, err
		},
		"BearingStress":   ofNums("p", three(BearingStress), "F", "Do", "Di"),
		"TurnAngle":       ofNums("theta", three(TurnAngle), "F", "delta", "P"),
		"Compliance":      ofNums("delta", three(Compliance), "L", "A", "E"),
		"SeparatingForce": ofNums("FA", two(SeparatingForce), "p", "Dp"),
		"LoadFactor":      ofNums("phi", two(LoadFactor), "cb", "cj"),
		"ResidualClamp":   ofNums("FR", three(ResidualClamp), "F", "FA", "phi"),
		"BoltForce":       ofNums("FS", three(BoltForce), "F", "FA", "phi"),
		"WrenchSetting":   ofNums("Mset", WrenchSetting, "M", "L", "E", "theta"),
		"TorqueThrough":   ofNums("Mf", TorqueThrough, "M", "L", "E", "theta"),
		"OnScale":         ofNums("mark", two(OnScale), "M", "step"),
		"Tool":            toolCase,
		"Friction":        frictionCase,
		"Scatter":         scatterCase,
	}, nil)
}
