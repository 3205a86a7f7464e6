package leak_test

import (
	"errors"
	"fmt"

	"github.com/evenstroke/evenstroke/leak"
)

// The leak past a piston: Fox & McDonald, Introduction to Fluid Mechanics, Ex 8.1, prints 57.57 mm³/s.
func ExampleAnnulus_Flow() {
	piston := leak.Annulus{Diameter: 0.025, Gap: 5e-6, Length: 0.015}
	q, err := piston.Flow(19e6, leak.Liquid{Viscosity: 0.018, Density: 920})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f mm³/s\n", q*1e9)
	// Output: 57.6 mm³/s
}

// A scratch across a seat is laminar with a thick liquid and not with water. The law takes both.
func ExampleGroove_Law() {
	scratch, err := leak.Scratch(0.1e-3, 0.05e-3, 1e-3)
	if err != nil {
		fmt.Println(err)
		return
	}
	water := leak.Liquid{Viscosity: 1e-3, Density: 998}
	_, err = scratch.Flow(20e6, water)
	var regime *leak.RegimeError
	fmt.Println("laminar formula refused:", errors.As(err, &regime))
	law, err := scratch.Law(water)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("exponent near rest %.2f, at 20 MPa between 0.5 and 0.6: %t\n", law.Exponent(1), law.Exponent(20e6) < 0.6)
	// Output:
	// laminar formula refused: true
	// exponent near rest 1.00, at 20 MPa between 0.5 and 0.6: true
}
