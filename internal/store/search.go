package store

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"github.com/evenstroke/evenstroke/internal/record"
)

// looked is about how many of the newest subjects a search looks at when all its words are common.
const looked = 1000

// rare is in how many subjects a word may be, at most, for a search to look at all of them.
const rare = 2000

// glanced is how many of the newest subjects of a beginning of words are looked at before all of them are.
const glanced = 100

// begun is how many words may begin as a single one that is asked for, at most, for a search to look at the newest subjects of each.
const begun = 32

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
const newestJobs = `SELECT c.number AS found FROM (SELECT number, number AS subject_id FROM job) AS c WHERE c.number > (SELECT max(number) FROM job) - `

// Search finds the jobs that have all the words, the newest first; the last word may be unfinished. Capitals and accents do not
// matter (record.Words).
func (s *Store) Search(ctx context.Context, words string, limit int) (Found, error) {
	limit = max(limit, 0)
	h, err := s.hunt(ctx, record.OfJob, words)
	if err != nil || h == nil {
		return Found{}, s.fault("searching", err)
	}
	const query = `SELECT (SELECT summary FROM job WHERE number = f.found) FROM (%s) AS f ORDER BY f.found DESC`
	if few, err := s.fewBegin(ctx, h); err != nil || few {
		if err != nil {
			return Found{}, s.fault("searching", err)
		}
		sub, args := h.ofEach(limit)
		jobs, err := s.summaries(ctx, fmt.Sprintf(query, sub), args...)
		return Found{Jobs: jobs}, err
	}
	for _, first := range h.stages() {
		sub, args := h.query(newestJobs, first, limit)
		jobs, err := s.summaries(ctx, fmt.Sprintf(query, sub), args...)
		if err != nil || first == 0 || len(jobs) == limit {
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

// cond says in SQL that a word fits a term, with its arguments added to args.
func (t term) cond(column string, args *[]any) string {
	*args = append(*args, t.word)
	n := len(*args)
	if !t.begin {
		return fmt.Sprintf("%s = $%d", column, n)
	}
	*args = append(*args, t.word+"\U0010FFFF") // no word has this character
	return fmt.Sprintf("%[1]s >= $%[2]d AND %[1]s < $%[3]d", column, n, n+1)
}

// spread says in how many subjects a word is, or words with a beginning, up to one more than rare. Of a word in more than looked it also
// says in which: in looked of those from reach on. The further back that is, the rarer the word.
type spread struct {
	places int
	reach  int64
}

func (p spread) rare() bool { return p.places <= rare }

// hunt is what is looked for, and with which word to begin.
type hunt struct {
	kind   record.SubjectKind
	terms  []term // the rarest first
	spread []spread
}

// hunt finds out how rare the words of a query are; nil when there are none.
func (s *Store) hunt(ctx context.Context, k record.SubjectKind, query string) (*hunt, error) {
	words := record.Terms(query)
	if len(words) == 0 {
		return nil, nil
	}
	h := &hunt{kind: k, terms: make([]term, len(words))}
	for i, w := range words {
		h.terms[i] = term{w, i == len(words)-1}
	}
	var err error
	if h.spread, err = s.spreads(ctx, h.kind, h.terms); err != nil {
		return nil, err
	}
	order := make([]int, len(words))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(h.spread[a].places, h.spread[b].places), cmp.Compare(h.spread[a].reach, h.spread[b].reach))
	})
	terms, spreads := h.terms, h.spread
	h.terms, h.spread = nil, nil
	for _, i := range order {
		h.terms, h.spread = append(h.terms, terms[i]), append(h.spread, spreads[i])
	}
	return h, nil
}

// all says whether the query looks at all subjects, not only at the newest.
func (h *hunt) all() bool { return h.spread[0].rare() || len(h.terms) == 1 && !h.terms[0].begin }

// stages are how many of the newest subjects of the first term are looked at, one after the other until enough are found, 0 for all. Those
// of a whole word are read from the newest on until there are enough; those of a beginning are read all and then put in order.
func (h *hunt) stages() []int {
	if h.terms[0].begin && h.spread[0].rare() && len(h.terms) > 1 && h.spread[0].places > glanced {
		return []int{glanced, 0}
	}
	return []int{0}
}

