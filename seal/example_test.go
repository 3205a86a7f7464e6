package seal_test

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/seal"
)

// Wall friction takes the nut's load away with depth: σ(z) = σ0·exp(−β·z).
func ExampleAxialStress() {
	sigma, err := seal.AxialStress(12e6, 30, 0.02)
	fmt.Printf("%.2f MPa, by hand %.2f MPa %v\n", sigma/1e6, 12*math.Exp(-0.6), err)
	// Output: 6.59 MPa, by hand 6.59 MPa <nil>
}

// The same rings under the same nut, with their lips toward the pressure and away from it.
func ExampleStack_Analyse() {
	for _, lips := range []seal.Facing{seal.Down, seal.Up} {
		rings := []seal.Ring{}
		for _, r := range []struct {
			kind     seal.Kind
			material string
		}{{seal.FemaleGland, "steel"}, {seal.VRing, "leather"}, {seal.VRing, "leather"}, {seal.VRing, "leather"}, {seal.MaleGland, "steel"}} {
			facing := seal.Flat
			if r.kind == seal.VRing {
				facing = lips
			}
			ring, err := seal.NewRing(r.kind, r.material, 0.0212, 0.0312, 0.005, facing, 293.15)
			if err != nil {
				fmt.Println(err)
				return
			}
			rings = append(rings, ring)
		}
		an, err := seal.Stack{Rings: rings, Slides: seal.Rod}.Analyse(seal.Duty{Load: 6000, Below: 15e6})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("lips %s: holds 150 bar: %v\n", lips, an.Holds)
	}
	// Output:
	// lips down: holds 150 bar: true
	// lips up: holds 150 bar: false
}

// A name that is not known says which are.
func ExampleLookUp() {
	m, err := seal.LookUp("PTFE", 293.15)
	fmt.Println(m.Name, err)
	_, err = seal.LookUp("felt", 293.15)
	fmt.Println(err != nil)
	// Output:
	// ptfe <nil>
	// true
}
