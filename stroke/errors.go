package stroke

import (
	"fmt"
	"strings"
)

// PathError says that a setup names a leak path, valve, seal or chamber which the pump does not have.
type PathError struct {
	Field string // of the Setup
	Name  string
	Have  []string
}

func (e *PathError) Error() string {
	return fmt.Sprintf("stroke: %s: the pump has no %q; it has %s", e.Field, e.Name, strings.Join(e.Have, ", "))
}

// SetupError says that parts of a setup do not go together.
type SetupError struct {
	Field string
	Why   string
}

func (e *SetupError) Error() string { return "stroke: " + e.Field + ": " + e.Why }
