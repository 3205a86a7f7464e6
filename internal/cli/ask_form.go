package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/schema"
	"github.com/evenstroke/evenstroke/unit"
)

// askReadings asks for readings, and for what they are taken with, until somebody says that it is all.
func (q *asker) askReadings() error {
	list := q.doc.readings()
	q.explain()
	q.open = q.unfinished(list)
	from := -1
	for {
		if q.open != nil {
			err := q.block(*q.kindOf(q.open), q.open, "readings[1]", from)
			from = -1
			if err == nil {
				q.open = nil
			} else if !errors.Is(err, errBack) {
				return err
			}
		}
		word, err := q.put(q.menu())
		switch {
		case errors.Is(err, errBack):
			if !q.before(list) {
				return errBack
			}
		case err != nil:
			return err
		case word == done:
			q.leave(list)
			if !q.complain(q.wrongSheet(list)) {
				return q.save()
			}
		case word == takeOut:
			remove(list, q.open)
			q.open = nil
			if err := q.save(); err != nil {
				return err
			}
		case q.form.Field(word) != nil:
			q.leave(list)
			if err := q.field(*q.form.Field(word), q.doc.top, word); err != nil && !errors.Is(err, errBack) {
				return err
			}
		case q.open != nil && q.kindOf(q.open).Title == word:
			from = 0
		default:
			q.begin(list, word)
			q.say(q.kindOf(q.open).About)
		}
	}
}

// explain says what readings there are, before the first is asked for.
func (q *asker) explain() {
	q.say("A reading is one of:")
	for _, k := range q.fitting() {
		fmt.Fprintln(q.app.err, q.app.hang(k.About, "    "+k.Title+": ", "      "))
	}
	q.say("Before the first, say what the readings are taken with: fluid, gauge, stopwatch, ruler.")
	q.say("Keep clear of the rod; never feel for a leak by hand.")
}

// fitting are the kinds of readings that the drive of the pump allows.
func (q *asker) fitting() []schema.Form {
	return slices.DeleteFunc(slices.Clone(q.kinds()), func(k schema.Form) bool { return !hold.Kind(k.Title).Fits(q.pump.Drive.Kind) })
}

// menu asks for the kind of the next reading, or of the open one.
func (q *asker) menu() question {
	ask := question{name: fmt.Sprintf("reading %d", len(q.doc.list.Content)+1), have: done}
	for _, k := range q.fitting() {
		ask.words = append(ask.words, k.Title)
	}
	for _, f := range q.form.Fields {
		if !f.Required && f.Key != "stage" {
			ask.words = append(ask.words, f.Key)
		}
	}
	if q.open != nil {
		ask.name, ask.have = "kind of this reading", q.kindOf(q.open).Title
		ask.words = append(ask.words, takeOut)
	}
	ask.words = append(ask.words, done)
	return ask
}

func (q *asker) kinds() []schema.Form { return q.form.Field("readings").Items }

// kindOf is the kind of a reading that was begun: the one whose name stands in it as a key.
func (q *asker) kindOf(n *yaml.Node) *schema.Form {
	kinds := q.kinds()
	for i := range kinds {
		if at(n, kinds[i].Title) != nil && !(kinds[i].Title == string(hold.Drips) && at(n, string(hold.Caught)) != nil) {
			return &kinds[i]
		}
	}
	return nil
}

// unfinished is the first reading of which something is lacking.
func (q *asker) unfinished(list *yaml.Node) *yaml.Node {
	for _, n := range list.Content {
		if kind := q.kindOf(n); kind != nil && lacking(*kind, n) < len(required(*kind)) {
			return n
		}
	}
	return nil
}

// before opens the reading before the open one, or the last one; false when there is none.
func (q *asker) before(list *yaml.Node) bool {
	i := len(list.Content)
	for j, n := range list.Content {
		if n == q.open {
			i = j
		}
	}
	if i == 0 || q.kindOf(list.Content[i-1]) == nil {
		return false
	}
	q.open = list.Content[i-1]
	return true
}

// begin opens a new reading, at the place of the open one whose kind was wrong.
func (q *asker) begin(list *yaml.Node, kind string) {
	n := &yaml.Node{Kind: yaml.MappingNode}
	put(n, kind, scalar("", schema.TakesText))
	for i := range list.Content {
		if list.Content[i] == q.open {
			list.Content[i], q.open = n, n
			return
		}
	}
	list.Content, q.open = append(list.Content, n), n
}

