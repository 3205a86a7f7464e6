package gate

import (
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// What each role may, after the words of record.Role: technician jobs; trainer also the work of others, pump sheets, fluids, tools; office
// also customers, prices, bills, people but owners; owner everything. The letters: t technician, r trainer, o office, w owner;
// R and W a token of an owner that may read or write.
var allowed = map[Action]string{
	Read:          "t r o w R W",
	WriteJob:      "t r o w   W",
	KeepPump:      "t r o w   W",
	AddCustomer:   "t r o w   W",
	CorrectOthers: "  r o w   W",
	StrikeOthers:  "  r o w   W",
	Override:      "  r o w    ",
	KeepSheet:     "  r o w   W",
	KeepFluid:     "  r o w   W",
	KeepTool:      "  r o w   W",
	KeepCustomer:  "    o w   W",
	KeepPrice:     "    o w   W",
	Bill:          "    o w   W",
	KeepPerson:    "    o w    ",
	KeepDevice:    "    o w    ",
	SeeWrong:      "    o w R W",
	MakeToken:     "    o w    ",
	KeepOwner:     "      w    ",
	KeepShop:      "      w    ",
	Export:        "      w    ",
	Import:        "      w   W",
}

func TestWhoMayWhat(t *testing.T) {
	who := map[rune]Who{
		't': as(record.Technician, 4), 'r': as(record.Trainer, 3), 'o': as(record.Office, 2), 'w': as(record.Owner, 1),
		'R': {Person: 1, P: record.Person{Role: record.Office}, Token: true, Scope: "read", Whole: record.Owner},
		'W': {Person: 1, P: record.Person{Role: record.Office}, Token: true, Scope: "write", Whole: record.Owner},
	}
	if len(allowed) != len(rules) || len(allowed) != len(Actions()) {
		t.Fatalf("%d actions in the table, %d rules, %d in the list", len(allowed), len(rules), len(Actions()))
	}
	for _, what := range Actions() {
		cells, ok := allowed[what]
		if !ok {
			t.Fatalf("%s is not in the table", what)
		}
		for c, w := range who {
			want := false
			for _, x := range cells {
				want = want || x == c
			}
			if err := May(w, what); (err == nil) != want || err != nil && code(err) != record.NotAllowed {
				t.Errorf("%c: %s: %v, want %v", c, what, err, want)
			}
		}
	}
}

func TestMayNot(t *testing.T) {
	for name, who := range map[string]Who{
		"nobody":         {Device: 1},
		"locked":         {Device: 1, Person: 1, Locked: true, P: record.Person{Role: record.Owner}},
		"no role":        {Person: 1},
		"unknown role":   {Person: 1, P: record.Person{Role: "king"}},
		"no scope":       {Person: 1, Token: true, P: record.Person{Role: record.Office}},
		"unknown scope":  {Person: 1, Token: true, Scope: "all", P: record.Person{Role: record.Office}},
		"technicians' W": {Person: 4, Token: true, Scope: "write", P: record.Person{Role: record.Technician}},
	} {
		if err := May(who, KeepPrice); code(err) != record.NotAllowed {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := May(as(record.Owner, 1), "flying"); code(err) != record.NotAllowed {
		t.Errorf("an unknown action: %v", err)
	}
}

// A token of the office, who may not do it by hand, may not do it either.
func TestImportByToken(t *testing.T) {
	for role, want := range map[record.Role]bool{record.Owner: true, record.Office: false, record.Technician: false, "": false} {
		who := Who{Person: 2, P: record.Person{Role: record.Office}, Token: true, Scope: "write", Whole: role}
		if err := May(who, Import); (err == nil) != want {
			t.Errorf("a token of %q: %v", role, err)
		}
	}
}

func TestMayKeepPerson(t *testing.T) {
	for _, c := range []struct {
		role, was, will record.Role
		want            bool
	}{
		{record.Owner, "", record.Owner, true}, {record.Owner, record.Owner, record.Technician, true}, {record.Owner, record.Technician, record.Office, true},
		{record.Office, "", record.Technician, true}, {record.Office, record.Technician, record.Office, true}, {record.Office, record.Trainer, record.Trainer, true},
		{record.Office, "", record.Owner, false}, {record.Office, record.Office, record.Owner, false}, {record.Office, record.Owner, record.Technician, false},
		{record.Trainer, "", record.Technician, false}, {record.Technician, record.Technician, record.Trainer, false},
	} {
		if err := MayKeepPerson(as(c.role, 2), c.was, c.will); (err == nil) != c.want {
			t.Errorf("%s, from %q to %q: %v, want %v", c.role, c.was, c.will, err, c.want)
		}
	}
}

func TestKeeping(t *testing.T) {
	want := map[record.SubjectKind]record.Role{record.OfShop: record.Owner, record.OfPerson: record.Office, record.OfDevice: record.Office, record.OfCustomer: record.Office,
		record.OfPump: record.Technician, record.OfTool: record.Trainer, record.OfSheet: record.Trainer, record.OfFluid: record.Trainer, record.OfPrice: record.Office}
	for _, k := range record.Catalogue() {
		if got := rules[Keeping(k)].from; got != want[k] {
			t.Errorf("%s: from %q, want from %q", k, got, want[k])
		}
	}
	if May(as(record.Owner, 1), Keeping(record.OfJob)) == nil {
		t.Error("a job is no value of the catalogue")
	}
}
