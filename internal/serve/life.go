package serve

import (
	"context"
	"errors"
	"os"
	"time"

	"github.com/evenstroke/evenstroke/internal/store"
)

// What becomes of the process is written into the log like all else, so that who reads it later knows which version kept which records
// from when to when: its start, a change of the schema, each address, its end with the reason.

// open opens the store and says so.
func (w *workshop) open(ctx context.Context) error {
	where := w.cfg.Where()
	if host := store.Unchecked(where); host != "" {
		w.log.Warn("the records go to another machine that does not prove who it is: anybody between can read and change them", "host", host, "mend", "sslmode=verify-full in the address of the database")
	}
	begin := time.Now()
	migrating := false
	var err error
	w.st, err = store.Open(ctx, where, store.Options{Now: w.now, Alone: "serve", Migrating: func(v store.Schema) {
		migrating = true
		w.log.Info("bringing the schema of the database up to date", "version", w.version, "from", v.From, "to", v.To)
	}, Ails: func(t store.Trouble) { w.log.Error("the store is in trouble", "trouble", t.Code, "err", t.Err) }})
	if err != nil {
		return err
	}
	v := w.st.Schema()
	if migrating {
		w.log.Info("the schema of the database is up to date", "from", v.From, "to", v.To, "took", since(begin))
	}
	if err := w.check(ctx); err != nil {
		return errors.Join(err, w.st.Close())
	}
	w.log.Info("started", "version", w.version, "process", os.Getpid(), "engine", w.st.Engine(), "records", w.st.Place(), "schema", v.To)
	return nil
}

// check looks for damage before anything is served. A damaged store is served all the same, so that people can read what is left of it: the
// log, /healthz and the pages of owners say so.
func (w *workshop) check(ctx context.Context) error {
	begin := time.Now()
	r, whole, err := w.st.Check(ctx, store.WholeUpTo)
	if err != nil {
		return err
	}
	w.checked(r, "whole", whole, "took", since(begin))
	w.inPart = !whole
	sums, err := w.st.PageChecksums(ctx)
	if err != nil {
		return err
	}
	if !sums && w.st.Engine() == store.PostgreSQL {
		w.log.Warn("the database server keeps no checksums of its pages: it does not notice what its disk does to them", "mend", "pg_checksums --enable while it is stopped")
	}
	return nil
}

// checkRest looks through the rest of a large file while it is served. That it could not be looked through ends nothing.
func (w *workshop) checkRest(ctx context.Context) error {
	begin := time.Now()
	r, err := w.st.CheckFile(ctx)
	if err != nil {
		if ctx.Err() == nil {
			w.log.Error("the file of the records could not be looked through", "err", err)
		}
		return nil
	}
	w.checked(r, "pages", "all", "took", since(begin))
	return nil
}

func (w *workshop) checked(r *store.Report, how ...any) {
	if r.Sound() {
		w.log.Info("the records were checked and are sound", how...)
		return
	}
	for _, p := range r.Problems {
		w.log.Error("the records are damaged", "where", p.Where, "found", p.What)
	}
	w.log.Error("the records are damaged: stop, keep the damaged file, and restore the last backup", append(how, "problems", int64(len(r.Problems))+r.More)...)
}

// listens says under which address the shop answers whom.
func (w *workshop) listens(whom, url string) { w.log.Info("listening", "for", whom, "address", url) }

// stops says why the shop stops as soon as it is asked to. The function that it gives says that it has stopped, when all is closed.
func (w *workshop) stops(ctx context.Context) (stopped func(error)) {
	asked := make(chan time.Time, 1)
	ended := context.AfterFunc(ctx, func() {
		w.log.Info("stopping", "why", why(ctx))
		asked <- time.Now()
	})
	return func(err error) {
		if ended() { // nobody asked: it failed
			w.log.Error("stopped", "why", err)
			return
		}
		begin := <-asked
		if err != nil {
			w.log.Error("stopped", "why", why(ctx), "err", err, "took", since(begin))
			return
		}
		w.log.Info("stopped", "why", why(ctx), "took", since(begin))
	}
}

// why is the reason for which a context ended: a signal by its name (whose error says that it is context.Canceled, too).
func why(ctx context.Context) string {
	if err := context.Cause(ctx); err != context.Canceled {
		return err.Error()
	}
	return "asked to"
}

func since(begin time.Time) string { return time.Since(begin).Round(time.Millisecond).String() }