// leave closes the open reading; one of which only the kind was said goes.
func (q *asker) leave(list *yaml.Node) {
	if q.open != nil && lacking(*q.kindOf(q.open), q.open) == 0 {
		remove(list, q.open)
	}
	q.open = nil
}

func remove(list, item *yaml.Node) {
	for i := range list.Content {
		if list.Content[i] == item {
			list.Content = append(list.Content[:i], list.Content[i+1:]...)
			return
		}
	}
}

// wrongSheet is what is wrong in the whole sheet, before the answers end.
func (q *asker) wrongSheet(list *yaml.Node) []string {
	s, err := q.doc.read(q.file, list.Content...)
	if err != nil {
		return strings.Split(q.app.text(err), "\n")
	}
	_, err = hold.Analyse(q.pump, s, hold.DefaultPrior(), hold.Options{Draws: 1}) // finds also what a reader does not see, as a fluid that cannot be
	return q.refused(err)
}

// required are the fields that a form has to have.
func required(f schema.Form) []schema.Field {
	var out []schema.Field
	for _, x := range f.Fields {
		if x.Required {
			out = append(out, x)
		}
	}
	return out
}

// lacking is the first of the required fields that is not filled in, or how many they are.
func lacking(f schema.Form, n *yaml.Node) int {
	must := required(f)
	for i, x := range must {
		v := at(n, x.Key)
		if v == nil || v.Kind == yaml.ScalarNode && v.Value == "" || x.Takes == schema.TakesList && shortList(x, v) {
			return i
		}
	}
	return len(must)
}

// shortList says whether a list has too few items, or its last one is not whole.
func shortList(f schema.Field, list *yaml.Node) bool {
	n := len(list.Content)
	return n < f.Least || n > 0 && lacking(f.Items[0], list.Content[n-1]) < len(required(f.Items[0]))
}

// block asks for what a form has to have, beginning with field from (-1: with the first that is lacking), then for what else it may have.
func (q *asker) block(f schema.Form, n *yaml.Node, path string, from int) error {
	must := required(f)
	i := from
	if i < 0 {
		i = lacking(f, n)
	}
	for i >= 0 {
		var err error
		if i < len(must) {
			err = q.field(must[i], n, path)
		} else {
			err = q.rest(f, n, path)
		}
		switch {
		case errors.Is(err, errBack):
			i--
		case err != nil:
			return err
		case i == len(must):
			return nil
		default:
			i++
		}
	}
	return errBack
}

// rest asks for the fields that a form may have, and ends when somebody says so and nothing is wrong with it.
func (q *asker) rest(f schema.Form, n *yaml.Node, path string) error {
	ask := question{name: "anything else", have: done}
	for _, x := range f.Fields {
		if !x.Required {
			ask.words = append(ask.words, x.Key)
		}
	}
	ask.words = append(ask.words, done)
	for {
		word := done
		if len(ask.words) > 1 {
			var err error
			if word, err = q.put(ask); err != nil {
				return err
			}
		}
		switch {
		case word != done:
			if err := q.field(*f.Field(word), n, path); err != nil && !errors.Is(err, errBack) {
				return err
			}
		case !q.complain(q.wrong(path, true)):
			return nil
		case len(ask.words) == 1:
			return errBack // nothing but the answers before can mend it
		}
	}
}

// field asks for one key of a block.
func (q *asker) field(f schema.Field, n *yaml.Node, path string) error {
	switch f.Takes {
	case schema.TakesBlock:
		return q.under(f, n, path)
	case schema.TakesList:
		return q.items(f, n, join(path, f.Key))
	}
	_, err := q.value(f, n, path, q.usual(f, n))
	return err
}

// under asks for a block in a block; one in which nothing is filled in is taken away again.
func (q *asker) under(f schema.Field, n *yaml.Node, path string) error {
	child := at(n, f.Key)
	if child == nil {
		child = &yaml.Node{Kind: yaml.MappingNode}
		q.insert(n, f.Key, child)
	}
	err := q.block(*f.Form, child, f.Key, -1)
	if len(child.Content) == 0 {
		drop(n, f.Key)
	}
	return err
}

