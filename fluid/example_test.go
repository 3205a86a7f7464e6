package fluid_test

import (
	"fmt"

	"github.com/evenstroke/evenstroke/fluid"
)

// Water at 20 °C under 3000 psi: IAPWS-95 gives 1007.4 kg/m³ and 0.996 mPa·s.
func ExampleWater() {
	w := fluid.Water()
	const T, p = 293.15, 20.6843e6 - fluid.Atmosphere
	rho, err := w.Density(T, p)
	if err != nil {
		fmt.Println(err)
		return
	}
	mu, err := w.Viscosity(T, p)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f kg/m³, %.3f mPa·s\n", rho, mu*1e3)
	// Output: 1007.4 kg/m³, 0.996 mPa·s
}

// A coating by its flow cup: a Ford 4 cup that empties in 36 s reads about 120 mm²/s. What was not given is listed.
func ExampleNew() {
	f, err := fluid.New(fluid.Spec{Kind: "coating", Cup: "Ford 4", CupTime: 36, Density: 1200, ShearIndex: 0.7, Temperature: 298.15})
	if err != nil {
		fmt.Println(err)
		return
	}
	mu, err := f.Viscosity(298.15, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2g Pa·s; density assumed: %t\n", mu, assumes(f, "density of the coating"))
	// Output: 0.15 Pa·s; density assumed: false
}

func assumes(f fluid.Fluid, what string) bool {
	for _, a := range f.Assumptions() {
		if a.Quantity == what {
			return true
		}
	}
	return false
}
