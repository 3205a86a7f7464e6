package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"runtime/debug"

	"github.com/evenstroke/evenstroke/internal/record"
)

// queue is the one writer of an SQLite file. A commit waits for the disk, so writers that wait for each other are taken together:
// each in a savepoint of one transaction, one commit for all. Nobody is answered before that commit. If it fails as a whole, each is
// run again in a transaction of its own, so that each gets its own answer.
type queue struct {
	db   *sql.DB
	in   chan *request
	quit chan struct{} // closed by close
	done chan struct{} // closed by run
}

type request struct {
	ctx  context.Context
	fn   work
	err  error
	done chan struct{}
}

// together is how many writers are taken together at most.
const together = 64

func newQueue(db *sql.DB) *queue {
	q := &queue{db: db, in: make(chan *request), quit: make(chan struct{}), done: make(chan struct{})}
	go q.run()
	return q
}

// do waits for its turn, not longer than ctx; once begun it is brought to its end, so that the answer is never a guess.
func (q *queue) do(ctx context.Context, fn work) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	r := &request{ctx: context.WithoutCancel(ctx), fn: unbroken(fn), done: make(chan struct{})}
	select {
	case q.in <- r:
		<-r.done
		return r.err
	case <-ctx.Done():
		return ctx.Err()
	case <-q.quit:
		return record.Faultf(record.Away, "the database", "closed", "an open database", "")
	}
}

// unbroken makes an error of a panic, which would end the program here and not only the call that caused it.
func unbroken(fn work) work {
	return func(ctx context.Context, tx *sql.Tx) (err error) {
		defer func() {
			if p := recover(); p != nil {
				err = fmt.Errorf("store: %v\n%s", p, debug.Stack())
			}
		}()
		return fn(ctx, tx)
	}
}

func (q *queue) run() {
	defer close(q.done)
	for {
		select {
		case r := <-q.in:
			q.serve(q.waiting(r))
		case <-q.quit:
			return
		}
	}
}

// waiting takes those who wait behind the first.
func (q *queue) waiting(first *request) []*request {
	out := []*request{first}
	for len(out) < together {
		select {
		case r := <-q.in:
			out = append(out, r)
		default:
			return out
		}
	}
	return out
}

func (q *queue) serve(group []*request) {
	if len(group) == 1 || q.all(group) != nil {
		for _, r := range group {
			r.err = once(r.ctx, q.db, r.fn)
		}
	}
	for _, r := range group {
		close(r.done)
	}
}

// all runs a group in one transaction. An error means that nothing of the group is kept.
func (q *queue) all(group []*request) error {
	ctx := context.Background()
	return once(ctx, q.db, func(ctx context.Context, tx *sql.Tx) error {
		for _, r := range group {
			if err := q.one(ctx, tx, r); err != nil {
				return err
			}
		}
		return nil
	})
}

// one runs one of a group in a savepoint; what it answers is in r.err. An error of the database fails the group.
func (q *queue) one(ctx context.Context, tx *sql.Tx, r *request) error {
	if _, err := tx.ExecContext(ctx, `SAVEPOINT one`); err != nil {
		return err
	}
	r.err = r.fn(r.ctx, tx)
	var f *record.Fault
	switch {
	case r.err == nil:
	case errors.As(r.err, &f):
		if _, err := tx.ExecContext(ctx, `ROLLBACK TO one`); err != nil {
			return err
		}
	default:
		return r.err
	}
	_, err := tx.ExecContext(ctx, `RELEASE one`)
	return err
}

// close ends the queue after the group it is at.
func (q *queue) close() {
	close(q.quit)
	<-q.done
}
