package refcase

import "testing"

const good = `# comment
case    one
func    F
kind    analytic
source  closed form
given   d=0.025 m  cup="ISO 4" n=3 1
want    Q = 5e-8 m³/s; v = 2 m/s
tol     rel 1e-3  because printed
`

func TestParseReadsACase(t *testing.T) {
	cases, err := Parse("x.ref", good)
	if err != nil {
		t.Fatal(err)
	}
	c := cases[0]
	if len(cases) != 1 || c.Name != "one" || c.Given["d"] != "0.025 m" || c.Given["cup"] != `"ISO 4"` || c.Given["n"] != "3 1" {
		t.Errorf("read %+v", c)
	}
	if len(c.Want) != 2 || c.Want[1].Value != 2 || c.TolRel != 1e-3 || c.Because != "printed" {
		t.Errorf("want and tol read as %+v", c)
	}
}

func TestParseRefuses(t *testing.T) {
	for name, text := range map[string]string{
		"unknown line":           "case a\nfoo b\n",
		"no source":              "case a\nfunc F\nkind limit\nwant error\n",
		"pin":                    "case a\nfunc F\nkind pin\nsource us\nwant error\n",
		"no unit":                "case a\nfunc F\nkind limit\nsource s\ngiven d=1\nwant error\n",
		"no reason":              "case a\nfunc F\nkind limit\nsource s\nwant Q = 1 m\ntol rel 1e-3\n",
		"practice with a source": "case a\nfunc F\nkind practice\nsource a handbook\nwant error\n",
		"practice as a limit":    "case a\nfunc F\nkind limit\nsource common practice, no published source: as the trade does it\nwant error\n",
		"nothing wanted":         "case a\nfunc F\nkind limit\nsource s\n",
	} {
		if _, err := Parse("x.ref", text); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