// insert sets a key before the readings.
func (q *asker) insert(n *yaml.Node, key string, v *yaml.Node) {
	put(n, key, v)
	if n != q.doc.top || at(n, "readings") == nil {
		return
	}
	list := at(n, "readings")
	drop(n, "readings")
	put(n, "readings", list)
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// value asks for a single value, keeps it when it can be, and saves it. other are words that answer otherwise; they are returned as they are.
func (q *asker) value(f schema.Field, n *yaml.Node, path, usual string, other ...string) (string, error) {
	was := at(n, f.Key)
	ask := question{name: strings.ReplaceAll(f.Key, "_", " "), about: f.About, example: f.Example, have: answered(was, f.Takes)}
	ask.words, ask.free = q.options(f)
	if ask.have == "" {
		ask.have = usual
	}
	if !f.Required && was != nil {
		other = append(other, none)
	}
	ask.words = slices.Concat(ask.words, other)
	ask.check = func(s string) []string {
		if slices.Contains(other, s) {
			return nil
		}
		return q.keep(f, n, path, s)
	}
	s, err := q.put(ask)
	if err != nil || slices.Contains(other, s) && s != none {
		return s, err
	}
	if s == none {
		drop(n, f.Key)
	}
	return s, q.save()
}

// options are the words that answer a question, and whether other text does too.
func (q *asker) options(f schema.Field) (words []string, free bool) {
	switch {
	case f.Takes == schema.TakesYesNo:
		return []string{yes, no}, false
	case f.Key == string(hold.Drips), f.Key == string(hold.Caught):
		return q.visible(), false
	}
	return f.Options, len(f.Options) == 0
}

// keep puts a value into the sheet, or says what is wrong with it and leaves what was there.
func (q *asker) keep(f schema.Field, n *yaml.Node, path, s string) []string {
	if d, ok := dimNamed(f.Quantity); ok { // at once, also where the reader has not enough to read on
		if _, err := unit.Parse(s, d); err != nil {
			return []string{q.app.text(err)}
		}
	}
	was := at(n, f.Key)
	q.insert(n, f.Key, scalar(s, f.Takes))
	wrong := q.wrong(join(path, f.Key), false)
	switch {
	case len(wrong) == 0:
	case was == nil:
		drop(n, f.Key)
	default:
		put(n, f.Key, was)
	}
	return wrong
}

// visible are the places at which fluid can be seen.
func (q *asker) visible() []string {
	var out []string
	for _, p := range q.pump.Map().Paths {
		if p.Visible {
			out = append(out, p.Name)
		}
	}
	return out
}

// usual is what a value mostly is: the pressure that of the reading before, at first that of the hold.
func (q *asker) usual(f schema.Field, n *yaml.Node) string {
	if f.Key != "pressure" || n != q.open {
		return ""
	}
	usual := q.app.sys.Show(q.pump.Limits.Hold, unit.Pressure)
	for _, r := range q.doc.list.Content {
		if r == n {
			break
		}
		if v := at(r, f.Key); v != nil {
			usual = v.Value
		}
	}
	return usual
}

// items asks for the items of a list one value after the other, until somebody says that it is all.
func (q *asker) items(f schema.Field, n *yaml.Node, path string) error {
	list := at(n, f.Key)
	if list == nil {
		list = &yaml.Node{Kind: yaml.SequenceNode}
		put(n, f.Key, list)
	}
	must := required(f.Items[0])
	at := len(list.Content) * len(must) // values that are there
	if last := len(list.Content) - 1; last >= 0 {
		at += lacking(f.Items[0], list.Content[last]) - len(must)
	}
	for {
		if at < 0 {
			return errBack
		}
		word, err := q.item(f, must[at%len(must)], list, at/len(must), path)
		switch {
		case errors.Is(err, errBack):
			at--
		case err != nil:
			return err
		case word == done:
			if !q.complain(q.wrong(path, true)) {
				return nil
			}
		case word != takeOut:
			at++
		}
	}
}

// item asks for one value of item i of a list; before a whole item the answer may also be that the list is done, or that the item goes.
func (q *asker) item(f, x schema.Field, list *yaml.Node, i int, path string) (string, error) {
	fresh := i == len(list.Content)
	if fresh {
		list.Content = append(list.Content, &yaml.Node{Kind: yaml.MappingNode})
	}
	item, usual := list.Content[i], ""
	var words []string
	if at(item, x.Key) == nil && i == 0 && x.Quantity == unit.Time.String() {
		usual = "0 s" // the first is the start
	}
	if x.Key == required(f.Items[0])[0].Key && i >= f.Least {
		words = append(words, done)
	}
	if fresh && i >= f.Least {
		usual = done
	}
	if x.Key == required(f.Items[0])[0].Key && !fresh {
		words = append(words, takeOut)
	}
	word, err := q.value(x, item, fmt.Sprintf("%s[%d]", path, i+1), usual, words...)
	if len(item.Content) == 0 || word == takeOut {
		remove(list, item)
	}
	if word == takeOut {
		err = errors.Join(err, q.save())
	}
	return word, err
}
