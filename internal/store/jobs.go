package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
)

// NewJob books a pump in: it numbers the job and keeps its first entry. uid is the same in every shop that imports the job.
// The same key again gives the same job.
func (s *Store) NewJob(ctx context.Context, uid string, draft record.Draft) (Receipt, error) {
	body, ok := draft.Body.(*record.Booked)
	if !ok {
		return Receipt{}, record.Faultf(record.Invalid, "body", "another kind of entry", "a booking", "")
	}
	if draft.Corrects != 0 {
		return Receipt{}, record.Faultf(record.Invalid, "corrects", fmt.Sprint(draft.Corrects), "a first entry", "")
	}
	if uid == "" || plain("uid", uid) != nil {
		return Receipt{}, record.Faultf(record.Invalid, "uid", "none, or one that cannot be kept", "an identifier, as a UUID", "")
	}
	draft.Subject = record.JobSubject(0)
	e, err := draft.Entry()
	if err != nil {
		return Receipt{}, err
	}
	var out Receipt
	defer s.lanes.write(record.StageBooked) // also after an error: it may have been kept all the same
	err = s.transact(ctx, "booking in", func(ctx context.Context, tx *sql.Tx) error {
		out, err = s.newJob(ctx, tx, uid, e, body)
		return err
	})
	return out, err
}

func (s *Store) newJob(ctx context.Context, tx *sql.Tx, uid string, e record.Entry, body *record.Booked) (Receipt, error) {
	old, err := jobByKey(ctx, tx, e)
	if err != nil {
		return Receipt{}, err
	}
	if old != nil {
		return Receipt{Entry: *old, Duplicate: true}, nil
	}
	var same int64
	switch err := tx.QueryRowContext(ctx, `SELECT number FROM job WHERE uid = $1`, uid).Scan(&same); {
	case err == nil:
		// the same booking of another tablet may have been committed between the two questions
		if old, err := jobByKey(ctx, tx, e); err != nil || old != nil && old.Subject.ID == same {
			if err != nil {
				return Receipt{}, err
			}
			return Receipt{Entry: *old, Duplicate: true}, nil
		}
		return Receipt{}, record.Faultf(record.Conflict, "uid", fmt.Sprintf("job %d, which has it", same), "a job that is not here yet", "open that job")
	case !errors.Is(err, sql.ErrNoRows):
		return Receipt{}, err
	}
	if e.Subject.ID, err = next(ctx, tx, string(record.OfJob)); err != nil {
		return Receipt{}, err
	}
	sum := &record.Summary{Number: e.Subject.ID, UID: uid}
	e.Seq, e.Stored = 1, micro(s.stamp(0))
	e.Seal(record.Digest{})
	if err := s.insert(ctx, tx, &e); err != nil {
		return Receipt{}, err
	}
	sum.Apply(&e, body)
	if err := insertJob(ctx, tx, sum, e.Key); err != nil {
		return Receipt{}, err
	}
	return Receipt{Entry: e}, saveWords(ctx, tx, e.Subject, nil, sum.Words())
}

func jobByKey(ctx context.Context, tx *sql.Tx, e record.Entry) (*record.Entry, error) {
	var number int64
	err := tx.QueryRowContext(ctx, `SELECT number FROM job WHERE key = $1`, e.Key).Scan(&number)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	e.Subject.ID = number
	return byKey(ctx, tx, e)
}

func flag(b bool) int64 {
	if b {
		return 1
	}
	return 0
}

const jobColumns = `number, uid, key, customer, pump, stage, is_open, opened, changed, seq, hash, summary`

// jobRow is the row of a job in the order of jobColumns.
func jobRow(sum *record.Summary, key string) ([]any, error) {
	text, err := json.Marshal(sum)
	if err != nil {
		return nil, err
	}
	return []any{sum.Number, sum.UID, key, sum.Customer, sum.Pump, string(sum.Stage), flag(sum.Open()), sum.Opened.UnixMicro(),
		sum.Changed.UnixMicro(), sum.Seq, sum.Hash[:], string(text)}, nil
}

func insertJob(ctx context.Context, tx *sql.Tx, sum *record.Summary, key string) error {
	row, err := jobRow(sum, key)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO job (`+jobColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)`, row...)
	return err
}

