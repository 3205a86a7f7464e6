package pump

import (
	"errors"
	"fmt"
	"slices"

	"github.com/evenstroke/evenstroke/sheet"
)

// sequence checks that the constraints of order name steps that the pump can have and that they can all be kept.
func (r *reader) sequence() {
	top := r.at[item{"top", 0}]
	if !slices.ContainsFunc(r.p.Parts, func(q Part) bool { return q.Kind == KindRod }) {
		top.Fail("parts", "no part of kind rod", "the rod among the parts", "add it: the order of work turns on when it goes in")
	}
	_, err := r.p.plan(nil)
	var unknown *UnknownStepError
	var cycle *CycleError
	switch {
	case errors.As(err, &unknown):
		r.at[item{"order", unknown.order}].Fail(unknown.key, fmt.Sprintf("the unknown step %q", unknown.Step),
			"a step of this pump, such as `fit PART`, `take out PART`, `open JOINT`, `torque JOINT`, `lubricate STACK`, `stack STACK 1`", sheet.Nearest(unknown.Step, unknown.Known))
	case errors.As(err, &cycle) && cycle.order >= 0:
		r.at[item{"order", cycle.order}].Fail("", cycle.Error(), "constraints that can all be kept", "remove or turn round this one")
	case err != nil:
		top.Fail("joints", err.Error(), "joints whose holds and carried_by can all be kept", "look at the holds of the joints named")
	}
}
