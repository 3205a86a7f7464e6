package archive

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"testing"

	"github.com/evenstroke/evenstroke/internal/record"
)

// endless is a ZIP file with a directory of so many members, made as it is read, which counts what was read of it.
type endless struct {
	members, stated int64
	read            int64
}

const entryLength = 46

func (e *endless) size() int64 { return e.members*entryLength + endLength }

func (e *endless) ReadAt(p []byte, off int64) (int, error) {
	var entry [entryLength]byte
	copy(entry[:], "PK\x01\x02")
	end := make([]byte, endLength)
	copy(end, endMark)
	binary.LittleEndian.PutUint16(end[8:], uint16(e.stated))
	binary.LittleEndian.PutUint16(end[10:], uint16(e.stated))
	binary.LittleEndian.PutUint32(end[12:], uint32(e.members*entryLength))
	n := 0
	for ; n < len(p) && off+int64(n) < e.size(); n++ {
		at := off + int64(n)
		if at >= e.members*entryLength {
			p[n] = end[at-e.members*entryLength]
		} else {
			p[n] = entry[at%entryLength]
		}
	}
	e.read += int64(n)
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

// TestLongDirectory: a directory of 4.2 million members is refused by the record at the end, whatever that says of their number: nothing else of the file
// is read. All of it was read before, into 1.8 GB.
func TestLongDirectory(t *testing.T) {
	for _, stated := range []int64{4_200_000 % 65536, 5, 0, 65535} {
		e := &endless{members: 4_200_000, stated: stated}
		_, err := open(e, e.size())
		if record.CodeOf(err) != record.TooLarge || e.read > 2*(endLength+most16) {
			t.Errorf("%d members stated: %v, %d bytes read", stated, err, e.read)
		}
	}
	// one that says that its directory is short, and begins far from its end
	e := &endless{members: 4_200_000, stated: 1}
	all := make([]byte, endLength)
	if _, err := e.ReadAt(all, e.members*entryLength); err != nil && !errors.Is(err, io.EOF) {
		t.Fatal(err)
	}
	binary.LittleEndian.PutUint32(all[12:], entryLength)
	if err := ending(all, e.members*entryLength); record.CodeOf(err) != record.TooLarge {
		t.Errorf("a short one that begins far off: %v", err)
	}
	for _, whole := range [][]byte{nil, []byte("PK"), []byte(endMark), bytes.Repeat([]byte("PK\x05\x06"), 3)} {
		if _, err := open(bytes.NewReader(whole), int64(len(whole))); record.CodeOf(err) != record.Invalid {
			t.Errorf("%q: %v", whole, err)
		}
	}
}
