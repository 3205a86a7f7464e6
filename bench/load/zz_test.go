package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/store"
)

func TestZZSearch(t *testing.T) {
	for _, n := range []int{1000, 1000000} {
		st, err := store.Open(context.Background(), fmt.Sprintf("%s/sqlite-%d/workshop.db", os.Getenv("EVENSTROKE_LOAD"), n), store.Options{})
		if err != nil {
			t.Fatal(err)
		}
		a := newAsker(n, rand.New(rand.NewPCG(1, 2)))
		kinds := map[string]func() string{
			"number":   func() string { return fmt.Sprint(a.any()) },
			"serial":   func() string { return serial(int64(a.r.IntN(pumps)) + 1) },
			"begin":    func() string { return fmt.Sprintf("ald-0%d", a.r.IntN(50)) },
			"customer": func() string { return customerName(int64(a.r.IntN(customers)) + 1) },
			"common":   func() string { return "creeps stall" },
			"place3":   func() string { return places[a.r.IntN(len(places))][:3] },
			"wetcup":   func() string { return fmt.Sprintf("%s wet cup", places[a.r.IntN(len(places))]) },
		}
		for _, k := range []string{"number", "serial", "begin", "customer", "common", "place3", "wetcup"} {
			var found int
			ex := ""
			for range 30 {
				ex = kinds[k]()
				st.Search(context.Background(), ex, 25)
			}
			start := time.Now()
			for range 100 {
				f, err := st.Search(context.Background(), kinds[k](), 25)
				if err != nil {
					t.Fatal(err)
				}
				found += len(f.Jobs)
			}
			fmt.Printf("%8d %-10s %-30s %6.0f µs found %d\n", n, k, ex, float64(time.Since(start).Microseconds())/100, found/100)
		}
		st.Close()
	}
}
