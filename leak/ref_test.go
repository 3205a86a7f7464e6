package leak

import (
	"maps"
	"testing"

	"github.com/evenstroke/evenstroke/internal/refcase"
)

func TestRef(t *testing.T) {
	formulas := gapFormulas()
	maps.Copy(formulas, grooveFormulas())
	maps.Copy(formulas, orificeFormulas())
	maps.Copy(formulas, thinFormulas())
	maps.Copy(formulas, ballFormulas())
	maps.Copy(formulas, lawFormulas())
	refcase.Run(t, "leak", formulas, nil)
}

func liquidOf(g refcase.Given) Liquid { return Liquid{Viscosity: g.Num("mu"), Density: g.Num("rho")} }

func powerLawOf(g refcase.Given) PowerLaw {
	return PowerLaw{K: g.Num("K"), N: g.Num("n"), Density: g.Num("rho")}
}

func annulusOf(g refcase.Given) Annulus {
	return Annulus{Diameter: g.Num("d"), Gap: g.Num("h"), Length: g.Num("L"), Eccentricity: g.Num("eps")}
}

func slotOf(g refcase.Given) Slot {
	return Slot{Width: g.Num("w"), Height: g.Num("h"), Length: g.Num("L")}
}

// flowed wraps a flow as the result of a case.
func flowed(q float64, err error) (refcase.Want, error) { return refcase.Want{"Q": q}, err }

// along evaluates a law at the pressure of the case.
func along(g refcase.Given) func(Path, error) (refcase.Want, error) {
	return func(p Path, err error) (refcase.Want, error) {
		if err != nil {
			return nil, err
		}
		return refcase.Want{"Q": p.Flow(g.Num("dp"))}, nil
	}
}

func gapFormulas() map[string]refcase.Formula {
	return map[string]refcase.Formula{
		"Annulus.Flow": func(g refcase.Given) (refcase.Want, error) {
			return flowed(annulusOf(g).Flow(g.Num("dp"), liquidOf(g)))
		},
		"Annulus.Moving": func(g refcase.Given) (refcase.Want, error) {
			return flowed(annulusOf(g).Moving(g.Num("dp"), g.Num("speed"), liquidOf(g)))
		},
		"Slot.Flow": func(g refcase.Given) (refcase.Want, error) {
			return flowed(slotOf(g).Flow(g.Num("dp"), liquidOf(g)))
		},
		"Slot.Moving": func(g refcase.Given) (refcase.Want, error) {
			return flowed(slotOf(g).Moving(g.Num("dp"), g.Num("speed"), liquidOf(g)))
		},
		"Annulus.Law": func(g refcase.Given) (refcase.Want, error) {
			law, err := annulusOf(g).Law(liquidOf(g))
			return along(g)(law, err)
		},
		"Slot.Law": func(g refcase.Given) (refcase.Want, error) {
			law, err := slotOf(g).Law(liquidOf(g))
			return along(g)(law, err)
		},
		"RadialGap.Law": func(g refcase.Given) (refcase.Want, error) {
			law, err := RadialGap{Inner: g.Num("d1"), Outer: g.Num("d2"), Height: g.Num("h")}.Law(liquidOf(g))
			return along(g)(law, err)
		},
		"Tube.Flow": func(g refcase.Given) (refcase.Want, error) {
			return flowed(Tube{Diameter: g.Num("d"), Length: g.Num("L")}.Flow(g.Num("dp"), liquidOf(g)))
		},
		"RadialGap.Flow": func(g refcase.Given) (refcase.Want, error) {
			r := RadialGap{Inner: g.Num("d1"), Outer: g.Num("d2"), Height: g.Num("h")}
			return flowed(r.Flow(g.Num("dp"), liquidOf(g)))
		},
	}
}

func sectioned(s Section, err error) (refcase.Want, error) {
	return refcase.Want{"Po": s.Poiseuille, "A": s.Area, "Dh": s.Hydraulic()}, err
}

func scratchOf(g refcase.Given) (Groove, error) { return Scratch(g.Num("w"), g.Num("h"), g.Num("L")) }

