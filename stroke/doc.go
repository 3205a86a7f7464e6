// Package stroke simulates the moving pump: its chambers, ball valves, drive and line, with any of its leak paths open.
//
// Everything follows from the chambers, valves, seals and outlets of the pump description; no arrangement is built in. With
// A_i = dV_i/dx:
//
//	dn_i/dt = −A_i·x' + Σ Q into i          n_i the fluid that node i holds beyond its own volume, see node.go
//	m·x"    = F_drive − F_friction + Σ p_i·A_i
//	(m + ρV/2)·z" = A_s·Δp − (m − ρV)(g + x") − drag     each ball, see ball.go
//
// dn/dp is the compliance C_i = V_i/K(p) + E_i, so the first line is C·dp/dt = −A·x' + ΣQ in a form that keeps the fluid to
// round-off. Events switch between modes (rod moving or at a stop, ball seated, free, at its stop, motor pushing or changing
// over), and each mode has only the states that can move. Package ode integrates; the Jacobian is analytic.
//
// What is left out: inertia of the fluid in the line (water hammer), temperature, wear, air that dissolves. Friction of the
// packings and the flow coefficients of the balls are assumptions, see PackingFriction and the constants in build.go.
//
//	symbol  Go name    unit      meaning
//	x, v    X, V       m, m/s    rod position from the bottom, up positive, and its speed
//	s       Stroke     m         stroke
//	p       P          Pa        gauge pressure
//	p_a     atmosphere Pa        one atmosphere
//	Q       q, flow    m³/s      flow, as volume at zero gauge pressure
//	A       area       m²        dV/dx of a node; A_s seat area of a ball
//	V       volume     m³        volume of a node
//	K       Bulk       Pa        bulk modulus of the liquid without air
//	x0      Air        1         share of air at one atmosphere
//	E       stretch    m³/Pa     expansion of the hose
//	n       content    m³        excess content of a node
//	z, w    z, w       m, m/s    lift of a ball and its speed
//	ρ, μ    Density, Viscosity  kg/m³, Pa·s
//	θ, ω    angle, speed        rad, rad/s   crank
//	t       T          s         time
package stroke
