package pump

import (
	"slices"
	"strings"
)

// Hazard is the code of one thing to mind. What stands for it, wherever it is said, is one row of the table of cautions, so that
// no two places give different advice about the same danger.
type Hazard string

// The hazards.
const (
	HazardManual    Hazard = "manual"    // what comes before any list
	HazardInjection Hazard = "injection" // fluid that goes through skin
	HazardLeak      Hazard = "leak"      // a leak that somebody wants to feel or to stop
	HazardStored    Hazard = "stored"    // pressure that stays when the drive is off
	HazardFull      Hazard = "full"      // a pump that is watched at its hold pressure
	HazardRated     Hazard = "rated"     // a pressure above the rating
	HazardEarth     Hazard = "earth"     // charge of flowing solvent
	HazardSpray     Hazard = "spray"     // a run through the tip
	HazardSolvent   Hazard = "solvent"   // fire and vapour
	HazardIso       Hazard = "isocyanate"
	HazardHalogen   Hazard = "halogen" // halogenated solvents on light metal
	HazardWarm      Hazard = "warm"    // a fluid that is warmed for a check
	HazardRod       Hazard = "rod"     // a rod that the drive can move
	HazardStall     Hazard = "stall"   // a rod that creeps and changes over under pressure
	HazardRestart   Hazard = "restart" // a drive that starts by itself
	HazardSpring    Hazard = "spring"  // glands and springs that jump out
	HazardOpen      Hazard = "open"    // a chamber that is opened for a check
)

// Caution is one row of the table.
type Caution struct {
	Hazard Hazard
	Text   string
}

// cautions are to be read in one sitting before one of them is changed: TestCautionsAgree in internal/text holds all of them, in every
// language, against the rules that they have in common (nothing covers or stops a leak, a puncture is an emergency however small, nobody
// touches a rod that the drive can move, nothing is opened before the pressure is relieved).
//
// Sources: injection, reference texts of hand surgery and C. F. Hogan & D. E. Ruland, J. Orthop. Trauma 20 (2006) 503; trapped fluid, ISO
// 4413:2010, 5.2.2; earthing, EN 1953:2013, 5.3; the rest is common practice, no published source.
var cautions = []Caution{
	{HazardManual, "The maker's manual, the safety data sheets and the local rules come before this list."},
	{HazardInjection, "Fluid at a small part of this pump's pressure goes through skin, and gloves do not stop it. A puncture, however small and even when it hardly hurts, is an emergency: to a hospital at once; say \"high-pressure injection\" and take the safety data sheet along."},
	{HazardLeak, "Look for a leak from a distance, with a lamp. Never feel for one, and never cover or stop one, with a hand, a glove or a rag."},
	{HazardStored, "Shutting the drive off does not relieve the line, and a plugged tip, hose or filter keeps its pressure behind it. Relieve it at the gun and at the drain. Then loosen each joint a little at a time, from the side, face and hands away from the gap; stop when fluid hisses or wells up."},
	{HazardFull, "The pump is under full pressure: gun shut and locked, never a hand, a glove or a rag near a leak. Any puncture, however small: to a hospital at once; say \"high-pressure injection\" and take the safety data sheet along."},
	{HazardRated, "Never exceed the rating of the weakest part, hose and gun among them."},
	{HazardEarth, "Earth the pump and the metal pail and hold the gun tight to the pail before any solvent moves: flowing solvent charges itself."},
	{HazardSpray, "Spray into an earthed metal vessel, gun held tight to it; keep every part of the body out of the jet."},
	{HazardSolvent, "Solvent burns and its vapour harms: no spark, air the room, wear what the safety data sheet asks for."},
	{HazardIso, "Residues of two-component polyurethane hold isocyanates, which make people allergic for life: gloves, eye protection and the breathing protection of the safety data sheet."},
	{HazardHalogen, "No halogenated solvent such as methylene chloride or 1,1,1-trichloroethane: with aluminium or zinc parts it can react with violence."},
	{HazardWarm, "Warm fluid only far below its flash point; no open heating of solvent."},
	{HazardRod, "The rod starts without warning while the drive can move it: hands off rod and coupling until the drive is locked out."},
	{HazardStall, "The rod moves by itself at a stall: keep fingers off rod and yoke. A mark is put on it before the pressure is raised."},
	{HazardRestart, "This drive starts again by itself when the line has lost some of its pressure."},
	{HazardSpring, "Glands and springs may jump out of their bore: keep the face away."},
	{HazardOpen, "Shut down, lock out and relieve the pressure at the gun and the drain before opening anything; a plugged hose can still hold pressure."},
}

// Cautions returns the table of cautions.
func Cautions() []Caution { return slices.Clone(cautions) }

// Mind returns what to mind about some hazards, in the order in which they are given. A hazard that is not in the table is left out.
func Mind(hazards ...Hazard) []string {
	var out []string
	for _, h := range hazards {
		if i := slices.IndexFunc(cautions, func(c Caution) bool { return c.Hazard == h }); i >= 0 {
			out = append(out, cautions[i].Text)
		}
	}
	return out
}

// solventHazards returns what to mind when parts are flushed or washed.
func (p *Pump) solventHazards() []Hazard {
	out := []Hazard{HazardSolvent}
	if p.mayHoldIsocyanate() {
		out = append(out, HazardIso)
	}
	if p.lightMetal() {
		out = append(out, HazardHalogen)
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
func (p *Pump) moving() []Hazard {
	if p.Drive.Kind == Crank {
		return []Hazard{HazardRod, HazardRestart}
	}
	return []Hazard{HazardRod}
}
