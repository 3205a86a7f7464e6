package bolt_test

import (
	"fmt"

	"github.com/evenstroke/evenstroke/bolt"
)

// A crowfoot of 50 mm in line with a wrench of 400 mm: set torque × L/(L + E).
func ExampleWrenchSetting() {
	set, err := bolt.WrenchSetting(45, 0.4, 0.05, 0)
	fmt.Printf("%.1f N·m %v\n", set, err)
	// Output: 40.0 N·m <nil>
}

// There and back through the same formula; friction of 0.12 on both faces.
func ExampleClamp() {
	t, err := bolt.ParseThread("M24x2")
	if err != nil {
		fmt.Println(err)
		return
	}
	c := bolt.Contact{Thread: t, Bearing: 0.0315, MuThread: 0.12, MuBearing: 0.12}
	clamp, err := bolt.Clamp(45, c)
	if err != nil {
		fmt.Println(err)
		return
	}
	torque, err := bolt.Torque(clamp, c)
	fmt.Printf("%.1f kN, back to %.1f N·m %v\n", clamp/1e3, torque, err)
	// Output: 11.9 kN, back to 45.0 N·m <nil>
}

// A joint with a click wrench: friction decides the clamp far more than the tool does.
func ExampleJoint_Analyse() {
	t, err := bolt.ParseThread("M24x2")
	if err != nil {
		fmt.Println(err)
		return
	}
	mu, err := bolt.Friction("B")
	if err != nil {
		fmt.Println(err)
		return
	}
	tool, err := bolt.NewTool("II A")
	if err != nil {
		fmt.Println(err)
		return
	}
	an, err := bolt.Joint{Thread: t, BearingOuter: 0.038, BearingInner: 0.025, MuThread: mu.Mu, MuBearing: mu.Mu, Shared: true, Torque: 45, Tool: tool}.Analyse()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("set %.1f N·m, tool ±%.0f %%\n", an.Wrench.Set, 100*an.Wrench.Deviation)
	fmt.Println("90 % of such clamps spread by more than a third of their mean:", (an.Clamp.Q95-an.Clamp.Q05) > an.Clamp.Mean/3)
	// Output:
	// set 45.0 N·m, tool ±4 %
	// 90 % of such clamps spread by more than a third of their mean: true
}

// A designation that cannot be read says what would be.
func ExampleParseThread_mistake() {
	_, err := bolt.ParseThread("M25")
	fmt.Println(err)
	// Output: thread "M25": want a pitch as well, as M24x2: this diameter has no ISO 261 coarse pitch
}
