package ode

import (
	"fmt"
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// JacobianError says that a Jacobian disagrees with differences of Deriv.
type JacobianError struct {
	Row, Col  int
	Jac, Diff float64 // the element as given by Jac and by differences
}

func (e *JacobianError) Error() string {
	return fmt.Sprintf("ode: Jacobian element (%d, %d) is %g, differences give %g", e.Row, e.Col, e.Jac, e.Diff)
}

// CheckJacobian compares sys.Jac at (t, y) with central differences over
// ε^⅓·max(|y_j|, scale_j), for tests of a system; scale holds a typical size
// of each state. It returns a *JacobianError for the worst element that is
// off by more than 1e-5 of itself plus what round-off explains, and a
// *num.RangeError if sys has no Jacobian or a slice has the wrong length.
func CheckJacobian(sys System, t float64, y, scale []float64) error {
	n := sys.Dim()
	j, ok := sys.(Jacobian)
	if !ok || len(y) != n || len(scale) != n {
		return &num.RangeError{Func: "ode.CheckJacobian", Name: "len(y)", Value: float64(len(y)), Want: "a Jacobian, and y and scale of length Dim()"}
	}
	jac, up, down := make([]float64, n*n), make([]float64, n), make([]float64, n)
	at := append([]float64(nil), y...)
	j.Jac(t, y, jac)
	noise := make([]float64, n) // of f_i by the round-off of its terms
	for r := range noise {
		for c := range n {
			noise[r] += 100 * eps * math.Abs(jac[r*n+c]) * math.Max(math.Abs(y[c]), scale[c])
		}
	}
	var worst *JacobianError
	most := 1.0
	for c := range n {
		d := math.Cbrt(eps) * math.Max(math.Abs(y[c]), scale[c])
		at[c] = y[c] + d
		sys.Deriv(t, at, up)
		hi := at[c]
		at[c] = y[c] - d
		sys.Deriv(t, at, down)
		w := hi - at[c]
		at[c] = y[c]
		for r := range n {
			diff := (up[r] - down[r]) / w
			got := jac[r*n+c]
			allowed := 1e-5*math.Max(math.Abs(got), math.Abs(diff)) + (noise[r]+100*eps*math.Abs(up[r]))/w
			if off := math.Abs(got-diff) / allowed; off > most || off != off && got != diff {
				worst, most = &JacobianError{Row: r, Col: c, Jac: got, Diff: diff}, off
			}
		}
	}
	if worst != nil {
		return worst
	}
	return nil
}
