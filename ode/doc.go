// Package ode integrates stiff systems of ordinary differential equations
//
//	dy/dt = f(t, y),   y(t0) = y0
//
// and finds the moments at which something switches (events). It is made for
// small systems, up to some twenty states, with time scales far apart and
// many restarts, as a pump with balls, seats and motors has them.
//
// # Method
//
// Rosenbrock methods: linearly implicit Runge-Kutta methods that solve one
// linear system with the exact Jacobian for each stage and never iterate. They
// need no history, so a restart after an event costs nothing in order. Both
// are L-stable, stiffly accurate, and conserve linear invariants (a mass
// balance) to round-off:
//
//	Rodas5P (default)  order 5(4), 8 stages, interpolant of order 4
//	Rodas4             order 4(3), 6 stages, interpolant of order 3
//
// Where f is stiff and driven from outside (y' = λ(y - φ(t)), |λ|h large) the
// order falls to 3 and 1, from a small error. The step size follows the error
// estimate by Gustafsson's predictive controller.
//
// Give the system a method Jac if you can: it saves n calls of Deriv a step.
// CheckJacobian tests it.
//
// # Events
//
// A switching function g_i(t, y) that passes through zero, in the wanted
// direction, is an event. It is located on the interpolant to round-off of
// time; its error is then that of the interpolant, of the order of the
// tolerance. The state at the event goes to out, then to the handlers, and the
// run goes on from what they leave. Where a function starts at zero, as after
// its own event, the way it moves says on which side it is: an event does not
// repeat itself, and a bounce much shorter than a step is found.
//
// What is not found, since the functions are looked at only at the ends of the
// steps and at EventSamples points inside:
//
//   - two passages (any even number) between two such points,
//   - a function that touches zero without passing through it,
//   - a passage made by a handler that changes the state or the mode,
//   - the direction of a function that neither moves nor differs from zero
//     after its event: it counts from the first point where it does.
//
// Of three passages between two points one is found, not always the earliest.
// MaxStep bounds the distance of the points: what stays on the other side for
// longer than MaxStep/(EventSamples+1) is found.
//
// # Symbols
//
//	t    t, T    time [s]
//	h    h       step size [s]
//	y    y       states [their own units]
//	f    f, dy   derivatives [unit of the state per s]
//	J    jac     Jacobian ∂f/∂y, row-major
//	θ    th      (t - t0)/h, place inside a step [1]
package ode