// query gives the query for the numbers, as found, of the subjects that have all the words, with a limit the newest first, 0 for all. It
// begins with the rarest word; of a beginning of words it looks at as many of the newest subjects as first says, 0 for all. When the rarest
// word is common it looks at its newest subjects, and when that is but the beginning of a word at the newest of all: newest is a query for
// these, of columns found and c.subject_id, that ends before how many.
//
// Each engine has to do it as it is written here, also with a plan that PostgreSQL made once for all words: one of another order would
// read all places of a common word.
func (h *hunt) query(newest string, first, limit int) (sub string, args []any) {
	args = []any{string(h.kind)}
	t, at, rest := h.terms[0], h.spread[0], h.terms[1:]
	switch {
	case t.begin && !at.rare():
		sub, rest = newest+strconv.Itoa(looked), h.terms
	case t.begin: // the plus keeps SQLite from reading all words of all subjects in the order of their numbers
		if first == 0 {
			first = rare
		}
		sub = fmt.Sprintf(`SELECT c.subject_id AS found FROM (SELECT DISTINCT +subject_id AS subject_id FROM word WHERE subject = $1 AND %s ORDER BY 1 DESC LIMIT %d) AS c WHERE 1 = 1`, t.cond("word", &args), first)
	default:
		sub = `SELECT c.subject_id AS found FROM word c WHERE c.subject = $1 AND ` + t.cond("c.word", &args)
		if !at.rare() && len(h.terms) > 1 {
			args = append(args, at.reach)
			sub += fmt.Sprintf(` AND c.subject_id >= $%d`, len(args))
		}
	}
	for _, t := range rest {
		sub += ` AND (SELECT 1 FROM word w WHERE w.subject = $1 AND w.subject_id = c.subject_id AND ` + t.cond("w.word", &args) + ` LIMIT 1) = 1`
	}
	if limit > 0 {
		args = append(args, limit)
		sub = fmt.Sprintf(`%s ORDER BY found DESC LIMIT $%d`, sub, len(args))
	}
	return sub, args
}

// beginnings is the query for the words that begin as the only term, up to one more than begun: from each to the next, without reading
// their places.
func (h *hunt) beginnings() (sub string, args []any) {
	t := h.terms[0]
	args = []any{string(h.kind), t.word, t.word + "\U0010FFFF"}
	return fmt.Sprintf(`WITH RECURSIVE told(word) AS (
			SELECT (SELECT w.word FROM word w WHERE w.subject = $1 AND w.word >= $2 AND w.word < $3 ORDER BY w.word LIMIT 1)
			UNION ALL SELECT (SELECT w.word FROM word w WHERE w.subject = $1 AND w.word > told.word AND w.word < $3 ORDER BY w.word LIMIT 1) FROM told WHERE told.word IS NOT NULL)
		SELECT word FROM told LIMIT %d`, begun+1), args
}

// fewBegin says whether all that is asked for is a beginning that is common, but of few words.
func (s *Store) fewBegin(ctx context.Context, h *hunt) (bool, error) {
	if len(h.terms) > 1 || !h.terms[0].begin || h.spread[0].rare() {
		return false, nil
	}
	sub, args := h.beginnings()
	var n int
	err := s.read.QueryRowContext(ctx, `SELECT count(word) FROM (`+sub+`) AS told`, args...).Scan(&n)
	return n <= begun, err
}

// ofEach gives the query for the newest subjects of all words that begin as the only term, by the newest of each.
func (h *hunt) ofEach(limit int) (sub string, args []any) {
	sub, args = h.beginnings()
	args = append(args, limit, max(limit, 1)-1)
	return `SELECT DISTINCT p.subject_id AS found FROM (` + sub + `) AS t CROSS JOIN word p WHERE p.subject = $1 AND p.word = t.word
		AND p.subject_id >= coalesce((SELECT b.subject_id FROM word b WHERE b.subject = $1 AND b.word = t.word ORDER BY b.subject_id DESC LIMIT 1 OFFSET $5), 0)
		ORDER BY found DESC LIMIT $4`, args
}

// sought is a term among the subjects of a kind.
type sought struct {
	kind record.SubjectKind
	term
}

// seenFor is for how long a common word is taken to be as common as it was; many kept words make a search look a little further back.
const seenFor = 10 * time.Minute

// commonKept is half of how many common words are remembered.
const commonKept = 2000

// spreads looks up how rare terms are. Those that were common a while ago still are: to count their places takes as long as a search.
func (s *Store) spreads(ctx context.Context, k record.SubjectKind, terms []term) ([]spread, error) {
	out := make([]spread, len(terms))
	args := []any{string(k)}
	var asked []string
	var to []any
	for i, t := range terms {
		if known, ok := s.common.Peek(sought{k, t}); ok && time.Since(known.at) < seenFor {
			out[i] = known.v
			continue
		}
		cond := `FROM word w WHERE w.subject = $1 AND ` + t.cond("w.word", &args)
		asked = append(asked, fmt.Sprintf(`(SELECT count(*) FROM (SELECT 1 %s LIMIT %d) AS n)`, cond, rare+1))
		to = append(to, &out[i].places)
		if !t.begin {
			asked = append(asked, fmt.Sprintf(`coalesce((SELECT w.subject_id %s ORDER BY w.subject_id DESC LIMIT 1 OFFSET %d), 0)`, cond, looked-1))
			to = append(to, &out[i].reach)
		}
	}
	if len(asked) == 0 {
		return out, nil
	}
	if err := s.read.QueryRowContext(ctx, `SELECT `+strings.Join(asked, ", "), args...).Scan(to...); err != nil {
		return nil, err
	}
	for i, t := range terms {
		if !out[i].rare() {
			if t.begin { // not known: the last to begin with
				out[i].reach = math.MaxInt64
			}
			s.common.Put(sought{k, t}, glimpse[spread]{v: out[i], at: time.Now()})
		}
	}
	return out, nil
}

// unplanned keeps PostgreSQL from planning a list that is searched once for all words: how rare they are makes the plan.
func (s *Store) unplanned(args []any) []any {
	if s.engine != PostgreSQL {
		return args
	}
	return append([]any{pgx.QueryExecModeExec}, args...)
}
