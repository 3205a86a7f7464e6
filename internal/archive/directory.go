package archive

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Of ZIP (PKWARE APPNOTE sections 4.3.16 and 4.4.1.4, from memory): the record at the end of the file, and values that mean that the real ones stand in
// a record of ZIP64.
const (
	endMark   = "PK\x05\x06"
	endLength = 22
	most16    = 1<<16 - 1
	most32    = 1<<32 - 1
)

// maxDirectory is the size of the largest directory: maxMembers with names and extra fields of 350 bytes each.
const maxDirectory = 2 << 20

// directory looks at the record at the end of a ZIP file before the directory is read: the library reads all of it, whatever its number of members
// says, and one of four million takes 2 GB.
func directory(r io.ReaderAt, size int64) error {
	tail := make([]byte, min(size, endLength+most16))
	if _, err := r.ReadAt(tail, size-int64(len(tail))); err != nil && err != io.EOF { //nolint:errorlint // of io.ReaderAt, as it is
		return &record.Fault{Code: record.Invalid, Where: "archive", Found: "a file that cannot be read", Want: "an archive of a job", Mend: "send the whole file", Err: err}
	}
	for at := 0; ; at++ {
		i := bytes.Index(tail[at:], []byte(endMark))
		if i < 0 {
			return nil // none that holds: the library says that it is no ZIP
		}
		if at += i; len(tail)-at < endLength {
			return nil
		}
		if err := ending(tail[at:], size-int64(len(tail))+int64(at)); err != nil {
			return err
		}
	}
}

// ending checks one record that could be the end, which begins at a place of the file. Every one is checked: which of several counts is up to
// whoever reads.
func ending(b []byte, begins int64) error {
	n, long, from := binary.LittleEndian.Uint16(b[10:]), binary.LittleEndian.Uint32(b[12:]), binary.LittleEndian.Uint32(b[16:])
	if n == most16 || long == most32 || from == most32 {
		return record.Faultf(record.TooLarge, "archive", "a directory of ZIP64", fmt.Sprintf("at most %d members", maxMembers), "have the archive made again")
	}
	if span := max(int64(long), begins-int64(from)); n > maxMembers || span > maxDirectory {
		return record.Faultf(record.TooLarge, "archive", fmt.Sprintf("a directory of %d members in %d bytes", n, span), fmt.Sprintf("at most %d members in %d bytes", maxMembers, maxDirectory), "have the archive made again")
	}
	return nil
}
