package store

import (
	"context"
	"fmt"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Filter says which jobs to list; a field that is not set leaves all.
type Filter struct {
	Open, Closed   bool // only jobs that are in the shop, or only closed ones
	Stage          record.Stage
	Pump, Customer int64
	Words          string // as in Search; common words are looked for in the newest jobs only
}

// List lists the jobs that a filter leaves by number, the newest first, those before a number; before 0 starts at the newest. Fewer than the
// limit are all there are.
func (s *Store) List(ctx context.Context, f Filter, before int64, limit int) ([]record.Summary, error) {
	q := &jobQuery{}
	if f.Words != "" {
		h, err := s.hunt(ctx, record.OfJob, f.Words)
		if err != nil || h == nil {
			return nil, s.fault("searching", err)
		}
		sub, args := h.query(newestJobs, 0, 0)
		q.args = args
		q.conds = append(q.conds, `number IN (`+sub+`)`)
	}
	if !q.filter(f) {
		return nil, nil
	}
	q.and("number", upTo(before), "<", "+ 0")
	args := append(q.args, max(limit, 0))
	if f.Words != "" {
		args = s.unplanned(args)
	}
	return s.summaries(ctx, fmt.Sprintf(`SELECT summary FROM job WHERE %s ORDER BY number DESC LIMIT $%d`, strings.Join(q.conds, " AND "), len(q.args)+1), args...)
}

// jobQuery collects conditions on rows of jobs.
type jobQuery struct {
	conds []string
	args  []any
}

// and adds a condition on a column. The first is read through an index; of the rest neither engine may choose another that leaves more:
// nothing is added to the column by them, which takes its index out of their choice.
func (q *jobQuery) and(column string, v any, op, nothing string) {
	if len(q.conds) > 0 && !(column == "number" && !strings.HasPrefix(q.conds[0], "number")) {
		column = "(" + column + " " + nothing + ")"
	}
	q.args = append(q.args, v)
	q.conds = append(q.conds, fmt.Sprintf("%s %s $%d", column, op, len(q.args)))
}

// filter adds the conditions of a filter, the one that leaves the fewest first; false says that no job can fit.
func (q *jobQuery) filter(f Filter) bool {
	closed := f.Stage == record.StageClosed
	if f.Open && f.Closed || f.Stage != "" && (f.Open && closed || f.Closed && !closed) {
		return false
	}
	if f.Pump != 0 {
		q.and("pump", f.Pump, "=", "+ 0")
	}
	if f.Customer != 0 {
		q.and("customer", f.Customer, "=", "+ 0")
	}
	switch {
	case f.Stage != "": // says whether it is open
		q.and("stage", string(f.Stage), "=", "|| ''")
	case f.Open || f.Closed:
		q.and("is_open", flag(f.Open), "=", "+ 0")
	}
	return true
}
