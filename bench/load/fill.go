package main

import (
	"context"
	"crypto/rand"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// version is what the invented verdicts say the program was.
const version = "load"

// fill brings a store to n jobs. One that has them is left as it is, with what earlier runs wrote; a fill that was broken off goes on.
func fill(ctx context.Context, st *store.Store, n int, out io.Writer) error {
	newest, err := st.Jobs(ctx, 0, 1)
	if err != nil {
		return err
	}
	have := 0
	if len(newest) > 0 {
		have = int(newest[0].Number)
	}
	switch {
	case have == n:
		return nil
	case have > n:
		return fmt.Errorf("the store has %d jobs, expected at most %d: delete it", have, n)
	}
	begin := time.Now()
	ms, err := models(version)
	if err != nil {
		return err
	}
	if have == 0 {
		if err := catalogue(ctx, st); err != nil {
			return err
		}
	}
	f := &factory{n: n, models: ms}
	if err := st.Bulk(ctx, n-have, func(i int) store.BulkJob { return f.job(have + i) }); err != nil {
		return err
	}
	fmt.Fprintf(out, "filled with %d jobs in %s\n", n-have, time.Since(begin).Round(time.Second))
	return nil
}

// catalogue keeps the shop, its people, devices, customers and pumps.
func catalogue(ctx context.Context, st *store.Store) error {
	err := keep(ctx, st, 1, func(int64) record.Item {
		return &record.Shop{Name: "Aldersay ferry yard, coatings", Currency: "EUR", Units: "metric", Lang: "en", Paper: "A4", Demo: true}
	})
	return errors.Join(err,
		keep(ctx, st, people, func(i int64) record.Item {
			roles := []record.Role{record.Owner, record.Office, record.Technician, record.Technician}
			p := &record.Person{Name: fmt.Sprintf("Person %d", i), Initials: fmt.Sprintf("P%d", i), Role: roles[i%4]}
			if i%5 == 0 {
				p.Units = "imperial"
			}
			return p
		}),
		keep(ctx, st, tablets, func(i int64) record.Item { return &record.Device{Name: fmt.Sprintf("tablet %d", i)} }),
		keep(ctx, st, customers, func(i int64) record.Item { return &record.Customer{Name: customerName(i)} }),
		keep(ctx, st, pumps, func(i int64) record.Item {
			return &record.Pump{Serial: serial(i), Model: "orrin-30", Customer: (i-1)%customers + 1}
		}))
}

// keep keeps n values of the catalogue. Many at once, because each waits for the disk; so their numbers are not those of their order,
// which matters to nothing here.
func keep(ctx context.Context, st *store.Store, n int64, item func(i int64) record.Item) error {
	var wg sync.WaitGroup
	next := make(chan int64)
	errs := make(chan error, 16)
	for range cap(errs) {
		wg.Go(func() {
			var first error
			for i := range next {
				if err := keepOne(ctx, st, item(i), i); err != nil && first == nil {
					first = err
				}
			}
			errs <- first
		})
	}
	for i := int64(1); i <= n; i++ {
		next <- i
	}
	close(next)
	wg.Wait()
	close(errs)
	var all []error
	for err := range errs {
		all = append(all, err)
	}
	return errors.Join(all...)
}

func keepOne(ctx context.Context, st *store.Store, v record.Item, i int64) error {
	b, err := record.Keep(v)
	if err != nil {
		return err
	}
	_, err = st.Keep(ctx, store.AnySeq, record.Draft{Subject: record.Subject{Kind: kindOf(v)}, At: began, By: 1, Key: fmt.Sprintf("load-%d", i), Body: b})
	return err
}

func kindOf(v record.Item) record.SubjectKind {
	switch v.(type) {
	case *record.Shop:
		return record.OfShop
	case *record.Person:
		return record.OfPerson
	case *record.Device:
		return record.OfDevice
	case *record.Customer:
		return record.OfCustomer
	}
	return record.OfPump
}

// pass is what a tablet shows at the door.
type pass struct{ device, session string }

// signIn lets n tablets in and signs a person in at each, as the gate does after a PIN was checked.
func signIn(ctx context.Context, st *store.Store, n int) ([]pass, error) {
	out := make([]pass, n)
	for i := range out {
		out[i] = pass{secret(), secret()}
		device := int64(i%tablets) + 1
		if err := st.StartDevice(ctx, out[i].device, device); err != nil {
			return nil, err
		}
		if err := st.StartSession(ctx, out[i].session, store.Session{Person: int64(i%people) + 1, Device: device, Expires: time.Now().Add(time.Hour)}); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func secret() string {
	var b [32]byte
	rand.Read(b[:]) // never fails
	return base64.RawURLEncoding.EncodeToString(b[:])
}