func (s *Store) saveJob(ctx context.Context, tx *sql.Tx, sum *record.Summary) error {
	text, err := json.Marshal(sum)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `UPDATE job SET customer = $2, pump = $3, stage = $4, is_open = $5, opened = $6, changed = $7, seq = $8, hash = $9, summary = $10
		WHERE number = $1`, sum.Number, sum.Customer, sum.Pump, string(sum.Stage), flag(sum.Open()), sum.Opened.UnixMicro(), sum.Changed.UnixMicro(),
		sum.Seq, sum.Hash[:], string(text))
	return err
}

func noJob(number int64) error {
	return record.Faultf(record.NotFound, fmt.Sprintf("job %d", number), "no such job", "the number on the tag", "search by serial or customer")
}

func (s *Store) lockJob(ctx context.Context, tx *sql.Tx, number int64) (*record.Summary, error) {
	return scanSummary(tx.QueryRowContext(ctx, `SELECT summary FROM job WHERE number = $1`+s.forUpdate(), number), number)
}

func scanSummary(row scanner, number int64) (*record.Summary, error) {
	var text string
	err := row.Scan(&text)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, noJob(number)
	}
	if err != nil {
		return nil, err
	}
	return readSummary(text, number)
}

func readSummary(text string, number int64) (*record.Summary, error) {
	sum := &record.Summary{}
	if err := json.Unmarshal([]byte(text), sum); err != nil {
		return nil, &record.Fault{Code: record.Damaged, Where: fmt.Sprintf("job %d", number), Found: "a summary that cannot be read", Mend: "restore a backup", Err: err}
	}
	return sum, nil
}

// Summary reads the summary of a job.
func (s *Store) Summary(ctx context.Context, number int64) (*record.Summary, error) {
	var text string
	err := s.read.QueryRowContext(ctx, `SELECT summary FROM job WHERE number = $1`, number).Scan(&text)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, noJob(number)
	}
	if err != nil {
		return nil, s.fault("reading a job", err)
	}
	sum, err := s.decode(text, number)
	return &sum, s.fault("reading a job", err)
}

// JobByUID finds a job by the identifier that it keeps in every shop; nil when there is none.
func (s *Store) JobByUID(ctx context.Context, uid string) (*record.Summary, error) {
	if plain("uid", uid) != nil {
		return nil, nil
	}
	sum, err := scanSummary(s.read.QueryRowContext(ctx, `SELECT summary FROM job WHERE uid = $1`, uid), 0)
	if record.CodeOf(err) == record.NotFound {
		return nil, nil
	}
	return sum, s.fault("reading a job", err)
}

// Job reads the present state of a job.
func (s *Store) Job(ctx context.Context, number int64) (*record.Job, error) {
	sum, err := s.Summary(ctx, number)
	if err != nil {
		return nil, err
	}
	return s.JobSince(ctx, sum, nil)
}

// JobSince is Job for the job of a summary, of which an earlier state may be known: then only what was written after it is read. What was
// written after the summary is in it.
func (s *Store) JobSince(ctx context.Context, sum *record.Summary, known *record.Job) (*record.Job, error) {
	if known != nil {
		more, err := s.Entries(ctx, record.JobSubject(sum.Number), known.Seq, 0)
		if err != nil {
			return nil, err
		}
		job, err := known.And(more)
		if err == nil && (job.Hash == sum.Hash || job.Seq > sum.Seq) {
			return job, nil
		} // what is known is of another database: a backup was put in its place
	}
	entries, err := s.Entries(ctx, record.JobSubject(sum.Number), 0, 0)
	if err != nil {
		return nil, err
	}
	if len(entries) == 0 {
		return nil, noJob(sum.Number)
	}
	job, err := record.Fold(entries)
	if err != nil {
		return nil, err
	}
	job.UID = sum.UID
	return job, nil
}

func (s *Store) summaries(ctx context.Context, query string, args ...any) ([]record.Summary, error) {
	var out []record.Summary
	err := each(ctx, s.read, func(row scanner) error {
		sum, err := s.listed(row)
		if err == nil {
			out = append(out, sum)
		}
		return err
	}, query, args...)
	if err != nil {
		return nil, s.fault("reading jobs", err)
	}
	return out, nil
}

// listed reads a summary of a list.
func (s *Store) listed(row scanner, more ...any) (record.Summary, error) {
	var text string
	if err := row.Scan(append([]any{&text}, more...)...); err != nil {
		return record.Summary{}, err
	}
	return s.decode(text, 0)
}

