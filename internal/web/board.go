package web

import (
	"crypto/sha256"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// perLane is how many jobs a lane of the board shows; the list of its stage has all of them.
const perLane = 12

// chip is a short state with its sign.
type chip struct {
	F           *Frame
	Word        string
	Class, Sign string
}

// verdictChip is the chip of a verdict, none for an empty word.
func (f *Frame) verdictChip(word string) chip {
	switch word {
	case hold.Holds:
		return chip{f, f.T("verdict.holds"), "holds", "check"}
	case hold.DoesNotHold:
		return chip{f, f.T("verdict.fails"), "fails", "cross"}
	case hold.NotProven:
		return chip{f, f.T("verdict.open"), "open", "hourglass"}
	}
	return chip{}
}

// Card is a job on the board or in a list. Its fields are its own, not those of a summary in it: templates find these ten times faster.
type Card struct {
	F                              *Frame
	Number                         int64
	Model, Serial, Name, Complaint string
	Opened                         time.Time
	Chip                           chip
	Stage                          string
}

func (f *Frame) card(j record.Summary) Card {
	c := Card{F: f, Number: j.Number, Model: j.Model, Serial: j.Serial, Name: j.Name, Complaint: j.Complaint, Opened: j.Opened, Stage: f.stage(j.Stage), Chip: f.verdictChip(j.Found)}
	if j.Left != "" {
		c.Chip = f.verdictChip(j.Left)
	}
	return c
}

func (f *Frame) cards(jobs []record.Summary) []Card {
	out := make([]Card, len(jobs))
	for i, j := range jobs {
		out[i] = f.card(j)
	}
	return out
}

// stage is the word for a stage.
func (f *Frame) stage(s record.Stage) string {
	return f.T("stage." + strings.ReplaceAll(string(s), " ", "-"))
}

// cardKey says what a card is made of: what was written about the job, the language, where it stands. The digest of the last entry
// covers all entries before it.
type cardKey struct {
	last        record.Digest
	lang, piece string
}

// cardsKept is half of how many cards are kept, some 1 kB each.
const cardsKept = 2000

// cardsOf are the cards of jobs: on the board (piece "card") or in a list ("jobrow"). They are the same for everybody who speaks a
// language, and most are those of the last time, so they are kept: to write a board anew takes ten times as long as to read it.
func (s *Server) cardsOf(f *Frame, piece string, jobs []record.Summary) ([]template.HTML, error) {
	out := make([]template.HTML, len(jobs))
	for i, j := range jobs {
		var err error
		out[i], err = s.cards.Get(cardKey{j.Hash, f.Lang, piece}, func() (template.HTML, error) {
			return s.piece(f, "board", piece, f.card(j))
		})
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// piece writes one template of a page.
func (s *Server) piece(f *Frame, page, name string, data any) (template.HTML, error) {
	var buf strings.Builder
	err := s.pages[pageKey{f.Lang, page}].ExecuteTemplate(&buf, name, data)
	return template.HTML(buf.String()), err //nolint:gosec // made by a template, which escapes
}

type lane struct {
	F        *Frame
	ID, Word string
	Cards    []template.HTML
	Total    int
	All      string // address of the list of all, when not all stand here
}

type boardData struct {
	F     *Frame
	Lanes []template.HTML
	Count int
	Empty bool

	Guessed []guessedDevice
}

// laneKey says what a lane of the board is made of.
type laneKey struct {
	jobs [sha256.Size]byte
	lang string
}

// lanesKept is half of how many lanes are kept, some 20 kB each.
const lanesKept = 50

// lane is a lane of the board, the i-th. As long as nothing is written about a job in it, it is the same for everybody who speaks a language.
func (s *Server) lane(f *Frame, i int, l store.Lane) (template.HTML, error) {
	key, all := laneKey{lang: f.Lang}, sha256.New()
	fmt.Fprintf(all, "%s %d\n", l.Stage, l.Total)
	for i := range l.Jobs {
		all.Write(l.Jobs[i].Hash[:])
	}
	all.Sum(key.jobs[:0])
	return s.lanes.Get(key, func() (template.HTML, error) {
		cards, err := s.cardsOf(f, "card", l.Jobs)
		if err != nil {
			return "", err
		}
		d := lane{F: f, ID: "l-" + strconv.Itoa(i), Word: f.stage(l.Stage), Cards: cards, Total: l.Total}
		if l.More() {
			d.All = "/search?" + url.Values{"stage": {string(l.Stage)}}.Encode()
		}
		return s.piece(f, "board", "lane", d)
	})
}

func (s *Server) boardData(r *http.Request) (*boardData, *Frame, error) {
	f, err := s.frame(r)
	if err != nil {
		return nil, nil, err
	}
	lanes, err := s.Shop.Store().Board(r.Context(), perLane)
	if err != nil {
		return nil, nil, err
	}
	d := &boardData{F: f}
	for i, l := range lanes {
		d.Count += l.Total
		html, err := s.lane(f, i, l)
		if err != nil {
			return nil, nil, err
		}
		d.Lanes = append(d.Lanes, html)
	}
	d.Empty = d.Count == 0
	f.Title, f.Data, f.Live = f.T("board.title"), d, true
	return d, f, nil
}

func (s *Server) board(w http.ResponseWriter, r *http.Request) error {
	d, f, err := s.boardData(r)
	if err != nil {
		return err
	}
	if d.Guessed, err = s.guessedDevices(r, f); err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "board", "frame.html", f)
}

func (s *Server) boardLanes(w http.ResponseWriter, r *http.Request) error {
	_, f, err := s.boardData(r)
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "board", "lanes", f)
}

type searchData struct {
	F     *Frame
	Q     string
	Cards []template.HTML
	Part  bool
	Older string // address of the next page of the list of all jobs
	Stage string // the word of the stage, when only its jobs are listed
}

// perPage is how many jobs a list shows at once.
const perPage = 25

// search finds jobs by words; without words it lists all jobs, the newest first.
func (s *Server) search(w http.ResponseWriter, r *http.Request) error {
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	d := &searchData{F: f, Q: strings.TrimSpace(r.URL.Query().Get("q"))}
	if len(d.Q) > 200 {
		d.Q = d.Q[:200]
	}
	if d.Q == "" {
		before, _ := strconv.ParseInt(r.URL.Query().Get("before"), 10, 64) // what is no number starts at the newest
		next := url.Values{}
		filter := store.Filter{}
		if stage := record.Stage(r.URL.Query().Get("stage")); slices.Contains(record.OpenStages(), stage) {
			filter.Stage, d.Stage = stage, f.stage(stage)
			next.Set("stage", string(stage))
		}
		jobs, err := s.Shop.Store().List(r.Context(), filter, before, perPage+1)
		if err != nil {
			return err
		}
		if len(jobs) > perPage {
			jobs = jobs[:perPage]
			next.Set("before", strconv.FormatInt(jobs[perPage-1].Number, 10))
			d.Older = "/search?" + next.Encode()
		}
		if d.Cards, err = s.cardsOf(f, "jobrow", jobs); err != nil {
			return err
		}
	} else {
		found, err := s.Shop.Store().Search(r.Context(), strings.ToValidUTF8(d.Q, ""), perPage)
		if err != nil {
			return err
		}
		if d.Cards, err = s.cardsOf(f, "jobrow", found.Jobs); err != nil {
			return err
		}
		d.Part = found.Part
	}
	f.Title, f.Query, f.Data, f.Live = f.T("search.title"), d.Q, d, true
	return s.render(w, http.StatusOK, "search", "frame.html", f)
}

// tagTarget is where the QR code of a tag leads.
func (s *Server) tagTarget(w http.ResponseWriter, r *http.Request) error {
	n, err := mustNumber(r, "job")
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/jobs/"+strconv.FormatInt(n, 10), http.StatusSeeOther)
	return nil
}
