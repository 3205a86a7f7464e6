package web

import (
	"encoding/json"
	"html/template"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/internal/gate"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
	"github.com/evenstroke/evenstroke/pump"
)

// shelf is a kind of the catalogue that has pages.
type shelf struct {
	Kind  record.SubjectKind
	Path  string
	Icon  string
	Grows bool // too many to list as a whole: paged and searched
	One   bool // there is one only
}

var shelves = []shelf{
	{record.OfPump, "pump", "gauge", true, false}, {record.OfCustomer, "customer", "person", true, false}, {record.OfTool, "tool", "wrench", false, false},
	{record.OfSheet, "sheet", "ring", false, false}, {record.OfFluid, "fluid", "drop", false, false}, {record.OfPrice, "price", "tag", true, false},
	{record.OfPerson, "person", "person", false, false}, {record.OfDevice, "device", "photo", false, false}, {record.OfShop, "shop", "home", false, true},
}

func shelfOf(r *http.Request) (shelf, error) {
	for _, s := range shelves {
		if s.Path == r.PathValue("kind") {
			return s, nil
		}
	}
	return shelf{}, notFound(r.URL.Path)
}

type shelfView struct{ To, Icon, Word, Why string }

type cataloguePage struct {
	F       *Frame
	Shelves []shelfView
	Tokens  bool
	Code    bool
	Trust   bool
}

// catalogue lists what the shop keeps.
func (s *Server) catalogue(w http.ResponseWriter, r *http.Request) error {
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	d := &cataloguePage{F: f, Tokens: f.May(string(gate.MakeToken)), Code: f.May(string(gate.KeepDevice)), Trust: s.CA != nil}
	for _, k := range shelves {
		to := "/catalogue/" + k.Path
		if k.One {
			to += "/1"
		}
		d.Shelves = append(d.Shelves, shelfView{to, k.Icon, f.T("kind." + k.Path), f.T("kind." + k.Path + ".why")})
	}
	f.Title, f.Data = f.T("catalogue.title"), d
	return s.render(w, http.StatusOK, "catalogue", "frame.html", f)
}

type itemRow struct{ To, Label, Small, Warn string }

type itemsPage struct {
	F     *Frame
	Shelf shelf
	Word  string
	Q     string
	Rows  []itemRow
	More  string
	May   bool
	Gone  bool
	Built []string // pump sheets that come with the program
}

// listItems lists the values of a kind.
func (s *Server) listItems(w http.ResponseWriter, r *http.Request) error {
	k, err := shelfOf(r)
	if err != nil {
		return err
	}
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	d := &itemsPage{F: f, Shelf: k, Word: f.T("kind." + k.Path), Q: strings.TrimSpace(q.Get("q")), May: f.May(string(gate.Keeping(k.Kind))), Gone: q.Get("gone") != ""}
	items, more, err := s.itemPage(r, k.Kind, d)
	if err != nil {
		return err
	}
	d.More = more
	for _, i := range items {
		d.Rows = append(d.Rows, s.itemRow(f, k, i))
	}
	if k.Kind == record.OfSheet {
		d.Built = pump.Demo()
	}
	f.Title, f.Data = d.Word, d
	return s.render(w, http.StatusOK, "items", "frame.html", f)
}

func (s *Server) itemPage(r *http.Request, k record.SubjectKind, d *itemsPage) ([]store.Item, string, error) {
	if d.Q != "" {
		items, err := s.Shop.Store().FindItems(r.Context(), k, strings.ToValidUTF8(d.Q, ""), 50)
		return items, "", err
	}
	q := r.URL.Query()
	after, _ := strconv.ParseInt(q.Get("id"), 10, 64) // what is no number starts at the first
	items, err := s.Shop.Store().Items(r.Context(), k, store.Page{Label: q.Get("after"), ID: after, Limit: 51, Retired: d.Gone})
	if err != nil || len(items) <= 50 {
		return items, "", err
	}
	items = items[:50]
	last := items[49]
	more := "/catalogue/" + d.Shelf.Path + "?after=" + escape(last.Label) + "&id=" + strconv.FormatInt(last.Subject.ID, 10)
	if d.Gone {
		more += "&gone=1"
	}
	return items, more, nil
}

func (s *Server) itemRow(f *Frame, k shelf, i store.Item) itemRow {
	r := itemRow{To: "/catalogue/" + k.Path + "/" + strconv.FormatInt(i.Subject.ID, 10), Label: i.Label}
	switch v := i.Value.(type) {
	case *record.Pump:
		r.To, r.Small = "/pumps/"+strconv.FormatInt(i.Subject.ID, 10), f.names.of(record.OfCustomer, v.Customer)
	case *record.Customer:
		r.To, r.Small = "/customers/"+strconv.FormatInt(i.Subject.ID, 10), v.Phone
	case *record.Tool:
		r.Small = f.T("tool.sort."+v.Sort) + " " + v.Serial
		if v.Due != "" {
			r.Small += ", " + f.T("tool.due", v.Due)
			if v.Due < f.Day(f.now) {
				r.Warn = f.T("tool.overdue", v.Due)
			}
		}
	case *record.Price:
		r.Small = f.Money(v.Each)
		if v.Unit != "" {
			r.Small += " / " + v.Unit
		}
	case *record.Person:
		r.Small = f.T("role." + string(v.Role))
	case *record.Device:
		r.Small = v.Place
	}
	return r
}

