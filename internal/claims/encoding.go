package claims

// V1, encoding and sanitization.
var encoding = []Break{
	{"1.1.1", "an address is decoded once more after it was checked", "internal/web/form.go", "local(back) {\n				to = back\n", "local(back) {\n				to, _ = url.PathUnescape(back)\n", "web.TestNobodyIsLedElsewhere"},
	{"1.1.2", "texts go into a page as they are", "internal/web/pages/job.html", "<p>{{.Text}} <span", "<p>{{raw .Text}} <span", "web.TestWhatIsTypedIsText"},
	{"1.2.1", "texts go into a drawing as they are", "internal/draw/svg.go", "c.b.WriteString(\">\" + escape(string(s)) +", "c.b.WriteString(\">\" + string(s) +", "draw.TestHostileNames"},
	{"1.2.3", "a text goes into a page as it is", "internal/web/pages/code.html", "<p class=\"num-xl\">{{$d.Code}}</p>", "<p class=\"num-xl\">{{raw $d.Code}}</p>", "sec.TestRawMarkup"},
	{"1.2.4", "a secret is pasted into SQL", "internal/store/keys.go", "`SELECT `+tokenColumns+` FROM token WHERE hash = $1`, digest(secret)", "`SELECT `+tokenColumns+` FROM token WHERE hash = $1 AND name <> '`+secret+`'`, digest(secret)", "sec.TestSQLTakesParameters"},
	{"1.2.5", "a program of the system is started", "internal/gate/host.go", "	\"os\"\n", "	\"os\"\n	_ \"os/exec\"\n", "sec.TestNothingIsRun"},
	{"1.2.5", "a science package starts a program", "sheet/number.go", "import (\n", "import (\n	_ \"os/exec\"\n", "sec.TestNothingIsRun"},
	{"1.3.2", "a script runs text as code", "internal/web/static/js/app.js", "import { el, icon } from \"./dom.js\";", "import { el, icon } from \"./dom.js\"; eval(location.hash);", "sec.TestScriptsHaveNoSinks"},
	{"1.3.3", "a text may have control characters", "internal/record/check.go", "		if r == 0 || unicode.IsControl(r) && r != '\\n' && r != '\\r' && r != '\\t' {\n", "		if r == utf8.RuneError {\n", "record.TestCheck"},
	{"1.3.4", "SVG is taken for a signature", "internal/record/jobbody.go", "r == 'M' || r == 'L') {", "r == 'M' || r == 'L' || r > ' ') {", "record.TestCheck"},
	{"1.3.5", "a pump sheet may have anchors", "sheet/doc.go", "case n.Kind == yaml.AliasNode || n.Anchor != \"\":", "case n.Kind == yaml.AliasNode && n.Line < 0:", "sheet.TestReadRefuses"},
	{"1.3.6", "the server asks another server", "internal/shop/fits.go", "	\"github.com/evenstroke/evenstroke/internal/record\"\n)\n", "	\"net\"\n\n	\"github.com/evenstroke/evenstroke/internal/record\"\n)\n\nvar _ = net.Dial\n", "sec.TestNothingIsRun"},
	{"1.3.7", "what was typed goes past the template", "internal/web/pages/job.html", "<p>{{.Text}} <span", "<p>{{raw .Text}} <span", "web.TestWhatIsTypedIsText"},
	{"1.3.10", "what was typed is a format", "internal/record/check.go", "fmt.Sprintf(\"%d characters\", utf8.RuneCountInString(s))", "fmt.Sprintf(s)", "sec.TestFormatsAreConstants"},
	{"1.4.1", "pointers are made of numbers where requests come", "internal/gate/host.go", "	\"os\"\n", "	\"os\"\n	_ \"unsafe\"\n", "sec.TestNothingIsRun"},
	{"1.4.2", "the amount of a line overflows", "internal/record/jobbody.go", "	v := b.Quantity * (b.Each / 1000)\n	rest := b.Quantity * (b.Each % 1000)\n", "	v, rest := int64(0), b.Quantity*b.Each*1_000_000/1_000_000\n", "record.TestAmount"},
	{"1.5.1", "XML comes in", "internal/gate/host.go", "	\"os\"\n", "	\"os\"\n	_ \"encoding/xml\"\n", "sec.TestNothingIsRun"},
	{"1.5.2", "a value of the catalogue may have unknown fields", "internal/record/item.go", "	dec.DisallowUnknownFields()\n", "", "record.TestDecodeIsStrict"},
	{"1.2.1", "what was refused is shown again as markup", "internal/web/pages/pieces.html", "{{with .List}} list=\"{{.}}\"{{end}} value=\"{{.Form.Value .Name .Value}}\"", "{{with .List}} list=\"{{.}}\"{{end}} value=\"\">{{raw (.Form.Value .Name .Value)}}<input value=\"\"", "web.TestRefusedFormsAreText"},
	{"1.2.1", "a title goes into the style of a paper as it is", "internal/report/html.go", "template.CSS(style + draw.StyleSheet())", "template.CSS(style + draw.StyleSheet() + doc.Title)", "report.TestHostileNames"},
	{"1.2.2", "the door leads wherever its address says", "internal/web/door.go", "	if !local(d.To) {\n		d.To = \"/\"\n	}\n	if d.Known", "	if d.Known", "web.TestNobodyIsLedElsewhere"},
	{"1.4.2", "an amount of money overflows", "internal/web/money.go", " || len(whole) > 12 {", " {", "web.TestMoney"},
	{"1.5.2", "a body that cannot be is read", "internal/record/entry.go", "	if err := b.Check(); err != nil {\n		return nil, err\n	}\n	return b, nil\n", "	return b, nil\n", "record.FuzzDecode"},
	{"1.5.2", "a body may have unknown fields", "internal/record/entry.go", "	dec.DisallowUnknownFields()\n", "", "record.TestDecodeIsStrict"},
}
