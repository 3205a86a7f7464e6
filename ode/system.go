package ode

// System is a set of ordinary differential equations dy/dt = f(t, y).
type System interface {
	// Dim returns the number n of states, at least one.
	Dim() int
	// Deriv sets dy[i] = f_i(t, y). It must not keep or change y. Where f is
	// not defined it sets a component to NaN; the step is then retried
	// shorter.
	Deriv(t float64, y, dy []float64)
}

// Jacobian is a System that knows its derivatives. Without it the solver
// uses finite differences, n more calls of Deriv a step. The Jacobian enters
// the order of the method: an approximate one costs accuracy.
type Jacobian interface {
	// Jac sets jac[i*n+j] = ∂f_i/∂y_j. The matrix arrives filled with zeros.
	Jac(t float64, y, jac []float64)
}

// TimeDerivative is a System that knows ∂f/∂t. Without it, and unless
// Options.Autonomous is set, the solver uses a difference, one more call of
// Deriv a step.
type TimeDerivative interface {
	// DerivT sets dfdt[i] = ∂f_i/∂t. The vector arrives filled with zeros.
	DerivT(t float64, y, dfdt []float64)
}

// Action tells the solver how to go on after an event.
type Action int

const (
	// Continue goes on as if nothing had happened: for events that only
	// observe. The state must not have been changed.
	Continue Action = iota
	// Restart starts again from the state as the handler left it, with the
	// step size kept.
	Restart
	// Reguess starts again from the state as the handler left it, with a
	// new guess of the step size: for resets that wake fast motions.
	Reguess
	// Stop ends the run at the event, with the state as the handler left it.
	Stop
)

// Events is a System with switching functions g_i(t, y). An event happens
// where one of them passes through zero.
type Events interface {
	// NumEvents returns the number of switching functions.
	NumEvents() int
	// Events sets g[i] = g_i(t, y).
	Events(t float64, y, g []float64)
	// Direction returns +1 if event i is a passage from - to +, -1 if from +
	// to -, 0 if both count. It may change with the mode of the system.
	Direction(i int) int
	// Handle is told that event i happened at t in state y. It may change y
	// and the mode of the system; then it must return Restart, Reguess or Stop.
	// Events at the same time are handled in the order of i, each with the
	// state as the one before left it; the strongest action counts.
	Handle(i int, t float64, y []float64) Action
}
