// Package assess turns the record of a job into science and back: what was pressed and typed at a hold becomes a hold sheet, the
// sheet a verdict, the choice of parts an order of work, and what was done the departures from it.
//
// It is the one place that knows both worlds, and it is pure: no clock, no files, no database. Where a time of day matters it is
// handed in.
//
// # From presses to readings
//
// A watch is the presses of one stopwatch of one device, from its start to its end. At a force-held stall the rod creeps and
// changes over; between two presses of a changeover lies one whole stroke. Each stretch of time of a watch gives at most one
// reading, so that no time is counted twice:
//
//	changeover to changeover   changeover: the time of the whole stroke. Rod marks inside are left out: the whole stroke needs
//	                           no ruler and averages over places where the bore is worn or the rod scratched.
//	start to first changeover  creep from the first to the last rod reading; without two of them creep of half a stroke, give or
//	                           take s/√12: where the rod stood is not known, so that it went between nothing and a whole stroke
//	                           (rectangular, JCGM 100:2008, 4.3.7). A pump without a leak would not have changed over.
//	last changeover (or        creep from the first to the last rod reading when the rod moved by more than the ruler's error;
//	start) to the end          still when it did not; no_changeover without two rod readings, or when that bounds the creep
//	                           more tightly than they do.
//
// A no_changeover reading takes the rod to stand anywhere at its start. After a changeover it stands at an end, and the whole time
// would say too much: P(no changeover in T) = 1 for every speed below s/T, not 1 − vT/s. The second half of the time, at whose start
// the rod may be anywhere, is counted: 1 − vT/2s never falls below a half where the truth is 1.
//
// A rod reading at a changeover ends the stroke before it and does not begin the one after it: the first part of a stroke goes fast,
// while line and chambers come under pressure. The ruler grows upward; where it stands does not matter.
//
// With the rod locked, and on a crank drive, whose rod stands still when the motor stops, the pressures typed are the points of
// one locked reading.
//
// The pressure of a reading is the mean over its time of what was typed during strokes of its direction, straight between two
// values and constant outside; its standard uncertainty is that of the gauge with range/√12 of the values within it (rectangular,
// JCGM 100:2008, 4.3.7). When only the other stroke has a value it is carried over by the stall of the drive, p ∝ F/A.
package assess