type itemPage struct {
	F       *Frame
	Form    *Form
	Shelf   shelf
	Word    string
	New     bool
	ID      int64
	Seq     int64
	Fields  []Field
	May     bool
	Retired bool
	Label   string
	Person  bool // a PIN can be set
	Device  bool
	Guessed []guessedDevice
	Doubts  []template.HTML // what of a pump sheet can hardly be, or would not stand
	Key     string
}

// viewItem is the form of one value.
func (s *Server) viewItem(w http.ResponseWriter, r *http.Request, form *Form) error {
	k, f, i, err := s.itemOf(r)
	if err != nil {
		return err
	}
	d := &itemPage{F: f, Form: form, Shelf: k, Word: f.T("one." + k.Path), New: i == nil, May: f.May(string(gate.Keeping(k.Kind))), Key: form.Value("key", f.Key())}
	value := record.NewItem(k.Kind)
	if i != nil {
		value, d.ID, d.Seq, d.Retired, d.Label = i.Value, i.Subject.ID, i.Seq, i.Retired, i.Label
		d.Person, d.Device = k.Kind == record.OfPerson && d.May, k.Kind == record.OfDevice && d.May
	} else if from := r.URL.Query().Get("from"); k.Kind == record.OfSheet && from != "" {
		if text, err := pump.OwnSheet(from); err == nil {
			value = &record.PumpSheet{Name: from, Text: string(text)}
		}
	}
	if d.Fields, err = s.itemFields(r, f, form, k.Kind, value); err != nil {
		return err
	}
	if sheet, ok := value.(*record.PumpSheet); ok && !d.New {
		d.Doubts = f.sheetDoubts(sheet)
	}
	if k.Kind == record.OfDevice && d.May && !d.New {
		if d.Guessed, err = s.guessedOn(r, f, d.ID); err != nil {
			return err
		}
	}
	f.Title, f.Data, f.Main = d.Word, d, ""
	return s.render(w, statusOf(form), "item", "frame.html", f)
}

// sheetDoubts says what of a pump sheet that can be read is doubted, line by line, each with what mends it.
func (f *Frame) sheetDoubts(sheet *record.PumpSheet) []template.HTML {
	p, err := pump.Read(sheet.Name, []byte(sheet.Text))
	if err != nil { // nothing is kept that cannot be read; an older version may have thought otherwise, and keeping it again says so
		return nil
	}
	var out []template.HTML
	for _, q := range p.Doubts {
		said := f.doubt(q)
		if q.Line > 0 {
			said = marked(f.T("items.line", q.Line), true) + " " + said
		}
		out = append(out, said)
	}
	return out
}

// itemOf is the shelf and the value that an address is about; nil for a new one.
func (s *Server) itemOf(r *http.Request) (shelf, *Frame, *store.Item, error) {
	k := shelf{}
	kind := r.PathValue("kind")
	if kind == "" { // addresses of one kind only
		kind, _, _ = strings.Cut(strings.TrimPrefix(r.URL.Path, "/catalogue/"), "/")
	}
	for _, q := range shelves {
		if q.Path == kind {
			k = q
		}
	}
	if k.Path == "" {
		return k, nil, nil, notFound(r.URL.Path)
	}
	f, err := s.frame(r)
	if err != nil || r.PathValue("id") == "" {
		return k, f, nil, err
	}
	id, err := mustNumber(r, "id")
	if err != nil {
		return k, f, nil, err
	}
	i, err := s.Shop.Store().Item(r.Context(), record.Subject{Kind: k.Kind, ID: id})
	return k, f, i, err
}

// keepItem keeps what a form says of a value.
func (s *Server) keepItem(r *http.Request, f *Form) (string, error) {
	k, _, have, err := s.itemOf(r)
	if err != nil {
		return "", err
	}
	value, err := s.readItem(r, f, k.Kind, have)
	if err != nil {
		return "", err
	}
	sub := record.Subject{Kind: k.Kind}
	if have != nil {
		sub.ID = have.Subject.ID
	}
	got, err := s.Shop.Keep(r.Context(), by(r, f), sub, value)
	if err != nil {
		return "", err
	}
	if k.Kind == record.OfPerson {
		if err := s.Gate.Changed(r.Context(), got.Entry.Subject.ID); err != nil {
			return "", err
		}
	}
	return "/catalogue/" + k.Path + "/" + strconv.FormatInt(got.Entry.Subject.ID, 10) + "?done=kept", nil
}

func (s *Server) retireItem(r *http.Request, f *Form) (string, error) {
	k, _, have, err := s.itemOf(r)
	if err != nil {
		return "", err
	}
	if k.One {
		return "", record.Faultf(record.NotAllowed, k.Path, "the only one", "another kind of record", "")
	}
	if err := s.retire(r, f, have); err != nil {
		return "", err
	}
	if k.Kind == record.OfPerson {
		if err := s.Gate.Changed(r.Context(), have.Subject.ID); err != nil {
			return "", err
		}
	}
	return "/catalogue/" + k.Path + "?done=retired", nil
}

