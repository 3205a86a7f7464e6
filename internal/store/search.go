package store

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5"

	"github.com/evenstroke/evenstroke/internal/record"
)

// looked is how many of the newest subjects a search looks at when all its words are common.
const looked = 1000

// glanced is how many of the newest subjects of the rarest word are looked at before all of them are.
const glanced = 100

// saveWords makes a subject found under its present words, and no longer under the old ones.
func saveWords(ctx context.Context, tx *sql.Tx, sub record.Subject, old, now []string) error {
	for _, w := range old {
		if slices.Contains(now, w) {
			continue
		}
		if _, err := tx.ExecContext(ctx, `DELETE FROM word WHERE subject = $1 AND word = $2 AND subject_id = $3`, string(sub.Kind), w, sub.ID); err != nil {
			return err
		}
	}
	for _, w := range now {
		if slices.Contains(old, w) {
			continue
		}
		if _, err := tx.ExecContext(ctx, `INSERT INTO word (subject, word, subject_id) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING`, string(sub.Kind), w, sub.ID); err != nil {
			return err
		}
	}
	return nil
}

// Found is what a search gives.
type Found struct {
	Jobs []record.Summary
	Part bool // only the newest jobs were looked at; an older one may be missing
}

// newestJobs is the query for the numbers of the newest jobs that ends before how many.
const newestJobs = `SELECT c.number FROM job c WHERE c.number > (SELECT max(number) FROM job) - `

// Search finds the jobs that have all the words, the newest first; the last word may be unfinished. Capitals and accents do not
// matter (record.Words).
func (s *Store) Search(ctx context.Context, query string, limit int) (Found, error) {
	limit = max(limit, 0)
	h, err := s.hunt(ctx, record.OfJob, query)
	if err != nil || h == nil {
		return Found{}, s.fault("searching", err)
	}
	for _, first := range []int{glanced, 0} { // of the rarest word only the newest first: they are often enough
		sub, args := h.query(newestJobs, "c.number", first, limit)
		jobs, err := s.summaries(ctx, `SELECT summary FROM job WHERE number IN (`+sub+`) ORDER BY number DESC`, s.unplanned(args)...)
		if err != nil || first == 0 || len(jobs) == limit || h.best < 0 || h.fewest <= first {
			return Found{Jobs: jobs, Part: !h.all() && len(jobs) < limit}, err
		}
	}
	return Found{}, nil
}

// term is a word asked for, or the beginning of one.
type term struct {
	word  string
	begin bool
}

// cond says in SQL that the word of a row of table t fits a term, with its arguments added to args.
func (t term) cond(table string, args *[]any) string {
	*args = append(*args, t.word)
	n := len(*args)
	if !t.begin {
		return fmt.Sprintf("%s.word = $%d", table, n)
	}
	*args = append(*args, t.word+"\U0010FFFF") // no word has this character
	return fmt.Sprintf("%[1]s.word >= $%[2]d AND %[1]s.word < $%[3]d", table, n, n+1)
}

// hunt is what is looked for, and with which word to begin.
type hunt struct {
	kind   record.SubjectKind
	terms  []term
	best   int // the rarest term; -1 when all are common
	fewest int // how many places it has
}

// hunt finds out how rare the words of a query are; nil when there are none.
func (s *Store) hunt(ctx context.Context, k record.SubjectKind, query string) (*hunt, error) {
	words := record.Terms(query)
	if len(words) == 0 {
		return nil, nil
	}
	h := &hunt{kind: k, best: -1, fewest: looked + 1}
	for i, w := range words {
		h.terms = append(h.terms, term{w, i == len(words)-1})
	}
	places, err := s.places(ctx, h)
	for i, n := range places {
		if n < h.fewest {
			h.best, h.fewest = i, n
		}
	}
	return h, err
}

// all says whether the query looks at all subjects, not only at the newest.
func (h *hunt) all() bool { return h.best >= 0 || len(h.terms) == 1 && !h.terms[0].begin }

// query gives the query for the numbers of the subjects that have all the words, with a limit the newest first, 0 for all. It begins
// with the rarest word; of its subjects it looks at the newest only, as many as first says, 0 for all. When every word is common it looks at the
// newest subjects only: those of the first word, or any, for which newest is a query that ends before how many, and id the column of
// their number. It reads from the newest on, so that with a limit it stops as soon as it has enough.
func (h *hunt) query(newest, id string, first, limit int) (sub string, args []any) {
	args = []any{string(h.kind)}
	with := h.best
	switch {
	case h.best < 0 && !h.terms[0].begin:
		with, first = 0, looked
	case h.best < 0:
		sub = newest + strconv.Itoa(looked)
	}
	order := id
	if with >= 0 {
		id, order = "c.subject_id", "found"
		value := id
		if h.terms[with].begin { // the plus keeps SQLite from reading all words of all subjects in the order of their numbers
			value = "+" + id
		}
		has := `SELECT DISTINCT ` + value + ` AS found FROM word c WHERE c.subject = $1 AND ` + h.terms[with].cond("c", &args)
		sub = has
		if first > 0 && (h.best < 0 || h.fewest > first) {
			sub += fmt.Sprintf(` AND %s >= (%s ORDER BY found DESC LIMIT 1 OFFSET %d)`, value, has, first-1)
		}
	}
	for i, t := range h.terms {
		if i != with {
			sub += ` AND EXISTS (SELECT 1 FROM word w WHERE w.subject = $1 AND w.subject_id = ` + id + ` AND ` + t.cond("w", &args) + `)`
		}
	}
	if limit > 0 {
		args = append(args, limit)
		sub = fmt.Sprintf(`%s ORDER BY %s DESC LIMIT $%d`, sub, order, len(args))
	}
	return sub, args
}

// places counts the places of each term in the index, up to what is looked at.
func (s *Store) places(ctx context.Context, h *hunt) ([]int, error) {
	args := []any{string(h.kind)}
	out, to, counts := make([]int, len(h.terms)), make([]any, len(h.terms)), make([]string, len(h.terms))
	for i, t := range h.terms {
		to[i] = &out[i]
		counts[i] = fmt.Sprintf(`(SELECT count(*) FROM (SELECT 1 FROM word w WHERE w.subject = $1 AND %s LIMIT %d) AS n)`, t.cond("w", &args), looked+1)
	}
	err := s.read.QueryRowContext(ctx, `SELECT `+strings.Join(counts, ", "), s.unplanned(args)...).Scan(to...)
	return out, err
}

// unplanned keeps PostgreSQL from planning a search once for all words: how rare they are makes the plan.
func (s *Store) unplanned(args []any) []any {
	if s.engine != PostgreSQL {
		return args
	}
	return append([]any{pgx.QueryExecModeExec}, args...)
}
