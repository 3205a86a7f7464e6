package picture

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	_ "image/gif" // registers the decoder
	"image/jpeg"
	_ "image/png" // registers the decoder
	"io"
	"time"

	_ "golang.org/x/image/webp" // registers the decoder
	"golang.org/x/sync/semaphore"

	"github.com/evenstroke/evenstroke/internal/record"
)

// The limits. A photo of a phone is 3 to 12 MB and 12 to 50 MP.
const (
	MaxBytes  = 25 << 20
	MaxPixels = 50_000_000
	LongSide  = 2048 // of the picture that is kept, px
	ThumbSide = 320  // of the small one, px
)

const (
	quality      = 82
	thumbQuality = 75
)

// room is the memory for decoding at once, in bytes: a picture that needs more decodes alone. Waiting for it ends after waitMost.
const room = 400 << 20

const waitMost = 20 * time.Second

var decoding = semaphore.NewWeighted(room)

// Picture is a photo as it is kept: two JPEGs. Width and Height are those of Data.
type Picture struct {
	Data, Thumb   []byte
	Width, Height int
}

// Read reads an upload of at most limit bytes (0, or more than MaxBytes, is MaxBytes). Errors: *record.Fault of code TooLarge (bytes or
// pixels), Invalid (no picture, one of a kind that cannot be read, one that breaks off) or TooMany (no memory free for some
// time).
func Read(r io.Reader, limit int64) (Picture, error) {
	if limit <= 0 || limit > MaxBytes {
		limit = MaxBytes
	}
	var buf bytes.Buffer
	n, err := buf.ReadFrom(io.LimitReader(r, limit+1))
	if n > limit {
		return Picture{}, record.Faultf(record.TooLarge, "picture", fmt.Sprintf("more than %.1f MB", float64(limit)/1e6), fmt.Sprintf("at most %.1f MB", float64(limit)/1e6), "take it with fewer pixels")
	}
	if err != nil {
		return Picture{}, &record.Fault{Code: record.Invalid, Where: "picture", Found: "an upload that breaks off", Want: "a whole file", Mend: "send it again", Err: err}
	}
	data := buf.Bytes()
	if err := known(data); err != nil {
		return Picture{}, err
	}
	about := look(data)
	need, err := cost(data, about)
	if err != nil {
		return Picture{}, err
	}
	ctx, cancel := context.WithTimeout(context.Background(), waitMost)
	defer cancel()
	if err := decoding.Acquire(ctx, need); err != nil {
		return Picture{}, &record.Fault{Code: record.TooMany, Where: "picture", Found: "many others at the same time", Mend: "try again in a moment", Err: err}
	}
	defer decoding.Release(need)
	m, err := decode(data)
	if err != nil {
		return Picture{}, err
	}
	return encode(m, about.orientation)
}

// cost checks the size that the header of a picture states, and estimates what decoding takes: bytes of the decoded picture a
// pixel, and of a progressive JPEG all its coefficients at 4 bytes.
func cost(data []byte, about header) (int64, error) {
	c, err := config(data)
	if err != nil {
		return 0, broken(err)
	}
	if c.Width < 1 || c.Height < 1 {
		return 0, broken(errors.New("no pixels"))
	}
	pixels := int64(c.Width) * int64(c.Height)
	if pixels > MaxPixels {
		return 0, record.Faultf(record.TooLarge, "picture", fmt.Sprintf("%d × %d pixels", c.Width, c.Height), fmt.Sprintf("at most %d million pixels", MaxPixels/1_000_000), "take it with fewer pixels")
	}
	each := int64(4)
	switch c.ColorModel {
	case color.RGBA64Model, color.NRGBA64Model:
		each = 8
	case color.YCbCrModel:
		each = 3
	}
	if about.progressive {
		each += 16
	}
	return min(room, pixels*each+1), nil
}

func config(data []byte) (c image.Config, err error) {
	defer caught(&err)
	c, _, err = image.DecodeConfig(bytes.NewReader(data))
	return c, err
}

func decode(data []byte) (m image.Image, err error) {
	defer func() {
		if err != nil {
			m, err = nil, broken(err)
		}
	}()
	defer caught(&err)
	m, _, err = image.Decode(bytes.NewReader(data))
	if err == nil && (m.Bounds().Empty() || int64(m.Bounds().Dx())*int64(m.Bounds().Dy()) > MaxPixels) {
		err = errors.New("another size than its header states")
	}
	return m, err
}

// caught makes an error of a decoder that panics: a file of a stranger must not end the request of the server.
func caught(err *error) {
	if p := recover(); p != nil {
		*err = fmt.Errorf("the decoder: %v", p)
	}
}

func broken(err error) *record.Fault {
	return &record.Fault{Code: record.Invalid, Where: "picture", Found: "a file that is damaged or breaks off", Want: "a whole JPEG, PNG or WebP", Mend: "send it again, or take it again", Err: err}
}

func encode(m image.Image, orientation int) (Picture, error) {
	large := turn(shrink(m, LongSide), orientation)
	data, err := toJPEG(large, quality)
	if err != nil {
		return Picture{}, err
	}
	thumb, err := toJPEG(shrink(large, ThumbSide), thumbQuality)
	return Picture{Data: data, Thumb: thumb, Width: large.Rect.Dx(), Height: large.Rect.Dy()}, err
}

func toJPEG(m *image.RGBA, quality int) ([]byte, error) {
	var buf bytes.Buffer
	if err := jpeg.Encode(&buf, m, &jpeg.Options{Quality: quality}); err != nil {
		return nil, fmt.Errorf("picture: %w", err)
	}
	return buf.Bytes(), nil
}
