package hold

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distmv"

	"github.com/evenstroke/evenstroke/pump"
)

// lockedSheet has a locked hold whose stroke was not noted and one of a downstroke.
func lockedSheet(t *testing.T) (*bench, *sampler) {
	t.Helper()
	p, err := pump.DemoPump("tolsk-18")
	if err != nil {
		t.Fatal(err)
	}
	s := bench4()
	s.Readings = []Reading{timed(Restart, 0, 20e6, 0, 6.5), lockedReading(pump.Down, 20e6, 17.5e6, 13e6)}
	b, err := newBench(p, s, DefaultPrior())
	if err != nil {
		t.Fatal(err)
	}
	return b, newSampler(b, rand.New(rand.NewPCG(5, 6)))
}

// The shape of the kernels against the weighted covariance of gonum (stat.CovarianceMatrix), their density against its multivariate normal
// (distmv.Normal), for three leaks and the compliance.
func TestKernelsAgainstGonum(t *testing.T) {
	b, s := lockedSheet(t)
	i := 0
	for len(b.sets[i].paths) < 3 {
		i++
	}
	set, rng := b.sets[i].paths, rand.New(rand.NewPCG(1, 2))
	some := func() draw {
		e := func() float64 { return rng.NormFloat64() }
		common := e()
		return draw{set: i, u: [3]float64{-14 + common, -15 - common + 0.2*e(), -13 + 0.5*e()}, x: []float64{0.3*common + 0.8*e()}, weight: rng.ExpFloat64(), down: uint64(rng.IntN(2))}
	}
	post := &posterior{tally: make([]tally, len(b.sets)), own: make([][]int32, len(b.sets))}
	var rows, weights []float64
	for k := range 300 {
		d := some()
		post.draws = append(post.draws, d)
		post.own[i] = append(post.own[i], int32(k))
		post.tally[i].n++
		post.tally[i].sum += d.weight
		rows, weights = append(rows, d.u[0], d.u[1], d.u[2], d.x[0]), append(weights, d.weight)
	}
	k := s.buildKernels(post, i)
	if k == nil || len(k.at) < kernelCount-1 {
		t.Fatal("no kernels")
	}
	const n = 4
	want := mat.NewSymDense(n, nil)
	stat.CovarianceMatrix(want, mat.NewDense(300, n, rows), weights)
	total := post.tally[i].sum
	l := mat.NewDense(n, n, nil)
	for r := range n {
		for c := range r + 1 {
			l.Set(r, c, k.chol[r][c])
		}
	}
	var got mat.SymDense
	got.SymOuterK(1, l)
	for r := range n {
		for c := range n {
			w := want.At(r, c) * (total - 1) / total * kernelWidth * kernelWidth // gonum divides by the sum of the weights less one
			if r == c {
				w += sq([]float64{kernelFloor, kernelFloor, kernelFloor, unknownFloor}[r])
			}
			if !scalar.EqualWithinAbsOrRel(got.At(r, c), w, 1e-12, 1e-9) {
				t.Errorf("covariance [%d, %d] is %g, gonum has %g", r, c, got.At(r, c), w)
			}
		}
	}
	way := proposal{around, 1, k, [3]int{0, 1, 2}}
	for range 50 {
		d := some()
		d.v = [3]int8{int8(rng.IntN(2)), 0, 0}
		var sum float64
		for _, at := range k.at {
			normal, ok := distmv.NewNormal(at.z[:], &got, nil)
			if !ok {
				t.Fatal("gonum takes the covariance for singular")
			}
			f := normal.Prob([]float64{d.u[0], d.u[1], d.u[2], d.x[0]})
			for a, j := range set {
				f *= (1 - kernelStay) * b.vars[j][d.v[a]].weight
				if d.v[a] == at.v[a] {
					f *= 1 + kernelStay/((1-kernelStay)*b.vars[j][d.v[a]].weight)
				}
			}
			if d.down == at.down {
				f *= (1 + kernelStay) / 2
			} else {
				f *= (1 - kernelStay) / 2
			}
			sum += f / float64(len(k.at))
		}
		prior := math.Exp(-0.5*sq(d.x[0])) / math.Sqrt(2*math.Pi) / 2 // of the compliance and the stroke
		for a, j := range set {
			prior *= b.vars[j][d.v[a]].weight
		}
		w := sum / prior * math.Pow(2*math.Pi, 1.5)
		if g := way.density(s, set, &d, &[3]float64{1, 1, 1}); !scalar.EqualWithinAbsOrRel(g, w, 1e-9, 1e-6) {
			t.Errorf("density %g, gonum has %g", g, w)
		}
	}
}

// The evidence of sets of no path and of one from locked holds, one of an unknown stroke, against a quadrature of its own: Simpson's rule over
// ln q and the compliance, summed over variants and strokes. It shares the likelihood with the sampler, not how that draws and weighs.
func TestLockedEvidenceAgainstQuadrature(t *testing.T) {
	b, s := lockedSheet(t)
	post := b.integrate(Options{Draws: 60000, StdErr: 1e-4}, rand.New(rand.NewPCG(1, 2)))
	defer post.release()
	phi := func(z float64) float64 { return math.Exp(-0.5*z*z) / math.Sqrt(2*math.Pi) }
	checked := 0
	for i, set := range b.sets {
		if len(set.paths) > 1 || len(set.paths) == 1 && b.paths[set.paths[0]].Name != "throat packing" && b.paths[set.paths[0]].Name != "drain valve" {
			continue
		}
		d := draw{set: i, x: []float64{0}}
		strokes := func() float64 {
			var sum float64
			for d.down = range uint64(2) {
				sum += s.likelihood(set.paths, &d) / 2
			}
			return sum
		}
		leak := strokes
		if len(set.paths) == 1 {
			j := set.paths[0]
			leak = func() float64 {
				return simpson(func(z float64) float64 {
					d.u[0] = b.median[j] + z*b.sd[j]
					d.q[0] = math.Exp(d.u[0])
					var sum float64
					for v := range b.vars[j] {
						d.v[0] = int8(v)
						sum += b.vars[j][v].weight * strokes()
					}
					return sum * phi(z)
				}, -6, 6, 800)
			}
		}
		want := simpson(func(x float64) float64 {
			d.x[0] = x
			return leak() * phi(x)
		}, -5, 5, 48)
		tl := post.tally[i]
		got := tl.sum / float64(tl.n)
		se := math.Sqrt((tl.sum2/float64(tl.n) - got*got) / float64(tl.n))
		t.Logf("%v: evidence %.5g ± %.2g, quadrature %.5g", set.paths, got, se, want)
		if math.Abs(got-want) > 4.5*se+2e-3*want || se > 0.05*want {
			t.Errorf("%v: evidence %.5g ± %.2g, quadrature %.5g", set.paths, got, se, want)
		}
		checked++
	}
	if checked != 3 {
		t.Errorf("%d sets were checked", checked)
	}
}
