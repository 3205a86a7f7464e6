package store

import (
	"hash/maphash"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/evenstroke/evenstroke/internal/record"
)

// SQLite's integrity_check looks each row of a table up in each of its indexes. For the two tables that grow fastest, entry and word, that is most
// of its time. So it is left to do that for the other tables; what the indexes of these two say is added up here, and compared with the sum of what
// their rows say, which are read anyway. An index that is not in its order would be searched in vain: that is looked at as well. How many entries each index
// has SQLite counts in its quick_check.

// sums adds up what rows or indexes say, in whatever order: the keys of entries, the first of each subject, the words.
type sums struct {
	keys, firsts, words uint64
	signed              int64 // how many entries belong into the chain of the shop
}

func (s *sums) add(o sums) {
	s.signed += o.signed
	s.keys += o.keys
	s.firsts += o.firsts
	s.words += o.words
}

// key, first and word add an entry, as it stands in an index or in a row.
func (s *sums) key(id int64, kind string, subject int64, key string) {
	s.keys += digit(id, subject, kind, key)
}
func (s *sums) first(id int64, hash string) { s.firsts += digit(id, 0, "", hash) }
func (s *sums) word(kind string, subject int64, word string) {
	s.words += digit(0, subject, kind, word)
}

var sumSeed = maphash.MakeSeed()

// digit is the share in a sum.
func digit(id, subject int64, kind, text string) uint64 {
	var space [160]byte
	b := strconv.AppendInt(space[:0], id, 10)
	b = strconv.AppendInt(append(b, ' '), subject, 10)
	b = append(append(append(b, ' '), kind...), ' ')
	return maphash.Bytes(sumSeed, append(b, text...))
}

// sum adds what the rows of a batch say.
func (b *batch) sum() {
	kind := string(b.kind)
	for _, run := range b.runs {
		for i := range run {
			e := &run[i]
			b.sums.key(e.ID, kind, e.Subject.ID, e.Key)
			if e.Kind.Linked() {
				b.sums.signed++
			}
			if e.Seq == 1 {
				b.sums.first(e.ID, string(e.Hash[:]))
			}
		}
	}
	for _, row := range b.words {
		for i, word := range row.words {
			b.sums.word(kind, row.id, word)
			if i > 0 && word <= row.words[i-1] {
				b.disorder = true
			}
		}
	}
}

// indexes compares what the indexes say with what the rows say, which have been added up. PostgreSQL is trusted to keep its indexes.
func (v verifier) indexes() error {
	if !v.lite {
		return nil
	}
	var say sums
	for _, read := range []func(*sums) error{v.readKeys, v.readFirsts, v.readWords} {
		if err := read(&say); err != nil {
			return err
		}
	}
	for _, c := range []struct {
		same  bool
		index string
	}{
		{say.keys == v.sums.keys, keyIndex}, {say.firsts == v.sums.firsts, firstIndex}, {say.words == v.sums.words, wordIndex},
	} {
		if !c.same {
			v.r.wrong(theFile, "the index %s does not say what its table says", c.index)
		}
	}
	return nil
}

const (
	keyIndex   = "sqlite_autoindex_entry_2"
	firstIndex = "entry_first"
	wordIndex  = "word_subject"
)

// disorder reports an index that is not in its order.
func (v verifier) disorder(index string) {
	v.r.wrong(theFile, "the index %s is not in its order", index)
}

// readKeys reads the index of the keys of all entries; those of a subject come as one row. A key has no character below the space.
func (v verifier) readKeys(s *sums) error {
	lastKind, last := "", int64(math.MinInt64)
	return v.each(func(row scanner) error {
		var kind, all string
		var id int64
		if err := row.Scan(&kind, &id, &all); err != nil {
			return err
		}
		ordered := kind > lastKind || kind == lastKind && id > last
		lastKind, last = kind, id
		before := ""
		for one := range strings.SplitSeq(all, wordSplit) {
			number, key, _ := strings.Cut(one, " ")
			n, err := strconv.ParseInt(number, 10, 64)
			ordered = ordered && err == nil && key > before
			before = key
			s.key(n, kind, id, key)
		}
		if !ordered {
			v.disorder(keyIndex)
		}
		return nil
	}, `SELECT subject, subject_id, string_agg(id || ' ' || key, $1) FROM entry INDEXED BY `+keyIndex+` GROUP BY subject, subject_id`, wordSplit)
}

// readFirsts reads the index of the digests of all first entries.
func (v verifier) readFirsts(s *sums) error {
	last := ""
	return v.each(func(row scanner) error {
		var id int64
		var hash []byte
		if err := row.Scan(&id, &hash); err != nil {
			return err
		}
		if string(hash) < last {
			v.disorder(firstIndex)
		}
		last = string(hash)
		s.first(id, last)
		return nil
	}, `SELECT id, hash FROM entry INDEXED BY `+firstIndex+` WHERE seq = 1`)
}

// readWords reads the words in the order of the table, each with the subjects that are found under it. Verify has read them by subject, in the
// order of the index.
func (v verifier) readWords(s *sums) error {
	lastKind, lastWord := "", ""
	return v.each(func(row scanner) error {
		var kind, word, all string
		if err := row.Scan(&kind, &word, &all); err != nil {
			return err
		}
		if !slices.Contains(allKinds(), record.SubjectKind(kind)) {
			v.r.wrong("the words", "%q is about a %q, which this version does not know", word, kind)
			return nil
		}
		ordered := kind > lastKind || kind == lastKind && word > lastWord
		lastKind, lastWord = kind, word
		last := int64(math.MinInt64)
		for one := range strings.SplitSeq(all, wordSplit) {
			id, err := strconv.ParseInt(one, 10, 64)
			ordered = ordered && err == nil && id > last
			last = id
			s.word(kind, id, word)
		}
		if !ordered {
			v.disorder("of the table word")
		}
		return nil
	}, `SELECT subject, word, string_agg(subject_id, $1) FROM word NOT INDEXED GROUP BY subject, word`, wordSplit)
}