// decode reads the text of a summary. The board reads some three hundred, most of them the same as the last time: their text is looked at
// again, not decoded again. number is that of the job, 0 when it is not known.
func (s *Store) decode(text string, number int64) (record.Summary, error) {
	return s.decoded.Get(text, func() (record.Summary, error) {
		sum, err := readSummary(text, number)
		if err != nil {
			return record.Summary{}, err
		}
		return *sum, nil
	})
}

// Lane is one stage of the board.
type Lane struct {
	Stage record.Stage
	Jobs  []record.Summary // those that have waited longest first, at most the limit
	Total int              // how many there are
}

// More says that not all of them are in Jobs.
func (l Lane) More() bool { return l.Total > len(l.Jobs) }

// readLanes reads some lanes of the board, by their places, in one query: with PostgreSQL each query is a way there and back.
func (s *Store) readLanes(ctx context.Context, limit int, lanes []Lane, which []int) error {
	args := []any{limit + 1}
	var queries []string
	for _, i := range which {
		lanes[i] = Lane{Stage: record.OpenStages()[i]}
		args = append(args, string(lanes[i].Stage))
		queries = append(queries, fmt.Sprintf(`SELECT * FROM (SELECT summary, %d AS lane FROM job WHERE is_open = 1 AND stage = $%d ORDER BY changed, number LIMIT $1) AS l%[1]d`, i, len(args)))
	}
	err := each(ctx, s.read, func(row scanner) error {
		var lane int
		sum, err := s.listed(row, &lane)
		if err != nil {
			return err
		}
		lanes[lane].Jobs = append(lanes[lane].Jobs, sum)
		return nil
	}, strings.Join(queries, " UNION ALL "), args...)
	if err != nil {
		return s.fault("reading jobs", err)
	}
	var more []int
	for _, i := range which {
		l := &lanes[i]
		slices.SortFunc(l.Jobs, func(a, b record.Summary) int { // a union promises no order
			return cmp.Or(a.Changed.Compare(b.Changed), cmp.Compare(a.Number, b.Number))
		})
		l.Total = len(l.Jobs)
		if len(l.Jobs) > limit {
			l.Jobs = l.Jobs[:limit]
			more = append(more, i)
		}
	}
	return s.countLanes(ctx, lanes, more)
}

// countLanes counts the jobs of the lanes that have more than they show.
func (s *Store) countLanes(ctx context.Context, lanes []Lane, which []int) error {
	if len(which) == 0 {
		return nil
	}
	var args []any
	var queries []string
	for _, i := range which {
		args = append(args, string(lanes[i].Stage))
		queries = append(queries, fmt.Sprintf(`SELECT count(*), %d AS lane FROM job WHERE is_open = 1 AND stage = $%d`, i, len(args)))
	}
	err := each(ctx, s.read, func(row scanner) error {
		var n, lane int
		if err := row.Scan(&n, &lane); err != nil {
			return err
		}
		lanes[lane].Total = n
		return nil
	}, strings.Join(queries, " UNION ALL "), args...)
	return s.fault("counting jobs", err)
}

// Jobs lists jobs by number, the newest first, those before a number; before 0 starts at the newest.
func (s *Store) Jobs(ctx context.Context, before int64, limit int) ([]record.Summary, error) {
	return s.summaries(ctx, `SELECT summary FROM job WHERE number < $1 ORDER BY number DESC LIMIT $2`, upTo(before), max(limit, 0))
}

func upTo(before int64) int64 {
	if before <= 0 {
		return math.MaxInt64
	}
	return before
}

// OfPump lists the jobs of one pump, the newest first, those before a number.
func (s *Store) OfPump(ctx context.Context, pump, before int64, limit int) ([]record.Summary, error) {
	return s.summaries(ctx, `SELECT summary FROM job WHERE pump = $1 AND number < $2 ORDER BY number DESC LIMIT $3`, pump, upTo(before), max(limit, 0))
}

// OfCustomer lists the jobs of one customer, the newest first, those before a number.
func (s *Store) OfCustomer(ctx context.Context, customer, before int64, limit int) ([]record.Summary, error) {
	return s.summaries(ctx, `SELECT summary FROM job WHERE customer = $1 AND number < $2 ORDER BY number DESC LIMIT $3`, customer, upTo(before), max(limit, 0))
}
