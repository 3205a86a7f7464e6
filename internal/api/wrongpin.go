package api

import (
	"context"
	"time"

	"github.com/evenstroke/evenstroke/internal/gate"
)

// WrongPINs are wrong PINs in the name of one person at one device.
type WrongPINs struct {
	Person int64     `json:"person"`
	Device int64     `json:"device"`
	Count  int       `json:"count"`
	First  time.Time `json:"first"`
	Last   time.Time `json:"last"`
}

// WrongPINsOut lists them, the last first.
type WrongPINsOut struct {
	Body struct {
		Wrong []WrongPINs `json:"wrong_pins" nullable:"false"`
	}
}

func (a *API) wrongPINs(ctx context.Context, _ *struct{}) (*WrongPINsOut, error) {
	got, err := gate.WrongLately(ctx, a.st, at(ctx).who, a.sh.Now())
	if err != nil {
		return nil, err
	}
	out := &WrongPINsOut{}
	out.Body.Wrong = []WrongPINs{}
	for _, w := range got {
		out.Body.Wrong = append(out.Body.Wrong, WrongPINs(w))
	}
	return out, nil
}
