package assess

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"unicode"

	"github.com/evenstroke/evenstroke/hold"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/sheet"
)

// maxPiece is the size of the largest reading or description of fluid or gauge, in bytes, so that the readings that a sheet may
// have fit into one.
const maxPiece = 12 << 10

// maxReadings is how many readings a hold sheet may have.
const maxReadings = 60

// document is a hold sheet as JSON.
type document struct {
	Hold      int               `json:"hold"`
	ID        string            `json:"id,omitempty"`
	Pump      string            `json:"pump"`
	Serial    string            `json:"serial,omitempty"`
	Stage     record.HoldStage  `json:"stage,omitempty"`
	Fluid     json.RawMessage   `json:"fluid,omitempty"`
	Gauge     json.RawMessage   `json:"gauge,omitempty"`
	Stopwatch string            `json:"stopwatch,omitempty"`
	Ruler     string            `json:"ruler,omitempty"`
	Readings  []json.RawMessage `json:"readings"`
}

// newDocument starts a sheet with what the hold is made with; b may be nil.
func newDocument(name string, b *record.Benched) (document, error) {
	d := document{Hold: 1, Pump: plainText(name), Readings: []json.RawMessage{}}
	if d.Pump == "" {
		d.Pump = "pump"
	}
	if b == nil {
		return d, nil
	}
	d.Stopwatch, d.Ruler = b.Stopwatch, b.Ruler
	var err error
	if d.Fluid, err = canonical("fluid", b.Fluid); err == nil {
		d.Gauge, err = canonical("gauge", b.Gauge)
	}
	return d, err
}

// read writes the document and reads it as a hold sheet.
func (d document) read() ([]byte, *hold.Sheet, error) {
	data, err := encode(d)
	if err != nil {
		return nil, nil, err
	}
	s, err := hold.ReadSheet("hold", data, nil)
	return data, s, err
}

func encode(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, fmt.Errorf("assess: a hold sheet: %w", err)
	}
	return bytes.TrimSpace(b.Bytes()), nil
}

// canonical rewrites one JSON object so that it reads the same as YAML: characters written out instead of escaped in pairs. The
// same key twice is an error.
func canonical(where string, raw json.RawMessage) (json.RawMessage, error) {
	if len(bytes.TrimSpace(raw)) == 0 {
		return nil, nil
	}
	if len(raw) > maxPiece {
		return nil, record.Faultf(record.TooLarge, where, fmt.Sprintf("%d bytes", len(raw)), fmt.Sprintf("at most %d bytes", maxPiece), "shorten it")
	}
	if key := repeated(raw); key != "" {
		return nil, record.Faultf(record.Invalid, key, "the key a second time", "each key once", "remove one of the two")
	}
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	var v map[string]any
	if err := dec.Decode(&v); err != nil {
		return nil, &record.Fault{Code: record.Invalid, Where: where, Found: "text that is no JSON object", Want: "a JSON object", Err: err}
	}
	if _, err := dec.Token(); err != io.EOF {
		return nil, record.Faultf(record.Invalid, where, "more after the end", "one JSON object", "")
	}
	return encode(v)
}

// repeated returns a key that stands twice in one object, "" when none does.
func repeated(raw []byte) string {
	dec := json.NewDecoder(bytes.NewReader(raw))
	var seen []map[string]bool // one for each open block; nil for a list
	key := false               // the next string is a key
	for {
		t, err := dec.Token()
		if err != nil { // the end, or what Decode will complain of
			return ""
		}
		switch t := t.(type) {
		case json.Delim:
			switch t {
			case '{':
				seen = append(seen, map[string]bool{})
			case '[':
				seen = append(seen, nil)
			default:
				seen = seen[:len(seen)-1]
			}
		case string:
			if key {
				if seen[len(seen)-1][t] {
					return t
				}
				seen[len(seen)-1][t] = true
				key = false
				continue
			}
		}
		key = len(seen) > 0 && seen[len(seen)-1] != nil
	}
}

// plainText leaves out what a sheet does not take in a text, as control characters.
func plainText(s string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp) {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "")))
}

// fault turns what is wrong in a sheet into a Fault; name gives the field of a key of the sheet. Only the first error is told:
// a person mends one field after the other.
func fault(err error, name func(key string) string) error {
	if err == nil {
		return nil
	}
	es := sheet.List(err)
	if len(es) == 0 {
		if code := record.CodeOf(err); code != "" {
			return err
		}
		return &record.Fault{Code: record.Invalid, Found: err.Error(), Want: "a hold sheet", Err: err}
	}
	e := es[0]
	return &record.Fault{Code: record.Invalid, Where: name(e.Key), Found: e.Found, Want: e.Want, Mend: e.Fix, Err: err}
}
