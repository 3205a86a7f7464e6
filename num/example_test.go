package num_test

import (
	"errors"
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// The depth at which the axial stress in a stack has fallen to a third: exp(−30·z) = 1/3, z = ln 3/30.
func ExampleBrent() {
	z, err := num.Brent(func(z float64) float64 { return math.Exp(-30*z) - 1.0/3 }, 0, 1, 1e-9)
	fmt.Printf("%.3f mm %v\n", z*1e3, err)
	// Output: 36.620 mm <nil>
}

// A function without a change of sign has no root to find, and says between which values it was looked for.
func ExampleBrent_noRoot() {
	_, err := num.Brent(func(x float64) float64 { return 1 + x*x }, -1, 1, 1e-9)
	var none *num.BracketError
	fmt.Println(errors.As(err, &none), none.FA, none.FB)
	// Output: true 2 2
}

// The least of x + 1/x is 2, at 1.
func ExampleMinimum() {
	x, fx, err := num.Minimum(func(x float64) float64 { return x + 1/x }, 0.1, 10, 1e-6)
	fmt.Printf("%.3f %.3f %v\n", x, fx, err)
	// Output: 1.000 2.000 <nil>
}

// The one-sided 95 % point of the normal distribution, 1.6449 in every table of it.
func ExampleNormalQuantile() {
	z, err := num.NormalQuantile(0.95)
	fmt.Printf("%.4f %v\n", z, err)
	// Output: 1.6449 <nil>
}

// Of three draws the second has most of the weight.
func ExampleWeightedQuantile() {
	median, err := num.WeightedQuantile(0.5, []float64{12, 18, 40}, []float64{0.1, 0.7, 0.2})
	fmt.Println(median, err)
	// Output: 18 <nil>
}

// What is outside the range of a formula names the argument and both ends.
func ExampleCheckRange() {
	err := num.CheckRange("seal.LookUp", "T", 1173.15, 273.15, 373.15, "K")
	fmt.Println(err)
	var r *num.RangeError
	fmt.Println(errors.As(err, &r), r.Low, r.High)
	// Output:
	// seal.LookUp: T = 1173.15 K, want 273.15..373.15
	// true 273.15 373.15
}
