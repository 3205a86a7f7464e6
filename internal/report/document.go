package report

import (
	"github.com/evenstroke/evenstroke/bolt"
	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/draw"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/seal"
	"github.com/evenstroke/evenstroke/unit"
)

// Document is what goes into a report. Only Pump is needed; what is empty is left out.
type Document struct {
	Title   string // of the report; "Pump report" when empty
	Shop    string
	Made    string // when, as text: the report has no clock
	Version string // of the program, for the generated-by line
	Units   unit.System

	Job    []Fact // job number, serial, customer, dates, who …
	Pump   *pump.Pump
	Holds  []Hold // in the order in which they were done, as found first
	Stacks []Stack

	Steps      []pump.Step      // order of work
	Audited    bool             // the build was compared with the order of work; then no departure is a finding too
	Departures []pump.Departure // of the build
	Torques    []Torque

	Plots    []draw.Plot
	Cautions []string // beside those of the steps
	Unknown  []string // what this report does not know, beside what the results say themselves
}

// Fact is one line about the job.
type Fact struct{ Name, Value string }

// Hold is one hold test with what it says.
type Hold struct {
	Heading string       // "As found", "As left"; the stage of the result when empty
	Result  *hold.Result // needed
	Sheet   *hold.Sheet  // the readings; nil when they are not to be shown
}

// Stack is one packing stack; Analysis may be nil.
type Stack struct {
	Name     string
	Analysis *seal.Analysis
}

// Torque is one line of the torque table.
type Torque struct {
	Joint    pump.Joint
	Analysis *bolt.Analysis // what to set and what clamp it gives; may be nil
	Read     float64        // N·m, what the wrench showed; 0 when not recorded
}

// Torques returns a torque table of all joints of a pump, with nothing read.
func Torques(p *pump.Pump) []Torque {
	var out []Torque
	for _, j := range p.Joints {
		out = append(out, Torque{Joint: j})
	}
	return out
}

// DocumentError says what keeps a document from being written.
type DocumentError struct{ Field, Why string }

// Error names the field and says why.
func (e *DocumentError) Error() string { return "report: " + e.Field + ": " + e.Why }
