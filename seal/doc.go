// Package seal computes packings and static seals: the V-packing stack between its glands, O-rings in their grooves, the flat
// ring under a valve seat, and which material stands which fluid.
//
// Everything is SI: m, N, Pa, K, m/s; pressures are gauge. A formula outside its range returns a *num.RangeError, a name
// that is not known a *NameError.
//
// # The stack
//
// Rings fill the annulus from d to D. The nut loads one end; friction on both walls takes load away with depth:
//
//	dσ/dz = −β·σ     σ(z) = σ0·exp(−β·z)     β = 4·(μi·Ki·d + μo·Ko·D)/(D² − d²)
//
// ring by ring, each with its own K and μ. A ring presses on a wall with the contact stress
//
//	q = K·σ + e·p
//
// where p is the pressure that reaches the ring and e the share of it that the lip adds: e = K (a confined elastic ring, by
// default) when the lip faces the pressure, 0 for a flat ring, −o when the lip faces away and the pressure folds it in. The
// ring seals when q > p on both walls; the first ring from the pressure side that does so holds the pressure. With e < 1
// a ring holds at most p = K·σ/(1−e); with e >= 1 the lip follows any pressure until its material gives way, and a loose
// stack then leaks most at low pressure.
//
// Left out: pressure on the sealing ring adds to the axial stress behind it; lips that touch near their tips only; creep
// and settling after tightening; temperature rise in the contact.
//
// Symbols:
//
//	d, D   m     inner, outer diameter of the ring        h    m     height of a ring along the axis
//	z      m     depth from the end that the nut loads    σ    Pa    axial stress, positive in compression
//	K      1     radial over axial stress, ν/(1−ν)        μ    1     friction on a wall; i inner, o outer
//	q      Pa    contact stress on a wall                 p    Pa    pressure difference over the stack
//	e      1     energising share                         o    1     opening share of a lip that faces away
//	ν      1     Poisson's ratio                          E    Pa    modulus in compression
//
// Sources: physics of confined packings after Denny (1957), Ochoński (Tribology International 21, 1988) and Diany and
// Bouzid (2009) for the exponential; Valve Selection Handbook for K and for V-rings; NAVEDTRA 14105 Fluid Power for the
// arrangement of V-packing sets.
package seal
