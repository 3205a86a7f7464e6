package store

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/evenstroke/evenstroke/internal/record"
)

func TestZZ(t *testing.T) {
	ctx := context.Background()
	s, err := Open(ctx, "/tmp/evenstroke-load/sqlite-1000000/workshop.db", Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	var th, ts, ta time.Duration
	var n int
	for range 100 {
		q := fmt.Sprintf("ALD-%05d", rand.IntN(5000)+1)
		t0 := time.Now()
		h, err := s.hunt(ctx, record.OfJob, q)
		if err != nil {
			t.Fatal(err)
		}
		t1 := time.Now()
		sub, args := h.query(newestJobs, "c.number", 100, 25)
		err = each(ctx, s.read, func(row scanner) error { n++; var x int64; return row.Scan(&x) }, sub, args...)
		if err != nil {
			t.Fatal(err)
		}
		t2 := time.Now()
		if _, err := s.summaries(ctx, `SELECT summary FROM job WHERE number IN (`+sub+`) ORDER BY number DESC`, args...); err != nil {
			t.Fatal(err)
		}
		th += t1.Sub(t0)
		ts += t2.Sub(t1)
		ta += time.Since(t2)
	}
	fmt.Println(th/100, ts/100, ta/100, n/100)
}
