// Package bolt turns torque into clamp and back: thread geometry, torque formulas, scatter, the wrench with its adapter,
// and the joint under pressure.
//
// Everything is SI: m, N, N·m, Pa, rad. A formula outside its range returns a *num.RangeError, a thread designation that
// cannot be read a *ParseError.
//
// Symbols:
//
//	d      m     nominal thread diameter            P      m      pitch (single start: lead)
//	d2     m     pitch diameter                     D1     m      minor diameter of the nut thread
//	d3     m     core diameter of the bolt          As     m²     stress area π/4·((d2+d3)/2)²
//	b      m     bore through a hollow bolt         Rp     Pa     0.2 % proof stress
//	F      N     clamp (preload)                    M      N·m    torque at the fastener
//	μth    1     friction in the thread             μb     1      friction under the turned face
//	Db     m     mean bearing diameter              K      1      nut factor M/(F·d)
//	L      m     wrench, hand to drive              E      m      adapter, drive to fastener
//	θ      rad   adapter from the wrench's line     φ      1      load factor, share of the load that the bolt takes
//
// Threads have a 60° profile: the flank half angle is 30° in every torque formula.
//
// Which torque formula: Torque (Motosh) is the one the rest of the package uses, since it separates lead, thread and
// bearing; LongTorque (Shigley) and NutFactor (JIS B 1083) check it: at friction up to 0.16 they differ by less than 0.6 %.
// Friction decides the clamp far more than the formula or the tool does: see Scatter.
package bolt
