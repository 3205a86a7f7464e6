package archive

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Format and Version name the files that this package writes and the newest that it reads.
const (
	Format  = "evenstroke-job"
	Version = 1
)

const (
	manifestName = "manifest.json"
	entriesName  = "entries.jsonl"
)

// Manifest says what an archive holds.
type Manifest struct {
	Format  string        `json:"format" jsonschema:"enum=evenstroke-job"`
	Version int           `json:"version" jsonschema:"minimum=1"`
	Engine  string        `json:"engine"` // version of the program that wrote it
	Shop    string        `json:"shop"`   // name of the workshop that it comes from
	UID     string        `json:"uid"`    // of the job, the same in every shop
	Number  int64         `json:"number" jsonschema:"minimum=1"`
	Counts  Counts        `json:"counts"`
	Last    record.Digest `json:"last"` // digest of the last entry
	Members []Member      `json:"members"`
}

// Counts says how much an archive holds.
type Counts struct {
	Entries int `json:"entries" jsonschema:"minimum=1"`
	Items   int `json:"items" jsonschema:"minimum=0"`
	Photos  int `json:"photos" jsonschema:"minimum=0"`
}

// Member is a file of the archive with its digest.
type Member struct {
	Name   string        `json:"name" jsonschema:"pattern=^(entries\\.jsonl|items/[a-z]+-[1-9][0-9]*\\.json|photos/[0-9a-f]{64}\\.jpg)$"`
	SHA256 record.Digest `json:"sha256"`
}

// Line is one line of entries.jsonl: an entry as it was hashed. Times are microseconds of Unix time. Body is a text, so that its bytes stay
// what they were.
type Line struct {
	Subject  int64             `json:"subject" jsonschema:"minimum=1"` // number of the job in the shop that wrote the entry
	Seq      int64             `json:"seq" jsonschema:"minimum=1"`
	Kind     record.Kind       `json:"kind"`
	At       int64             `json:"at"`
	Stored   int64             `json:"stored"`
	By       int64             `json:"by" jsonschema:"minimum=0"`
	Device   int64             `json:"device" jsonschema:"minimum=0"`
	Key      string            `json:"key" jsonschema:"minLength=1,maxLength=80"`
	Corrects int64             `json:"corrects" jsonschema:"minimum=0"`
	Body     string            `json:"body"`
	Prev     record.Digest     `json:"prev"`
	Hash     record.Digest     `json:"hash"`
	Refers   map[string]string `json:"refers"` // field with a number → name of the item, as "person-1"
}

// Item is a file under items/: what a number stands for.
type Item struct {
	Kind   record.SubjectKind `json:"kind" jsonschema:"enum=person,enum=device,enum=customer,enum=pump,enum=sheet,enum=tool,enum=price"`
	Names  []record.Digest    `json:"names"`            // digests by which shops know it (store.Names); none for what comes with the program
	Value  json.RawMessage    `json:"value"`            // numbers in it are 0
	Refers map[string]string  `json:"refers,omitempty"` // as in a line
}

// person is what an archive says of a person.
type person struct {
	Name     string `json:"name"`
	Initials string `json:"initials"`
}

// Bounds of an archive. A job of a workshop has some hundred entries and some ten photos; they keep a forged file from filling memory
// or disk. Export refuses what Import would.
const (
	maxSize    = 512 << 20 // of the file
	maxTotal   = 768 << 20 // of all members unpacked
	maxMembers = 5000
	maxEntries = 20000
	maxLines   = 128 << 20 // of entries.jsonl
	maxSmall   = 4 << 20   // of the manifest and of an item
	maxPhoto   = 25 << 20
	maxRatio   = 200 // unpacked to packed, beyond freeRatio bytes
	freeRatio  = 1 << 20
)

var itemName = regexp.MustCompile(`^items/((person|device|customer|pump|sheet|tool|price)-[1-9][0-9]{0,5})\.json$`)

var photoName = regexp.MustCompile(`^photos/([0-9a-f]{64})\.jpg$`)

// limit is how many bytes a member of a name may have; 0 for a name that no member has.
func limit(name string) int64 {
	switch {
	case name == manifestName:
		return maxSmall
	case name == entriesName:
		return maxLines
	case itemName.MatchString(name):
		return maxSmall
	case photoName.MatchString(name):
		return maxPhoto
	}
	return 0
}

func photoPath(d record.Digest) string { return "photos/" + d.String() + ".jpg" }

func itemPath(name string) string { return "items/" + name + ".json" }

func bad(where, found, want string) *record.Fault {
	return record.Faultf(record.Invalid, where, found, want, "have the archive made again")
}

// short cuts a text of a stranger for a message.
func short(s string) string { return fmt.Sprintf("%.60q", strings.ToValidUTF8(s, "�")) }
