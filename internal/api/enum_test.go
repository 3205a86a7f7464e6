package api

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/evenstroke/evenstroke/internal/assess"
)

// The codes that the document of the API promises are those that the program has.
func TestCodesOfTheDocument(t *testing.T) {
	for _, c := range []struct {
		of    any
		field string
		codes []string
	}{
		{Point{}, "Code", texts(assess.PointCodes())},
		{Step{}, "Phase", texts(assess.Phases())},
	} {
		f, ok := reflect.TypeOf(c.of).FieldByName(c.field)
		if !ok {
			t.Fatalf("no field %s", c.field)
		}
		promised := strings.Split(f.Tag.Get("enum"), ",")
		slices.Sort(promised)
		slices.Sort(c.codes)
		if !slices.Equal(promised, c.codes) {
			t.Errorf("%T.%s: the document promises %v, the program has %v", c.of, c.field, promised, c.codes)
		}
	}
}

func texts[T ~string](codes []T) []string {
	var out []string
	for _, c := range codes {
		out = append(out, string(c))
	}
	return out
}
