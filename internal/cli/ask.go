package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"go.yaml.in/yaml/v3"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/outfile"
	"github.com/evenstroke/evenstroke/pump"
	"github.com/evenstroke/evenstroke/schema"
	"github.com/evenstroke/evenstroke/sheet"
)

// Words that answer a question otherwise than with a value.
const (
	yes     = "yes"
	no      = "no"
	back    = "back" // to the question before
	done    = "done"
	none    = "none" // takes an answer away again
	takeOut = "drop" // takes a reading out
)

// errBack says that somebody wants the question before.
var errBack = errors.New("back")

// asker leads through a hold sheet, one question after the other. What is asked, and what an answer may be, is the published schema of
// hold sheets; whether it can be is judged by their reader. The sheet is saved after every answer.
type asker struct {
	app   *app
	lines liner
	form  schema.Form
	doc   *answers
	file  string // where it is saved, "" before there is anything to save
	pump  *pump.Pump
	try   string     // a name of a pump that was given beforehand
	open  *yaml.Node // the reading that is asked for, nil between readings
}

// ask leads through a hold sheet, from its beginning or from where file was left, and returns it with the folder of its pump sheet.
func (a *app) ask(pumpName, file string) (*hold.Sheet, string, error) {
	q, err := a.asker(pumpName, file)
	if err != nil {
		return nil, "", err
	}
	fmt.Fprintln(a.err, wrap("`back` leads to the question before; Tab completes a word; an empty answer takes what stands in [ ]. Every answer is saved at once: after Ctrl-C, go on with the same file.", "", "", min(a.width(), mostText)))
	if err := q.steps(); err != nil {
		return nil, "", q.stopped(err)
	}
	fmt.Fprintf(a.err, "The hold sheet is %s.\n\n", q.file)
	s, err := q.doc.read(q.file, q.doc.readings().Content...)
	return s, q.doc.dir, err
}

func (a *app) asker(pumpName, file string) (*asker, error) {
	form, err := schema.FormOf("hold")
	if err != nil {
		return nil, err
	}
	q := &asker{app: a, lines: a.liner(), form: form, doc: noAnswers(file), file: file, try: pumpName}
	if file == stdout {
		return nil, badInput("hold --ask -: found the standard output; expected the name of a file, in which the answers are saved; name one")
	}
	if _, err := os.Stat(file); file == "" || err != nil {
		return q, nil
	}
	data, err := readFile(file)
	if err != nil {
		return nil, err
	}
	q.doc, err = readAnswers(file, data)
	return q, err
}

// steps asks for pump, stage and readings.
func (q *asker) steps() error {
	steps := []func() error{q.askPump, q.askStage, q.askReadings}
	i := 0
	if name := at(q.doc.top, "pump"); name != nil {
		if p, err := loadPump(name.Value, q.doc.dir); err == nil {
			q.pump, i = p, 1
		}
	}
	if i == 1 && at(q.doc.top, "stage") != nil {
		i = 2
	}
	for i < len(steps) {
		switch err := steps[i](); {
		case errors.Is(err, errBack) && i == 0:
			q.say("this is the first question")
		case errors.Is(err, errBack):
			i--
		case err != nil:
			return err
		default:
			i++
		}
	}
	return nil
}

// stopped says where the answers are when they end before all is asked.
func (q *asker) stopped(err error) error {
	switch {
	case !errors.Is(err, io.EOF):
		return err
	case q.file == "":
		return badInput("the answers ended before all questions were answered; nothing was analysed")
	}
	return badInput("the answers ended before all questions were answered; nothing was analysed; those given are in %s: go on with `evenstroke hold --ask %s`", q.file, q.file)
}

func (q *asker) askPump() error {
	check := func(s string) []string {
		p, err := loadPump(s, q.doc.dir)
		if err != nil {
			return strings.Split(q.app.text(err), "\n")
		}
		q.pump = p
		return nil
	}
	ask := question{name: "pump", about: "The pump sheet: a file, or one of the demo pumps.", words: pump.Demo(), free: true,
		have: answered(at(q.doc.top, "pump"), schema.TakesText), check: check}
	s := q.try
	q.try = ""
	if s == "" || q.complain(check(s)) {
		var err error
		if s, err = q.put(ask); err != nil {
			return err
		}
	}
	put(q.doc.top, "pump", scalar(s, schema.TakesText))
	return q.save()
}

func (q *asker) askStage() error {
	_, err := q.value(*q.form.Field("stage"), q.doc.top, "", "as found")
	return err
}

// save writes the sheet; the first time it finds a name for it.
func (q *asker) save() error {
	if q.file == "" {
		name, err := q.freeName()
		if err != nil {
			return err
		}
		q.file = name
		q.say("saved in " + name)
	}
	data, err := q.doc.text()
	if err != nil {
		return err
	}
	return outfile.Write(q.file, data)
}

// freeName names the file after the pump; one that is there is left as it is.
func (q *asker) freeName() (string, error) {
	name := filepath.Base(at(q.doc.top, "pump").Value)
	name = strings.TrimSuffix(name, filepath.Ext(name)) + "-hold"
	for i := 1; ; i++ {
		file := name + ".yaml"
		if i > 1 {
			file = fmt.Sprintf("%s-%d.yaml", name, i)
		}
		_, err := os.Lstat(file)
		if errors.Is(err, os.ErrNotExist) {
			return file, nil
		}
		if err != nil {
			return "", err
		}
		q.say(fmt.Sprintf("%s is there already; to go on with it: `evenstroke hold --ask %s`", file, file))
	}
}

// wrong returns what the reader of hold sheets, and the pump, find wrong at a key and, when deep, under it.
func (q *asker) wrong(key string, deep bool) []string {
	var readings []*yaml.Node
	if q.open != nil {
		readings = append(readings, q.open)
	}
	s, err := q.doc.read("answers", readings...)
	if err == nil && deep && q.open != nil {
		return q.refused(hold.Refuse(q.pump, s))
	}
	var out []string
	if list := sheet.List(err); list == nil && err != nil {
		return []string{q.app.text(err)}
	}
	for _, e := range sheet.List(err) {
		under := strings.HasPrefix(e.Key, key+".") || strings.HasPrefix(e.Key, key+"[")
		if e.Key == key || deep && under {
			out = append(out, message(strings.TrimPrefix(strings.TrimPrefix(e.Key, "readings[1]"), "."), e.Found, e.Want, e.Fix))
		}
	}
	return out
}

// refused are the reasons for which a reading cannot come from the pump.
func (q *asker) refused(err error) []string {
	var r *hold.Refusal
	if !errors.As(err, &r) {
		if err != nil {
			return []string{q.app.text(err)}
		}
		return nil
	}
	var out []string
	for _, it := range r.Items {
		out = append(out, message("", it.Found, it.Want, it.Fix))
	}
	return out
}

func message(where, found, want, fix string) string {
	s := "found " + found + "; expected " + want
	if where != "" {
		s = where + ": " + s
	}
	if fix != "" {
		s += "; " + fix
	}
	return s
}
