package api

import (
	"bytes"
	"encoding/json"
	"mime"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v3"
)

func (b *bench) loadDoc() {
	b.t.Helper()
	got := b.send(call{method: "GET", path: "/openapi.json", token: "none"}).want(200)
	if k := got.head.Get("Content-Type"); k != "application/openapi+json" {
		b.t.Errorf("the document has the type %q", k)
	}
	if err := json.Unmarshal(got.body, &b.doc); err != nil {
		b.t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(got.body))
	if err != nil {
		b.t.Fatal(err)
	}
	b.schemas = jsonschema.NewCompiler()
	b.schemas.DefaultDraft(jsonschema.Draft2020)
	b.schemas.AssertFormat()
	if err := b.schemas.AddResource("urn:doc", doc); err != nil {
		b.t.Fatal(err)
	}
}

// dig goes into the document; nil when there is no such place.
func dig(v any, path ...string) any {
	for _, p := range path {
		m, ok := v.(map[string]any)
		if !ok {
			return nil
		}
		v = m[p]
	}
	return v
}

var hole = regexp.MustCompile(`\{[^}]*\}`)

// operation finds the operation of a request.
func (b *bench) operation(method, path string) (template string, op map[string]any) {
	path, _, _ = strings.Cut(path, "?")
	best := ""
	for t := range b.doc["paths"].(map[string]any) {
		re := regexp.MustCompile("^" + hole.ReplaceAllString(t, "[^/]+") + "$")
		if re.MatchString(path) && (best == "" || strings.Count(t, "{") < strings.Count(best, "{")) {
			best = t
		}
	}
	op, _ = dig(b.doc, "paths", best, strings.ToLower(method)).(map[string]any)
	return best, op
}

func pointer(parts ...string) string {
	for i, p := range parts {
		parts[i] = strings.NewReplacer("~", "~0", "/", "~1", "{", "%7B", "}", "%7D", " ", "%20").Replace(p)
	}
	return "urn:doc#/" + strings.Join(parts, "/")
}

func (b *bench) valid(data []byte, where ...string) error {
	s, err := b.schemas.Compile(pointer(where...))
	if err != nil {
		return err
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		return err
	}
	return s.Validate(v)
}

// check compares an answer with the document: status, type, headers, body; and the body of a request that was taken.
func (b *bench) check(c call, got *answer) {
	b.t.Helper()
	path, op := b.operation(c.method, c.path)
	if op == nil {
		b.t.Errorf("%s %s is no operation of the document", c.method, c.path)
		return
	}
	id, status := op["operationId"].(string), strconv.Itoa(got.status)
	if b.done[id] == nil {
		b.done[id] = map[string]bool{}
	}
	b.done[id][status] = true
	method := strings.ToLower(c.method)
	res, ok := dig(op, "responses", status).(map[string]any)
	if !ok {
		b.t.Errorf("%s %s: status %d is not in the document: %s", c.method, c.path, got.status, got.body)
		return
	}
	b.checkHeaders(c, got, res)
	content, _ := res["content"].(map[string]any)
	kind, _, err := mime.ParseMediaType(got.head.Get("Content-Type"))
	switch {
	case content == nil && (len(got.body) > 0 || got.head.Get("Content-Type") != ""):
		b.t.Errorf("%s %s %d: a body of type %q where the document has none", c.method, c.path, got.status, kind)
	case content == nil:
	case err != nil || content[kind] == nil:
		b.t.Errorf("%s %s %d: type %q is not in the document", c.method, c.path, got.status, got.head.Get("Content-Type"))
	case strings.HasSuffix(kind, "json"):
		if err := b.valid(got.body, "paths", path, method, "responses", status, "content", kind, "schema"); err != nil {
			b.t.Errorf("%s %s %d: the answer is not what the document says: %v\n%.2000s", c.method, c.path, got.status, err, got.body)
		}
		if bytes.Contains(got.body, []byte(`"$schema"`)) {
			b.t.Errorf("%s %s: a $schema link in the body", c.method, c.path)
		}
	}
	if got.status < 300 && c.body != "" && c.kind == "" {
		if err := b.valid([]byte(c.body), "paths", path, method, "requestBody", "content", "application/json", "schema"); err != nil {
			b.t.Errorf("%s %s: a body was taken that the document does not allow: %v\n%s", c.method, c.path, err, c.body)
		}
	}
}

