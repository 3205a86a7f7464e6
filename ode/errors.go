package ode

import (
	"errors"
	"fmt"
)

// ErrCanceled is returned by Run when Options.Progress asked to give up.
var ErrCanceled = errors.New("ode: canceled")

// StepError says that no step could be found that meets the tolerances.
type StepError struct {
	T         float64 // time reached
	Step      float64 // last step size tried
	Component int     // state with the largest error in that step
	Err       float64 // its error over its tolerance
}

func (e *StepError) Error() string {
	return fmt.Sprintf("ode: step size %.3g too small at t = %.9g (worst is state %d: %.3g times its tolerance)",
		e.Step, e.T, e.Component, e.Err)
}

// StepLimitError says that Options.MaxSteps was used up.
type StepLimitError struct {
	T     float64 // time reached
	Steps int     // steps tried
}

func (e *StepLimitError) Error() string {
	return fmt.Sprintf("ode: %d steps tried, only at t = %.9g", e.Steps, e.T)
}

// NaNError says that a function of the system gave NaN or an infinity and
// that shorter steps did not help.
type NaNError struct {
	Func  string  // method of the system: Deriv, DerivT, Jac, Events, Handle
	T     float64 // time of the call
	Index int     // first element that is not finite
}

func (e *NaNError) Error() string {
	return fmt.Sprintf("ode: %s gave a value that is not finite at t = %.9g (element %d)", e.Func, e.T, e.Index)
}

// ZenoError says that an event follows itself without time advancing, as the
// bounces of a ball that comes to rest. The cure is a handler that switches
// to a resting mode.
type ZenoError struct {
	T      float64 // time of the last event
	Event  int     // its index
	Count  int     // number of times that it happened ...
	Within float64 // ... within this time; 0 if the next is lost in round-off
}

func (e *ZenoError) Error() string {
	return fmt.Sprintf("ode: event %d happened %d times within %.3g up to t = %.9g", e.Event, e.Count, e.Within, e.T)
}
