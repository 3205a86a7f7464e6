package api

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
)

// tag is the strong entity tag of what has this last entry: its number and the beginning of its digest.
func tag(seq int64, hash record.Digest) string { return fmt.Sprintf(`"%d-%.16s"`, seq, hash) }

// tags reads a list of entity tags (RFC 9110 section 8.8.3); any says that it is "*".
func tags(header string) (list []string, any bool, err error) {
	s := strings.TrimSpace(header)
	if s == "*" {
		return nil, true, nil
	}
	for s != "" {
		weak := strings.HasPrefix(s, "W/")
		rest, ok := strings.CutPrefix(strings.TrimPrefix(s, "W/"), `"`)
		value, after, ok2 := strings.Cut(rest, `"`)
		if !ok || !ok2 {
			return nil, false, record.Faultf(record.Invalid, "entity tag", short(header), `tags as "12-0123456789abcdef", or *`, "send the ETag as it came")
		}
		t := `"` + value + `"`
		if weak {
			t = "W/" + t
		}
		list = append(list, t)
		s = strings.TrimSpace(after)
		if s == "" {
			break
		}
		if s, ok = strings.CutPrefix(s, ","); !ok {
			return nil, false, record.Faultf(record.Invalid, "entity tag", short(header), "a comma between tags", "send the ETag as it came")
		}
		s = strings.TrimSpace(s)
	}
	return list, false, nil
}

// fresh says whether what a reader has is still so: If-None-Match, by the weak comparison (section 13.1.2).
func fresh(ifNoneMatch, now string) (bool, error) {
	list, any, err := tags(ifNoneMatch)
	for _, t := range list {
		any = any || strings.TrimPrefix(t, "W/") == now
	}
	return any, err
}

// seen is the last entry that a writer has seen, of the tags in If-Match by the strong comparison (section 13.1.1): 0 when it says
// nothing, 412 when none of them is the tag now. Only the store can tell for sure that nothing comes in between; it is asked to take
// what is written only after that entry.
func seen(ifMatch, now string) (int64, error) {
	if ifMatch == "" {
		return 0, nil
	}
	list, any, err := tags(ifMatch)
	if err != nil || any {
		return 0, err
	}
	current := seqOf(now)
	if slices.Contains(list, now) {
		return current, nil
	}
	return 0, NewProblem(http.StatusPreconditionFailed, &record.Fault{Code: record.Conflict, Where: "If-Match", Found: short(ifMatch), Want: now, Mend: "read it again", Seq: current})
}

// seqOf is the number in a tag that this package made.
func seqOf(t string) int64 {
	s, _, _ := strings.Cut(strings.Trim(t, `"`), "-")
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil {
		return 0
	}
	return n
}
