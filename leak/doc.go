// Package leak computes the flow through the gaps of a piston pump: clearances, scratches, seats, orifices, packings.
//
// Each gap is a small struct of lengths. Two questions can be put to it:
//
//   - Flow: the textbook formula, refused outside its regime (a laminar formula says so when the flow would not be laminar).
//   - Law: a curve of flow against pressure for every pressure, viscous when slow and inertial when fast, smooth in between,
//     with its slope in closed form. That is what a simulator and an inference need.
//
// SI inside. Pressure differences are signed; a flow has the sign of its pressure difference. Errors are *num.RangeError for
// a value out of range and *RegimeError for a flow outside the regime of the formula.
//
//	symbol  Go name      unit   meaning
//	Δp      dp           Pa     pressure difference
//	Q       q            m³/s   volume flow
//	μ       Viscosity    Pa·s   dynamic viscosity
//	ρ       Density      kg/m³  density
//	K, n    K, N         Pa·sⁿ  power law τ = K·γ̇ⁿ
//	h       Gap, Height  m      gap
//	L       Length       m      length along the flow
//	A       Area         m²     section
//	Dh      hydraulic    m      hydraulic diameter 4A/perimeter
//	Po      Poiseuille   1      Darcy friction factor times Reynolds number, laminar
//	Cd      Cd           1      discharge coefficient
//	Re      Re           1      Reynolds number on Dh
package leak
