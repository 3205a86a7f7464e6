package store

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strconv"

	"github.com/jackc/pgx/v5"

	"github.com/evenstroke/evenstroke/internal/record"
)

// looked is how many of the newest subjects a search looks at when all its words are common.
const looked = 2000

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

// Search finds the jobs that have all the words, the newest first; the last word may be unfinished. Capitals and accents do not
// matter (record.Words).
func (s *Store) Search(ctx context.Context, query string, limit int) (Found, error) {
	limit = max(limit, 0)
	sub, args, all, err := s.search(ctx, record.OfJob, query, newestFirst{`SELECT c.number FROM job c WHERE c.number > (SELECT max(number) FROM job) - `, `c.number`, limit})
	if err != nil || sub == "" {
		return Found{}, s.fault("searching", err)
	}
	jobs, err := s.summaries(ctx, `SELECT summary FROM job WHERE number IN (`+sub+`) ORDER BY number DESC`, s.unplanned(args)...)
	return Found{Jobs: jobs, Part: !all && len(jobs) < limit}, err
}

// newestFirst says how the newest subjects of a kind are looked at: a query that ends before how many of them, and the column of their
// number; and how many of those found are wanted, 0 for all.
type newestFirst struct {
	query, id string
	limit     int
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

// search gives the query for the numbers of the subjects of a kind that have all the words, the newest first when a limit is wanted. It
// begins with the rarest word; when every word is common it looks at the newest subjects only, and all is false. It reads them from the
// newest on, so that with a limit it stops as soon as it has enough. sub is "" when there is nothing to look for.
func (s *Store) search(ctx context.Context, k record.SubjectKind, query string, newest newestFirst) (sub string, args []any, all bool, err error) {
	words := record.Terms(query)
	if len(words) == 0 {
		return "", nil, true, nil
	}
	terms := make([]term, len(words))
	best, fewest := -1, looked+1
	for i, w := range words {
		terms[i] = term{w, i == len(words)-1}
		n, err := s.count(ctx, k, terms[i])
		if err != nil {
			return "", nil, false, err
		}
		if n < fewest {
			best, fewest = i, n
		}
	}
	args = []any{string(k)}
	id := "c.subject_id"
	switch {
	case best >= 0:
		all = true
		sub = `SELECT DISTINCT c.subject_id FROM word c WHERE c.subject = $1 AND ` + terms[best].cond("c", &args)
	case !terms[0].begin:
		best, all = 0, len(terms) == 1
		same := terms[0].cond("c", &args)
		sub = `SELECT c.subject_id FROM word c WHERE c.subject = $1 AND ` + same + fmt.Sprintf(` AND c.subject_id >=
			(SELECT c.subject_id FROM word c WHERE c.subject = $1 AND %s ORDER BY c.subject_id DESC LIMIT 1 OFFSET %d)`, same, looked-1)
	default:
		id, sub = newest.id, newest.query+strconv.Itoa(looked)
	}
	for i, t := range terms {
		if i != best {
			sub += ` AND EXISTS (SELECT 1 FROM word w WHERE w.subject = $1 AND w.subject_id = ` + id + ` AND ` + t.cond("w", &args) + `)`
		}
	}
	if newest.limit > 0 {
		args = append(args, newest.limit)
		sub = fmt.Sprintf(`%s ORDER BY %s DESC LIMIT $%d`, sub, id, len(args))
	}
	return sub, args, all, nil
}

// count counts the places of a term in the index, up to what is looked at.
func (s *Store) count(ctx context.Context, k record.SubjectKind, t term) (int, error) {
	args := []any{string(k)}
	cond := t.cond("w", &args)
	var n int
	err := s.read.QueryRowContext(ctx, fmt.Sprintf(`SELECT count(*) FROM (SELECT 1 FROM word w WHERE w.subject = $1 AND %s LIMIT %d) AS n`, cond, looked+1), s.unplanned(args)...).Scan(&n)
	return n, err
}

// unplanned keeps PostgreSQL from planning a search once for all words: how rare they are makes the plan.
func (s *Store) unplanned(args []any) []any {
	if s.engine != PostgreSQL {
		return args
	}
	return append([]any{pgx.QueryExecModeExec}, args...)
}