// retire takes a value out of the lists. A device loses its secret with it; nobody takes themselves out without being one who keeps
// people.
func (s *Server) retire(r *http.Request, f *Form, have *store.Item) error {
	who, _ := gate.From(r.Context())
	switch v := have.Value.(type) {
	case *record.Device:
		return s.Gate.DropDevice(r.Context(), who, have.Subject.ID)
	case *record.Person:
		if err := gate.MayKeepPerson(who, v.Role, v.Role); err != nil {
			return err
		}
	}
	_, err := s.Shop.Retire(r.Context(), by(r, f), have.Subject, f.Text("reason"))
	return err
}

func (s *Server) setPIN(r *http.Request, f *Form) (string, error) {
	id, err := mustNumber(r, "id")
	if err != nil {
		return "", err
	}
	who, _ := gate.From(r.Context())
	err = s.Gate.SetPIN(r.Context(), who, id, f.Secret("pin"))
	f.Values.Del("pin")
	return "/catalogue/person/" + strconv.FormatInt(id, 10) + "?done=pin", err
}

func (s *Server) takeOut(r *http.Request, f *Form) (string, error) {
	id, err := mustNumber(r, "id")
	if err != nil {
		return "", err
	}
	who, _ := gate.From(r.Context())
	return "/catalogue/device?done=retired", s.Gate.DropDevice(r.Context(), who, id)
}

// change is one field that an entry changed.
type change struct{ Word, Was, Now, key string }

type historyRow struct {
	ISO, When, Who, Device string
	Kind                   string
	Changes                []change
	Text                   string
	Seq                    int64
	Mark                   string
	Struck                 string
	Corrects               int64
	May                    bool
}

type itemHistoryPage struct {
	F     *Frame
	Label string
	Back  string
	Rows  []historyRow
}

// itemHistory shows every value that a record had, with who wrote it and when.
func (s *Server) itemHistory(w http.ResponseWriter, r *http.Request) error {
	k, f, i, err := s.itemOf(r)
	if err != nil {
		return err
	}
	entries, err := s.Shop.Store().Entries(r.Context(), i.Subject, 0, 500)
	if err != nil {
		return err
	}
	d := &itemHistoryPage{F: f, Label: i.Label, Back: "/catalogue/" + k.Path + "/" + r.PathValue("id")}
	was := map[string]any{}
	for n := range entries {
		e := &entries[n]
		row := f.historyRow(e)
		b, err := e.Open()
		if err != nil {
			return err
		}
		switch b := b.(type) {
		case *record.Kept:
			now := map[string]any{}
			if err := json.Unmarshal(b.Value, &now); err != nil {
				return err
			}
			row.Changes = f.changes(was, now)
			was = now
		case *record.Retired:
			row.Text = joinText(f.T("history.retired"), b.Reason)
		}
		d.Rows = append(d.Rows, row)
	}
	slices.Reverse(d.Rows)
	f.Title, f.Data = f.T("history.of", i.Label), d
	return s.render(w, http.StatusOK, "itemhistory", "frame.html", f)
}

func (f *Frame) historyRow(e *record.Entry) historyRow {
	return historyRow{ISO: f.ISO(e.At), When: f.When(e.At), Who: f.Person(e.By), Device: f.Device(e.Device), Kind: f.T("entry." + string(e.Kind)), Seq: e.Seq, Mark: e.Hash.Short(), Corrects: e.Corrects}
}

// changes lists the fields in which two values differ.
func (f *Frame) changes(was, now map[string]any) []change {
	var keys []string
	for k := range now {
		keys = append(keys, k)
	}
	for k := range was {
		if _, ok := now[k]; !ok {
			keys = append(keys, k)
		}
	}
	slices.Sort(keys)
	var out []change
	for _, k := range keys {
		a, b := f.value(k, was[k]), f.value(k, now[k])
		if a != b {
			out = append(out, change{f.fieldWord(k), a, b, k})
		}
	}
	return out
}

// fieldWord names a field of a record.
func (f *Frame) fieldWord(k string) string {
	if k == "step" && f.Job != 0 { // of a tool it is that of its scale
		return f.T("work.step")
	}
	if f.Has("field." + k) {
		return f.T("field." + k)
	}
	return strings.ReplaceAll(k, "_", " ")
}

// plain writes a value of a record in words: parts of one with their names, in order.
func plain(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case string:
		return v
	case float64:
		if v == math.Trunc(v) {
			return strconv.FormatFloat(v, 'f', 0, 64)
		}
		return strconv.FormatFloat(v, 'g', 6, 64)
	case []any:
		var list []string
		for _, e := range v {
			list = append(list, plain(e))
		}
		return strings.Join(list, "; ")
	case map[string]any:
		var list []string
		for k, e := range v {
			list = append(list, k+": "+plain(e))
		}
		slices.Sort(list)
		return strings.Join(list, ", ")
	}
	b, err := json.Marshal(v)
	if err != nil {
		return ""
	}
	return string(b)
}
