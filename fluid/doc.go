// Package fluid describes the liquids a piston pump handles: water, mineral oil, light solvent, coating; each with
// density, viscosity, bulk modulus, thermal expansion and sound speed against temperature and pressure, and with the
// air that is stirred into it.
//
// SI inside. Temperatures are absolute [K]; pressures are gauge [Pa], zero at one standard atmosphere (101 325 Pa).
// Nothing is refused silently: an argument outside the range of a formula gives a *num.RangeError.
//
// Water is exact (IAPWS formulations, no assumption). An oil is as good as its two viscosities. A solvent or a coating
// carries defaults; [Fluid.Assumptions] lists every value that was assumed and not given, so that a program can show it
// and let a person change it.
//
//	symbol   Go name        unit    meaning
//	T        T              K       absolute temperature
//	p        p              Pa      gauge pressure
//	ρ        Density        kg/m³   density
//	μ        Viscosity      Pa·s    dynamic viscosity
//	ν        nu             m²/s    kinematic viscosity, μ/ρ
//	K_T      BulkModulus    Pa      isothermal tangent bulk modulus, ρ(∂p/∂ρ)_T
//	K_S      Adiabatic      Pa      isentropic bulk modulus, ρc²
//	α        Expansion      1/K     thermal expansion, -(1/ρ)(∂ρ/∂T)_p
//	c        SoundSpeed     m/s     speed of sound
//	K, n     PowerLaw       Pa·sⁿ,1 consistency and index, τ = K·γ̇ⁿ
//	Γ        CupRate        1/s     apparent wall shear rate in a flow cup, 4Q/(πr³)
//	x0       Air            1       air volume over total volume at one atmosphere
package fluid