func grooveFormulas() map[string]refcase.Formula {
	return map[string]refcase.Formula{
		"Rectangle": func(g refcase.Given) (refcase.Want, error) { return sectioned(Rectangle(g.Num("w"), g.Num("h"))) },
		"Round":     func(g refcase.Given) (refcase.Want, error) { return sectioned(Round(g.Num("d"))) },
		"Vee":       func(g refcase.Given) (refcase.Want, error) { return sectioned(Vee(g.Num("w"), g.Num("h"))) },
		"Semicircle": func(g refcase.Given) (refcase.Want, error) {
			return sectioned(Semicircle(g.Num("r")))
		},
		"Groove.Flow": func(g refcase.Given) (refcase.Want, error) {
			groove, err := scratchOf(g)
			if err != nil {
				return nil, err
			}
			return flowed(groove.Flow(g.Num("dp"), liquidOf(g)))
		},
		"Groove.Flow half round": func(g refcase.Given) (refcase.Want, error) {
			s, err := Semicircle(g.Num("r"))
			if err != nil {
				return nil, err
			}
			return flowed(Groove{Section: s, Length: g.Num("L")}.Flow(g.Num("dp"), liquidOf(g)))
		},
		"Groove.Law": func(g refcase.Given) (refcase.Want, error) {
			groove, err := scratchOf(g)
			if err != nil {
				return nil, err
			}
			law, err := groove.Law(liquidOf(g))
			return along(g)(law, err)
		},
	}
}

func orificeFormulas() map[string]refcase.Formula {
	return map[string]refcase.Formula{
		"Orifice.Flow": func(g refcase.Given) (refcase.Want, error) {
			o, err := Hole(g.Num("d"))
			if err != nil {
				return nil, err
			}
			o.Cd = g.Num("Cd")
			return flowed(o.Flow(g.Num("dp"), liquidOf(g)))
		},
		"Hole.Law": func(g refcase.Given) (refcase.Want, error) {
			o, err := Hole(g.Num("d"))
			if err != nil {
				return nil, err
			}
			law, err := o.Law(liquidOf(g))
			return along(g)(law, err)
		},
		"Tube.Law": func(g refcase.Given) (refcase.Want, error) {
			law, err := Tube{Diameter: g.Num("d"), Length: g.Num("L")}.Law(liquidOf(g))
			return along(g)(law, err)
		},
		"ShortTubeCd": func(g refcase.Given) (refcase.Want, error) {
			cd, err := ShortTubeCd(g.Num("re"), g.Num("ld"))
			return refcase.Want{"Cd": cd}, err
		},
	}
}

func thinFormulas() map[string]refcase.Formula {
	return map[string]refcase.Formula{
		"Tube.FlowThin": func(g refcase.Given) (refcase.Want, error) {
			return flowed(Tube{Diameter: g.Num("d"), Length: g.Num("L")}.FlowThin(g.Num("dp"), powerLawOf(g)))
		},
		"Slot.FlowThin": func(g refcase.Given) (refcase.Want, error) {
			return flowed(slotOf(g).FlowThin(g.Num("dp"), powerLawOf(g)))
		},
		"Annulus.FlowThin": func(g refcase.Given) (refcase.Want, error) {
			return flowed(annulusOf(g).FlowThin(g.Num("dp"), powerLawOf(g)))
		},
		"TubeReynolds": func(g refcase.Given) (refcase.Want, error) {
			re, err := TubeReynolds(g.Num("d"), g.Num("v"), powerLawOf(g))
			return refcase.Want{"Re": re}, err
		},
		"TubeShear": func(g refcase.Given) (refcase.Want, error) {
			rate, err := TubeShear(g.Num("q"), g.Num("d"), g.Num("n"))
			return refcase.Want{"rate": rate}, err
		},
		"SlotShear": func(g refcase.Given) (refcase.Want, error) {
			rate, err := SlotShear(g.Num("q"), g.Num("w"), g.Num("h"), g.Num("n"))
			return refcase.Want{"rate": rate}, err
		},
	}
}

