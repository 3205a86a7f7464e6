package store

import "context"

// Stage is what a long work of the store is at.
type Stage string

// The stages of Verify, and of Restore, which verifies what it has copied.
const (
	Copying   Stage = "copying"
	Verifying Stage = "verifying"
)

type tellKey struct{}

// WithProgress has Verify and Restore tell how far they are: the stage, and the share of it that is done, 0 to 1, which never falls within a stage
// and is 1 at its end. It is called from one goroutine, a few hundred times at most for 100,000 jobs, and should return soon.
func WithProgress(ctx context.Context, tell func(Stage, float64)) context.Context {
	return context.WithValue(ctx, tellKey{}, tell)
}

func tell(ctx context.Context, at Stage, share float64) {
	if fn, ok := ctx.Value(tellKey{}).(func(Stage, float64)); ok {
		fn(at, share)
	}
}
