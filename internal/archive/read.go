package archive

import (
	"archive/zip"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/evenstroke/evenstroke/internal/record"
)

// members are the files of an archive by name, each within its bounds.
type members map[string]*zip.File

// open looks at the directory of an archive. Nothing is unpacked yet, and what it says of sizes is not believed later.
func open(r io.ReaderAt, size int64) (members, error) {
	if size > maxSize {
		return nil, record.Faultf(record.TooLarge, "archive", fmt.Sprintf("%d MB", size>>20), fmt.Sprintf("at most %d MB", maxSize>>20), "")
	}
	if err := directory(r, size); err != nil {
		return nil, err
	}
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, &record.Fault{Code: record.Invalid, Where: "archive", Found: "a file that is no ZIP, or is cut off", Want: "an archive of a job", Mend: "send the whole file", Err: err}
	}
	if len(z.File) > maxMembers {
		return nil, record.Faultf(record.TooLarge, "archive", fmt.Sprintf("%d members", len(z.File)), fmt.Sprintf("at most %d", maxMembers), "")
	}
	out := members{}
	var total uint64
	for _, f := range z.File {
		most := uint64(limit(f.Name))
		switch {
		case most == 0 || !f.Mode().IsRegular():
			return nil, bad("archive", "the member "+short(f.Name), "members that an archive of a job has")
		case out[f.Name] != nil:
			return nil, bad("archive", "the member "+short(f.Name)+" twice", "each member once")
		case f.Flags&1 != 0 || f.Method != zip.Store && f.Method != zip.Deflate:
			return nil, bad(f.Name, "encrypted, or packed in another way", "stored or deflated")
		case f.UncompressedSize64 > most || f.UncompressedSize64 > freeRatio && f.UncompressedSize64/maxRatio > f.CompressedSize64:
			return nil, record.Faultf(record.TooLarge, f.Name, fmt.Sprintf("%d bytes from %d", f.UncompressedSize64, f.CompressedSize64), fmt.Sprintf("at most %d bytes, packed at most %d to 1", most, maxRatio), "")
		}
		if total += f.UncompressedSize64; total > maxTotal {
			return nil, record.Faultf(record.TooLarge, "archive", "more than it may be unpacked", fmt.Sprintf("at most %d MB", maxTotal>>20), "")
		}
		out[f.Name] = f
	}
	return out, nil
}

// read unpacks a member. It stops at the size that the directory states, which open has checked.
func (m members) read(name string) ([]byte, error) {
	f := m[name]
	if f == nil {
		return nil, bad("archive", "no "+name, "all members that its manifest lists")
	}
	r, err := f.Open()
	if err != nil {
		return nil, broken(name, err)
	}
	data := make([]byte, 0, min(int64(f.UncompressedSize64), 1<<20))
	data, err = appendAll(data, io.LimitReader(r, int64(f.UncompressedSize64)+1))
	if err = errors.Join(err, r.Close()); err != nil {
		return nil, broken(name, err)
	}
	if uint64(len(data)) != f.UncompressedSize64 {
		return nil, broken(name, nil)
	}
	return data, nil
}

func appendAll(data []byte, r io.Reader) ([]byte, error) {
	for {
		if len(data) == cap(data) {
			data = slices.Grow(data, 512)
		}
		n, err := r.Read(data[len(data):cap(data)])
		data = data[:len(data)+n]
		if err == io.EOF {
			return data, nil
		}
		if err != nil {
			return data, err
		}
	}
}

func broken(name string, err error) error {
	return &record.Fault{Code: record.Invalid, Where: name, Found: "a member that is damaged", Want: "a whole archive", Mend: "send it again, or have it made again", Err: err}
}

// manifest reads the manifest and compares its list with the members there are.
func (m members) manifest() (*Manifest, error) {
	data, err := m.read(manifestName)
	if err != nil {
		return nil, err
	}
	var head struct {
		Format  string `json:"format"`
		Version int    `json:"version"`
	}
	if err := lax(data, &head); err != nil || head.Format != Format || head.Version < 1 {
		return nil, bad(manifestName, "another file", "the manifest of an archive of a job")
	}
	if head.Version > Version {
		return nil, record.Faultf(record.Newer, manifestName, fmt.Sprintf("version %d", head.Version), fmt.Sprintf("at most %d, which this program knows", Version), "take it in with the newer program")
	}
	out := &Manifest{}
	if err := strict(data, out); err != nil {
		return nil, err
	}
	if len(out.Members) != len(m)-1 {
		return nil, bad(manifestName, fmt.Sprintf("%d members listed", len(out.Members)), fmt.Sprintf("the %d that are there", len(m)-1))
	}
	seen := map[string]bool{manifestName: true}
	for _, l := range out.Members {
		if seen[l.Name] || m[l.Name] == nil {
			return nil, bad(manifestName, "the member "+short(l.Name), "each member that is there, once")
		}
		seen[l.Name] = true
	}
	return out, nil
}

// checked reads a member and compares its digest with the manifest.
func (m members) checked(l Member) ([]byte, error) {
	data, err := m.read(l.Name)
	if err != nil {
		return nil, err
	}
	if sha256.Sum256(data) != l.SHA256 {
		return nil, record.Faultf(record.Damaged, l.Name, "another content", "the digest of the manifest", "send it again, or have it made again")
	}
	return data, nil
}
