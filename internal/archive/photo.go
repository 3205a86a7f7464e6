package archive

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"image/jpeg"

	"github.com/evenstroke/evenstroke/internal/picture"
	"github.com/evenstroke/evenstroke/internal/record"
	"github.com/evenstroke/evenstroke/internal/store"
)

// photo checks that a member is a picture as the program writes it, under the name of its digest, and makes its small form anew. What it
// gives has no Data: many photos are more than the memory should hold.
func photo(path string, data []byte) (store.Photo, error) {
	var d record.Digest
	if err := d.UnmarshalText([]byte(photoName.FindStringSubmatch(path)[1])); err != nil {
		return store.Photo{}, err
	}
	if record.Digest(sha256.Sum256(data)) != d {
		return store.Photo{}, record.Faultf(record.Damaged, path, "another picture", "the picture of this digest", "send it again, or have it made again")
	}
	if !bare(data) {
		return store.Photo{}, bad(path, "more than a picture, or none", "a JPEG as this program writes it")
	}
	c, err := jpeg.DecodeConfig(bytes.NewReader(data))
	if err != nil || c.Width > picture.LongSide || c.Height > picture.LongSide {
		return store.Photo{}, bad(path, fmt.Sprintf("%d × %d pixels", c.Width, c.Height), fmt.Sprintf("a JPEG of at most %d × %d", picture.LongSide, picture.LongSide))
	}
	p, err := picture.Read(bytes.NewReader(data), 0)
	if err != nil {
		return store.Photo{}, at(path, err)
	}
	return store.Photo{Hash: d, Width: c.Width, Height: c.Height, Thumb: p.Thumb}, nil
}

// bare says whether a JPEG holds nothing but the picture: quantization and Huffman tables, one baseline frame, one scan, and its end at the
// end of the file (ITU-T T.81 annex B). A file that is also something else, or that hides something, has other segments or bytes behind.
func bare(data []byte) bool {
	if !bytes.HasPrefix(data, []byte{0xff, 0xd8}) {
		return false
	}
	for at := 2; at+4 <= len(data); {
		marker, length := data[at+1], int(data[at+2])<<8|int(data[at+3])
		if data[at] != 0xff || length < 2 || at+2+length > len(data) {
			return false
		}
		at += 2 + length
		switch marker {
		case 0xdb, 0xc4, 0xc0: // DQT, DHT, SOF0
		case 0xda: // SOS
			return scan(data[at:])
		default:
			return false
		}
	}
	return false
}

// scan says whether entropy-coded data go to the end of the image, and nothing follows: 0xff within them is followed by 0.
func scan(data []byte) bool {
	for {
		i := bytes.IndexByte(data, 0xff)
		if i < 0 || i+1 >= len(data) {
			return false
		}
		if data[i+1] == 0xd9 { // EOI
			return i+2 == len(data)
		}
		if data[i+1] != 0 {
			return false
		}
		data = data[i+2:]
	}
}
