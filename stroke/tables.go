package stroke

import (
	"bufio"
	"fmt"
	"io"

	"github.com/evenstroke/evenstroke/leak"
	"github.com/evenstroke/evenstroke/pump"
)

// WriteTables writes the equations of a setup as plain numbers, one table row a line, for another program to solve: see
// docs/models/stroke.md for the equations and bench/peers for two such programs. The last number of a node and of a ball, and
// the row "tolerance" (x, v, w, totals), are the sizes of which the relative tolerance is a share; for a node the share is at
// most "cap".
//
// Errors: those of Simulate; a *SetupError for what the tables do not cover: crank drives, locked holds, leaks with a shape
// and a tip that is turned during the run; errors of w.
func WriteTables(w io.Writer, set Setup) error {
	if err := set.tablesCover(); err != nil {
		return err
	}
	s, err := newSim(&set)
	if err != nil {
		return err
	}
	out := bufio.NewWriter(w)
	row := func(name string, v ...float64) {
		fmt.Fprint(out, name)
		for _, x := range v {
			fmt.Fprintf(out, " %.17g", x)
		}
		fmt.Fprintln(out)
	}
	s.writeParts(row)
	s.writeNodes(row)
	return out.Flush()
}

func (s *Setup) tablesCover() error {
	switch {
	case s.Mode == LockedHold || s.Pump == nil || s.Pump.Drive.Kind != pump.ForceHeld:
		return &SetupError{"Mode", "tables are written for force-held stalls and runs only"}
	case len(s.Tip) > 0:
		return &SetupError{"Tip", "tables do not cover a tip that is turned during the run"}
	}
	for _, f := range s.Faults {
		if _, law := f.Leak.(leak.Law); f.Leak != nil && !law || len(f.Along) > 0 || f.Zone != nil || f.Reseat > 0 {
			return &SetupError{"Faults", "tables cover leaks by a plain law only, the same all along the stroke"}
		}
	}
	return nil
}

// writeParts writes everything that is not indexed by node.
func (s *sim) writeParts(row func(string, ...float64)) {
	set, k, d := s.s, s.k, s.s.Pump.Drive
	tipSlot := -1.0
	if len(s.slots) > slotTip && s.slots[slotTip].fault < 0 {
		tipSlot = slotTip
	}
	row("fluid", k.soft, k.air, atmosphere, gravity)
	row("rod", k.mass, set.Pump.Stroke, set.X0, float64(set.Start))
	row("drive", d.ForceUp, d.ForceDown, d.FreeSpeed, d.Changeover)
	row("friction", k.friction.steady, k.friction.viscous, roundSpeed, roundPressure)
	row("contact", contact, past, slowBall, set.Rebound)
	row("run", set.Duration, set.Sample, set.Suction, tipSlot, flag(s.tipOn))
	row("tolerance", set.Pump.Stroke, sizeSpeed, sizeBall, s.sizeTotal())
	row("cap", s.mostPressure())
}

// writeNodes writes nodes, branches, balls, slots and rubs.
func (s *sim) writeNodes(row func(string, ...float64)) {
	k := s.k
	for j, n := range k.nodes {
		row("node", n.volume, n.area, n.stretch, s.content[j], s.sizeContent(j))
	}
	for _, b := range k.branches {
		row("branch", float64(b.from), float64(b.to), b.lin, b.quad)
	}
	for _, b := range k.balls {
		row("ball", float64(b.from), float64(b.to), flag(b.onPiston), b.rs, b.r, b.y0, b.seat, b.lift, b.turb, b.lam,
			b.inertia, b.heavy, b.drag1, b.drag2, b.late, b.lift)
	}
	for _, sl := range s.slots {
		row("slot", float64(sl.branch))
	}
	for _, r := range k.friction.rubs {
		row("rub", float64(r.from), float64(r.to), r.perPa)
	}
}

func flag(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
