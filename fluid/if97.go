package fluid

import "math"

// IAPWS-IF97 region 1, liquid water: dimensionless Gibbs energy γ(π, τ) = Σ n (7.1-π)^I (τ-1.222)^J with
// π = p/16.53 MPa and τ = 1386 K/T. Source: IAPWS R7-97(2012), eq. 7 and table 2. Coefficients from memory; checked
// against table 5 of the release (volume, enthalpy, entropy, heat capacity, sound speed at three points).
const (
	if97GasConstant = 461.526 // J/(kg·K)
	if97Pressure    = 16.53e6 // Pa
	if97Temperature = 1386.0  // K
)

type if97Term struct {
	i, j int
	n    float64
}

var if97Region1 = [34]if97Term{
	{0, -2, 0.14632971213167}, {0, -1, -0.84548187169114}, {0, 0, -0.37563603672040e1},
	{0, 1, 0.33855169168385e1}, {0, 2, -0.95791963387872}, {0, 3, 0.15772038513228},
	{0, 4, -0.16616417199501e-1}, {0, 5, 0.81214629983568e-3}, {1, -9, 0.28319080123804e-3},
	{1, -7, -0.60706301565874e-3}, {1, -1, -0.18990068218419e-1}, {1, 0, -0.32529748770505e-1},
	{1, 1, -0.21841717175414e-1}, {1, 3, -0.52838357969930e-4}, {2, -3, -0.47184321073267e-3},
	{2, 0, -0.30001780793026e-3}, {2, 1, 0.47661393906987e-4}, {2, 3, -0.44141845330846e-5},
	{2, 17, -0.72694996297594e-15}, {3, -4, -0.31679644845054e-4}, {3, 0, -0.28270797985312e-5},
	{3, 6, -0.85205128120103e-9}, {4, -5, -0.22425281908000e-5}, {4, -2, -0.65171222895601e-6},
	{4, 10, -0.14341729937924e-12}, {5, -8, -0.40516996860117e-6}, {8, -11, -0.12734301741641e-8},
	{8, -6, -0.17424871230634e-9}, {21, -29, -0.68762131295531e-18}, {23, -31, 0.14478307828521e-19},
	{29, -38, 0.26335781662795e-22}, {30, -39, -0.11947622640071e-22}, {31, -40, 0.18228094581404e-23},
	{32, -41, -0.93537087292458e-25},
}

// gibbs holds the derivatives of γ at one state; p is the derivative by π, t by τ.
type gibbs struct{ p, t, pp, pt, tt float64 }

func if97Gibbs(pi, tau float64) gibbs {
	a, b := 7.1-pi, tau-1.222
	var s gibbs
	for _, k := range if97Region1 {
		i, j := float64(k.i), float64(k.j)
		term := k.n * math.Pow(a, i) * math.Pow(b, j)
		s.p -= term * i / a
		s.t += term * j / b
		s.pp += term * i * (i - 1) / (a * a)
		s.pt -= term * i * j / (a * b)
		s.tt += term * j * (j - 1) / (b * b)
	}
	return s
}

// if97State returns the state of liquid water at T [K], 273.15..623.15, and absolute pressure pAbs [Pa], 0..100 MPa.
//
//	v = RT/p·πγ_π   K_T = -p·γ_π/(πγ_ππ)   α = (1 - τγ_πτ/γ_π)/T   c² = RTγ_π²/((γ_π-τγ_πτ)²/(τ²γ_ττ) - γ_ππ)
func if97State(T, pAbs float64) state {
	tau := if97Temperature / T
	g := if97Gibbs(pAbs/if97Pressure, tau)
	cross := g.p - tau*g.pt
	sound2 := if97GasConstant * T * g.p * g.p / (cross*cross/(tau*tau*g.tt) - g.pp)
	return state{
		density:   if97Pressure / (if97GasConstant * T * g.p),
		bulk:      -if97Pressure * g.p / g.pp,
		expansion: (1 - tau*g.pt/g.p) / T,
		sound:     math.Sqrt(sound2),
	}
}
