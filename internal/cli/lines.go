package cli

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"runtime"
	"runtime/debug"
	"sync"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/pump"
)

// batchGC lets the heap grow to five times what is live before it is collected: a batch makes much short-lived garbage and
// little that stays (a third faster, below 50 MB).
const batchGC = 400

// maxLine is the longest line of a batch.
const maxLine = 1 << 20

// lineResult is one line of the batch output: the result, or what was wrong with the line.
type lineResult struct {
	Line   int          `json:"line"`
	Result *hold.Result `json:"result,omitempty"`
	Error  *errorDoc    `json:"error,omitempty"`
}

// holdLines analyses one JSON document a line, on all processors, and keeps the order. A bad line gives an error line; the
// exit code then is 2, and every other line still has its result.
func (a *app) holdLines(f holdFlags, pr *hold.Prior) error {
	defer debug.SetGCPercent(debug.SetGCPercent(batchGC))
	type task struct {
		n    int
		text []byte
		done chan []byte
	}
	workers := runtime.GOMAXPROCS(0)
	tasks, order := make(chan task, workers), make(chan task, 4*workers)
	b := &batch{app: a, pumps: map[string]*pump.Pump{}, flags: f, prior: pr}
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for t := range tasks {
				t.done <- b.line(t.n, t.text)
			}
		})
	}
	var readErr error
	go func() {
		defer close(order)
		defer close(tasks)
		r := bufio.NewReaderSize(a.in, 64<<10)
		for n := 1; ; n++ {
			text, err := readLine(r)
			if len(bytes.TrimSpace(text)) > 0 {
				t := task{n, text, make(chan []byte, 1)}
				order <- t
				tasks <- t
			}
			if err != nil {
				if !errors.Is(err, io.EOF) {
					readErr = err
				}
				return
			}
		}
	}()
	a.out.exact = true
	w := bufio.NewWriter(a.out)
	var werr error
	done := 0
	for t := range order {
		if _, err := w.Write(<-t.done); err != nil && werr == nil {
			werr = err
		}
		if done++; done%200 == 0 && a.errIsTerminal() {
			fmt.Fprintf(a.err, "\r%d sheets", done)
		}
	}
	wg.Wait()
	if err := errors.Join(werr, w.Flush(), readErr); err != nil {
		return err
	}
	if b.bad > 0 {
		return badInput("%d of %d lines could not be analysed; their lines say why", b.bad, done)
	}
	return nil
}

// readLine reads a line of any length; what is beyond maxLine is dropped, so that the line is refused and the next one is
// read in its place.
func readLine(r *bufio.Reader) ([]byte, error) {
	var out []byte
	for {
		part, err := r.ReadSlice('\n')
		if len(out) <= maxLine {
			out = append(out, part...)
		}
		if !errors.Is(err, bufio.ErrBufferFull) {
			return out, err
		}
	}
}

type batch struct {
	app   *app
	mu    sync.Mutex
	pumps map[string]*pump.Pump
	bad   int
	flags holdFlags
	prior *hold.Prior
}

func (b *batch) line(n int, text []byte) []byte {
	r, err := b.analyse(n, text)
	out := lineResult{Line: n, Result: r}
	if err != nil {
		doc := b.app.describeError(err)
		out.Error = &doc
		b.mu.Lock()
		b.bad++
		b.mu.Unlock()
	}
	data, merr := json.Marshal(out)
	if merr != nil {
		data = []byte(fmt.Sprintf(`{"line":%d,"error":{"error":%q}}`, n, merr.Error()))
	}
	return append(data, '\n')
}

func (b *batch) analyse(n int, text []byte) (*hold.Result, error) {
	file := fmt.Sprintf("line %d", n)
	if len(text) > maxLine {
		return nil, badInput("%s: found more than %d bytes; expected one hold sheet", file, maxLine)
	}
	if !json.Valid(text) {
		return nil, badInput("%s: found text that is not JSON; expected one hold sheet as a JSON object on the line", file)
	}
	s, err := hold.ReadSheet(file, text, nil)
	if err != nil {
		return nil, err
	}
	name := s.Pump
	if b.flags.pump != "" {
		name = b.flags.pump
	}
	p, err := b.pump(name)
	if err != nil {
		return nil, err
	}
	opt := hold.Quick()
	opt.Seed, opt.Next = b.flags.seed, !b.flags.noNext
	return hold.Analyse(p, s, b.prior, opt)
}

// pump loads each pump sheet once.
func (b *batch) pump(name string) (*pump.Pump, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if p, ok := b.pumps[name]; ok {
		return p, nil
	}
	p, err := loadPump(name, "")
	if err != nil {
		return nil, err
	}
	b.pumps[name] = p
	return p, nil
}
