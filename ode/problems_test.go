package ode

// The stiff test set. Sources of equations and end values: W. M. Lioen,
// J. J. B. de Swart, Test Set for Initial Value Problem Solvers (CWI/Bari),
// and E. Hairer, G. Wanner, Solving Ordinary Differential Equations II,
// 2nd ed. 1996, IV.10. Values at intermediate times: Radau IIA of order 5 at
// relative tolerance 1e-13 (an independent implementation), which agrees with
// the published end values to 10 digits and more.

type robertson struct{}

func (robertson) Dim() int { return 3 }
func (robertson) Deriv(_ float64, y, dy []float64) {
	r1, r2, r3 := 0.04*y[0], 1e4*y[1]*y[2], 3e7*y[1]*y[1]
	dy[0] = r2 - r1
	dy[1] = r1 - r2 - r3
	dy[2] = r3
}
func (robertson) Jac(_ float64, y, jac []float64) {
	jac[0], jac[1], jac[2] = -0.04, 1e4*y[2], 1e4*y[1]
	jac[3], jac[4], jac[5] = 0.04, -1e4*y[2]-6e7*y[1], -1e4*y[1]
	jac[7] = 6e7 * y[1]
}

type hires struct{}

func (hires) Dim() int { return 8 }
func (hires) Deriv(_ float64, y, dy []float64) {
	y, dy = y[:8], dy[:8]
	r := 280 * y[5] * y[7]
	dy[0] = -1.71*y[0] + 0.43*y[1] + 8.32*y[2] + 0.0007
	dy[1] = 1.71*y[0] - 8.75*y[1]
	dy[2] = -10.03*y[2] + 0.43*y[3] + 0.035*y[4]
	dy[3] = 8.32*y[1] + 1.71*y[2] - 1.12*y[3]
	dy[4] = -1.745*y[4] + 0.43*y[5] + 0.43*y[6]
	dy[5] = -r + 0.69*y[3] + 1.71*y[4] - 0.43*y[5] + 0.69*y[6]
	dy[6] = r - 1.81*y[6]
	dy[7] = -dy[6]
}
func (hires) Jac(_ float64, y, jac []float64) {
	set := func(i, j int, v float64) { jac[8*i+j] = v }
	a, b := 280*y[7], 280*y[5]
	set(0, 0, -1.71)
	set(0, 1, 0.43)
	set(0, 2, 8.32)
	set(1, 0, 1.71)
	set(1, 1, -8.75)
	set(2, 2, -10.03)
	set(2, 3, 0.43)
	set(2, 4, 0.035)
	set(3, 1, 8.32)
	set(3, 2, 1.71)
	set(3, 3, -1.12)
	set(4, 4, -1.745)
	set(4, 5, 0.43)
	set(4, 6, 0.43)
	set(5, 3, 0.69)
	set(5, 4, 1.71)
	set(5, 5, -a-0.43)
	set(5, 6, 0.69)
	set(5, 7, -b)
	set(6, 5, a)
	set(6, 6, -1.81)
	set(6, 7, b)
	set(7, 5, -a)
	set(7, 6, 1.81)
	set(7, 7, -b)
}

type vanDerPol struct{ mu float64 }

func (vanDerPol) Dim() int { return 2 }
func (v vanDerPol) Deriv(_ float64, y, dy []float64) {
	dy[0] = y[1]
	dy[1] = v.mu*(1-y[0]*y[0])*y[1] - y[0]
}
func (v vanDerPol) Jac(_ float64, y, jac []float64) {
	jac[1] = 1
	jac[2] = -2*v.mu*y[0]*y[1] - 1
	jac[3] = v.mu * (1 - y[0]*y[0])
}

type oregonator struct{}

func (oregonator) Dim() int { return 3 }
func (oregonator) Deriv(_ float64, y, dy []float64) {
	dy[0] = 77.27 * (y[1] + y[0]*(1-8.375e-6*y[0]-y[1]))
	dy[1] = (y[2] - (1+y[0])*y[1]) / 77.27
	dy[2] = 0.161 * (y[0] - y[2])
}
func (oregonator) Jac(_ float64, y, jac []float64) {
	jac[0], jac[1] = 77.27*(1-2*8.375e-6*y[0]-y[1]), 77.27*(1-y[0])
	jac[3], jac[4], jac[5] = -y[1]/77.27, -(1+y[0])/77.27, 1/77.27
	jac[6], jac[8] = 0.161, -0.161
}

type problem struct {
	name  string
	sys   System
	y0    []float64
	end   float64
	want  []float64
	scale []float64 // absolute tolerance over relative tolerance
}

func stiffSet() []problem {
	return []problem{
		{"Robertson", robertson{}, []float64{1, 0, 0}, 1e11,
			[]float64{0.2083340149701255e-7, 0.8333360770334713e-13, 0.9999999791665050},
			[]float64{1e-4, 1e-8, 1e-2}},
		{"HIRES", hires{}, []float64{1, 0, 0, 0, 0, 0, 0, 0.0057}, 321.8122,
			[]float64{0.7371312573325668e-3, 0.1442485726316185e-3, 0.5888729740967575e-4, 0.1175651343283149e-2,
				0.2386356198831331e-2, 0.6238968252742796e-2, 0.2849998395185769e-2, 0.2850001604814231e-2},
			[]float64{1e-4}},
		{"VanDerPol", vanDerPol{1000}, []float64{2, 0}, 2000,
			[]float64{1.706167732170469, -0.8928097010248125e-3}, []float64{1, 1e-3}},
		{"Oregonator", oregonator{}, []float64{1, 2, 3}, 360,
			[]float64{1.000814870318523, 1228.178521549917, 132.0554942846706}, []float64{1}},
	}
}

func (p problem) options(tol float64) Options {
	o := Options{RelTol: tol, Autonomous: true}
	for _, s := range p.scale {
		o.AbsTol = append(o.AbsTol, s*tol)
	}
	return o
}
