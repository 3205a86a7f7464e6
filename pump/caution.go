package pump

import (
	"slices"
	"strings"
)

// Cautions. Sources: injection injuries, reference hand-surgery texts and C. F. Hogan & D. E. Ruland, J. Orthop. Trauma 20 (2006)
// 503; ISO 4413:2010, 5.2.2 (trapped fluid); EN 1953:2013, 5.3 (earthing); the rest is common practice, no published source.
const (
	cautionManual    = "The maker's manual, the safety data sheets and the local rules come before this list."
	cautionInjection = "Fluid at a small part of this pump's pressure goes through skin, and gloves do not stop it. A small puncture that hardly hurts is an emergency: to a hospital at once, with the safety data sheet."
	cautionStored    = "Shutting the drive off does not relieve the line. A plugged tip or hose keeps its pressure: cover the joint with a rag and crack it slowly."
	cautionHand      = "Never feel for a leak by hand, and never stop one with a finger."
	cautionEarth     = "Earth the pump and the metal pail and hold the gun tight to the pail before any solvent moves: flowing solvent charges itself."
	cautionSolvent   = "Solvent burns and its vapour harms: no spark, air the room, wear what the safety data sheet asks for."
	cautionIso       = "Residues of two-component polyurethane hold isocyanates, which make people allergic for life: gloves, eye protection and the breathing protection of the safety data sheet."
	cautionHalogen   = "No halogenated solvent such as methylene chloride or 1,1,1-trichloroethane: with aluminium or zinc parts it can react with violence."
	cautionRod       = "The rod starts without warning while the drive can move it: hands off rod and coupling until the drive is locked out."
	cautionRestart   = "This drive starts again by itself when the line has lost some of its pressure."
	cautionRated     = "Never exceed the rating of the weakest part, hose and gun among them."
	cautionBlast     = "Glands and springs may jump out of their bore: keep the face away."
)

// solventCautions returns what to mind when parts are flushed or washed.
func (p *Pump) solventCautions() []string {
	out := []string{cautionSolvent}
	if p.mayHoldIsocyanate() {
		out = append(out, cautionIso)
	}
	if p.lightMetal() {
		out = append(out, cautionHalogen)
	}
	return out
}

// mayHoldIsocyanate is true unless the sheet lists fluids and none of them is a polyurethane.
func (p *Pump) mayHoldIsocyanate() bool {
	return len(p.Fluids) == 0 || slices.ContainsFunc(p.Fluids, func(f string) bool {
		f = strings.ToLower(f)
		return strings.Contains(f, "urethane") || strings.Contains(f, "isocyanate")
	})
}

func (p *Pump) lightMetal() bool {
	return slices.ContainsFunc(p.Parts, func(q Part) bool {
		m := strings.ToLower(q.Material)
		return strings.Contains(m, "alumin") || strings.Contains(m, "zinc")
	})
}

// moving returns what to mind while the drive can move the rod.
func (p *Pump) moving() []string {
	if p.Drive.Kind == Crank {
		return []string{cautionRod, cautionRestart}
	}
	return []string{cautionRod}
}
