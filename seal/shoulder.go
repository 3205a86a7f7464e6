package seal

import (
	"math"

	"github.com/evenstroke/evenstroke/num"
)

// Shoulder is a stack whose nut stops at a shoulder: height and shims set the load, not the torque.
type Shoulder struct {
	Free        float64 // m, free height of the stack
	Compression float64 // m, by which the closed cavity shortens it; negative: it rattles by so much
	Load        float64 // N at the nut; 0 when it rattles
}

// FreeHeight returns the height [m] of the stack under no load: the sum of its rings.
func (s Stack) FreeHeight() float64 {
	var h float64
	for _, r := range s.Rings {
		h += r.Height
	}
	return h
}

// Compliance returns how much the stack shortens per newton at the nut [m/N], wall friction in it:
//
//	δ/F = Σ f·m·h/(E·A)     f the share of the load that reaches the ring, m = (1−exp(−β·h))/(β·h)
//
// A spring adds f/Rate. Without friction this is the sum of the rings' own compliances. Linear: it holds for small strain.
func (s Stack) Compliance() (float64, error) {
	if err := s.check("seal.Stack.Compliance"); err != nil {
		return 0, err
	}
	states, _ := s.tighten(1, rest)
	var sum float64
	for i, r := range s.Rings {
		if r.Kind == Spring {
			sum += states[i].Near * r.area() / r.Rate
			continue
		}
		sum += states[i].Mean * r.Height / r.Modulus
	}
	return sum, nil
}

// Shouldered returns the load of a stack in a cavity of the given depth [m] with shims of the given total height [m]:
//
//	compression = free height + shims − depth     load = compression/compliance
//
// A compression above a quarter of the free height is refused: the stack is not linear there, or the wrong one.
// Errors: *num.RangeError for that, or depth <= 0, or shims < 0.
func (s Stack) Shouldered(depth, shims float64) (Shoulder, error) {
	fn := "seal.Stack.Shouldered"
	c, err := s.Compliance()
	if err := first(err, num.CheckPositive(fn, "depth", depth, "m"), num.CheckRange(fn, "shims", shims, 0, math.Inf(1), "m")); err != nil {
		return Shoulder{}, err
	}
	free := s.FreeHeight()
	x := Shoulder{Free: free, Compression: free + shims - depth}
	if err := num.CheckRange(fn, "compression", x.Compression, math.Inf(-1), free/4, "m"); err != nil {
		return Shoulder{}, err
	}
	x.Load = max(x.Compression, 0) / c
	return x, nil
}