// usual are headers that need no word in the document: of HTTP itself and of the gate.
var usual = []string{"Content-Type", "Content-Length", "Date", "Www-Authenticate", "Retry-After", "Allow", "X-Request-Id", "Content-Security-Policy", "X-Content-Type-Options",
	"Referrer-Policy", "Cross-Origin-Opener-Policy", "Cross-Origin-Resource-Policy", "Permissions-Policy", "Cache-Control", "Transfer-Encoding", "Connection"}

func (b *bench) checkHeaders(c call, got *answer, res map[string]any) {
	b.t.Helper()
	told, _ := res["headers"].(map[string]any)
	for name := range got.head {
		known := slices.Contains(usual, name)
		for t := range told {
			known = known || http.CanonicalHeaderKey(t) == name
		}
		if !known {
			b.t.Errorf("%s %s %d: the header %s is not in the document", c.method, c.path, got.status, name)
		}
	}
}

// TestDocument looks at the form of the document: the rules of OpenAPI 3.1.0 that are written here are from memory.
func TestDocument(t *testing.T) {
	b := newBench(t)
	if v, ok := b.doc["openapi"].(string); !ok || !strings.HasPrefix(v, "3.1.") {
		t.Errorf("openapi: %v", b.doc["openapi"])
	}
	for _, p := range [][]string{{"info", "title"}, {"info", "version"}} {
		if s, ok := dig(b.doc, p...).(string); !ok || s == "" {
			t.Errorf("%v is missing", p)
		}
	}
	for key := range b.doc {
		if !slices.Contains([]string{"openapi", "info", "jsonSchemaDialect", "servers", "paths", "webhooks", "components", "security", "tags", "externalDocs"}, key) && !strings.HasPrefix(key, "x-") {
			t.Errorf("the document has a field %q", key)
		}
	}
	servers, ok := b.doc["servers"].([]any)
	if !ok || len(servers) != 1 || dig(servers[0], "url") != Prefix {
		t.Errorf("servers: %v", b.doc["servers"])
	}
	tags := map[string]bool{}
	for _, tag := range b.doc["tags"].([]any) {
		tags[dig(tag, "name").(string)] = true
	}
	ids := map[string]bool{}
	for path, item := range b.doc["paths"].(map[string]any) {
		if !strings.HasPrefix(path, "/") {
			t.Errorf("path %q", path)
		}
		for method, op := range item.(map[string]any) {
			if !slices.Contains([]string{"get", "put", "post", "delete"}, method) {
				t.Errorf("%s has a %q", path, method)
				continue
			}
			checkOperation(t, path, method, op.(map[string]any), tags, ids)
		}
	}
	if dig(b.doc, "components", "securitySchemes", "token", "scheme") != "bearer" || dig(b.doc, "components", "securitySchemes", "token", "type") != "http" {
		t.Errorf("security schemes: %v", dig(b.doc, "components", "securitySchemes"))
	}
	if s, ok := b.doc["security"].([]any); !ok || len(s) != 1 || dig(s[0], "token") == nil {
		t.Errorf("security: %v", b.doc["security"])
	}
	names := regexp.MustCompile(`^[a-zA-Z0-9._-]+$`)
	for name := range dig(b.doc, "components", "schemas").(map[string]any) {
		if !names.MatchString(name) {
			t.Errorf("schema %q", name)
		}
		if _, err := b.schemas.Compile(pointer("components", "schemas", name)); err != nil {
			t.Errorf("schema %s: %v", name, err)
		}
	}
	refs(t, b.doc, b.doc)
}