func ballFormulas() map[string]refcase.Formula {
	ball := func(g refcase.Given) BallOnCone {
		return BallOnCone{Diameter: g.Num("d"), HalfAngle: g.Num("alpha")}
	}
	return map[string]refcase.Formula{
		"BallOnCone.Contact": func(g refcase.Given) (refcase.Want, error) {
			c, err := ball(g).Contact(g.Num("p"), g.Num("modulus"))
			return refcase.Want{"D": c.Diameter, "F": c.Force, "N": c.LineLoad, "b": c.HalfWidth, "p0": c.Peak}, err
		},
		"BallOnCone.Force": func(g refcase.Given) (refcase.Want, error) {
			f, err := ball(g).Force(g.Num("dp"))
			return refcase.Want{"F": f}, err
		},
		"BallOnCone.Lifted": func(g refcase.Given) (refcase.Want, error) {
			o, err := ball(g).Lifted(g.Num("lift"), 0.7)
			return refcase.Want{"A": o.Area, "Dh": o.Hydraulic}, err
		},
		"HertzLine": func(g refcase.Given) (refcase.Want, error) {
			b, p0, err := HertzLine(g.Num("load"), g.Num("R"), g.Num("modulus"))
			return refcase.Want{"b": b, "p0": p0}, err
		},
		"ContactModulus": func(g refcase.Given) (refcase.Want, error) {
			m, err := ContactModulus(g.Num("e1"), g.Num("nu1"), g.Num("e2"), g.Num("nu2"))
			return refcase.Want{"modulus": m}, err
		},
		"SphereDrag": func(g refcase.Given) (refcase.Want, error) {
			f, err := SphereDrag(g.Num("d"), g.Num("v"), liquidOf(g))
			return refcase.Want{"F": f}, err
		},
		"FreeFallLag": func(g refcase.Given) (refcase.Want, error) {
			t, err := FreeFallLag(g.Num("lift"), g.Num("rhoBall"), g.Num("rhoLiquid"))
			return refcase.Want{"t": t}, err
		},
		"ClosingLag": func(g refcase.Given) (refcase.Want, error) {
			t, err := ClosingLag(g.Num("lift"), g.Num("d"), g.Num("rhoBall"), liquidOf(g))
			return refcase.Want{"t": t}, err
		},
		"BackSlip": func(g refcase.Given) (refcase.Want, error) {
			v, err := BackSlip(g.Num("v"), g.Num("A"), g.Num("t"))
			return refcase.Want{"V": v}, err
		},
	}
}

// shown is everything that a path tells at the pressure of the case.
func shown(g refcase.Given, p Path) refcase.Want {
	dp := g.Num("dp")
	return refcase.Want{"Q": p.Flow(dp), "slope": p.Slope(dp), "exponent": p.Exponent(dp)}
}

func lawFormulas() map[string]refcase.Formula {
	return map[string]refcase.Formula{
		"Law": func(g refcase.Given) (refcase.Want, error) {
			return shown(g, Law{Lin: g.Num("lin"), Quad: g.Num("quad")}), nil
		},
		"FromRated": func(g refcase.Given) (refcase.Want, error) {
			g.Num("dp")
			law, err := FromRated(g.Num("q"), g.Num("rated"), liquidOf(g), g.Num("share"))
			if err != nil {
				return nil, err
			}
			return shown(g, law), nil
		},
		"ThinLaw": func(g refcase.Given) (refcase.Want, error) {
			return shown(g, ThinLaw{Viscous: g.Num("visc"), N: g.Num("n"), Quad: g.Num("quad")}), nil
		},
		"RatedThin": func(g refcase.Given) (refcase.Want, error) {
			g.Num("dp")
			law, err := RatedThin(g.Num("q"), g.Num("rated"), g.Num("n"), g.Num("share"))
			if err != nil {
				return nil, err
			}
			return shown(g, law), nil
		},
		"Packing": func(g refcase.Given) (refcase.Want, error) {
			facing := FacingPressure
			if g.Text("lips") == "away" {
				facing = FacingAway
			}
			p, err := RatedPacking(g.Num("q"), g.Num("rated"), g.Num("energise"), facing, liquidOf(g), g.Num("share"))
			if err != nil {
				return nil, err
			}
			return shown(g, p), nil
		},
	}
}
