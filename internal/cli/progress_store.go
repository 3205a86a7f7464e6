//go:build !small

package cli

import (
	"context"

	"github.com/evenstroke/evenstroke/internal/store"
)

// storeProgress has a work of the store show how far it is, until end.
func (a *app) storeProgress(ctx context.Context) (told context.Context, end func()) {
	p := &progress{a: a}
	return store.WithProgress(ctx, func(at store.Stage, share float64) { p.show(string(at), share) }), p.clear
}