func checkOperation(t *testing.T, path, method string, op map[string]any, tags, ids map[string]bool) {
	t.Helper()
	where := method + " " + path
	id, _ := op["operationId"].(string)
	if id == "" || ids[id] {
		t.Errorf("%s: operationId %q", where, id)
	}
	ids[id] = true
	if s, _ := op["summary"].(string); s == "" {
		t.Errorf("%s has no summary", where)
	}
	for _, tag := range op["tags"].([]any) {
		if !tags[tag.(string)] {
			t.Errorf("%s: tag %v is not described", where, tag)
		}
	}
	declared := map[string]bool{}
	params, _ := op["parameters"].([]any)
	for _, p := range params {
		name, in := dig(p, "name").(string), dig(p, "in").(string)
		if declared[in+" "+name] || dig(p, "schema") == nil || !slices.Contains([]string{"path", "query", "header", "cookie"}, in) {
			t.Errorf("%s: parameter %v", where, p)
		}
		if in == "path" && dig(p, "required") != true {
			t.Errorf("%s: the path parameter %s is not required", where, name)
		}
		if in == "header" && slices.Contains([]string{"accept", "content-type", "authorization"}, strings.ToLower(name)) {
			t.Errorf("%s: a parameter %s is ignored by the rules", where, name)
		}
		declared[in+" "+name] = true
	}
	for _, h := range hole.FindAllString(path, -1) {
		if !declared["path "+strings.Trim(h, "{}")] {
			t.Errorf("%s: %s is not declared", where, h)
		}
		delete(declared, "path "+strings.Trim(h, "{}"))
	}
	for d := range declared {
		if strings.HasPrefix(d, "path ") {
			t.Errorf("%s: %s is not in the path", where, d)
		}
	}
	if (method == "post" || method == "put") != (op["requestBody"] != nil) {
		t.Errorf("%s: body %v", where, op["requestBody"])
	}
	checkResponses(t, where, op)
}

func checkResponses(t *testing.T, where string, op map[string]any) {
	t.Helper()
	responses, _ := op["responses"].(map[string]any)
	good := false
	for code, r := range responses {
		if n, err := strconv.Atoi(code); err != nil || n < 100 || n > 599 {
			t.Errorf("%s: status %q", where, code)
		} else {
			good = good || n < 300
		}
		if d, _ := dig(r, "description").(string); d == "" {
			t.Errorf("%s %s: no description", where, code)
		}
	}
	if !good {
		t.Errorf("%s: no answer of success", where)
	}
}

// refs looks that each reference leads to something.
func refs(t *testing.T, doc map[string]any, v any) {
	switch x := v.(type) {
	case map[string]any:
		if r, ok := x["$ref"].(string); ok {
			rest, ok := strings.CutPrefix(r, "#/")
			if !ok || dig(doc, strings.Split(rest, "/")...) == nil {
				t.Errorf("the reference %q leads nowhere", r)
			}
		}
		for _, y := range x {
			refs(t, doc, y)
		}
	case []any:
		for _, y := range x {
			refs(t, doc, y)
		}
	}
}

// TestYAML: the YAML document says the same as the JSON one, by another reader.
func TestYAML(t *testing.T) {
	b := newBench(t)
	got := b.send(call{method: "GET", path: "/openapi.yaml", token: "none"}).want(200)
	var doc map[string]any
	if err := yaml.Unmarshal(got.body, &doc); err != nil {
		t.Fatal(err)
	}
	x, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	y, err := json.Marshal(b.doc)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(x, y) {
		t.Error("YAML and JSON differ")
	}
	if k := got.head.Get("Content-Type"); k != "application/openapi+yaml" {
		t.Errorf("type %q", k)
	}
	if bytes.Contains(got.body, []byte("https://")) || bytes.Contains(got.body, []byte("unpkg")) {
		t.Error("the document leads outside")
	}
	for _, p := range []string{"/docs", "/schemas/Problem.json"} {
		if s := b.send(call{method: "GET", path: p}).status; s != 404 {
			t.Errorf("%s: status %d", p, s)
		}
	}
}
