package draw

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"
)

func mustFloat(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// TestPlaceIsBest checks the column against its definition: no overlap, inside the limits, and no other place of any one run of
// labels brings the sum of the squared distances down (the problem is convex, so that a local best is the best).
func TestPlaceIsBest(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 300 {
		k := column{gap: 5, top: 0, bottom: 1000}
		n := 1 + rng.IntN(9)
		for range n {
			h := 20 + 40*rng.Float64()
			k.clusters = append(k.clusters, &cluster{h: h, labels: []*label{{h: h, at: []pt{{0, 1000 * rng.Float64()}}}}})
		}
		k.place()
		cost := func() (sum float64) {
			for _, q := range k.clusters {
				sum += math.Pow(q.y-q.want(), 2)
			}
			return sum
		}
		ok := func() bool {
			at := k.top
			for _, q := range k.clusters {
				if q.y < at-1e-9 {
					return false
				}
				at = q.y + q.h + k.gap
			}
			return at-k.gap <= k.bottom+1e-9
		}
		if !ok() {
			t.Fatal("labels overlap or leave the column")
		}
		best := cost()
		for i := range n {
			for j := i; j < n; j++ {
				for _, d := range []float64{-0.5, 0.5} {
					for _, q := range k.clusters[i : j+1] {
						q.y += d
					}
					if ok() && cost() < best-1e-9 {
						t.Fatalf("labels %d to %d lie better %g px lower", i, j, d)
					}
					for _, q := range k.clusters[i : j+1] {
						q.y -= d
					}
				}
			}
		}
	}
}

func TestCrosses(t *testing.T) {
	if !crosses(pt{0, 0}, pt{2, 2}, pt{0, 2}, pt{2, 0}) || crosses(pt{0, 0}, pt{1, 0}, pt{0, 1}, pt{1, 1}) || crosses(pt{0, 0}, pt{1, 1}, pt{3, 0}, pt{0, 3}) {
		t.Error("diagonals of a square cross, its sides and a line beyond do not")
	}
	if d := distance(pt{3, 4}, pt{0, 0}, pt{0, 10}); d != 3 {
		t.Errorf("distance to the middle of a segment: %g, want 3", d)
	}
	if d := distance(pt{3, 14}, pt{0, 0}, pt{0, 10}); d != 5 {
		t.Errorf("distance to the end of a segment: %g, want 5", d)
	}
}

func TestWrap(t *testing.T) {
	f := font{size: 10}
	for _, w := range []float64{30, 60, 200} {
		for _, line := range f.wrap("a packing that is spelled withoutanyspaceatall and ends", w) {
			if f.width(line) > w {
				t.Errorf("%q is wider than %g", line, w)
			}
		}
	}
	if got := f.wrap("one two three four five six", 40); string(join(got, " ")) != "one two three four five six" {
		t.Errorf("%q; want every word", got)
	}
	if got := f.wrap("rod-side-inlet", 60); len(got) != 2 || got[0] != "rod-side-" {
		t.Errorf("%q; want the break after a hyphen", got)
	}
	if got := f.wrap("  ", 40); len(got) != 0 {
		t.Errorf("%q; want no line", got)
	}
}
