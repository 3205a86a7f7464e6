// Package gen makes blind cases for package hold: a pump with a drawn truth, the readings that a technician would take on it,
// and what an ideal observer could conclude from them. It shares no code with hold: its laws, its time stepping and its errors
// are written anew from the physics, and a test forbids it to import anything of this module but package pump.
//
// Truth: a fault set, the leak of each path at rated pressure and the law of each leak (law.go), drawn from a prior that is
// written out as a prior file (prior.go); beside it what no sheet says: hose and air, stretch, cooling, friction, late balls,
// the gauge's own error (hidden.go).
//
// Readings come from time stepping, not from quasi-steady formulas: the rod of a force-held drive by explicit steps with its
// chambers (stall.go, run.go), a locked rod by linearly implicit steps of the chambers alone (locked.go). A technician then
// reads gauge, stopwatch, ruler and drops, and now and then gets one wrong (technician.go).
//
// The ideal observer (observer.go, likelihood.go, refine.go) knows the prior, the laws and the errors, and weighs many draws of
// pumps against the readings. It uses fast predictions (predict.go), which a test compares with the time stepping. A case in
// which it is sure of a fault set is one that the observations can tell.
//
// All numbers about pumps, faults and technicians are assumptions of this generator, made up to be plausible, no published
// source; formulas name theirs.
//
// Symbols: p [Pa] gauge; q [m³/s] leak at rated pressure; x [1] pressure over rated; m [1] viscosity over that at the sheet's
// temperature; C [m³/Pa] compliance; t [s]; s [m] stroke; A [m²] creep area.
package gen
